//! Calls that move the cook on: steps, pans, readings, clocks and the day.

use std::time::Duration;

use super::{at, check, english, vessel};
use hobcall::grammar::{Call, Heat, Order, ReadingKind, Subject, Thing, Turn};
use hobcall::plan::{Place, Span, Units};

fn left() -> Option<Subject> {
    Some(vessel("left_skillet"))
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
