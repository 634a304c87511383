//! Any call at all, sense or no sense.

use std::time::Duration;

use hobcall::grammar::{Call, Heat, Order, ReadingKind, Spot, Subject, Thing, Turn};
use hobcall::kitchen::PieceId;
use hobcall::plan::{Place, Span, Units};

/// Draws parts of calls and events from a list of numbers.
pub struct Draw<'a> {
    pub from: &'a [u32],
    pub at: usize,
}

impl Draw<'_> {
    pub fn n(&mut self, below: usize) -> usize {
        let v = self.from.get(self.at % self.from.len().max(1)).copied();
        self.at += 1;
        v.unwrap_or(0) as usize % below.max(1)
    }

    pub fn of<T: Clone>(&mut self, all: &[T]) -> T {
        all[self.n(all.len())].clone()
    }

    pub fn maybe<T>(&mut self, draw: impl Fn(&mut Self) -> T) -> Option<T> {
        (self.n(2) == 0).then(|| draw(self))
    }

    pub fn vessel(&mut self) -> String {
        self.of(&["tub", "left_skillet", "right_skillet", "rack", "nowhere"].map(String::from))
    }

    pub fn step(&mut self) -> String {
        self.of(&["brine", "mix", "fry_left", "fry_right", "slice", "none"].map(String::from))
    }

    pub fn sample(&mut self) -> String {
        self.of(&[
            "test_chop",
            "plain_chop",
            "test_chop",
            "plain_chop",
            "no_chop",
        ]
        .map(String::from))
    }

    pub fn place(&mut self) -> Place {
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

    pub fn item(&mut self) -> String {
        self.of(&["chop", "ghost"].map(String::from))
    }

    pub fn piece(&mut self) -> PieceId {
        PieceId {
            item: self.item(),
            index: self.of(&[0, 1, 2, 3, 9, u32::MAX]),
        }
    }

    pub fn subject(&mut self) -> Subject {
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

    pub fn value(&mut self) -> Span<f64> {
        let lo = self.of(&[34.0, 150.0, 146.0, 115.0, 350.0, 900.0, f64::NAN, -500.0]);
        Span { lo, hi: lo }
    }

    pub fn order(&mut self) -> Order {
        self.of(&[Order::Kept, Order::Reversed])
    }

    pub fn turn(&mut self) -> Turn {
        self.of(&[
            Turn::Half,
            Turn::QuarterClockwise,
            Turn::QuarterCounterclockwise,
            Turn::Quarter,
        ])
    }

    pub fn spot(&mut self) -> Spot {
        if self.n(2) == 0 {
            Spot::Sample(self.sample())
        } else {
            Spot::Place {
                vessel: self.maybe(Self::vessel),
                place: self.place(),
            }
        }
    }

    pub fn duration(&mut self) -> Duration {
        Duration::from_secs(self.of(&[0, 1, 90, 240, 600, 7200, u64::MAX / 2]))
    }

    pub fn call(&mut self) -> Call {
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
}
