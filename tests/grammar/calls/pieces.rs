//! Calls about the marked pieces: where they lie, and which of them a taster picks.

use super::{check, english};
use hobcall::grammar::{Call, Spot, TastingCall};
use hobcall::plan::Place;
use hobcall::tasting::{Code, Test};

#[test]
fn samples() {
    let put = |vessel: Option<&str>, place| Call::Put {
        piece: "test_chop".into(),
        vessel: vessel.map(str::to_string),
        place,
    };
    let at_place = |place| Spot::Place {
        vessel: None,
        place,
    };
    let back_left = Place::Cell { row: 0, column: 0 };
    check(
        &english(),
        &[
            (
                "where is the test chop",
                Call::WhereIs {
                    piece: "test_chop".into(),
                },
            ),
            (
                "what's on the left of the left skillet",
                Call::WhatIsAt {
                    vessel: Some("left_skillet".into()),
                    place: Place::Left,
                },
            ),
            (
                "what is at the back left",
                Call::WhatIsAt {
                    vessel: None,
                    place: back_left,
                },
            ),
            ("show the map", Call::Map),
            ("test chop to the back left", put(None, Some(back_left))),
            (
                "test chop to the right of the left skillet",
                put(Some("left_skillet"), Some(Place::Right)),
            ),
            (
                "test chop to the right skillet",
                put(Some("right_skillet"), None),
            ),
            ("test chop out to the rack", put(Some("rack"), None)),
            ("test chop is in the middle", put(None, Some(Place::Middle))),
            (
                "swap left and right",
                Call::Swap {
                    a: at_place(Place::Left),
                    b: at_place(Place::Right),
                },
            ),
            (
                "swapped the test chop with the left one",
                Call::Swap {
                    a: Spot::Sample("test_chop".into()),
                    b: at_place(Place::Left),
                },
            ),
        ],
    );
}

#[test]
fn tastings() {
    let english = english();
    let call = |what| Call::Tasting { what };
    let open = |test, samples: &[&str], tasters, attribute: Option<&str>| {
        call(TastingCall::Open {
            test,
            samples: samples.iter().map(|s| (*s).to_owned()).collect(),
            tasters,
            attribute: attribute.map(str::to_owned),
        })
    };
    let pick = |taster, code, guess| {
        call(TastingCall::Pick {
            taster,
            code: Code::new(code).unwrap(),
            guess,
        })
    };
    check(
        &english,
        &[
            (
                "triangle test with six tasters",
                open(Test::Triangle, &[], Some(6), None),
            ),
            ("duo trio", open(Test::DuoTrio, &[], None, None)),
            (
                "preference test of the test chop with one taster",
                open(Test::PairedPreference, &["test_chop"], Some(1), None),
            ),
            (
                "which is more tender with twenty four tasters",
                open(Test::PairedDifference, &[], Some(24), Some("more tender")),
            ),
            (
                "how many tasters for a triangle test if a third can tell with ninety percent power",
                call(TastingCall::HowMany {
                    test: Some(Test::Triangle),
                    share: Some((1, 3)),
                    power: Some(90),
                }),
            ),
            ("serving sheet", call(TastingCall::Sheet)),
            ("next taster", call(TastingCall::NextTaster)),
            (
                "taster two four one seven is the odd one",
                pick(Some(2), 417, false),
            ),
            ("taster two four one seven", pick(Some(2), 417, false)),
            // The last three are the code, however the taster's number is said.
            ("taster twenty four one seven", pick(Some(20), 417, false)),
            (
                "taster twenty four one seven two",
                pick(Some(24), 172, false),
            ),
            (
                "taster two guesses four one seven",
                pick(Some(2), 417, true),
            ),
            ("four one seven is better as a guess", pick(None, 417, true)),
            (
                "taster two can't tell",
                call(TastingCall::CantTell { taster: Some(2) }),
            ),
            ("can't tell", call(TastingCall::CantTell { taster: None })),
            (
                "taster three has left",
                call(TastingCall::Leaves { taster: 3 }),
            ),
            ("close the tasting", call(TastingCall::Result)),
            (
                "which is the test",
                call(TastingCall::WhichIs { sample: None }),
            ),
            (
                "which is the test chop",
                call(TastingCall::WhichIs {
                    sample: Some("test_chop".into()),
                }),
            ),
        ],
    );
}
