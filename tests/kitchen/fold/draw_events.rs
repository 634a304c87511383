//! Any event at all, sense or no sense.

use super::draw_calls::Draw;
use hobcall::kitchen::*;
use hobcall::plan::{Celsius, Span, Units};

impl Draw<'_> {
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
    pub fn what(&mut self) -> What {
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
