//! Numbers as cooks say them, there and back, and against what others say.

use std::collections::{BTreeMap, BTreeSet};

use crate::plan::chops;
use hobcall::grammar::{Call, Grammar, ReadingKind};
use hobcall::plan::Span;
use num2words::{Lang, Num2Words};

fn english() -> Grammar {
    Grammar::for_plan("en", &chops()).unwrap_or_else(|e| panic!("{e}"))
}

fn number(value: f64) -> Call {
    Call::Number {
        value: Span {
            lo: value,
            hi: value,
        },
    }
}

/// A general library's words, without its hyphens.
fn words(n: u32) -> String {
    let text = Num2Words::new(n).lang(Lang::English).to_words();
    let text = text.unwrap_or_else(|e| panic!("{n}: {e:?}"));
    text.replace('-', " ")
}

#[test]
fn every_number_to_500_in_every_wording_and_back() {
    let english = english();
    let mut said = 0;
    for n in 0..=500 {
        let value = f64::from(n);
        let wordings = english.say_number(value);
        assert!(wordings.len() >= 3, "{n}: {wordings:?}");
        for wording in wordings {
            said += 1;
            assert_eq!(english.calls(&wording), [number(value)], "{wording:?}");
            let call = Call::Reading {
                about: None,
                kind: ReadingKind::Unstated,
                value: Span {
                    lo: value,
                    hi: value,
                },
                unit: None,
            };
            let reading = format!("reading {wording} degrees");
            assert_eq!(english.calls(&reading), [call], "{reading:?}");
            let no = Call::No {
                value: Some(Span {
                    lo: value,
                    hi: value,
                }),
            };
            let repair = format!("no {wording}");
            assert_eq!(english.calls(&repair), [no], "{repair:?}");
        }
    }
    // 401 numbers with a hundred have at least "one sixty two", "one hundred sixty two",
    // "one hundred and sixty two", "one six two".
    assert!(said > 4 * 401, "{said} wordings");
}

/// Every wording that there is has one value, and every value below a thousand a wording.
#[test]
fn no_wording_is_two_numbers() {
    let whole = english().starting_at(&["whole"]);
    let whole = whole.unwrap_or_else(|e| panic!("{e}"));
    let numbers = english();
    let mut values: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let sentences = whole.sentences(100_000);
    for sentence in &sentences {
        let calls = numbers.calls(sentence);
        assert_eq!(calls.len(), 1, "{sentence:?}: {calls:?}");
        for call in calls {
            let value = format!("{call:?}");
            values.entry(value).or_default().insert(sentence.clone());
        }
    }
    assert_eq!(values.len(), 1000);
    assert!(sentences.len() > 4000, "{}", sentences.len());
}

/// Source: the crate num2words 1.2, which knows nothing of this project. It writes
/// British "and"; American speech leaves it out, and "a hundred" is as common as "one
/// hundred" (common usage, no source).
#[test]
fn agrees_with_a_general_library() {
    let english = english();
    let said =
        |n: u32| -> BTreeSet<String> { english.say_number(f64::from(n)).into_iter().collect() };
    for n in 0..1000u32 {
        let ours = said(n);
        let theirs = words(n);
        assert!(ours.contains(&theirs), "{n}: {theirs:?} is not in {ours:?}");
        let without_and = theirs.replace(" and ", " ");
        assert!(ours.contains(&without_and), "{n}: {without_and:?}");
        let (hundreds, rest) = (n / 100, n % 100);
        if hundreds == 1 {
            let a = theirs.replacen("one hundred", "a hundred", 1);
            assert!(ours.contains(&a), "{n}: {a:?}");
        }
        // The kitchen's short form, put together from the library's words.
        let short = match (hundreds, rest) {
            (0, _) | (_, 0) => continue,
            (_, 1..=9) => format!("{} oh {}", words(hundreds), words(rest)),
            _ => format!("{} {}", words(hundreds), words(rest)),
        };
        assert!(ours.contains(&short), "{n}: {short:?} is not in {ours:?}");
        let digit = |d: u32| words(d % 10);
        let digits = [digit(hundreds), digit(n / 10), digit(n)].join(" ");
        assert!(ours.contains(&digits), "{n}: {digits:?}");
    }
}

#[test]
fn tenths_agree_with_a_general_library() {
    let english = english();
    for n in [0u32, 7, 32, 99, 100, 105, 152, 212, 425, 999] {
        for tenth in 1..10u32 {
            let value: f64 = format!("{n}.{tenth}").parse().unwrap_or(f64::NAN);
            let theirs = format!("{} point {}", words(n), words(tenth));
            assert_eq!(english.calls(&theirs), [number(value)], "{theirs:?}");
            assert!(english.say_number(value).contains(&theirs), "{theirs:?}");
        }
        let half = format!("{} and a half", words(n));
        assert_eq!(english.calls(&half), [number(f64::from(n) + 0.5)], "{half}");
    }
}

/// The wordings that cooks use, by example (common practice, no source).
#[test]
fn as_cooks_say_them() {
    let english = english();
    for (wording, value) in [
        ("one fifty", 150.0),
        ("one hundred and sixty two", 162.0),
        ("one hundred sixty two", 162.0),
        ("one sixty two", 162.0),
        ("one six two", 162.0),
        ("one oh five", 105.0),
        ("a hundred and five", 105.0),
        ("a hundred five", 105.0),
        ("two twelve", 212.0),
        ("four twenty five", 425.0),
        ("three fifty", 350.0),
        ("thirty two point five", 32.5),
        ("thirty two and a half", 32.5),
        ("one five", 15.0),
        ("five oh", 50.0),
        ("fifty", 50.0),
        ("zero", 0.0),
        ("a hundred", 100.0),
        ("one oh oh", 100.0),
        ("one forty five point oh", 145.0),
    ] {
        assert_eq!(english.calls(wording), [number(value)], "{wording:?}");
    }
    for nothing in [
        "a",
        "and",
        "oh",
        "one hundred and",
        "hundred",
        "one fifty five six",
        "fifty one fifty",
        "one thousand",
        "point five",
        "a fifty",
        "oh five",
        "ten five",
        "sixty two one",
    ] {
        assert_eq!(english.calls(nothing), [], "{nothing:?}");
    }
}

/// "Fifteen" and "fifty" sound alike; said digit by digit they do not.
#[test]
fn teens_and_tens_have_wordings_of_their_own() {
    let english = english();
    for (teen, ty) in [
        (13, 30),
        (14, 40),
        (15, 50),
        (16, 60),
        (17, 70),
        (18, 80),
        (19, 90),
    ] {
        for hundreds in [0, 1, 3] {
            let said = |n: i32| -> BTreeSet<String> {
                let n = f64::from(100 * hundreds + n);
                english.say_number(n).into_iter().collect()
            };
            assert!(said(teen).is_disjoint(&said(ty)));
            let last = |n: i32| words((n % 10) as u32);
            let digits = said(teen)
                .iter()
                .any(|s| s.ends_with(&format!("one {}", last(teen))));
            assert!(digits, "{teen}");
        }
    }
}

/// Source: the Python library num2words 0.5.14, whose table is in `grammar_data`.
#[test]
fn korean_numbers_agree_with_a_general_library() {
    let korean = Grammar::of_language("ko").unwrap_or_else(|e| panic!("{e}"));
    let table = include_str!("data/korean_numbers.txt");
    let theirs: Vec<&str> = table.lines().filter(|l| !l.starts_with('#')).collect();
    assert_eq!(theirs.len(), 1000);
    for (n, word) in theirs.iter().enumerate() {
        let value = n as f64;
        let ours = korean.say_number(value);
        assert!(
            ours.iter().any(|s| s.replace(' ', "") == *word),
            "{n}: {word} is not in {ours:?}"
        );
        for wording in &ours {
            assert_eq!(korean.calls(wording), [number(value)], "{wording:?}");
        }
        // Written in one piece, as the library writes it and a cook would type it.
        assert_eq!(korean.calls_typed(word), [number(value)], "{word}");
    }
}
