//! The life of each clock, found by comparing what runs before and after every event.

use crate::kitchen::{At, ClockKey, ClockName, ClockView, State};
use crate::voice::wording;

use super::names::Names;

#[derive(Debug, Clone, PartialEq)]
pub struct ClockRow {
    pub key: ClockKey,
    /// As it is called: "wet brine", "left skillet flip", "rice timer".
    pub name: String,
    pub from: At,
    /// When it was to end; the last word where the cook moved it.
    pub ends: At,
    /// The most time, where that is more.
    pub latest: Option<At>,
    /// The cook moved its end.
    pub moved: bool,
    /// When it was first called out.
    pub rang: Option<At>,
    /// When the cook answered, or it went away.
    pub answered: Option<At>,
    /// When it went away; none while it runs.
    pub closed: Option<At>,
}

#[derive(Debug, Default)]
pub struct Clocks {
    rows: Vec<ClockRow>,
}

impl Clocks {
    /// Takes in what runs after an event at `at`.
    pub fn after(&mut self, state: &State, at: At, names: &Names) {
        let now = state.clocks();
        for row in self.rows.iter_mut().filter(|r| r.closed.is_none()) {
            // A wait that was still to begin is the same one when it begins sooner.
            let ahead = row.from > at;
            let same = |c: &&ClockView| c.key == row.key && (ahead || c.from == row.from);
            match now.iter().find(same) {
                None => {
                    row.closed = Some(at);
                    if row.rang.is_some() && row.answered.is_none() {
                        row.answered = Some(at);
                    }
                }
                Some(clock) => {
                    if clock.from != row.from {
                        (row.from, row.ends, row.latest) = (clock.from, clock.ends, clock.latest);
                    }
                    if clock.ends != row.ends {
                        row.moved = true;
                        row.ends = clock.ends;
                    }
                    row.latest = clock.latest.or(row.latest);
                    if clock.sounds && row.rang.is_none() {
                        row.rang = Some(at);
                    } else if !clock.sounds && row.rang.is_some() && row.answered.is_none() {
                        row.answered = Some(at);
                    }
                }
            }
        }
        for clock in now {
            let known = self
                .rows
                .iter()
                .any(|r| r.closed.is_none() && r.key == clock.key && r.from == clock.from);
            if !known {
                self.rows.push(ClockRow {
                    name: name(state, &clock, names),
                    key: clock.key,
                    from: clock.from,
                    ends: clock.ends,
                    latest: clock.latest,
                    moved: false,
                    rang: clock.sounds.then_some(at),
                    answered: None,
                    closed: None,
                });
            }
        }
    }

    pub fn rows(self) -> Vec<ClockRow> {
        self.rows
    }
}

/// What a clock is called; the board calls it the same.
pub fn name(state: &State, clock: &ClockView, names: &Names) -> String {
    let name = match &clock.key {
        ClockKey::Wait(step) => ClockName::Wait(names.name(step)),
        ClockKey::Rest(step) => ClockName::Rest(names.name(step)),
        ClockKey::Flip(step) => {
            let vessel = state
                .plan()
                .steps
                .iter()
                .find(|s| s.id == *step)
                .and_then(|s| s.vessel.as_deref());
            ClockName::Flip(names.name(vessel.unwrap_or(step)))
        }
        ClockKey::Voice(_) => ClockName::Timer {
            name: clock.name.clone(),
            ms: clock.ends.since(clock.from),
        },
    };
    wording::clock(&name)
}
