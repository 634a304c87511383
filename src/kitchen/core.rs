//! What is so in the kitchen now, without the past that led to it.

use std::sync::Arc;

use crate::grammar::Heat;
use crate::plan::{Celsius, Id, Units};

use super::beliefs::Beliefs;
use super::clocks::Clock;
use super::cooling::Cools;
use super::day::Laid;
use super::exposure::FridgeMove;
use super::kit::{Kit, StepIx};
use super::questions::Pending;
use super::sitting::Sitting;
use super::trail::Trail;
use super::whereabouts::{VesselIx, Whereabouts};
use super::{At, ClockKey, Reading};

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Phase {
    NotBegun,
    Running,
    /// Ended, and its food rests.
    Resting,
    Done,
}

#[derive(Debug, Clone, PartialEq)]
pub struct StepState {
    pub phase: Phase,
    pub began: Option<At>,
    pub ended: Option<At>,
    /// When the cook said that the food is in.
    pub food_in: Option<At>,
    /// From when its wait counts: the end of its hands-on time, by the plan or by the cook's
    /// word. None for a step without a wait.
    pub waits_from: Option<At>,
    pub flips: u32,
    pub last_flip: Option<At>,
    /// The step that was begun when this one ended, for "back one".
    pub led_to: Option<StepIx>,
    /// Where everything lay when it ended, and how many moves the cook had told then.
    pub lay: Option<Arc<(u32, Whereabouts)>>,
    /// Asking where its samples lie is still due at this time.
    pub ask_where: Option<At>,
}

#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct VesselState {
    pub heat: Option<Heat>,
    pub lid: bool,
    pub oil_in: Option<At>,
    /// When the burner or the lid was last changed.
    pub changed: Option<At>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    pub at: At,
    pub text: Option<String>,
}

/// A reading with when it was called, and whether it was corrected since.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    pub at: At,
    pub reading: Reading,
    pub corrected: bool,
    /// Degrees Celsius that were added to the probe's readings when it was called.
    pub offset: f64,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Core {
    pub begun: Option<At>,
    pub ended: Option<At>,
    pub steps: Vec<StepState>,
    /// The order in which steps ended, last last; "back one" takes from its end.
    pub finished: Vec<StepIx>,
    /// The last step that ended, and the call that ended it.
    pub last_end: Option<(StepIx, Option<u32>)>,
    pub clocks: Vec<Clock>,
    pub vessels: Vec<VesselState>,
    pub whereabouts: Whereabouts,
    /// Moves that the cook has told, to see whether any was told since.
    pub moves: u32,
    pub readings: Trail<Taken>,
    /// Degrees Celsius to add to what the probe reads.
    pub offset: f64,
    /// Items whose time in the danger zone was told of.
    pub warned: Vec<Id>,
    /// Steps of which it was told that their hold is over.
    pub holds_told: Vec<StepIx>,
    /// What was put into the fridge and taken out, by the cook's word, in order.
    pub fridge: Vec<FridgeMove>,
    /// How warm it is in the kitchen, as far as that is known.
    pub room: Option<Celsius>,
    /// Items that cool after the cook.
    pub cooling: Vec<Cools>,
    /// What the readings of each step come to, worked out when asked for.
    pub beliefs: Beliefs,
    pub notes: Trail<Note>,
    pub question: Option<Pending>,
    /// What all pieces of an item really weigh, grams, where the cook has said.
    pub weighed: Vec<(Id, f64)>,
    /// How many pieces of an item there really are, where the cook has said.
    pub counted: Vec<(Id, u32)>,
    /// For how many it really is, where the cook has said.
    pub portions: Option<u16>,
    /// When it is to be on the table.
    pub serve: Option<At>,
    /// The rest of the cook as last laid.
    pub day: Option<Laid>,
    /// How late it will be, as last told.
    pub late_told: i64,
    /// Steps that were called ahead.
    pub called: Vec<StepIx>,
    pub sitting: Sitting,
    pub quiet: bool,
    pub asleep: bool,
    /// Calls must begin with the name.
    pub by_name: bool,
    /// When the name alone was last called.
    pub named: Option<At>,
    pub units: Units,
    pub volume: i8,
    pub speed: i8,
    /// The step spoken of last, and when.
    pub addressed: Option<(StepIx, At)>,
    /// The vessel spoken of last, and when.
    pub addressed_vessel: Option<(VesselIx, At)>,
    /// The clock spoken of last.
    pub addressed_clock: Option<(ClockKey, At)>,
    /// When something was last not understood.
    pub mumbled: Option<At>,
    /// When something was last said.
    pub spoke: At,
}

impl Core {
    pub fn new(kit: &Kit) -> Core {
        Core {
            begun: None,
            ended: None,
            steps: vec![
                StepState {
                    phase: Phase::NotBegun,
                    began: None,
                    ended: None,
                    food_in: None,
                    waits_from: None,
                    flips: 0,
                    last_flip: None,
                    led_to: None,
                    lay: None,
                    ask_where: None,
                };
                kit.plan.steps.len()
            ],
            finished: Vec::new(),
            last_end: None,
            clocks: Vec::new(),
            vessels: vec![VesselState::default(); kit.plan.vessels.len()],
            whereabouts: Whereabouts::new(kit.pieces(), kit.plan.vessels.iter().map(|v| v.places)),
            moves: 0,
            readings: Trail::default(),
            offset: 0.0,
            warned: Vec::new(),
            holds_told: Vec::new(),
            fridge: Vec::new(),
            room: kit.plan.room,
            cooling: Vec::new(),
            beliefs: Beliefs::new(kit.plan.steps.len()),
            notes: Trail::default(),
            question: None,
            weighed: Vec::new(),
            counted: Vec::new(),
            portions: None,
            serve: None,
            day: None,
            late_told: 0,
            called: Vec::new(),
            sitting: Sitting::default(),
            quiet: false,
            asleep: false,
            by_name: kit.plan.hearing.address.is_some(),
            named: None,
            units: kit.plan.units,
            volume: 0,
            speed: 0,
            addressed: None,
            addressed_vessel: None,
            addressed_clock: None,
            mumbled: None,
            spoke: At(i64::MIN / 4),
        }
    }

    pub fn phase(&self, step: StepIx) -> Phase {
        self.steps.get(step).map_or(Phase::NotBegun, |s| s.phase)
    }

    pub fn running(&self) -> impl Iterator<Item = StepIx> + '_ {
        self.steps
            .iter()
            .enumerate()
            .filter(|(_, s)| s.phase == Phase::Running)
            .map(|(i, _)| i)
    }

    /// Steps with a wait whose hands-on time is not over at `now`: the wait is still to come.
    pub fn in_hand(&self, now: At) -> impl Iterator<Item = StepIx> + '_ {
        self.running().filter(move |ix| {
            self.steps
                .get(*ix)
                .and_then(|s| s.waits_from)
                .is_some_and(|from| from > now)
        })
    }

    /// Steps that could begin now: not begun, and all they wait for is done.
    pub fn ready<'a>(&'a self, kit: &'a Kit) -> impl Iterator<Item = StepIx> + 'a {
        (0..self.steps.len()).filter(move |s| {
            self.phase(*s) == Phase::NotBegun
                && kit
                    .before
                    .get(*s)
                    .is_some_and(|all| all.iter().all(|b| self.phase(*b) == Phase::Done))
        })
    }

    pub fn all_done(&self) -> bool {
        self.steps.iter().all(|s| s.phase == Phase::Done)
    }

    pub fn clock(&self, key: &ClockKey) -> Option<&Clock> {
        self.clocks.iter().find(|c| c.key == *key)
    }

    pub fn clock_mut(&mut self, key: &ClockKey) -> Option<&mut Clock> {
        self.clocks.iter_mut().find(|c| c.key == *key)
    }

    pub fn clock_of_step(&self, id: &Id) -> Option<&Clock> {
        self.clock(&ClockKey::Wait(id.clone()))
    }

    pub fn sounding(&self) -> impl Iterator<Item = &Clock> {
        self.clocks.iter().filter(|c| c.sounds())
    }

    /// The vessel in which a marked piece is, as far as is known.
    pub fn vessel_with(&self, kit: &Kit, sample: &str) -> Option<VesselIx> {
        let piece = kit.sample_piece(sample)?;
        Some(self.whereabouts.pieces.get(piece)?.lie?.vessel)
    }

    /// The running step of a vessel, if any.
    pub fn step_in(&self, kit: &Kit, vessel: VesselIx) -> Option<StepIx> {
        let id = &kit.vessel(vessel)?.id;
        self.running()
            .find(|s| kit.step(*s).is_some_and(|s| s.vessel.as_ref() == Some(id)))
    }
}
