//! Any words are a call or none, heard and typed; any number said in any wording, ours
//! or the cook's, comes back as that number.
//!
//! Each input byte picks a word of the grammar's vocabulary; the same bytes are a typed
//! line, and their first four a number.

#![no_main]

use std::sync::OnceLock;

use hobcall::grammar::{Call, Grammar};
use hobcall::voice::numbers;
use libfuzzer_sys::fuzz_target;

struct Ears {
    grammar: Grammar,
    /// Words that stand in numbers and spans of time, as often as all the others.
    counting: Vec<String>,
    all: Vec<String>,
}

fn ears() -> &'static Ears {
    static EARS: OnceLock<Ears> = OnceLock::new();
    EARS.get_or_init(|| {
        let grammar = Grammar::of_language("en").unwrap_or_else(|e| panic!("{e}"));
        let part = |rules: &[&str]| -> Vec<String> {
            let part = grammar.starting_at(rules).unwrap_or_else(|e| panic!("{e}"));
            part.vocabulary().into_iter().map(str::to_owned).collect()
        };
        Ears {
            counting: part(&["number", "duration"]),
            all: grammar
                .vocabulary()
                .into_iter()
                .map(str::to_owned)
                .collect(),
            grammar,
        }
    })
}

fn value(calls: &[Call]) -> Option<f64> {
    match calls {
        [Call::Number { value }] if value.lo == value.hi => Some(value.lo),
        _ => None,
    }
}

fuzz_target!(|bytes: &[u8]| {
    let ears = ears();
    let words: Vec<&str> = bytes
        .iter()
        .take(60)
        .map(|b| {
            let list = if *b < 128 { &ears.counting } else { &ears.all };
            list[usize::from(*b & 127) * list.len() / 128].as_str()
        })
        .collect();
    let said = words.join(" ");
    ears.grammar.calls(&said);
    let number = format!("reading {said}");
    ears.grammar.calls(&number);
    ears.grammar.calls_typed(&String::from_utf8_lossy(bytes));
    if let Some(first) = bytes.first_chunk::<4>() {
        // Tenths, since that is what a thermometer shows.
        let tenths = u32::from_le_bytes(*first) % 10_000;
        let n: f64 = format!("{}.{}", tenths / 10, tenths % 10)
            .parse()
            .unwrap_or(0.0);
        let wordings = ears.grammar.say_number(n);
        assert!(!wordings.is_empty(), "{n} has no wording");
        for wording in wordings {
            assert_eq!(value(&ears.grammar.calls(&wording)), Some(n), "{wording:?}");
        }
        for ours in [numbers::called(n), numbers::digits(n), numbers::amount(n)] {
            assert!(
                !ours.is_empty() && !ours.contains(char::is_numeric),
                "{ours:?}"
            );
        }
        let span = std::time::Duration::from_millis(u64::from(u32::from_le_bytes(*first)));
        for ours in [
            numbers::duration(span),
            numbers::about(span),
            numbers::ago(span),
        ] {
            assert!(
                !ours.is_empty() && !ours.contains(char::is_numeric),
                "{ours:?}"
            );
        }
    }
});
