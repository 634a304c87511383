//! A journal → the dialogue again, word for word: what the cook heard is a function of
//! what is on the disk.

use std::sync::Arc;

use jiff::tz::TimeZone;

use crate::journal::{Anchor, Cook};
use crate::kitchen::{self, At, Event, State};
use crate::plan::{self, Problem};
use crate::voice::wording::{self, WordingCtx};

/// A cook told again.
pub struct Told {
    /// Everything that was said, with its time and the number of the event that caused it.
    pub said: Vec<Line>,
    pub state: State,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    pub at: At,
    pub event: usize,
    pub text: String,
    /// Said to whoever plates a tasting, with the tasters out of hearing.
    pub for_the_plater: bool,
}

/// Tells a journal again.
///
/// # Errors
/// The problems of the plan that the journal holds, if this program reads plans
/// otherwise than the one that wrote it.
pub fn replay(cook: &Cook<Event>) -> Result<Told, Vec<Problem>> {
    let plan = Arc::new(plan::read(&cook.header.plan, &cook.header.plan_file)?.plan);
    let mut words = WordingCtx::new(plan.units);
    let mut state = State::new(plan).seeded(cook.header.seed);
    let mut said = Vec::new();
    for (number, (_, event)) in cook.events.iter().enumerate() {
        words.wall = cook
            .sessions
            .iter()
            .map(|s| &s.anchor)
            .take_while(|a| a.cook_ms <= event.at.0)
            .last()
            .map(|a| wall(a, cook.header.zone.as_deref()));
        let before = state.clone();
        state.apply(event);
        let words = wording::ctx_for(&state, &words);
        said.extend(
            kitchen::replies(&before, event, &state)
                .iter()
                .map(|reply| Line {
                    at: event.at,
                    event: number,
                    text: wording::word(reply, &words).text,
                    for_the_plater: reply.is_for_the_plater(),
                }),
        );
    }
    Ok(Told { said, state })
}

/// A moment of cook time and the kitchen's wall time at it.
pub fn wall(anchor: &Anchor, zone: Option<&str>) -> (At, jiff::ZonedDateTime) {
    let zone = zone
        .and_then(|name| TimeZone::get(name).ok())
        .unwrap_or_else(TimeZone::system);
    (At(anchor.cook_ms), anchor.wall.to_zoned_datetime(zone))
}
