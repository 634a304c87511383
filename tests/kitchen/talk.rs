//! The dialogue: readings and their repair, evidence, undo, help.

use crate::support::{Cook, frying, text};
use hobcall::grammar::Call;
use hobcall::kitchen::{Input, likelihood};

const OIL: &str = "
plan: Croutons
units: celsius
items:
  bread: {pieces: 40, class: other}
vessels:
  pot: {kind: pot}
steps:
  heating: {say: Heat the oil, vessel: pot, until: {medium: 175 C .. 185 C}}
  frying: {say: Bread in, vessel: pot, holds: bread, until: {time: 2 min .. 4 min, word: they are golden}}
";

#[test]
fn readings_are_read_back_first_digit_by_digit() {
    let mut cook = frying();
    // Three digits one by one. (Aviation reads numbers digit by digit for the same
    // reason: ICAO Annex 10 Vol. II, 5.2.1.4.1.1.)
    assert_eq!(
        cook.says("left skillet reading one thirty"),
        "Heard one three zero, left skillet. Target one forty five."
    );
    // A teen or a ten is said as a word and in digits, the remedy that medication
    // safety gives for "fifteen" heard as "fifty" (Pennsylvania Patient Safety
    // Authority, 2006).
    assert_eq!(
        cook.says("left skillet reading fifty"),
        "Heard fifty, five zero, left skillet. Target one forty five."
    );
    let mut cook = frying();
    assert_eq!(
        cook.says("test chop ninety two"),
        "Heard ninety two, test chop. Target one forty five."
    );
    let mut cook = frying();
    assert_eq!(
        cook.says("left skillet reading one forty to one forty four"),
        "Heard one four zero to one four four, left skillet. Target one forty five."
    );
}

#[test]
fn a_bare_reading_goes_to_the_pan_that_ends_by_one() {
    let mut cook = frying();
    // Only the left pan ends by its core.
    assert_eq!(
        cook.says("reading one twenty"),
        "Heard one two zero, left skillet. Target one forty five."
    );
}

#[test]
fn no_one_fifteen_corrects_the_last_reading() {
    let mut cook = frying();
    cook.says("left skillet reading one fifty");
    assert_eq!(
        cook.says("no one fifteen"),
        "Corrected one one five, left skillet. Target one forty five."
    );
    assert_eq!(cook.says("no"), "What is the right number?");
    assert_eq!(
        cook.says("one oh five"),
        "Corrected one zero five, left skillet. Target one forty five."
    );
    assert_eq!(
        cook.says("scratch that"),
        "Taken back, corrected one zero five, left skillet."
    );
    assert_eq!(
        cook.says("is the left skillet done"),
        "Left skillet not done, coldest one fifteen, one reading of three pieces. Target one \
         forty five."
    );
    cook.waits(200.0);
    assert_eq!(cook.says("no one twenty"), "No reading to correct.");
}

#[test]
fn a_number_that_cannot_be_is_asked_for_again() {
    let mut cook = frying();
    assert_eq!(
        cook.says("test chop four twenty"),
        "Heard four two zero. That cannot be. Say the number again."
    );
    assert_eq!(
        cook.says("one twenty four"),
        "Heard one two four, test chop. Target one forty five."
    );
}

#[test]
fn oil_is_held_to_its_window_in_the_units_of_the_kitchen() {
    let mut cook = Cook::with(OIL);
    assert_eq!(
        cook.says("oil one sixty"),
        "Heard one six zero, pot. Below the window, one seventy five to one eighty five. Turn it \
         up a little."
    );
    assert_eq!(
        cook.says("done"),
        "Heating runs until it is one seventy five to one eighty five, last one sixty. \
         End it anyway?"
    );
    cook.says("no");
    assert_eq!(
        cook.says("reading one ninety"),
        "Heard one nine zero, pot. Above the window, one seventy five to one eighty five. Turn it \
         down."
    );
    assert_eq!(cook.says("use fahrenheit"), "Fahrenheit.");
    // 356 °F is 180 °C (exact: 356 - 32 = 324, times five ninths).
    assert_eq!(
        cook.says("oil three fifty six"),
        "Heard three five six, pot. In the window."
    );
    assert_eq!(
        cook.says("how long"),
        "Heating, until it is three forty seven to three sixty five, last three fifty six."
    );
    assert_eq!(
        cook.says("done"),
        "Done, heating. Bread in. Two to four minutes."
    );
}

#[test]
fn what_was_not_heard_well_is_asked_for_by_its_weight() {
    let mut cook = frying();
    // A question may be answered on little.
    assert!(cook.says_at("how long", 0.3).starts_with("Fry left"));
    // A record needs more.
    assert_eq!(
        cook.says_at("left skillet reading one thirty", 0.4),
        "Left skillet reading one three zero? Yes or no."
    );
    assert_eq!(
        cook.says("no one forty"),
        "Heard one four zero, left skillet. Target one forty five."
    );
    assert_eq!(
        cook.says_at("timer four minutes", 0.4),
        "Timer, four minutes? Yes or no."
    );
    assert_eq!(cook.says("yes"), "Timer, four minutes.");
    // The course needs most: going out with the marked piece in the pan.
    assert!(
        cook.says_at("left skillet out to the rack", 0.52)
            .ends_with("Yes or no.")
    );
    assert_eq!(cook.says("no"), "Not taken, out to the rack.");
    // Below the floor nothing was heard.
    assert_eq!(cook.says_at("next", 0.1), "Say that again?");
    assert_eq!(cook.says_at("next", 0.1), "", "not twice in a row");
}

#[test]
fn scratch_that_goes_back_call_by_call() {
    let mut cook = frying();
    let start = cook.state.clone();
    cook.says("left skillet flipped");
    cook.says("rice timer ten minutes");
    cook.says("left skillet reading one thirty");
    cook.says("how long");
    assert_eq!(
        cook.says("scratch that"),
        "Taken back, heard one three zero, left skillet."
    );
    assert_eq!(
        cook.says("scratch that"),
        "Taken back, rice timer, ten minutes."
    );
    assert_eq!(
        cook.says("scratch that"),
        "Taken back, flipped, left skillet."
    );
    assert!(cook.state.is_like(&start));
    // The step that was begun by the last "next" goes too.
    assert_eq!(
        cook.says("scratch that"),
        "Taken back, start of fry right. Notched chop: tray."
    );
}

#[test]
fn taking_back_a_flip_brings_its_alarm_back() {
    let mut cook = frying();
    cook.waits(46.0);
    cook.says("middle");
    assert_eq!(cook.hears(45.0), ["Flip, left skillet."]);
    cook.says("left skillet flipped");
    assert!(cook.hears(30.0).is_empty());
    cook.says("scratch that");
    let heard = cook.hears(10.0);
    assert!(
        heard[0].starts_with("Left skillet still waits for its flip"),
        "{heard:?}"
    );
}

#[test]
fn an_old_call_is_taken_back_only_with_a_yes() {
    let mut cook = frying();
    cook.says("left skillet reading one thirty");
    cook.waits(600.0);
    let said = cook.says("scratch that");
    assert_eq!(
        said,
        "Heard one three zero, left skillet, ten minutes ago. Take it back?"
    );
    assert!(
        cook.says("yes")
            .starts_with("Taken back, heard one three zero")
    );
}

#[test]
fn an_open_question_is_asked_twice_more_with_what_to_say() {
    let mut cook = frying();
    cook.says("end the cook");
    cook.says("no");
    cook.says("left skillet done");
    let heard = cook.waits(44.0);
    assert_eq!(
        heard.iter().map(|h| h.0 - 60.0).collect::<Vec<_>>(),
        [15.0, 30.0]
    );
    assert_eq!(
        heard[0].1,
        "Fry left runs until the core is one forty five. End it anyway? Say yes or no."
    );
    assert_eq!(
        text(&cook.put(&Input::NotUnderstood {
            heard: vec!["ness".into()]
        })),
        "Sorry. Fry left runs until the core is one forty five. End it anyway? Say yes or no."
    );
}

#[test]
fn help_fits_the_moment() {
    let mut cook = frying();
    assert_eq!(
        cook.says("help"),
        "You can say: flipped, reading one fifty, next, done or how long."
    );
    cook.says("left skillet done");
    assert_eq!(cook.says("help"), "You can say yes or no.");
    // Whatever help names can be said.
    for hint in [
        "next",
        "done",
        "flipped",
        "reading one fifty",
        "how long",
        "timer four minutes",
        "where is everything",
        "out to the rack",
        "scratch that",
        "say again",
        "where are we",
        "carry on",
        "yes",
        "stop the timer",
        "quiet",
        "in they go",
        "end the cook",
    ] {
        assert_eq!(cook.grammar.calls(hint).len(), 1, "{hint}");
    }
}

#[test]
fn notes_are_kept() {
    let mut cook = frying();
    assert_eq!(
        cook.calls(Call::Note {
            text: Some("left pan smells nutty".into())
        }),
        "Noted."
    );
    assert_eq!(cook.says("note"), "Moment noted.");
    assert_eq!(cook.says("scratch that"), "Taken back, the note.");
}

#[test]
fn louder_and_slower_have_an_end() {
    let mut cook = frying();
    for _ in 0..4 {
        assert_eq!(cook.says("louder"), "Louder.");
    }
    assert_eq!(cook.says("louder"), "No further.");
    assert_eq!(cook.says("slower"), "Slower.");
    assert_eq!(cook.state.voice(), (4, -1));
}

#[test]
fn a_name_answers_how_it_stands_when_nothing_was_asked() {
    let mut cook = frying();
    assert_eq!(
        cook.says("left skillet"),
        "Fry left, flip in a minute and a half, until the core is one forty five, a guess before \
         any reading, between ten and twenty five minutes."
    );
    assert_eq!(cook.says("yes"), "Nothing was asked.");
}

/// The calls of a sentence, as the ear hands them on.
fn call(cook: &Cook, words: &str) -> Call {
    cook.grammar.calls(words).remove(0)
}

#[test]
fn two_numbers_that_sound_alike_are_asked_apart() {
    let mut cook = frying();
    let calls =
        ["one fifteen", "one fifty"].map(|n| call(&cook, &format!("left skillet reading {n}")));
    let said = text(&cook.put(&Input::Either {
        calls: calls.clone(),
        heard: "left skillet reading one fifteen".into(),
        confidence: 0.46,
    }));
    assert_eq!(said, "One one five, or one five zero? Say the number.");
    assert_eq!(
        cook.says("one fifteen"),
        "Heard one one five, left skillet. Target one forty five."
    );
    // What is no pair of readings is heard with the confidence it has.
    let calls = ["left skillet flipped", "right skillet flipped"].map(|w| call(&cook, w));
    let said = text(&cook.put(&Input::Either {
        calls,
        heard: "left skillet flipped".into(),
        confidence: 0.46,
    }));
    assert_eq!(said, "Flipped? Yes or no.");
}

#[test]
fn the_kitchen_knows_what_is_likely() {
    let mut cook = frying();
    let likely = |cook: &Cook, words: &str| likelihood(&cook.state, &call(cook, words), cook.now);
    assert_eq!(likely(&cook, "left skillet reading one fifteen"), 1.0);
    assert_eq!(likely(&cook, "how long"), 1.0);
    // Nothing was asked: somebody talks.
    assert!(likely(&cook, "no") < 0.01);
    assert!(likely(&cook, "yes") < 0.01);
    // The timer that would be stopped is not there.
    assert!(likely(&cook, "stop the timer") < likely(&cook, "timer four minutes"));
    cook.says("left skillet reading one thirty");
    assert_eq!(likely(&cook, "left skillet reading one thirty five"), 1.0);
    assert!(likely(&cook, "left skillet reading fifty") < 1.0);
    // "no" to what was just read back is a call.
    assert_eq!(likely(&cook, "no"), 1.0);
    // And what was asked is likely to be answered.
    assert!(cook.says("end the cook").ends_with("End the cook?"));
    assert!(likely(&cook, "yes") > 1.0);
    assert_eq!(likely(&cook, "how long"), 1.0);
}
