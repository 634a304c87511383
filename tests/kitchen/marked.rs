//! A marked piece among its twins: done and time left by its own readings, or by its pan's,
//! and it says which.

use crate::support::Cook;

/// Three chops in one pan, one of them marked.
const PAN: &str = "
plan: Three chops
units: fahrenheit
items:
  chop: {also called: chops, pieces: 3, class: whole cut, thickness: 1 in, start: 40 F}
samples:
  test chop: {of: chop, mark: a pick}
vessels:
  pan: {kind: skillet, places: left middle right}
steps:
  frying:
    say: Three chops into the pan
    vessel: pan
    holds: [test chop at left, 2 chops at middle and right]
    until: {core: 145 F}
";

fn read(cook: &mut Cook, calls: &[&str]) {
    for call in calls {
        cook.says(call);
        cook.waits(12.0);
    }
}

fn minutes(said: &str) -> Option<u32> {
    const WORDS: [&str; 21] = [
        "zero",
        "one",
        "two",
        "three",
        "four",
        "five",
        "six",
        "seven",
        "eight",
        "nine",
        "ten",
        "eleven",
        "twelve",
        "thirteen",
        "fourteen",
        "fifteen",
        "sixteen",
        "seventeen",
        "eighteen",
        "nineteen",
        "twenty",
    ];
    let after = said.split("about ").nth(1)?;
    let word = after.split(' ').next()?;
    let n = WORDS.iter().position(|w| *w == word)?;
    u32::try_from(n).ok()
}

#[test]
fn without_a_reading_of_its_own_the_pan_answers() {
    let mut cook = Cook::with(PAN);
    cook.waits(480.0);
    read(
        &mut cook,
        &[
            "pan reading eighty four",
            "pan reading eighty six",
            "pan reading eighty five",
        ],
    );
    let said = cook.says("is the test chop done");
    assert!(
        said.starts_with(
            "No reading of the test chop itself. Pan not done, coldest eighty four, three \
             readings of three pieces."
        ),
        "{said}"
    );
    let said = cook.says("how long is left on the test chop");
    assert!(
        said.starts_with(
            "No reading of the test chop itself. Frying, until the core is one forty five, last \
             eighty four, "
        ),
        "{said}"
    );
}

#[test]
fn its_own_readings_answer_for_it_and_not_for_the_pan() {
    let mut cook = Cook::with(PAN);
    cook.waits(480.0);
    // The marked piece is ahead of its twins by so much that the pan's least decides
    // otherwise: both answers are right, each for what was asked.
    for (wait, own, twins) in [
        (120.0, "one oh four", ["ninety six", "ninety seven"]),
        (120.0, "one nineteen", ["one eleven", "one twelve"]),
        (
            120.0,
            "one thirty one",
            ["one twenty three", "one twenty four"],
        ),
    ] {
        read(
            &mut cook,
            &[
                &format!("test chop {own}"),
                &format!("pan reading {}", twins[0]),
                &format!("pan reading {}", twins[1]),
            ],
        );
        cook.waits(wait);
    }
    let own = cook.says("how long on the test chop");
    assert!(
        own.starts_with(
            "By the test chop's own readings. Test chop, until the core is one forty five, last \
             one thirty one, "
        ),
        "{own}"
    );
    let pan = cook.says("how long on the pan");
    assert!(pan.contains("last one twenty three"), "{pan}");
    let (own, pan) = (minutes(&own), minutes(&pan));
    assert!(
        own.zip(pan).is_none_or(|(own, pan)| own <= pan),
        "{own:?} {pan:?}"
    );

    read(&mut cook, &["test chop one forty six"]);
    assert_eq!(
        cook.says("is the test chop done"),
        "By the test chop's own readings. Test chop not done, coldest one forty six, one reading \
         of one piece. Target one forty five. Try another spot."
    );
    read(&mut cook, &["test chop one forty seven"]);
    assert_eq!(
        cook.says("is the test chop done"),
        "By the test chop's own readings. Test chop is done, coldest one forty six, two readings \
         of one piece. Target one forty five."
    );
    let pan = cook.says("is it done");
    assert!(pan.starts_with("Pan not done"), "{pan}");
}

#[test]
fn an_odd_reading_of_its_own_does_not_answer() {
    let mut cook = Cook::with(PAN);
    cook.waits(480.0);
    read(
        &mut cook,
        &["test chop eighty four", "test chop eighty five"],
    );
    cook.waits(120.0);
    read(&mut cook, &["test chop one ninety"]);
    let said = cook.says("is the test chop done");
    assert!(
        said.starts_with(
            "By the test chop's own readings. Test chop not done, coldest eighty four, two \
             readings of one piece."
        ),
        "{said}"
    );
}
