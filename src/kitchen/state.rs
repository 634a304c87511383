//! The state: what is so now, and the events that led to it, so that a call can be
//! taken back and the last thing said be said again.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::plan::{Plan, Units};
use crate::tasting::Tasting;

use super::core::Core;
use super::kit::Kit;
use super::trail::Trail;
use super::{At, Event, What};

/// Events between two checkpoints, and how many checkpoints are kept: a call is taken
/// back by folding again from the last checkpoint before it.
const CHECKPOINT_EVERY: usize = 64;
const CHECKPOINTS: usize = 16;
/// How far from the end of the calls that can be taken back one is looked for.
const MOST_BETWEEN: usize = 64;

#[derive(Debug, Clone, PartialEq)]
pub struct State {
    pub(super) kit: Arc<Kit>,
    pub(super) core: Core,
    pub(super) log: Trail<Arc<Event>>,
    checkpoints: Vec<(usize, Arc<Core>)>,
    undone: Arc<BTreeSet<u32>>,
    /// Calls that can be taken back, in order, each with where its events begin.
    pub(super) undoable: Trail<(u32, usize)>,
    calls: u32,
    /// What the journal's header holds: codes and serving orders of tastings come from it.
    pub(super) seed: u64,
}

impl State {
    pub fn new(plan: Arc<Plan>) -> State {
        let kit = Arc::new(Kit::new(plan));
        State {
            core: Core::new(&kit),
            kit,
            log: Trail::default(),
            checkpoints: Vec::new(),
            undone: Arc::default(),
            undoable: Trail::default(),
            calls: 0,
            seed: 0,
        }
    }

    /// The cook's seed, from which tastings get their codes and orders. It must not be one
    /// that a taster could guess.
    pub fn seeded(mut self, seed: u64) -> State {
        self.seed = seed;
        self
    }

    /// Folds one event in. Total: no sequence of events panics; an event that makes no
    /// sense here changes nothing but the time of last speaking.
    pub fn apply(&mut self, event: &Event) {
        let index = self.log.len();
        if index > 0 && index.is_multiple_of(CHECKPOINT_EVERY) {
            self.checkpoints.push((index, Arc::new(self.core.clone())));
            if self.checkpoints.len() > CHECKPOINTS {
                self.checkpoints.remove(0);
            }
        }
        self.log.push(Arc::new(event.clone()));
        if let Some(call) = event.call {
            self.calls = self.calls.max(call);
            if event.what.is_undoable()
                && !self.undone.contains(&call)
                && self.undoable.last().is_none_or(|(last, _)| *last != call)
            {
                self.undoable.push((call, index));
            }
        }
        // An event of a call that was taken back before it came.
        if event.call.is_some_and(|c| self.undone.contains(&c)) {
            self.core.spoke = event.at;
            return;
        }
        self.core.apply(&self.kit, event);
        if let What::Undone { of } = &event.what {
            self.undo(of, event);
        }
    }

    fn undo(&mut self, of: &[u32], event: &Event) {
        // What is taken back lies at the end, but for calls that nothing came of.
        let mut first = None;
        let mut kept = Vec::new();
        let mut left = of.len();
        while left > 0
            && let Some((call, index)) = self.undoable.pop()
        {
            if of.contains(&call) {
                first = Some(first.map_or(index, |f: usize| f.min(index)));
                left -= 1;
            } else {
                kept.push((call, index));
                // Further back than what a question and its answers can span.
                if kept.len() > MOST_BETWEEN {
                    break;
                }
            }
        }
        for entry in kept.into_iter().rev() {
            self.undoable.push(entry);
        }
        let Some(first) = first else { return };
        Arc::make_mut(&mut self.undone).extend(of.iter().copied());
        self.checkpoints.retain(|(index, _)| *index <= first);
        let (mut core, start) = self.core_before(first);
        for event in self.log.from(start) {
            if event.call.is_none_or(|c| !self.undone.contains(&c)) {
                core.apply(&self.kit, event);
            }
        }
        core.spoke = event.at;
        // The rest of the cook is another one now.
        if let Some(day) = &mut core.day {
            day.good_until = event.at;
        }
        self.core = core;
    }

    /// What was so before event `index`, and from which event on to fold.
    fn core_before(&self, index: usize) -> (Core, usize) {
        match self.checkpoints.iter().rev().find(|(i, _)| *i <= index) {
            Some((i, core)) => ((**core).clone(), *i),
            None => (Core::new(&self.kit), 0),
        }
    }

    /// The state as it was before event `index` of the log, for wording it again. It
    /// carries no past of its own.
    pub(super) fn at_event(&self, index: usize) -> State {
        let (mut core, start) = self.core_before(index);
        for event in self.log.from(start).take(index.saturating_sub(start)) {
            if event.call.is_none_or(|c| !self.undone.contains(&c)) {
                core.apply(&self.kit, event);
            }
        }
        State {
            core,
            kit: self.kit.clone(),
            log: Trail::default(),
            checkpoints: Vec::new(),
            undone: Arc::default(),
            undoable: Trail::default(),
            calls: 0,
            seed: self.seed,
        }
    }

    /// The events of a call that is not taken back, in order. They lie close together
    /// and are looked for from the end.
    pub(super) fn events_of(&self, call: u32) -> impl Iterator<Item = &Arc<Event>> {
        let mut of: Vec<_> = self
            .log
            .iter()
            .rev()
            .skip_while(move |e| e.call.is_none_or(|c| c > call))
            .take_while(move |e| e.call.is_none_or(|c| c >= call))
            .filter(move |e| e.call == Some(call))
            .collect();
        of.reverse();
        of.into_iter()
    }

    /// The number that the next call gets.
    pub(super) fn next_call(&self) -> u32 {
        self.calls.saturating_add(1)
    }

    /// Whether the same is so in both, whatever led to it and whenever was last spoken.
    pub fn is_like(&self, other: &State) -> bool {
        let mut mine = self.core.clone();
        mine.spoke = other.core.spoke;
        mine.mumbled = other.core.mumbled;
        self.kit == other.kit && mine == other.core
    }

    pub fn plan(&self) -> &Plan {
        &self.kit.plan
    }

    /// The tasting of this cook, open or closed; while it is open it tells nothing.
    pub fn tasting(&self) -> Option<&Tasting> {
        self.core.sitting.tasting.as_deref()
    }

    /// Whether a tasting is open, so that codes may be called.
    pub fn is_tasting(&self) -> bool {
        self.core.sitting.open().is_some()
    }

    /// Whether nothing may be shown or said now that tells which is which.
    pub fn is_blind(&self, now: At) -> bool {
        self.core.sitting.is_blind(now)
    }

    pub fn units(&self) -> Units {
        self.core.units
    }

    pub fn is_quiet(&self) -> bool {
        self.core.quiet
    }

    /// "hold on" was called: only "carry on" and what answers an alarm is heeded.
    pub fn is_asleep(&self) -> bool {
        self.core.asleep
    }

    pub fn has_begun(&self) -> bool {
        self.core.begun.is_some()
    }

    pub fn has_ended(&self) -> bool {
        self.core.ended.is_some()
    }

    /// Steps up or down from the voice's own volume and speed.
    pub fn voice(&self) -> (i8, i8) {
        (self.core.volume, self.core.speed)
    }

    /// Number of events folded, those taken back included.
    pub fn events(&self) -> usize {
        self.log.len()
    }
}
