//! Files that are no plan, or hardly YAML: each mistake with its exact place.

use std::time::{Duration, Instant};

use crate::kit::{clean, only, problems};
use hobcall::plan::{self, Problem};

const SMALL: &str = "plan: A test\nunits: celsius\nsteps:\n  stir: {say: Stir.}\n";

fn one(bytes: &[u8]) -> Problem {
    let mut problems = plan::read_bytes(bytes, "plan.yaml").unwrap_err();
    assert_eq!(problems.len(), 1, "{problems:?}");
    problems.remove(0)
}

#[test]
fn the_small_plan_is_clean() {
    clean(SMALL);
}

#[test]
fn empty_files() {
    for text in ["", "\n\n", "# nothing yet\n", "---\n", "~"] {
        let found = problems(text);
        assert_eq!(found.len(), 1, "{text:?}: {found:?}");
        assert!(found[0].what.contains("empty"), "{found:?}");
        assert!(found[0].write_instead.contains("plan:"), "{found:?}");
    }
}

#[test]
fn a_list_or_a_word_is_no_plan() {
    only("«- plan\n- steps\n", "a plan is a list", "keys");
    only("«stir it\n", "a plan is text", "keys");
}

#[test]
fn yaml_that_does_not_parse() {
    only(
        "plan: A test\nunits: celsius\nsteps:\n  stir:\n    say: Stir«: then wait\n",
        "not YAML",
        "double quotes",
    );
    only("plan: A test\nunits: {celsius\n«", "not YAML", "lines up");
    only(
        "plan: «\"A test\nunits: celsius\n",
        "not YAML",
        "closing quotation mark",
    );
}

#[test]
fn every_tab_in_the_indentation_is_named() {
    let found = problems("plan: A test\nunits: celsius\nsteps:\n\tstir:\n\t\tsay: Stir.\n");
    let places: Vec<_> = found.iter().map(|p| (p.line, p.column)).collect();
    assert_eq!(places, [(4, 1), (5, 1)]);
    assert!(found[0].what.contains("tab"));
    assert!(found[0].write_instead.contains("two spaces"));
}

#[test]
fn a_tab_inside_a_sentence_is_a_space() {
    let checked = clean("plan: A\ttest\nunits: celsius\nsteps:\n  stir: {say: Stir.}\n");
    assert_eq!(checked.plan.title, "A test");
}

#[test]
fn windows_line_ends_and_a_byte_order_mark_are_fine() {
    let plain = clean(SMALL);
    let windows = format!("\u{feff}{}", SMALL.replace('\n', "\r\n"));
    assert_eq!(clean(&windows).plan, plain.plan);
    assert_eq!(
        plan::read_bytes(windows.as_bytes(), "plan.yaml")
            .unwrap()
            .plan,
        plain.plan
    );
}

#[test]
fn positions_count_characters_and_survive_windows_line_ends() {
    only(
        "\u{feff}plan: Crème brûlée\r\nunits: celsius\r\nsteps:\r\n  stir: {say: \"Ünter\", «wiat: 3 min}\r\n"
            .trim_start_matches('\u{feff}'),
        "knows no key `wiat`",
        "`wait`",
    );
}

#[test]
fn other_encodings() {
    let utf16: Vec<u8> = [0xff, 0xfe]
        .into_iter()
        .chain(SMALL.encode_utf16().flat_map(u16::to_le_bytes))
        .collect();
    let problem = one(&utf16);
    assert!(problem.what.contains("UTF-16"), "{problem}");
    assert!(problem.write_instead.contains("UTF-8"), "{problem}");

    // "Crème" in Latin-1: the third letter of the value is no UTF-8.
    let problem = one(b"plan: A test\nunits: celsius\n# Cr\xe8me\n");
    assert_eq!((problem.line, problem.column), (3, 5));
    assert!(problem.what.contains("not UTF-8"), "{problem}");

    // A file that ends in the middle of a letter.
    let problem = one(b"plan: Cr\xc3");
    assert_eq!((problem.line, problem.column), (1, 9));
}

#[test]
fn invisible_characters() {
    only(
        "plan: A« \u{0}test\n".replace(" \u{0}", "\u{0}").as_str(),
        "U+0000",
        "without it",
    );
    only(
        "plan: A test\nunits: cel«\u{feff}sius\n",
        "U+FEFF",
        "without it",
    );
    only("plan: A«\rtest\n", "carriage return", "line feed");
}

#[test]
fn two_documents() {
    only(
        "plan: A test\nunits: celsius\nsteps:\n  stir: {say: Stir.}\n«---\nplan: Another\n",
        "second document",
        "one plan a file",
    );
}

#[test]
fn anchors_aliases_and_tags() {
    only(
        "plan: A test\nunits: celsius\nitems: &all «{dough: {class: other}}\n"
            .replace("&all «{", "«&all {")
            .as_str(),
        "anchors",
        "the value itself",
    );
    only(
        "plan: «!!str A test\nunits: celsius\nsteps:\n  stir: {say: Stir.}\n",
        "tags",
        "without its tag",
    );
}

#[test]
fn merge_keys_are_no_part_of_the_language() {
    only(
        "plan: A test\nunits: celsius\nsteps:\n  stir: {say: Stir., «<<: {wait: 3 min}}\n",
        "knows no key `<<`",
        "one of",
    );
}

#[test]
fn keys_twice() {
    only(
        "plan: A test\nunits: celsius\nsteps:\n  stir: {say: Stir.}\n«units: fahrenheit\n",
        "`units` stands here a second time; the first is on line 2",
        "once",
    );
    only(
        "plan: A test\nunits: celsius\nsteps:\n  stir: {say: Stir.}\n  «stir: {say: Stir more.}\n",
        "`stir` stands here a second time; the first is on line 4",
        "another name",
    );
}

#[test]
fn a_problem_at_the_end_of_a_file_is_still_in_it() {
    // The parser counts one line more than this file has; found by fuzzing.
    let found = problems("? # no line end");
    assert!(found.iter().all(|p| p.line == 1), "{found:?}");
}

#[test]
fn keys_that_are_no_words() {
    only(
        "plan: A test\nunits: celsius\nsteps:\n  stir: {say: Stir., «[a, b]: c}\n",
        "a list where a key must stand",
        "a key in words",
    );
}

/// Files made to be expensive are refused at once, without reading them to the end.
/// The bound is generous for a slow machine: the same files cost other readers
/// seconds or gigabytes.
#[test]
fn hostile_files_are_refused_quickly() {
    let bomb: String = (1..10)
        .map(|n| {
            format!(
                "a{n}: &a{n} [{}]\n",
                vec![format!("*a{}", n - 1); 9].join(", ")
            )
        })
        .fold(
            "a0: &a0 [x, x, x, x, x, x, x, x, x]\n".to_owned(),
            |a, b| a + &b,
        );
    let wide = 120_000;
    let hostile: Vec<(&str, String)> = vec![
        ("aliases of aliases", bomb),
        ("deep lists", "[".repeat(wide)),
        ("deep groups", "{a: ".repeat(wide / 4)),
        ("deep blocks", "- ".repeat(wide)),
        ("deep questions", "? ".repeat(wide)),
        (
            "a deep staircase",
            (0..700).map(|n| " ".repeat(n) + "a:\n").collect(),
        ),
        (
            "many keys",
            (0..25_000).map(|n| format!("k{n}: 1\n")).collect(),
        ),
        ("one key many times", "a: 1\n".repeat(50_000)),
        ("one long line", "x".repeat(2 * wide)),
        ("one long key", format!("{}: 1", "x".repeat(2 * wide))),
        (
            "a long word in quotes",
            format!("plan: \"{}", "x".repeat(2 * wide)),
        ),
        ("many colons", "a: ".repeat(wide / 2)),
        ("many quotes", "\"".repeat(2 * wide)),
        ("many anchors", "&a ".repeat(wide / 2)),
        ("many documents", "---\n".repeat(wide / 2)),
        ("many directives", "%TAG ! x\n".repeat(wide / 6)),
        ("many comments", "#\n".repeat(wide)),
        ("too long", "# a comment\n".repeat(40_000)),
        (
            "a gigantic number",
            format!("hands: {}", "9".repeat(2 * wide)),
        ),
    ];
    for (name, text) in hostile {
        let begun = Instant::now();
        let problems = plan::read(&text, "plan.yaml").unwrap_err();
        let took = begun.elapsed();
        assert!(!problems.is_empty(), "{name}");
        println!("{took:>12?}  {name}");
        assert!(took < Duration::from_secs(2), "{name}: {took:?}");
    }
}

#[test]
fn what_stops_the_reading_says_so() {
    only(
        &format!("plan: A test\nunits: {}«[]", "[".repeat(12)),
        "nested more than 12 deep",
        "a plan of steps",
    );
    let many: String = (0..25_000).map(|n| format!("k{n}: 1\n")).collect();
    assert!(problems(&many)[0].what.contains("20000 keys"));
    let long = "# a comment\n".repeat(40_000);
    let found = problems(&long);
    assert_eq!((found[0].line, found[0].column), (1, 1));
    assert!(found[0].what.contains("468 KiB"), "{found:?}");
}
