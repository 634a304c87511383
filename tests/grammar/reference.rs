//! The reader and the exported text against another implementation of the format: the
//! one in libsphinxbase 0.8+5prealpha (Debian package `libsphinxbase3`), which builds a
//! finite-state grammar from JSGF text. Both must say the same sentences.

use std::collections::{BTreeSet, HashMap};
use std::ffi::{CString, c_char, c_double, c_float, c_int, c_void};
use std::path::Path;

use hobcall::grammar::{ActiveSet, Grammar};
use libloading::Library;

/// A finite-state grammar as the library writes it: arcs with a word or none.
#[derive(Default)]
struct Reference {
    arcs: HashMap<u32, Vec<(u32, Option<String>)>>,
    start: u32,
    end: u32,
}

/// What the library makes of a text.
fn reference(jsgf: &str, folder: &Path) -> Option<Reference> {
    type Pointer = *mut c_void;
    let text = CString::new(jsgf).ok()?;
    let file = folder.join("reference.fsg");
    let path = CString::new(file.to_str()?).ok()?;
    // SAFETY: the signatures are those of sphinxbase's jsgf.h, fsg_model.h, logmath.h and
    // err.h; every pointer comes from the library and is checked before it is used, and
    // the calls of one test are made by one thread.
    unsafe {
        let library = Library::new("libsphinxbase.so.3").unwrap_or_else(|e| {
            panic!("{e}: install the Debian package libsphinxbase3 to run this test")
        });
        macro_rules! function {
            ($name:literal, fn($($argument:ty),*) $(-> $result:ty)?) => {
                *library
                    .get::<unsafe extern "C" fn($($argument),*) $(-> $result)?>($name)
                    .unwrap_or_else(|e| panic!("{e}"))
            };
        }
        let quiet = function!(b"err_set_logfp\0", fn(Pointer));
        let parse = function!(
            b"jsgf_parse_string\0",
            fn(*const c_char, Pointer) -> Pointer
        );
        let public = function!(b"jsgf_get_public_rule\0", fn(Pointer) -> Pointer);
        let build = function!(
            b"jsgf_build_fsg\0",
            fn(Pointer, Pointer, Pointer, c_float) -> Pointer
        );
        let log = function!(b"logmath_init\0", fn(c_double, c_int, c_int) -> Pointer);
        let write = function!(b"fsg_model_writefile\0", fn(Pointer, *const c_char));
        let free_fsg = function!(b"fsg_model_free\0", fn(Pointer) -> c_int);
        let free_jsgf = function!(b"jsgf_grammar_free\0", fn(Pointer));
        let free_log = function!(b"logmath_free\0", fn(Pointer) -> c_int);
        quiet(std::ptr::null_mut());
        let grammar = parse(text.as_ptr(), std::ptr::null_mut());
        if grammar.is_null() {
            return None;
        }
        let rule = public(grammar);
        if rule.is_null() {
            free_jsgf(grammar);
            return None;
        }
        let math = log(1.0001, 0, 0);
        let fsg = build(grammar, rule, math, 1.0);
        if fsg.is_null() {
            return None;
        }
        write(fsg, path.as_ptr());
        free_fsg(fsg);
        free_jsgf(grammar);
        free_log(math);
    }
    Some(Reference::read(&std::fs::read_to_string(&file).ok()?))
}

impl Reference {
    fn read(text: &str) -> Reference {
        let mut graph = Reference::default();
        for line in text.lines() {
            let parts: Vec<&str> = line.split_whitespace().collect();
            let number = |i: usize| parts.get(i).and_then(|p| p.parse::<u32>().ok());
            match (parts.first().copied(), number(1), number(2)) {
                (Some("START_STATE"), Some(s), _) => graph.start = s,
                (Some("FINAL_STATE"), Some(s), _) => graph.end = s,
                (Some("TRANSITION"), Some(from), Some(to)) => {
                    let word = parts.get(4).map(|w| w.to_string());
                    graph.arcs.entry(from).or_default().push((to, word));
                }
                _ => {}
            }
        }
        assert!(!graph.arcs.is_empty(), "no arcs in:\n{text}");
        graph
    }

    fn silent(&self, states: BTreeSet<u32>) -> BTreeSet<u32> {
        let mut all = states.clone();
        let mut open: Vec<u32> = states.into_iter().collect();
        while let Some(s) = open.pop() {
            for (to, word) in self.arcs.get(&s).into_iter().flatten() {
                if word.is_none() && all.insert(*to) {
                    open.push(*to);
                }
            }
        }
        all
    }

    fn accepts(&self, sentence: &str) -> bool {
        let mut states = self.silent(BTreeSet::from([self.start]));
        for said in sentence.split_whitespace() {
            let next = states
                .iter()
                .flat_map(|s| self.arcs.get(s).into_iter().flatten())
                .filter(|(_, word)| word.as_deref() == Some(said))
                .map(|(to, _)| *to)
                .collect();
            states = self.silent(next);
        }
        states.contains(&self.end)
    }

    /// A walk to the end, by a seed; `None` if it takes too long.
    fn sentence(&self, seed: u64) -> Option<String> {
        let mut dice = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
        let mut state = self.start;
        let mut words = Vec::new();
        for _ in 0..2000 {
            if state == self.end {
                return Some(words.join(" "));
            }
            let arcs = self.arcs.get(&state)?;
            dice ^= dice << 13;
            dice ^= dice >> 7;
            dice ^= dice << 17;
            let (to, word) = arcs.get((dice % arcs.len() as u64) as usize)?;
            words.extend(word.clone());
            state = *to;
        }
        None
    }
}

/// Both accept what either says.
fn agree(name: &str, ours: &Grammar, text: &str) {
    let folder = tempfile::tempdir().unwrap_or_else(|e| panic!("{e}"));
    let theirs = reference(text, folder.path());
    let theirs = theirs.unwrap_or_else(|| panic!("{name}: the library refuses\n{text}"));
    for seed in 0..600 {
        let sentence = ours.sentence(seed);
        assert!(
            theirs.accepts(&sentence),
            "{name}: only ours says {sentence:?}"
        );
    }
    let mut heard = 0;
    for sentence in (0..600).filter_map(|seed| theirs.sentence(seed)) {
        // Longer ones are beyond what anybody parses.
        if sentence.split(' ').count() < 200 {
            heard += 1;
            assert!(
                ours.accepts(&sentence),
                "{name}: only theirs says {sentence:?}"
            );
        }
    }
    assert!(heard > 300, "{name}: {heard}");
    for nothing in ["", "zzz", "next next next", "one two three four five six"] {
        assert_eq!(
            ours.accepts(nothing),
            theirs.accepts(nothing),
            "{name}: {nothing:?}"
        );
    }
}

#[test]
fn the_shipped_grammars_say_the_same_to_both() {
    let english = Grammar::for_plan("en", &crate::plan::chops()).unwrap_or_else(|e| panic!("{e}"));
    for set in [
        ActiveSet::awake(),
        ActiveSet::answering(),
        ActiveSet::asleep(),
    ] {
        let part = english.restricted(&set).unwrap_or_else(|e| panic!("{e}"));
        agree("en", &part, &part.to_jsgf());
    }
    // The file itself, tags, comments, <VOID> and all: its first public rule.
    let file = include_str!("../../grammars/en.jsgf");
    let bare = Grammar::of_language("en").unwrap_or_else(|e| panic!("{e}"));
    let talking = bare.restricted(&ActiveSet::rules(["talking"]));
    let talking = talking.unwrap_or_else(|e| panic!("{e}"));
    agree("en.jsgf exported", &talking, &talking.to_jsgf());
    assert!(file.starts_with("#JSGF V1.0 UTF-8 en;"));
    let korean = Grammar::of_language("ko").unwrap_or_else(|e| panic!("{e}"));
    let talking = korean
        .restricted(&ActiveSet::awake())
        .unwrap_or_else(|e| panic!("{e}"));
    agree("ko.jsgf exported", &talking, &talking.to_jsgf());
}

#[test]
fn other_grammars_read_the_same_to_both() {
    // Not among them, for the library reads them wrongly: a repeat that begins one of
    // several alternatives (`a* b | c` accepts "a c", `[a* b]` accepts "a"), and recursion
    // that is not at the right end, which becomes another language in silence.
    let cases = [
        "public <x> = turn [the] (light | lamp) (on {ON} | off {OFF});",
        "public <x> = (a | b)* c+ [d];",
        "public <x> = a [b [c [d]]] | [e] [f] g;",
        "public <x> = /10/ small {s} | /2/ medium {m} | /1/ large;",
        "public <x> = <digit>+ ; <digit> = one | two | three | oh;",
        "public <x> = <a> and <x> | <a>; <a> = stop | go [on];",
        "public <x> = <NULL> a | b <NULL> c;",
        "public <x> = ((a) | (b | (c d)))+ [e f];",
        "public <x> = not (very {v})* good {g} | \"so so\";",
        "<n> = one | two; public <x> = set <n> <unit> [and <n> <unit>]; <unit> = cup | cups;",
    ];
    for rules in cases {
        let text = format!("#JSGF V1.0;\ngrammar t;\n{rules}\n");
        let ours = Grammar::from_jsgf(&text, "t").unwrap_or_else(|e| panic!("{e}"));
        agree(rules, &ours, &ours.to_jsgf());
        // The library keeps a quoted token as one word; else it reads the original too.
        if !rules.contains('"') {
            agree(rules, &ours, &text);
        }
    }
}

/// What the library refuses, we refuse as well (and say where).
#[test]
fn both_refuse_broken_text() {
    let folder = tempfile::tempdir().unwrap_or_else(|e| panic!("{e}"));
    for rules in [
        "public <x> = (a;",
        "public <x> = a | ;",
        "public <x> a;",
        "<x> = a;",
    ] {
        let text = format!("#JSGF V1.0;\ngrammar t;\n{rules}\n");
        assert!(reference(&text, folder.path()).is_none(), "{rules}");
        assert!(Grammar::from_jsgf(&text, "t").is_err(), "{rules}");
    }
}
