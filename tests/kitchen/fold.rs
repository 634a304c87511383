//! The engine as a fold: nothing panics, the journal gives the state, "scratch that"
//! restores, and ticking only when asked loses nothing.

use std::sync::Arc;
use std::time::Duration;

use hobcall::grammar::{Call, Heat, Order, ReadingKind, Spot, Subject, Thing, Turn};
use hobcall::kitchen::*;
use hobcall::plan::{Celsius, Place, Plan, Span, Units};
use hobcall::voice::wording::{self, WordingCtx};
use proptest::prelude::*;

/// Two pans, an overnight wait, a limit, a rest, two samples and a grid.
const PLAN: &str = "
plan: Two loaves and four chops
units: fahrenheit
items:
  chop: {pieces: 4, class: whole cut, piece mass: 200 g, thickness: 25 mm}
samples:
  test chop: {of: chop, mark: a pick}
  plain chop: {of: chop, mark: a notch}
vessels:
  tub: {kind: bowl}
  left skillet: {kind: skillet, places: left right}
  right skillet: {kind: skillet, places: front back}
  rack: {kind: rack, places: grid 2 x 2}
steps:
  brine: {say: Brine them, vessel: tub, holds: chops, wait: 2 h .. 3 h}
  mix: {after: start, say: Mix the salt, hands on: 5 min}
  fry left:
    after: [brine, mix]
    say: Two in
    vessel: left skillet
    holds: [test chop at left, 1 chop at right]
    flip every: 2 min
    until: {core: 145 F}
    out to: rack
    rest: 3 min .. 5 min
  fry right:
    after: [brine, mix]
    say: Two in
    vessel: right skillet
    holds: [plain chop, 1 chop]
    flip every: 3 min
    until: {time: 8 min .. 10 min}
    out to: rack
  slice: {after: [fry left, fry right], say: Slice them}
";

fn plan() -> Arc<Plan> {
    use std::sync::OnceLock;
    static ONCE: OnceLock<Arc<Plan>> = OnceLock::new();
    ONCE.get_or_init(|| Arc::new(crate::support::plan(PLAN)))
        .clone()
}

/// Draws parts of calls and events from a list of numbers.
struct Draw<'a> {
    from: &'a [u32],
    at: usize,
}

impl Draw<'_> {
    fn n(&mut self, below: usize) -> usize {
        let v = self.from.get(self.at % self.from.len().max(1)).copied();
        self.at += 1;
        v.unwrap_or(0) as usize % below.max(1)
    }

    fn of<T: Clone>(&mut self, all: &[T]) -> T {
        all[self.n(all.len())].clone()
    }

    fn maybe<T>(&mut self, draw: impl Fn(&mut Self) -> T) -> Option<T> {
        (self.n(2) == 0).then(|| draw(self))
    }

    fn vessel(&mut self) -> String {
        self.of(&["tub", "left_skillet", "right_skillet", "rack", "nowhere"].map(String::from))
    }

    fn step(&mut self) -> String {
        self.of(&["brine", "mix", "fry_left", "fry_right", "slice", "none"].map(String::from))
    }

    fn sample(&mut self) -> String {
        self.of(&[
            "test_chop",
            "plain_chop",
            "test_chop",
            "plain_chop",
            "no_chop",
        ]
        .map(String::from))
    }

    fn place(&mut self) -> Place {
        let cell = |row, column| Place::Cell { row, column };
        self.of(&[
            Place::Left,
            Place::Right,
            Place::Front,
            Place::Back,
            Place::Middle,
            cell(0, 0),
            cell(0, 1),
            cell(1, 0),
            cell(1, 1),
            cell(3, 3),
            Place::Hour(3),
        ])
    }

    fn item(&mut self) -> String {
        self.of(&["chop", "ghost"].map(String::from))
    }

    fn piece(&mut self) -> PieceId {
        PieceId {
            item: self.item(),
            index: self.of(&[0, 1, 2, 3, 9, u32::MAX]),
        }
    }

    fn subject(&mut self) -> Subject {
        match self.n(7) {
            0 => Subject::Vessel(self.vessel()),
            1 => Subject::Sample(self.sample()),
            2 => Subject::Item(self.item()),
            3 => Subject::Step(self.step()),
            4 => Subject::Clock(self.of(&["rice", "egg"].map(String::from))),
            5 => Subject::Place(self.place()),
            _ => Subject::All,
        }
    }

    fn value(&mut self) -> Span<f64> {
        let lo = self.of(&[34.0, 150.0, 146.0, 115.0, 350.0, 900.0, f64::NAN, -500.0]);
        Span { lo, hi: lo }
    }

    fn order(&mut self) -> Order {
        self.of(&[Order::Kept, Order::Reversed])
    }

    fn turn(&mut self) -> Turn {
        self.of(&[
            Turn::Half,
            Turn::QuarterClockwise,
            Turn::QuarterCounterclockwise,
            Turn::Quarter,
        ])
    }

    fn spot(&mut self) -> Spot {
        if self.n(2) == 0 {
            Spot::Sample(self.sample())
        } else {
            Spot::Place {
                vessel: self.maybe(Self::vessel),
                place: self.place(),
            }
        }
    }

    fn duration(&mut self) -> Duration {
        Duration::from_secs(self.of(&[0, 1, 90, 240, 600, 7200, u64::MAX / 2]))
    }

    fn call(&mut self) -> Call {
        match self.n(50) {
            0..=3 => Call::Next,
            4 | 5 => Call::Done {
                what: self.maybe(Self::subject),
            },
            6 => Call::Start {
                what: self.subject(),
            },
            7 => Call::WhatsNext,
            8 => Call::SayAgain,
            9 => Call::BackOne,
            10 => Call::Status,
            11 | 12 => Call::Flipped {
                what: self.maybe(Self::subject),
            },
            13 | 14 => Call::Turned {
                vessel: self.maybe(Self::vessel),
                turn: self.turn(),
            },
            15 => Call::Basted {
                what: self.maybe(Self::subject),
            },
            16 => Call::In {
                what: self.maybe(|d| match d.n(3) {
                    0 => Thing::Oil,
                    1 => Thing::Item("chop".into()),
                    _ => Thing::Sample(d.sample()),
                }),
                vessel: self.maybe(Self::vessel),
                place: self.maybe(Self::place),
            },
            17 | 18 => Call::Put {
                piece: self.sample(),
                vessel: self.maybe(Self::vessel),
                place: self.maybe(Self::place),
            },
            19 | 20 => Call::Swap {
                a: self.spot(),
                b: self.spot(),
            },
            21 | 22 => Call::OutTo {
                from: self.maybe(Self::vessel),
                to: self.vessel(),
                order: self.maybe(Self::order),
            },
            23 => Call::Stacked {
                vessel: self.maybe(Self::vessel),
            },
            24 => Call::Heat {
                vessel: self.maybe(Self::vessel),
                level: self.of(&[Heat::Low, Heat::Off]),
            },
            25 => Call::Lid {
                vessel: self.maybe(Self::vessel),
                on: self.n(2) == 0,
            },
            26 | 27 => Call::Reading {
                about: self.maybe(Self::subject),
                kind: self.of(&[
                    ReadingKind::Unstated,
                    ReadingKind::Core,
                    ReadingKind::Medium,
                    ReadingKind::Ice,
                    ReadingKind::Cooling,
                ]),
                value: self.value(),
                unit: self.maybe(|d| d.of(&[Units::Celsius, Units::Fahrenheit])),
            },
            28 => Call::IsItDone {
                what: self.maybe(Self::subject),
            },
            29 if self.n(2) == 0 => match self.n(3) {
                0 => Call::Cooling { item: self.item() },
                1 => Call::Fridge {
                    item: self.item(),
                    out: self.n(2) == 0,
                },
                _ => Call::Room {
                    value: self.value(),
                    unit: None,
                },
            },
            29 => Call::Units {
                celsius: self.n(2) == 0,
            },
            30 => Call::HowLong {
                what: self.maybe(Self::subject),
            },
            31 | 32 => Call::Timer {
                duration: self.duration(),
                name: self.maybe(|d| d.of(&["rice", "egg"].map(String::from))),
            },
            33 => Call::Extend {
                duration: self.duration(),
                less: self.n(2) == 0,
                which: self.maybe(Self::subject),
            },
            34 => Call::StopTimer {
                which: self.maybe(Self::subject),
            },
            35 => match self.n(5) {
                0 => Call::Late,
                1 => Call::WhenDoWeEat,
                2 => Call::WhenStart {
                    what: self.maybe(Self::subject),
                    oil: self.n(2) == 0,
                },
                3 => Call::HowMuch {
                    oil: self.n(2) == 0,
                },
                _ => Call::Timers,
            },
            36 => Call::WhereIs {
                piece: self.sample(),
            },
            37 => Call::WhatIsAt {
                vessel: self.maybe(Self::vessel),
                place: self.place(),
            },
            38 => Call::ScratchThat,
            39 => Call::No {
                value: self.maybe(Self::value),
            },
            40 | 41 => Call::Yes,
            42 => Call::Cancel,
            43 => Call::Answer {
                subject: self.subject(),
            },
            44 => Call::Number {
                value: self.value(),
            },
            45 => Call::InOrder {
                order: self.order(),
            },
            46 => Call::Way {
                clockwise: self.n(2) == 0,
            },
            47 => self.of(&[
                Call::Quiet,
                Call::SpeakUp,
                Call::Louder,
                Call::Slower,
                Call::HoldOn,
                Call::CarryOn,
                Call::Help,
                Call::Map,
                Call::WhatTime,
            ]),
            48 => Call::Note {
                text: self.maybe(|_| "it smells right".to_owned()),
            },
            _ => self.of(&[
                Call::EndCook,
                Call::Kind {
                    kind: ReadingKind::Core,
                },
            ]),
        }
    }

    fn key(&mut self) -> ClockKey {
        match self.n(4) {
            0 => ClockKey::Wait(self.step()),
            1 => ClockKey::Flip(self.step()),
            2 => ClockKey::Rest(self.step()),
            _ => ClockKey::Voice(self.n(5) as u32),
        }
    }

    fn question(&mut self) -> Question {
        match self.n(9) {
            0 => Question::Which {
                of: self.call(),
                options: vec![self.subject(), self.subject()],
            },
            1 => Question::WhichWay {
                vessel: self.vessel(),
            },
            2 => Question::Sure {
                of: self.call(),
                why: Doubt::HeardBadly,
            },
            3 => Question::NumberAgain {
                of: self.call(),
                why: NumberDoubt::Corrected,
            },
            4 => Question::CoreOrMedium { of: self.call() },
            5 => Question::Order {
                from: self.vessel(),
                to: self.vessel(),
                samples: vec![self.sample()],
            },
            6 => Question::Where {
                sample: self.sample(),
            },
            7 => Question::WhichPlace {
                of: self.call(),
                vessel: self.vessel(),
                places: vec![self.place(), self.place()],
            },
            _ => Question::ChangedPlaces {
                moved: self.piece(),
                other: self.piece(),
                vessel: self.vessel(),
                vessel_before: self.vessel(),
                place_before: self.place(),
            },
        }
    }

    /// Any event at all, sense or no sense.
    fn what(&mut self) -> What {
        match self.n(33) {
            0 => What::Begun,
            1 => What::StepStarted {
                step: self.step(),
                early: false,
            },
            2 => What::StepEnded {
                step: self.step(),
                early: true,
            },
            3 => What::SteppedBack {
                reopened: self.step(),
                returned: self.maybe(Self::step),
            },
            4 => What::FoodIn { step: self.step() },
            5 => What::Did {
                deed: Deed::LidOn,
                about: self.maybe(Self::subject),
            },
            6 => What::Flipped {
                vessel: self.vessel(),
                piece: self.maybe(Self::piece),
            },
            7 => What::Turned {
                vessel: self.vessel(),
                turn: self.turn(),
            },
            8 => What::Put {
                piece: self.piece(),
                vessel: self.vessel(),
                place: self.maybe(Self::place),
            },
            9 => What::Located {
                piece: self.piece(),
                vessel: self.vessel(),
                place: self.place(),
            },
            10 => What::SwappedPlaces {
                vessel_a: self.vessel(),
                a: self.place(),
                vessel_b: self.vessel(),
                b: self.place(),
            },
            11 => What::SwappedPieces {
                a: self.piece(),
                b: self.piece(),
            },
            12 => What::MovedOut {
                from: self.vessel(),
                to: self.vessel(),
                order: self.maybe(Self::order),
            },
            13 => What::OrderTold {
                order: self.order(),
            },
            14 => What::Stacked {
                vessel: self.vessel(),
            },
            15 => What::Reading(Reading {
                number: self.n(9) as u32,
                vessel: self.maybe(Self::vessel),
                piece: self.maybe(Self::piece),
                item: self.maybe(Self::item),
                kind: self.of(&[Measured::Core, Measured::Medium, Measured::Cooling]),
                called: self.value(),
                units: Units::Fahrenheit,
                celsius: Span {
                    lo: Celsius(60.0),
                    hi: Celsius(61.0),
                },
            }),
            16 => What::Corrected {
                of: self.n(9) as u32,
                called: self.value(),
                celsius: Span {
                    lo: Celsius(1.0),
                    hi: Celsius(1.0),
                },
            },
            17 => What::TimerSet {
                name: self.maybe(|d| d.of(&["rice", "egg"].map(String::from))),
                ms: self.of(&[0, -5, 60_000, i64::MAX, i64::MIN]),
            },
            18 => What::ClockMoved {
                clock: self.key(),
                ends: At(self.of(&[i64::MIN, 0, 90_000, i64::MAX])),
            },
            19 if self.n(2) == 0 => match self.n(3) {
                0 => What::Cooling { item: self.item() },
                1 => What::Fridge {
                    item: self.item(),
                    out: self.n(2) == 0,
                },
                _ => What::Room {
                    called: self.value(),
                    units: Units::Fahrenheit,
                    celsius: Celsius(35.0),
                },
            },
            19 => What::TimerStopped { clock: self.key() },
            20 => What::Acknowledged {
                clocks: vec![self.key(), self.key()],
            },
            21 => What::Due {
                due: vec![
                    Due::Up(self.key()),
                    Due::StillUp {
                        clock: self.key(),
                        times: self.of(&[0, 2, u32::MAX]),
                    },
                    Due::LimitNear(self.step()),
                    Due::LimitReached(self.step()),
                    Due::CoolingNear(self.item()),
                    Due::CoolingOver(self.item()),
                    Due::HoldOver(self.step()),
                    Due::AskAgain {
                        times: self.of(&[0, 3, u32::MAX]),
                    },
                ],
            },
            22 | 23 => What::Asked {
                question: self.question(),
            },
            24 | 25 => What::Settled {
                how: self.of(&[Settled::Answered, Settled::Refused, Settled::Overtaken]),
                of: self.maybe(|d| d.n(9) as u32),
            },
            26 => What::Queried { query: self.call() },
            27 => What::Refused {
                refused: self.call(),
                why: Refusal::NoSuchPlace {
                    vessel: self.vessel(),
                    place: self.place(),
                },
            },
            28 => What::Undone {
                of: vec![self.n(9) as u32, self.n(9) as u32],
            },
            29 => What::Resumed {
                away_ms: self.of(&[0, i64::MIN, i64::MAX]),
                due: vec![Due::Up(self.key())],
            },
            30 => What::Noted { text: None },
            31 => What::HandsFree { step: self.step() },
            _ => What::NothingToBegin,
        }
    }
}

fn ctx() -> WordingCtx {
    let mut ctx = WordingCtx::new(Units::Fahrenheit);
    ctx.wall = jiff::civil::date(2026, 11, 25)
        .at(18, 30, 0, 0)
        .to_zoned_datetime(jiff::tz::TimeZone::UTC)
        .ok()
        .map(|z| (At(0), z));
    ctx
}

/// Applies events as the loop does: what is said is worded, what is kept is JSON.
fn take(state: &mut State, events: Vec<Event>, kept: &mut Vec<Event>) {
    for event in events {
        let before = state.clone();
        state.apply(&event);
        for reply in replies(&before, &event, state) {
            let said = wording::word(&reply, &ctx());
            assert!(!said.text.trim().is_empty(), "no words for {reply:?}");
        }
        kept.push(event);
    }
}

fn numbers(most: usize) -> impl Strategy<Value = Vec<u32>> {
    proptest::collection::vec(any::<u32>(), 1..most)
}

/// A cook of random calls, a third of them after some time in which only due ticks
/// happen. Gives the state and all events.
fn random_cook(from: &[u32], calls: usize) -> (State, Vec<Event>, At) {
    let mut draw = Draw { from, at: 0 };
    let mut state = State::new(plan());
    let mut kept = Vec::new();
    let mut now = At(0);
    let begin = decide(&state, &Input::Begin, now);
    take(&mut state, begin, &mut kept);
    for _ in 0..calls {
        let wait = draw.of(&[1_000, 1_000, 5_000, 20_000, 125_000, 3_600_000]);
        let until = now.plus(wait);
        while let Some(due) = next_due(&state, now).filter(|d| *d <= until) {
            now = now.max(due);
            let events = decide(&state, &Input::Tick, now);
            assert!(!events.is_empty(), "a tick at next_due says something");
            take(&mut state, events, &mut kept);
        }
        now = until;
        let input = match draw.n(12) {
            0 => Input::NotUnderstood {
                heard: vec!["mumble".into()],
            },
            1 => Input::Resumed { away_ms: wait },
            _ => Input::Call {
                call: draw.call(),
                heard: "words".into(),
                confidence: draw.of(&[1.0, 1.0, 1.0, 0.9, 0.6, 0.4, 0.1, f32::NAN]),
            },
        };
        let events = decide(&state, &input, now);
        take(&mut state, events, &mut kept);
    }
    (state, kept, now)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, max_global_rejects: 100_000, max_shrink_iters: 3_000, ..ProptestConfig::default() })]

    #[test]
    fn no_sequence_of_events_panics(from in numbers(400)) {
        let mut draw = Draw { from: &from, at: 0 };
        let mut state = State::new(plan());
        let mut kept = Vec::new();
        for _ in 0..from.len() {
            let event = Event {
                at: At(draw.of(&[i64::MIN, -1, 0, 1_000, 60_000, 10_000_000, i64::MAX])),
                call: draw.maybe(|d| d.of(&[0, 1, 2, 3, 4, 5, 6, 7, 8, u32::MAX])),
                heard: draw.maybe(|_| "words".to_owned()),
                what: draw.what(),
            };
            take(&mut state, vec![event], &mut kept);
            let _ = next_due(&state, At(0));
            let _ = decide(&state, &Input::Tick, At(i64::MAX));
            let _ = (state.steps(), state.clocks(), state.vessels(), wording::map(&state));
        }
    }

    #[test]
    fn the_journal_gives_the_state(from in numbers(300)) {
        let (state, events, _) = random_cook(&from, from.len() / 4);
        let mut again = State::new(plan());
        for event in &events {
            let line = serde_json::to_string(event).unwrap();
            let read: Event = serde_json::from_str(&line).unwrap();
            prop_assert_eq!(&read, event);
            again.apply(&read);
        }
        prop_assert!(again == state);
    }

    #[test]
    fn scratch_that_restores(from in numbers(200)) {
        let (mut state, mut kept, now) = random_cook(&from, from.len() / 8);
        prop_assume!(!state.is_asleep() && !state.has_ended());
        let mut draw = Draw { from: &from, at: 7 };
        let before = state.clone();
        let now = now.plus(1_000);
        let call = Input::Call {
            call: draw.call(),
            heard: "words".into(),
            confidence: 1.0,
        };
        let events = decide(&state, &call, now);
        let changes = events.iter().any(|e| e.what.is_undoable());
        let settles = events.iter().any(|e| matches!(e.what, What::Settled { .. }));
        prop_assume!(changes && !settles);
        prop_assume!(!events.iter().any(|e| matches!(e.what, What::Ended)));
        take(&mut state, events, &mut kept);
        // A question that the call ended with is dropped first, then the call.
        for _ in 0..2 {
            let events = decide(
                &state,
                &Input::Call {
                    call: Call::ScratchThat,
                    heard: "scratch that".into(),
                    confidence: 1.0,
                },
                now.plus(1_000),
            );
            let undone = events.iter().any(|e| matches!(e.what, What::Undone { .. }));
            take(&mut state, events, &mut kept);
            if undone {
                break;
            }
        }
        let story: Vec<_> = kept.iter().map(|e| (e.at.0, e.call, &e.what)).collect();
        prop_assert!(state.is_like(&before), "{story:#?}");
    }

    #[test]
    fn a_tick_has_work_at_next_due_and_not_before(from in numbers(200)) {
        let (state, _, now) = random_cook(&from, from.len() / 8);
        match next_due(&state, now) {
            None => {
                let late = decide(&state, &Input::Tick, now.plus(1_000_000_000));
                prop_assert!(late.is_empty());
            }
            Some(due) => {
                prop_assert!(decide(&state, &Input::Tick, due.plus(-1)).is_empty());
                prop_assert!(!decide(&state, &Input::Tick, due).is_empty());
                prop_assert!(!decide(&state, &Input::Tick, due.plus(5_000)).is_empty());
            }
        }
    }
}
