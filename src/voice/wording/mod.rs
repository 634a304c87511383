//! Every word that the tool says: a [`Reply`] → an [`Utterance`].
//!
//! Short, the read-back first. Numbers that sound alike are said digit by digit.
//!
//! | file | words for |
//! | --- | --- |
//! | `steps` | steps, what is next, summaries |
//! | `clocks` | clocks and what is due |
//! | `sums` | grams to weigh, millilitres to pour |
//! | `day` | late or not, when to eat, when to begin |
//! | `places` | where things are |
//! | `map` | the same as a picture in text |
//! | `readings` `doneness` `cooling` | temperatures; what they mean; food that cools |
//! | `questions` | what is asked |
//! | `machine` | the machine itself: no microphone, no disk |
//! | `tasting` | the blind tasting |
//! | `talk` | refusals, help, undo and the rest |

mod clocks;
mod cooling;
mod day;
mod doneness;
mod machine;
mod map;
mod places;
mod questions;
mod readings;
mod steps;
mod sums;
mod talk;
mod tasting;

use std::time::Duration;

use crate::kitchen::{At, Reply, Say, State};
use crate::plan::Units;

use super::{Urgency, Utterance, numbers};

pub use clocks::clock_name as clock;
pub use machine::{
    deaf, hearing_again, mostly_noise, muted, no_note, not_written_down, spoken_note, too_loud,
};
pub use map::map;
pub use places::{deed, place};
pub use tasting::PLATE_UNSEEN;

/// What the words depend on besides the reply.
#[derive(Debug, Clone)]
pub struct WordingCtx {
    pub units: Units,
    pub verbosity: Verbosity,
    /// A moment of cook time and the wall time at it, to say clock times; without it
    /// only spans are said.
    pub wall: Option<(At, jiff::ZonedDateTime)>,
    /// Where the record of this cook is, as it should be said.
    pub record: Option<String>,
    /// The sound of a spoken note is kept; else "note" marks the moment only.
    pub keeps_notes: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verbosity {
    /// For cooks who know the tool: no advice on what to say.
    Short,
    Full,
}

impl WordingCtx {
    pub fn new(units: Units) -> WordingCtx {
        WordingCtx {
            units,
            verbosity: Verbosity::Full,
            wall: None,
            record: None,
            keeps_notes: false,
        }
    }

    /// The wall time at a moment of cook time.
    fn wall_at(&self, at: At) -> Option<jiff::ZonedDateTime> {
        let (known, wall) = self.wall.as_ref()?;
        wall.checked_add(jiff::SignedDuration::from_millis(at.since(*known)))
            .ok()
    }

    fn full(&self) -> bool {
        self.verbosity == Verbosity::Full
    }
}

/// Replies in the words of a state: the units are the kitchen's.
pub fn ctx_for(state: &State, base: &WordingCtx) -> WordingCtx {
    WordingCtx {
        units: state.units(),
        ..base.clone()
    }
}

/// The words for a reply.
pub fn word(reply: &Reply, ctx: &WordingCtx) -> Utterance {
    let text = tidy(&say(&reply.say, ctx));
    let mut utterance = Utterance::new(text, reply.urgency);
    utterance.unanswered = match &reply.say {
        Say::Due(lines) if reply.urgency == Urgency::Alarm => clocks::unanswered(lines),
        _ => 0,
    };
    utterance
}

fn say(say: &Say, ctx: &WordingCtx) -> String {
    match say {
        Say::StepBegins { .. }
        | Say::WaitBegins { .. }
        | Say::StepEnds { .. }
        | Say::SteppedBack { .. }
        | Say::ComingUp { .. }
        | Say::Status { .. }
        | Say::Resumed { .. }
        | Say::Ended => steps::word(say, ctx),
        Say::Sums(_) | Say::Weighed { .. } | Say::Counted { .. } | Say::Portions { .. } => {
            sums::word(say)
        }
        Say::Day(say) => day::word(say, ctx),
        Say::FoodIn { .. }
        | Say::TimerSet { .. }
        | Say::ClockMoved { .. }
        | Say::TimerStopped { .. }
        | Say::Acknowledged { .. }
        | Say::Due(_)
        | Say::HowLong { .. }
        | Say::Time { .. } => clocks::word(say, ctx),
        Say::OilIn { .. }
        | Say::Did { .. }
        | Say::Flipped { .. }
        | Say::SidesUnsure { .. }
        | Say::Turned { .. }
        | Say::Lies(_)
        | Say::Swapped { .. }
        | Say::MovedOut { .. }
        | Say::OrderTold { .. }
        | Say::Stacked { .. }
        | Say::Reminder { .. }
        | Say::WhereIs { .. }
        | Say::WhatIsAt { .. }
        | Say::Map { .. } => places::word(say),
        Say::Reading { .. }
        | Say::Judged { .. }
        | Say::BelowMinimum { .. }
        | Say::Cooling(_)
        | Say::Fridge { .. }
        | Say::Room { .. }
        | Say::Believed { .. }
        | Say::OffsetUsed { .. } => readings::word(say, ctx),
        Say::Tasting(say) => tasting::word(say),
        Say::Ask { asking, times } => questions::ask(asking, *times, ctx),
        _ => talk::word(say, ctx),
    }
}

fn span(ms: i64) -> Duration {
    Duration::from_millis(ms.unsigned_abs())
}

/// "four minutes thirty", to the second.
fn exact(ms: i64) -> String {
    numbers::duration(span(ms))
}

/// "four minutes", as finely as a cook needs it.
fn about(ms: i64) -> String {
    numbers::about(span(ms))
}

/// "a, b and c".
fn list<S: AsRef<str>>(items: &[S]) -> String {
    joined(items, "and")
}

/// "a, b or c".
fn choice<S: AsRef<str>>(items: &[S]) -> String {
    joined(items, "or")
}

fn joined<S: AsRef<str>>(items: &[S], last: &str) -> String {
    match items {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [init @ .., end] => {
            let init: Vec<&str> = init.iter().map(AsRef::as_ref).collect();
            format!("{} {last} {}", init.join(", "), end.as_ref())
        }
    }
}

/// A sentence begins with a capital and ends with its stop.
fn sentence(text: &str) -> String {
    let text = text.trim();
    let mut chars = text.chars();
    let Some(first) = chars.next() else {
        return String::new();
    };
    let mut out: String = first.to_uppercase().chain(chars).collect();
    if !out.ends_with(['.', '?', '!']) {
        out.push('.');
    }
    out
}

/// Sentences one after another, empty ones left out.
fn sentences<S: AsRef<str>>(parts: &[S]) -> String {
    parts
        .iter()
        .map(|p| sentence(p.as_ref()))
        .filter(|p| !p.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}

fn tidy(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests;
