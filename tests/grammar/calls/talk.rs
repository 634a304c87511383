//! Repairs, answers and talk, what is no call at all, and which calls count when.

use super::{at, check, english, vessel};
use hobcall::grammar::{ActiveSet, Asked, Call, Order, Subject};
use hobcall::plan::Place;

#[test]
fn repairs_answers_and_talk() {
    let english = english();
    check(
        &english,
        &[
            ("scratch that", Call::ScratchThat),
            ("undo", Call::ScratchThat),
            ("no", Call::No { value: None }),
            (
                "no one fifteen",
                Call::No {
                    value: Some(at(115.0)),
                },
            ),
            (
                "make that one fifty",
                Call::No {
                    value: Some(at(150.0)),
                },
            ),
            ("yes", Call::Yes),
            ("cancel", Call::Cancel),
            (
                "the left skillet",
                Call::Answer {
                    subject: vessel("left_skillet"),
                },
            ),
            (
                "on the left",
                Call::Answer {
                    subject: Subject::Place(Place::Left),
                },
            ),
            (
                "both",
                Call::Answer {
                    subject: Subject::All,
                },
            ),
            ("one fifteen", Call::Number { value: at(115.0) }),
            ("one five", Call::Number { value: at(15.0) }),
            ("keeping order", Call::InOrder { order: Order::Kept }),
            ("quiet", Call::Quiet),
            ("speak up", Call::SpeakUp),
            ("louder", Call::Louder),
            ("softer", Call::Softer),
            ("slower", Call::Slower),
            ("faster", Call::Faster),
            ("hold on", Call::HoldOn),
            ("carry on", Call::CarryOn),
            ("wait for your name", Call::ByName { on: true }),
            ("no name needed", Call::ByName { on: false }),
            ("note", Call::Note { text: None }),
            ("help", Call::Help),
            ("end the cook", Call::EndCook),
        ],
    );
}

#[test]
fn what_is_not_a_call_is_none() {
    let awake = english().restricted(&ActiveSet::awake());
    let awake = awake.unwrap_or_else(|e| panic!("{e}"));
    for words in [
        "",
        "the",
        "left",
        "reading",
        "timer",
        "timer four",
        "one hundred and",
        "next next",
        "could you pass the salt",
        "reading one to two",
    ] {
        assert_eq!(awake.calls(words), [], "{words:?}");
    }
}

#[test]
fn only_what_makes_sense_now_is_active() {
    let english = english();
    let only = |set| english.restricted(&set).unwrap_or_else(|e| panic!("{e}"));
    let awake = only(ActiveSet::awake());
    let answering = only(ActiveSet::answering());
    let asleep = only(ActiveSet::asleep());
    for (words, when) in [
        ("flipped", [true, true, false]),
        ("one fifteen", [false, true, false]),
        ("the left skillet", [false, true, false]),
        ("carry on", [true, true, true]),
        ("no one fifteen", [true, true, false]),
    ] {
        let now = [&awake, &answering, &asleep].map(|g| g.accepts(words));
        assert_eq!(now, when, "{words:?}");
    }
    assert!(english.restricted(&ActiveSet::rules(["nonsense"])).is_err());
    let named = only(ActiveSet::awake().by_name(false));
    let open = only(ActiveSet::answering().by_name(true));
    for (words, when) in [
        ("hobcall", [true, true]),
        ("hobcall reading one fifty", [true, true]),
        ("reading one fifty", [false, true]),
        ("hobcall the left skillet", [false, true]),
        ("the left skillet", [false, true]),
        ("done", [true, true]),
        ("quiet", [true, true]),
        ("hobcall hobcall", [false, false]),
    ] {
        let now = [&named, &open].map(|g| g.accepts(words));
        assert_eq!(now, when, "{words:?}");
    }
    for (kind, answer) in [
        (Asked::Name, "on the left"),
        (Asked::Number, "one five"),
        (Asked::Order, "same order"),
        (Asked::Way, "clockwise"),
        (Asked::Kind, "oil"),
    ] {
        let asked = only(ActiveSet::asked(&[kind]));
        assert!(
            asked.accepts(answer) && !awake.accepts(answer),
            "{answer:?}"
        );
        assert!(asked.accepts("cancel") && asked.accepts("no one fifteen"));
        let others = ["on the left", "one five", "same order", "clockwise", "oil"];
        let heard = others.iter().filter(|o| asked.accepts(o)).count();
        assert_eq!(heard, 1, "{kind:?}");
    }
}
