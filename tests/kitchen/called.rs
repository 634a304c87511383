//! Called by name: what counts, and what without the name.

use crate::support::{Cook, SIX_CHOPS};
use hobcall::kitchen::{At, Input, heeds};

fn with_name() -> Cook {
    Cook::with(&SIX_CHOPS.replacen("units:", "address: chef\nunits:", 1))
}

/// Whether these words count when they are said now, without the name.
fn counts(cook: &Cook, words: &str) -> bool {
    let calls = cook.grammar.calls(words);
    let [call] = calls.as_slice() else {
        panic!("{words:?} is {calls:?}")
    };
    assert!(heeds(&cook.state, call, true, cook.now), "with the name");
    heeds(&cook.state, call, false, cook.now)
}

#[test]
fn a_plan_may_ask_for_the_name_and_says_so() {
    let cook = with_name();
    assert_eq!(cook.said[0].1.text, "From now on say chef before a call.");
    assert_eq!(cook.state.name(), "chef");
    assert!(!counts(&cook, "next"));
    assert!(!counts(&cook, "reading one fifty"));
    assert!(!counts(&cook, "yes"));
    // It mends what the tool itself does.
    assert!(counts(&cook, "quiet"));
    let plain = Cook::with(SIX_CHOPS);
    assert!(counts(&plain, "next"));
    assert!(!plain.said[0].1.text.contains("say"), "{:?}", plain.said[0]);
}

#[test]
fn the_cook_turns_it_on_and_off() {
    let mut cook = Cook::with(SIX_CHOPS);
    assert_eq!(
        cook.says("wait for your name"),
        "From now on say hobcall before a call."
    );
    assert!(!counts(&cook, "status"));
    assert_eq!(cook.says("no name needed"), "No name needed.");
    assert!(counts(&cook, "status"));
    // It is no move: "scratch that" goes past it.
    cook.says("wait for your name");
    assert!(cook.state.goes_by_name());
    let said = cook.says("scratch that");
    assert!(cook.state.goes_by_name(), "{said}");
}

#[test]
fn after_the_name_alone_it_listens_for_some_seconds() {
    let mut cook = with_name();
    cook.waits(10.0);
    let said: Vec<String> = cook
        .put(&Input::Called)
        .into_iter()
        .map(|u| u.text)
        .collect();
    assert_eq!(said, ["Yes?"]);
    assert!(counts(&cook, "status"));
    let call = &cook.grammar.calls("status")[0];
    let after = |s: i64| heeds(&cook.state, call, false, At(cook.now.0 + s * 1000));
    assert!(after(7) && !after(9));
}

#[test]
fn an_alarm_and_a_question_are_answered_without_it() {
    let mut cook = with_name();
    cook.says("next");
    cook.says("timer one minute");
    assert!(!counts(&cook, "stop"));
    cook.waits(61.0);
    assert!(counts(&cook, "stop") && counts(&cook, "done"));
    assert!(!counts(&cook, "end the cook") && !counts(&cook, "louder"));
    cook.says("stop");
    assert!(!counts(&cook, "done"));
    // It asks whether the cook means it.
    cook.says("end the cook");
    assert!(counts(&cook, "no") && counts(&cook, "yes"));
    assert!(!counts(&cook, "next"));
}

#[test]
fn put_to_sleep_it_waits_for_carry_on() {
    let mut cook = with_name();
    cook.says("hold on");
    assert!(cook.put(&Input::Called).is_empty());
    assert!(counts(&cook, "carry on"));
}
