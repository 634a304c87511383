//! The act of a sentence, with what it picks up → a [`Call`].

use super::words::{flag, kind, turn};
use super::{Result, Said, no};
use crate::grammar::call::{Call, Subject};

impl Said<'_> {
    pub(super) fn call(&mut self) -> Result<Call> {
        let Some((act, variant)) = self.act else {
            return no("no act");
        };
        Ok(match act {
            "next" => Call::Next,
            "done" => Call::Done {
                what: self.subject(),
            },
            "start" => Call::Start {
                what: self.must_name()?,
            },
            "whats_next" => Call::WhatsNext,
            "say_again" => Call::SayAgain,
            "back_one" => Call::BackOne,
            "status" => Call::Status,
            "flipped" => Call::Flipped {
                what: self.subject(),
            },
            "turned" => Call::Turned {
                vessel: self.vessel().ok(),
                turn: turn(variant)?,
            },
            "basted" => Call::Basted {
                what: self.subject(),
            },
            "stirred" => Call::Stirred {
                what: self.subject(),
            },
            "in" => Call::In {
                what: self.thing(),
                vessel: self.vessel().ok(),
                place: self.place(),
            },
            "put" => Call::Put {
                piece: self.sample()?,
                vessel: self.vessel().ok(),
                place: self.place(),
            },
            "swap" => match (self.spots.pop_front(), self.spots.pop_front()) {
                (Some(a), Some(b)) => Call::Swap { a, b },
                _ => return no("a swap of fewer than two"),
            },
            "out_to" => Call::OutTo {
                from: self.from.take(),
                to: self.vessel()?,
                order: self.order.take(),
            },
            "stacked" => Call::Stacked {
                vessel: self.vessel().ok(),
            },
            "heat" => match self.level.take() {
                Some(level) => Call::Heat {
                    vessel: self.vessel().ok(),
                    level,
                },
                None => return no("heat without a level"),
            },
            "lid" => Call::Lid {
                vessel: self.vessel().ok(),
                on: flag(variant, "on", "off")?,
            },
            "reading" => Call::Reading {
                about: self.subject(),
                kind: kind(variant)?,
                value: self.value()?,
                unit: self.scale.take(),
            },
            "is_it_done" => Call::IsItDone {
                what: self.subject(),
            },
            "believe" => Call::Believe {
                what: self.subject(),
            },
            "fridge" => Call::Fridge {
                item: self.item()?,
                out: flag(variant, "out", "in")?,
            },
            "room" => Call::Room {
                value: self.value()?,
                unit: self.scale.take(),
            },
            "cooling" => Call::Cooling { item: self.item()? },
            "use_offset" => Call::UseOffset,
            "units" => Call::Units {
                celsius: flag(variant, "celsius", "fahrenheit")?,
            },
            "how_long" => Call::HowLong {
                what: self.subject(),
            },
            "timer" => Call::Timer {
                duration: self.duration()?,
                name: match self.subject() {
                    None => None,
                    Some(Subject::Clock(name)) => Some(name),
                    Some(other) => return no(format!("a timer named by {other:?}")),
                },
            },
            "extend" => Call::Extend {
                duration: self.duration()?,
                less: flag(variant, "less", "more")?,
                which: self.subject(),
            },
            "stop_timer" => Call::StopTimer {
                which: self.subject(),
            },
            "timers" => Call::Timers,
            "what_time" => Call::WhatTime,
            "how_much" => Call::HowMuch {
                oil: flag(variant, "oil", "salt")?,
            },
            "weighs" => Call::Weighs {
                grams: self.value()?.hi
                    * match variant {
                        "kg" => 1000.0,
                        // International pound, 1959.
                        "lb" => 453.59237,
                        _ => 1.0,
                    },
                item: self.item()?,
            },
            "there_are" => Call::ThereAre {
                pieces: self.whole()?,
                item: self.item()?,
            },
            "cooking_for" => Call::CookingFor {
                portions: self.whole()?,
            },
            "late" => Call::Late,
            "when_eat" => Call::WhenDoWeEat,
            "when_start" => Call::WhenStart {
                what: self.subject(),
                oil: variant == "oil",
            },
            "where_is" => Call::WhereIs {
                piece: self.sample()?,
            },
            "what_is_at" => Call::WhatIsAt {
                vessel: self.vessel().ok(),
                place: match self.place() {
                    Some(place) => place,
                    None => return no("no place"),
                },
            },
            "map" => Call::Map,
            "tasting" => Call::Tasting {
                what: self.tasting(variant)?,
            },
            "scratch_that" => Call::ScratchThat,
            "no" => Call::No {
                value: match self.number.value() {
                    None => None,
                    Some(_) => Some(self.value()?),
                },
            },
            "yes" => Call::Yes,
            "cancel" => Call::Cancel,
            "answer" => Call::Answer {
                subject: self.must_name()?,
            },
            "number" => Call::Number {
                value: self.value()?,
            },
            "in_order" => match self.order.take() {
                Some(order) => Call::InOrder { order },
                None => return no("no order"),
            },
            "way" => Call::Way {
                clockwise: flag(variant, "clockwise", "counterclockwise")?,
            },
            "kind" => Call::Kind {
                kind: kind(variant)?,
            },
            "quiet" => Call::Quiet,
            "speak_up" => Call::SpeakUp,
            "louder" => Call::Louder,
            "softer" => Call::Softer,
            "slower" => Call::Slower,
            "faster" => Call::Faster,
            "hold_on" => Call::HoldOn,
            "carry_on" => Call::CarryOn,
            "by_name" => Call::ByName {
                on: flag(variant, "on", "off")?,
            },
            "note" => Call::Note { text: None },
            "help" => Call::Help,
            "end_cook" => Call::EndCook,
            _ => return no(format!("unknown act {act:?}")),
        })
    }
}
