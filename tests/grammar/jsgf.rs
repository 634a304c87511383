//! The JSpeech Grammar Format: what is taken, what is refused and with which words.
//! Section numbers are those of the W3C note of 5 June 2000.

use std::time::{Duration, Instant};

use hobcall::grammar::{ActiveSet, Error, Grammar};

fn grammar(rules: &str) -> Grammar {
    let text = format!("#JSGF V1.0;\ngrammar test;\n{rules}");
    Grammar::from_jsgf(&text, "test.jsgf").unwrap_or_else(|e| panic!("{e}\n{text}"))
}

fn error(text: &str) -> Error {
    match Grammar::from_jsgf(text, "test.jsgf") {
        Ok(_) => panic!("accepted:\n{text}"),
        Err(e) => e,
    }
}

/// The tags of the only reading.
fn tags(grammar: &Grammar, words: &str) -> Vec<String> {
    let mut readings = grammar.tags(words);
    assert_eq!(readings.len(), 1, "{words:?}: {readings:?}");
    readings.remove(0)
}

fn says(rules: &str, yes: &[&str], no: &[&str]) {
    let grammar = grammar(rules);
    for words in yes {
        assert!(grammar.accepts(words), "{rules}\nrefuses {words:?}");
    }
    for words in no {
        assert!(!grammar.accepts(words), "{rules}\naccepts {words:?}");
    }
}

#[test]
fn header_name_and_comments() {
    for text in [
        "#JSGF V1.0;\ngrammar a;\npublic <x> = yes;",
        "#JSGF V1.0 ISO8859-1 en;\ngrammar com.example.a;\npublic <x> = yes;",
        "\u{feff}#JSGF V1.0 UTF-8 en-US;\r\n/* block\n comment */ grammar a;\r\n// line\r\npublic <x> = yes; // end",
        "// first a comment\n#JSGF V1.0;grammar a;public<x>=yes;",
        // Without its semicolon, and with a small v, as grammars in the wild have it.
        "#JSGF v1.0\n\ngrammar a;\npublic <x> = yes;",
        "#JSGF V1.0;\ngrammar a;\n/** documentation\n * @example yes\n */\npublic <x> = yes;",
    ] {
        let grammar =
            Grammar::from_jsgf(text, "test.jsgf").unwrap_or_else(|e| panic!("{e}\n{text}"));
        assert!(grammar.accepts("yes"), "{text}");
        assert!(!grammar.accepts("no"), "{text}");
    }
    let text = "#JSGF V1.0 UTF-8 ko;\ngrammar com.example.a;\npublic <x> = yes;";
    let named = Grammar::from_jsgf(text, "f").unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(
        (named.name(), named.locale()),
        ("com.example.a", Some("ko"))
    );
}

#[test]
fn files_in_older_encodings() {
    let text = "#JSGF V1.0 ISO8859-1 de;\ngrammar a;\npublic <x> = f\u{fc}nf;";
    let latin: Vec<u8> = text.chars().map(|c| c as u8).collect();
    let grammar = Grammar::from_bytes(&latin, "f").unwrap_or_else(|e| panic!("{e}"));
    assert!(grammar.accepts("fünf"));
    let text = text.replace("ISO8859-1", "UTF-16");
    let mut wide = vec![0xff, 0xfe];
    wide.extend(text.encode_utf16().flat_map(u16::to_le_bytes));
    let grammar = Grammar::from_bytes(&wide, "f").unwrap_or_else(|e| panic!("{e}"));
    assert!(grammar.accepts("fünf"));
    let damaged = b"#JSGF V1.0;\ngrammar a;\npublic <x> = f\xfcnf;";
    let e = Grammar::from_bytes(damaged, "f").err();
    assert!(e.is_some_and(|e| e.what.contains("UTF-8")));
}

/// Section 4.2 (composition), 4.3 (grouping), 4.4 (unary operators), 4.7 (precedence).
#[test]
fn expansions() {
    says(
        "public <x> = this is a test;",
        &["this is a test"],
        &["this is", "this is a test test"],
    );
    says(
        "public <x> = Michael | Yuriko | Mary;",
        &["michael", "MARY"],
        &["", "michael mary"],
    );
    says(
        "public <x> = (open | close) [the | a] (window | door);",
        &["open window", "close the door"],
        &["open the", "the window"],
    );
    says(
        "public <x> = very* good;",
        &["good", "very good", "very very very good"],
        &["very"],
    );
    says(
        "public <x> = very+ good;",
        &["very good", "very very good"],
        &["good"],
    );
    // A unary operator binds to the one expansion before it, sequences bind tighter than `|`.
    says("public <x> = a b* c;", &["a c", "a b b c"], &["a b a b c"]);
    says(
        "public <x> = a b | c d;",
        &["a b", "c d"],
        &["a b d", "a c d"],
    );
    says("public <x> = (a b)+;", &["a b", "a b a b"], &["a b b"]);
    says("public <x> = [a]*b;", &["b", "a a b"], &["a"]);
    says(
        "public <x> = <NULL> a [<NULL>] | <VOID> b | c <VOID>;",
        &["a"],
        &["b", "c", ""],
    );
    // Section 2.5: quoted tokens; several words in quotes are said one after the other.
    says(
        "public <x> = \"New York\" | \"semi;colon\" | \"say \\\"please\\\"\";",
        &["new york", "semi;colon", "say \"please\""],
        &["new", "york"],
    );
}

#[test]
fn several_public_rules_are_all_active() {
    let both = grammar("public <a> = one; public <b> = <c> two; <c> = [and];");
    assert!(both.accepts("one") && both.accepts("and two") && both.accepts("two"));
    let first = both.restricted(&ActiveSet::rules(["a"]));
    let first = first.unwrap_or_else(|e| panic!("{e}"));
    assert!(first.accepts("one") && !first.accepts("two"));
    assert_eq!(first.vocabulary(), ["one"]);
}

/// Section 2.4: a rule may be named with its grammar's name, whole or in its last part.
#[test]
fn qualified_names_of_own_rules() {
    let text = "#JSGF V1.0;\ngrammar com.example.pets;\n\
        import <com.example.pets.*>;\n\
        public <x> = <com.example.pets.cat> | <pets.dog>;\n<cat> = cat;\n<dog> = dog;";
    let pets = Grammar::from_jsgf(text, "f").unwrap_or_else(|e| panic!("{e}"));
    assert!(pets.accepts("cat") && pets.accepts("dog"));
}

/// Section 4.6: a tag belongs to the one expansion before it; several may follow.
#[test]
fn tags_come_in_order_with_their_words() {
    let g = grammar(
        "public <x> = please {polite} (open {OPEN} | close {CLOSE} | shut {CLOSE}) <what> {done}{twice};\n\
         <what> = [the] (window {W} | (front door) {F});",
    );
    assert_eq!(
        tags(&g, "please shut the window"),
        ["polite", "CLOSE", "W", "done", "twice"]
    );
    let parse = g.parse("please open the front door");
    let spans: Vec<(&str, usize, usize)> = parse[0]
        .tags
        .iter()
        .map(|t| (t.text.as_str(), t.from, t.to))
        .collect();
    assert_eq!(
        spans,
        [
            ("polite", 0, 1),
            ("OPEN", 1, 2),
            ("F", 3, 5),
            ("done", 2, 5),
            ("twice", 2, 5)
        ]
    );
    let g = grammar("public <x> = a {one\\}brace} | b {back\\\\slash} | c { {nested} } | d {};");
    assert_eq!(tags(&g, "a"), ["one}brace"]);
    assert_eq!(tags(&g, "b"), ["back\\slash"]);
    assert_eq!(tags(&g, "c"), ["{nested}"]);
    assert_eq!(tags(&g, "d"), [""]);
    let g =
        grammar("public <x> = (go {step})* {all} | [maybe] {perhaps} then | <NULL> {empty} end;");
    assert_eq!(tags(&g, "go go"), ["step", "step", "all"]);
    assert_eq!(tags(&g, "then"), ["perhaps"]);
    assert_eq!(tags(&g, "maybe then"), ["perhaps"]);
    assert_eq!(tags(&g, "end"), ["empty"]);
}

#[test]
fn readings_that_differ_are_all_given() {
    let g = grammar(
        "public <x> = <a> | <b>; <a> = bank {river}; <b> = /3/ bank {money} | /1/ bank {row} | bank {river};",
    );
    let mut found = g.tags("bank");
    found.sort();
    assert_eq!(found, [["money"], ["river"], ["row"]]);
    let doubled = g.double_meanings(10);
    assert!(doubled.is_empty(), "these tags are no calls: {doubled:?}");
}

/// Section 4.1: weights say how much likelier an alternative is than its neighbours.
#[test]
fn weights_rank_and_zero_forbids() {
    let g = grammar(
        "public <x> = /10/ small {s} | /2/ medium {m} | /0.5/ large {l} | /0/ none | huge;",
    );
    let weight = |w: &str| g.parse(w).first().map(|p| p.weight.exp());
    let close = |w: &str, x: f32| weight(w).is_some_and(|v| (v - x).abs() < 1e-5);
    assert!(
        close("small", 1.0) && close("medium", 0.2) && close("large", 0.05) && close("huge", 0.1)
    );
    assert!(!g.accepts("none"));
    // The readings come likeliest first.
    let g = grammar("public <x> = /1/ a {rare} | /9/ a {common};");
    assert_eq!(g.tags("a"), [["common"], ["rare"]]);
    // They reach the decoder's graph.
    let acceptor = grammar("public <x> = /1/ a b | /4/ a c;");
    let graph = acceptor.acceptor();
    let total: f32 = {
        let a = &graph.arcs(graph.start())[0];
        let b = graph
            .arcs(a.target)
            .iter()
            .find(|x| graph.word(x.word) == "b");
        a.weight + b.map_or(f32::NAN, |x| x.weight)
    };
    assert!((total.exp() - 0.25).abs() < 2e-3, "{}", total.exp());
}

/// Section 4.5: recursion at the right end, direct and through other rules.
#[test]
fn right_recursion() {
    says(
        "public <command> = <action> | <action> and <command>; <action> = stop | start;",
        &["stop", "stop and start", "stop and start and stop"],
        &["stop and", "and stop", "stop start"],
    );
    says(
        "public <even> = <NULL> | tick <odd>; <odd> = tock <even>;",
        &["tick tock", "tick tock tick tock"],
        &["tick", "tock", "tick tock tick"],
    );
    let digits = grammar("public <n> = <d> [<n>]; <d> = one {1} | two {2};");
    assert_eq!(tags(&digits, "two one two"), ["2", "1", "2"]);
    for (rules, place, what) in [
        ("public <a> = <a> b | c;", (3, 14), "left recursion"),
        ("public <a> = [x] <a> b | c;", (3, 18), "left recursion"),
        (
            "public <a> = <b> x | y;\n<b> = <a> z;",
            (3, 14),
            "left recursion",
        ),
        ("public <a> = b <a> c | d;", (3, 16), "middle"),
        ("public <a> = b <c> d | e;\n<c> = f <a>;", (3, 16), "middle"),
        ("public <a> = b <a>* | d;", (3, 16), "middle"),
        ("public <a> = b <a> {t} | d;", (3, 16), "middle"),
        ("public <a> = <a>;", (3, 14), "left recursion"),
    ] {
        let e = error(&format!("#JSGF V1.0;\ngrammar t;\n{rules}"));
        assert_eq!((e.line, e.column), place, "{rules}: {e}");
        assert!(e.what.contains(what), "{rules}: {e}");
        assert!(!e.write_instead.is_empty());
    }
}

/// Every problem has its place, what is wrong, and what to write.
#[test]
fn problems_name_their_place() {
    let head = "#JSGF V1.0;\ngrammar t;\n";
    for (text, line, column, what) in [
        ("", 1, 1, "header"),
        ("grammar t;", 1, 1, "header"),
        ("#JSGF V2.0;\ngrammar t;", 1, 1, "version"),
        ("#JSGF V1.0;\npublic <a> = b;", 2, 1, "no name"),
        ("#JSGF V1.0;\ngrammar t", 2, 10, "end"),
        (
            "#JSGF V1.0;\ngrammar t;\nimport <other.rule>;\n",
            3,
            1,
            "another grammar",
        ),
        ("#JSGF V1.0;\ngrammar t;\n", 2, 11, "no rule"),
        ("#JSGF V1.0;\ngrammar t;\n<a> = b;", 3, 1, "public"),
        ("#JSGF V1.0;\ngrammar t;\n/* open", 3, 1, "never closed"),
    ] {
        let e = error(text);
        assert_eq!((e.line, e.column), (line, column), "{text:?}: {e}");
        assert!(e.what.contains(what), "{text:?}: {e}");
        assert!(!e.write_instead.is_empty() && e.file == "test.jsgf");
    }
    for (rules, column, what) in [
        ("public <a> = b", 15, "ends"),
        ("public <a> b;", 12, "after the name"),
        ("public <a> = ;", 14, "something to say"),
        ("public <a> = b | ;", 18, "something to say"),
        ("public <a> = ();", 15, "something to say"),
        ("public <a> = (b;", 16, "bracket opened at 3:14"),
        ("public <a> = (b];", 16, "bracket opened at 3:14"),
        ("public <a> = b);", 15, "inside the rule"),
        ("public <a> = <bb>;\n<b> = c;", 14, "<bb> is not defined"),
        ("public <a> = b; public <a> = c;", 24, "line 3"),
        ("public <NULL> = b;", 8, "fixed meaning"),
        ("public <a> = b**;", 16, "second repeat"),
        ("public <a> = * b;", 14, "repeats nothing"),
        ("public <a> = {t} b;", 14, "stands on nothing"),
        ("public <a> = b {t;", 16, "never closed"),
        ("public <a> = \"b;", 14, "never closed"),
        ("public <a> = \"\";", 14, "0 words"),
        ("public <a> = /x/ b;", 14, "no weight"),
        ("public <a> = /-1/ b;", 14, "no weight"),
        ("public <a> = /1 b | c;", 14, "no weight"),
        ("public <a> = b /2/ c;", 16, "inside a sequence"),
        ("public <a = b;", 8, "not closed"),
        ("public <a b> = c;", 8, "no rule name"),
        ("public <a> = b > c;", 16, "closes nothing"),
        ("public <a> = b } c;", 16, "closes nothing"),
        ("hello;", 1, "where a rule should begin"),
    ] {
        let e = error(&format!("{head}{rules}"));
        assert_eq!((e.line, e.column), (3, column), "{rules:?}: {e}");
        assert!(e.what.contains(what), "{rules:?}: {e}");
        assert!(!e.write_instead.is_empty());
    }
    // A name that nearly exists is offered.
    let e = error(&format!("{head}public <a> = <Number>;\n<number> = one;"));
    assert!(e.write_instead.contains("<number>"), "{e}");
    assert_eq!(
        e.to_string(),
        "test.jsgf:3:14: the rule <Number> is not defined; write `<number>`, or define `<Number> = …;`"
    );
}

#[test]
fn all_problems_at_once_and_slips_as_warnings() {
    let text = "#JSGF V1.0;\ngrammar t;\npublic <a> = <b> | <c>;\n<d> = <d> x;\n";
    let problems = Grammar::problems(text, "f");
    let places: Vec<(u32, u32)> = problems.iter().map(|e| (e.line, e.column)).collect();
    assert_eq!(places, [(3, 14), (3, 20), (4, 7), (4, 1)]);
    let unused = grammar("public <a> = b;\n<never> = c;");
    assert_eq!(unused.warnings().len(), 1);
    assert!(unused.warnings()[0].what.contains("<never>"));
    assert!(Grammar::from_jsgf("#JSGF V1.0;\ngrammar t;\npublic <a> = <VOID>;", "f").is_err());
}

#[test]
fn beginnings_of_sentences() {
    let g = grammar("public <x> = how long [is left (on | for) the brine] | how much;");
    let p = g.prefix("how long");
    assert!(p.alive && p.can_end && p.can_go_on());
    assert_eq!(p.next, ["is"]);
    let p = g.prefix("how");
    assert!(p.alive && !p.can_end);
    assert_eq!(p.next, ["long", "much"]);
    let p = g.prefix("how much");
    assert!(p.can_end && !p.can_go_on());
    let p = g.prefix("how now");
    assert!(!p.alive && !p.can_end && p.next.is_empty());
    assert_eq!(g.prefix("").next, ["how"]);
}

#[test]
fn spelling_stays_as_written() {
    let g = grammar("public <x> = TIMER (FIVE | Ten) minutes;");
    assert!(g.accepts("timer five minutes") && g.accepts("TIMER TEN MINUTES"));
    assert_eq!(g.vocabulary(), ["TIMER", "FIVE", "Ten", "minutes"]);
    assert!(g.to_jsgf().contains("timer"));
    assert!(!g.to_jsgf().contains("TIMER"));
}

#[test]
fn sentences_are_enumerated_drawn_and_covered() {
    let g = grammar("public <x> = (a | b) [c] d;");
    let mut all = g.sentences(100);
    all.sort();
    assert_eq!(all, ["a c d", "a d", "b c d", "b d"]);
    assert_eq!(g.sentences(3).len(), 3);
    assert_eq!(g.phrases(4).map(|p| p.len()), Ok(4));
    let drawn: std::collections::BTreeSet<String> = (0..200).map(|s| g.sentence(s)).collect();
    assert_eq!(drawn.into_iter().collect::<Vec<_>>(), all);
    assert_eq!(g.sentence(7), g.sentence(7));
    // With a loop there are sentences without end; pairs of words still can be covered.
    let g = grammar("public <x> = go (left | right)+ now;");
    let phrases = g.phrases(50).unwrap_or_else(|e| panic!("{e}"));
    let pairs: std::collections::BTreeSet<(String, String)> = phrases
        .iter()
        .flat_map(|p| {
            let w: Vec<&str> = p.split(' ').collect();
            w.windows(2)
                .map(|w| (w[0].into(), w[1].into()))
                .collect::<Vec<_>>()
        })
        .collect();
    assert_eq!(pairs.len(), 2 + 4 + 2, "{pairs:?}");
    assert!(phrases.iter().all(|p| g.accepts(p)));
    assert!(g.phrases(1).is_err());
}

/// A hostile grammar is refused, or taken, in no time, and never takes the program along.
#[test]
fn hostile_grammars_are_refused_quickly() {
    let head = "#JSGF V1.0;\ngrammar t;\n";
    let doubling = |n: usize| {
        let mut text = format!("{head}public <a0> = <a1> <a1>;\n");
        for i in 1..n {
            text.push_str(&format!("<a{i}> = <a{}> <a{}> {{t}};\n", i + 1, i + 1));
        }
        text + &format!("<a{n}> = x | y {{z}};")
    };
    let chain = |n: usize| {
        let mut text = format!("{head}public <a0> = <a1>;\n");
        for i in 1..n {
            text.push_str(&format!("<a{i}> = [x] <a{}>;\n", i + 1));
        }
        text + &format!("<a{n}> = x;")
    };
    let silent: String = (0..40)
        .map(|i| format!("(<NULL> {{a{i}}} | <NULL> {{b{i}}}) "))
        .collect();
    let cases: Vec<(&str, String)> = vec![
        (
            "brackets",
            format!("{head}public <a> = {}", "(".repeat(100_000)),
        ),
        (
            "optionals",
            format!(
                "{head}public <a> = {}x{};",
                "[".repeat(5000),
                "]".repeat(5000)
            ),
        ),
        ("doubling", doubling(60)),
        ("chain", chain(9000)),
        ("silence", format!("{head}public <a> = {silent};")),
        (
            "optional parts",
            format!("{head}public <a> = {};", "[a {t}] ".repeat(3000)),
        ),
        (
            "repeats",
            format!("{head}public <a> = {}x{};", "(".repeat(45), ")*".repeat(45)),
        ),
        (
            "tags",
            format!("{head}public <a> = x {};", "{t}".repeat(50_000)),
        ),
        (
            "long word",
            format!("{head}public <a> = {};", "x".repeat(1_000_000)),
        ),
        (
            "huge",
            format!("{head}public <a> = {};", "word ".repeat(400_000)),
        ),
        (
            "many names",
            format!(
                "{head}public <a> = {};",
                (0..60_000).map(|i| format!("<r{i}> ")).collect::<String>()
            ),
        ),
        (
            "alternatives",
            format!(
                "{head}public <a> = {}x;",
                (0..150_000)
                    .map(|i| format!("w{} | ", i % 9))
                    .collect::<String>()
            ),
        ),
        (
            "sequence of loops",
            format!("{head}public <a> = {};", "(a | b)* ".repeat(2000)),
        ),
        (
            "weights",
            format!("{head}public <a> = {}/1/ x;", "/0.5/ y | ".repeat(50_000)),
        ),
        ("nul", format!("{head}public <a> = \0\0\0;")),
    ];
    for (name, text) in cases {
        let begun = Instant::now();
        let outcome = Grammar::from_jsgf(&text, "f");
        if let Ok(g) = &outcome {
            let _ = (g.accepts("x"), g.parse("a a a b x").len(), g.sentence(1));
        }
        let took = begun.elapsed();
        // Debug builds on a busy machine; what must not happen is minutes or gigabytes.
        assert!(took < Duration::from_secs(30), "{name}: {took:?}");
        eprintln!("{name}: {took:?} {:?}", outcome.err().map(|e| e.what));
    }
    // Many readings of one sentence are cut off, not counted out.
    let g = grammar(&format!("public <x> = {};", "(a {1} | a {2}) ".repeat(60)));
    let begun = Instant::now();
    assert_eq!(g.parse(&"a ".repeat(60)).len(), 64);
    assert!(begun.elapsed() < Duration::from_secs(10));
}
