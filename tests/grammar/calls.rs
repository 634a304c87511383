//! What a cook says and what it calls, through the grammar that ships.

use std::time::Duration;

use crate::plan::chops;
use hobcall::grammar::{
    ActiveSet, Asked, Call, Grammar, Heat, Order, ReadingKind, Spot, Subject, TastingCall, Thing,
    Turn,
};
use hobcall::plan::{Place, Span, Units};
use hobcall::tasting::{Code, Test};

fn english() -> Grammar {
    Grammar::for_plan("en", &chops()).unwrap_or_else(|e| panic!("{e}"))
}

fn at(v: f64) -> Span<f64> {
    Span { lo: v, hi: v }
}

fn left() -> Option<Subject> {
    Some(vessel("left_skillet"))
}

fn vessel(id: &str) -> Subject {
    Subject::Vessel(id.into())
}

fn test_chop() -> Subject {
    Subject::Sample("test_chop".into())
}

fn reading(about: Option<Subject>, kind: ReadingKind, v: f64) -> Call {
    Call::Reading {
        about,
        kind,
        value: at(v),
        unit: None,
    }
}

fn timer(seconds: u64, name: Option<&str>) -> Call {
    Call::Timer {
        duration: Duration::from_secs(seconds),
        name: name.map(str::to_string),
    }
}

fn extend(seconds: u64, less: bool, which: Option<Subject>) -> Call {
    Call::Extend {
        duration: Duration::from_secs(seconds),
        less,
        which,
    }
}

fn check(grammar: &Grammar, table: &[(&str, Call)]) {
    let wrong: Vec<String> = table
        .iter()
        .filter(|(words, call)| grammar.calls(words) != std::slice::from_ref(call))
        .map(|(words, call)| {
            format!(
                "{words:?}\n  expected {call:?}\n  found    {:?}",
                grammar.calls(words)
            )
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn moving_on() {
    check(
        &english(),
        &[
            ("next", Call::Next),
            ("done", Call::Done { what: None }),
            ("left skillet done", Call::Done { what: left() }),
            (
                "the brine is done",
                Call::Done {
                    what: Some(Subject::Step("brine".into())),
                },
            ),
            (
                "start the left skillet",
                Call::Start {
                    what: vessel("left_skillet"),
                },
            ),
            ("what's next", Call::WhatsNext),
            ("say again", Call::SayAgain),
            ("back one", Call::BackOne),
            ("where are we", Call::Status),
        ],
    );
}

#[test]
fn cooking_moves() {
    let chop_in = |vessel: Option<&str>, place| Call::In {
        what: Some(Thing::Sample("test_chop".into())),
        vessel: vessel.map(str::to_string),
        place,
    };
    let turned = |vessel: Option<&str>, turn| Call::Turned {
        vessel: vessel.map(str::to_string),
        turn,
    };
    let out = |from: Option<&str>, order| Call::OutTo {
        from: from.map(str::to_string),
        to: "rack".into(),
        order,
    };
    let heat = |vessel: Option<&str>, level| Call::Heat {
        vessel: vessel.map(str::to_string),
        level,
    };
    check(
        &english(),
        &[
            ("flipped", Call::Flipped { what: None }),
            ("flipped the left skillet", Call::Flipped { what: left() }),
            (
                "turned the left skillet over",
                Call::Flipped { what: left() },
            ),
            (
                "all flipped",
                Call::Flipped {
                    what: Some(Subject::All),
                },
            ),
            (
                "flipped the left one",
                Call::Flipped {
                    what: Some(Subject::Place(Place::Left)),
                },
            ),
            ("turned", turned(None, Turn::Half)),
            (
                "turned the left skillet",
                turned(Some("left_skillet"), Turn::Half),
            ),
            ("turned the rack around", turned(Some("rack"), Turn::Half)),
            (
                "turned the rack a quarter clockwise",
                turned(Some("rack"), Turn::QuarterClockwise),
            ),
            (
                "quarter turn counterclockwise",
                turned(None, Turn::QuarterCounterclockwise),
            ),
            ("basted", Call::Basted { what: None }),
            (
                "basted the test chop",
                Call::Basted {
                    what: Some(test_chop()),
                },
            ),
            ("stirred", Call::Stirred { what: None }),
            (
                "oil in",
                Call::In {
                    what: Some(Thing::Oil),
                    vessel: None,
                    place: None,
                },
            ),
            (
                "chops in the right skillet",
                Call::In {
                    what: Some(Thing::Item("chops".into())),
                    vessel: Some("right_skillet".into()),
                    place: None,
                },
            ),
            ("test chop in", chop_in(None, None)),
            (
                "test chop in the left skillet on the left",
                chop_in(Some("left_skillet"), Some(Place::Left)),
            ),
            ("out to the rack", out(None, None)),
            (
                "left skillet out to the rack keeping order",
                out(Some("left_skillet"), Some(Order::Kept)),
            ),
            (
                "everything out to the rack reversed",
                out(None, Some(Order::Reversed)),
            ),
            ("stacked", Call::Stacked { vessel: None }),
            ("heat to low", heat(None, Heat::Low)),
            (
                "left skillet heat medium high",
                heat(Some("left_skillet"), Heat::MediumHigh),
            ),
            ("turn the heat down", heat(None, Heat::Down)),
            ("heat off", heat(None, Heat::Off)),
            (
                "lid on the left skillet",
                Call::Lid {
                    vessel: Some("left_skillet".into()),
                    on: true,
                },
            ),
            (
                "lid off",
                Call::Lid {
                    vessel: None,
                    on: false,
                },
            ),
        ],
    );
}

#[test]
fn readings() {
    use ReadingKind::{Boil, Core, Ice, Medium, Unstated};
    let chop = || Some(test_chop());
    let range = |words, about, lo, hi| {
        let call = Call::Reading {
            about,
            kind: Unstated,
            value: Span { lo, hi },
            unit: None,
        };
        (words, call)
    };
    check(
        &english(),
        &[
            ("reading one fifty", reading(None, Unstated, 150.0)),
            ("temp is one oh five", reading(None, Unstated, 105.0)),
            (
                "left skillet reading one sixty two",
                reading(left(), Unstated, 162.0),
            ),
            (
                "test chop one fifty eight",
                reading(chop(), Unstated, 158.0),
            ),
            (
                "the test chop is at one fifty eight degrees",
                reading(chop(), Unstated, 158.0),
            ),
            (
                "reading sixty five celsius",
                Call::Reading {
                    about: None,
                    kind: Unstated,
                    value: at(65.0),
                    unit: Some(Units::Celsius),
                },
            ),
            (
                "left skillet oil three fifty degrees fahrenheit",
                Call::Reading {
                    about: left(),
                    kind: Medium,
                    value: at(350.0),
                    unit: Some(Units::Fahrenheit),
                },
            ),
            ("oil two fifty", reading(None, Medium, 250.0)),
            (
                "left skillet oil at three twenty five",
                reading(left(), Medium, 325.0),
            ),
            ("core one forty five point five", reading(None, Core, 145.5)),
            ("ice reading thirty four", reading(None, Ice, 34.0)),
            ("ice water thirty two and a half", reading(None, Ice, 32.5)),
            ("boil reading two ten", reading(None, Boil, 210.0)),
            range("reading one sixty to one sixty five", None, 160.0, 165.0),
            // The hundreds are said once, and a range may begin at its upper end.
            range("reading one sixty five to sixty", None, 160.0, 165.0),
            range("reading one ninety eight to ten", None, 198.0, 210.0),
            range("reading ninety five to one oh five", None, 95.0, 105.0),
            range("left skillet one sixty to sixty five", left(), 160.0, 165.0),
            ("is it done", Call::IsItDone { what: None }),
            ("is the test chop done", Call::IsItDone { what: chop() }),
            ("use celsius", Call::Units { celsius: true }),
            ("use fahrenheit", Call::Units { celsius: false }),
        ],
    );
}

#[test]
fn clocks() {
    let clock = |name: &str| Some(Subject::Clock(name.into()));
    check(
        &english(),
        &[
            ("am i late", Call::Late),
            ("are we on time", Call::Late),
            ("when do we eat", Call::WhenDoWeEat),
            (
                "when should i start the brine",
                Call::WhenStart {
                    what: Some(Subject::Step("brine".into())),
                    oil: false,
                },
            ),
            (
                "when should i start the oil",
                Call::WhenStart {
                    what: None,
                    oil: true,
                },
            ),
            ("how much salt", Call::HowMuch { oil: false }),
            (
                "the chops weigh one point nine kilos",
                Call::Weighs {
                    item: "chops".into(),
                    grams: 1900.0,
                },
            ),
            (
                "chops are in the fridge",
                Call::Fridge {
                    item: "chops".into(),
                    out: false,
                },
            ),
            (
                "chops out of the fridge",
                Call::Fridge {
                    item: "chops".into(),
                    out: true,
                },
            ),
            (
                "it's ninety five in here",
                Call::Room {
                    value: at(95.0),
                    unit: None,
                },
            ),
            (
                "there are eight chops",
                Call::ThereAre {
                    item: "chops".into(),
                    pieces: 8,
                },
            ),
            ("cooking for six", Call::CookingFor { portions: 6 }),
            (
                "cooling the chops",
                Call::Cooling {
                    item: "chops".into(),
                },
            ),
            ("how long", Call::HowLong { what: None }),
            (
                "how long is left on the brine",
                Call::HowLong {
                    what: Some(Subject::Step("brine".into())),
                },
            ),
            (
                "how much longer for the rice",
                Call::HowLong {
                    what: clock("rice"),
                },
            ),
            ("timer four minutes", timer(240, None)),
            ("set a timer for four minutes", timer(240, None)),
            ("rice timer ten minutes", timer(600, Some("rice"))),
            ("set a ten minute rice timer", timer(600, Some("rice"))),
            ("chops timer three minutes", timer(180, Some("chops"))),
            ("timer an hour and a half", timer(5400, None)),
            ("timer ninety seconds", timer(90, None)),
            ("timer two and a half minutes", timer(150, None)),
            ("timer one minute thirty", timer(90, None)),
            ("timer half an hour", timer(1800, None)),
            ("timer a minute", timer(60, None)),
            ("timer a minute and a half", timer(90, None)),
            ("timer an hour and twenty minutes", timer(4800, None)),
            ("timer an hour fifteen", timer(4500, None)),
            ("timer twelve hours", timer(43_200, None)),
            ("timer a quarter of an hour", timer(900, None)),
            ("timer three quarters of an hour", timer(2700, None)),
            ("timer a hundred and twenty seconds", timer(120, None)),
            ("two more minutes", extend(120, false, None)),
            ("another minute", extend(60, false, None)),
            (
                "one more minute on the rice",
                extend(60, false, clock("rice")),
            ),
            ("add thirty seconds", extend(30, false, None)),
            (
                "five minutes longer for the left skillet",
                extend(300, false, left()),
            ),
            ("two minutes less", extend(120, true, None)),
            ("take off half a minute", extend(30, true, None)),
            ("stop the timer", Call::StopTimer { which: None }),
            (
                "stop the rice timer",
                Call::StopTimer {
                    which: clock("rice"),
                },
            ),
            (
                "cancel the brine timer",
                Call::StopTimer {
                    which: clock("brine"),
                },
            ),
            ("timers", Call::Timers),
            ("what time is it", Call::WhatTime),
        ],
    );
}

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
