//! One event applied to what is so. Total: an event that makes no sense here (its
//! cause was taken back, its plan has changed) changes nothing.

use std::time::Duration;

use crate::grammar::{Call, Subject};
use crate::plan::Id;

use super::clocks::{Clock, Ring};
use super::core::{Core, Note, Phase};
use super::exposure::FridgeMove;
use super::kit::{Kit, StepIx};
use super::questions::{Pending, Question};
use super::whereabouts::{PieceIx, VesselIx};
use super::{At, ClockKey, Deed, Due, Event, Settled, What, day, places};

pub fn ms(duration: Duration) -> i64 {
    i64::try_from(duration.as_millis()).unwrap_or(i64::MAX / 4)
}

/// Whether an event can change what the readings of a step come to.
fn bears_on_readings(what: &What) -> bool {
    matches!(
        what,
        What::Reading(_)
            | What::Corrected { .. }
            | What::StepStarted { .. }
            | What::StepEnded { .. }
            | What::SteppedBack { .. }
            | What::FoodIn { .. }
            | What::OilIn { .. }
            | What::Did { .. }
    )
}

impl Core {
    pub fn apply(&mut self, kit: &Kit, event: &Event) {
        let at = event.at;
        self.spoke = at;
        if self.is_told_move(event) {
            self.moves = self.moves.wrapping_add(1);
        }
        if bears_on_readings(&event.what) {
            self.beliefs.forget();
        }
        match &event.what {
            What::Begun => self.begun = self.begun.or(Some(at)),
            What::StepStarted { step, .. } => self.start(kit, step, at, event.call),
            What::StepEnded { step, .. } => self.end(kit, step, at, event.call),
            What::SteppedBack { reopened, returned } => {
                self.step_back(kit, reopened, returned.as_ref(), at);
            }
            What::FoodIn { step } => self.food_in(kit, step, at),
            What::HandsFree { step } => self.hands_free(kit, step, at),
            What::OilIn { vessel } => {
                if let Some(v) = vessel.as_ref().and_then(|v| kit.vessel_ix(v)) {
                    self.address_vessel(kit, v, at);
                    self.vessels[v].oil_in = Some(at);
                }
            }
            What::Did { deed, about } => self.did(kit, *deed, about.as_ref(), at),
            What::Flipped { vessel, piece } => {
                if let Some(v) = kit.vessel_ix(vessel) {
                    let piece = piece.as_ref().map(|p| kit.piece_ix(p));
                    match piece {
                        Some(None) => {}
                        piece => self.flipped(kit, v, piece.flatten(), at),
                    }
                }
            }
            What::SidesUnsure { vessel } => {
                if let Some(v) = kit.vessel_ix(vessel) {
                    self.address_vessel(kit, v, at);
                    self.whereabouts.perhaps_flipped(v);
                }
            }
            What::Turned { vessel, turn } => {
                if let Some(v) = kit.vessel_ix(vessel) {
                    self.address_vessel(kit, v, at);
                    self.whereabouts.turn(v, places::quarters(*turn), at);
                }
            }
            What::Put {
                piece,
                vessel,
                place,
            } => {
                if let (Some(p), Some(v)) = (kit.piece_ix(piece), kit.vessel_ix(vessel)) {
                    self.address_vessel(kit, v, at);
                    self.whereabouts.put(p, v, *place, at);
                }
            }
            What::Located {
                piece,
                vessel,
                place,
            } => {
                if let (Some(p), Some(v)) = (kit.piece_ix(piece), kit.vessel_ix(vessel)) {
                    self.whereabouts.locate(p, v, *place, at);
                }
            }
            What::SwappedPlaces {
                vessel_a,
                a,
                vessel_b,
                b,
            } => {
                if let (Some(va), Some(vb)) = (kit.vessel_ix(vessel_a), kit.vessel_ix(vessel_b)) {
                    self.address_vessel(kit, va, at);
                    self.whereabouts.swap_places((va, *a), (vb, *b), at);
                }
            }
            What::SwappedPieces { a, b } => {
                if let (Some(a), Some(b)) = (kit.piece_ix(a), kit.piece_ix(b)) {
                    self.whereabouts.swap_pieces(a, b, at);
                }
            }
            What::MovedOut { from, to, order } => {
                if let (Some(from), Some(to)) = (kit.vessel_ix(from), kit.vessel_ix(to)) {
                    self.whereabouts.move_out(from, to, *order, at);
                    self.address_vessel(kit, to, at);
                }
            }
            What::OrderTold { order } => self.whereabouts.tell_order(*order),
            What::Stacked { vessel } => {
                if let Some(v) = kit.vessel_ix(vessel) {
                    self.address_vessel(kit, v, at);
                    self.whereabouts.stack(v);
                }
            }
            What::Reading(reading) => self.read(kit, reading, at),
            What::Corrected {
                of,
                called,
                celsius,
            } => self.reread(*of, *called, *celsius, at),
            What::Fridge { item, out } => self.fridge.push(FridgeMove {
                item: item.clone(),
                at,
                out: *out,
            }),
            What::Room { celsius, .. } => self.room = Some(*celsius),
            What::Cooling { item } => self.cool(kit, item, at),
            What::OffsetUsed { celsius } => {
                if celsius.is_finite() {
                    self.offset = *celsius;
                }
            }
            What::TimerSet { name, ms } => {
                let key = ClockKey::Voice(event.call.unwrap_or(0));
                // A new time for a timer of that name replaces the old one: two "rice"
                // timers could not be told apart by voice.
                self.clocks
                    .retain(|c| c.key != key && (name.is_none() || c.name != *name));
                let mut clock = Clock::new(key.clone(), at, at.plus((*ms).max(0)));
                clock.name = name.clone();
                self.clocks.push(clock);
                self.addressed_clock = Some((key, at));
            }
            What::ClockMoved { clock, ends } => {
                if let Some(c) = self.clock_mut(clock) {
                    c.ends = *ends;
                    c.ring = None;
                    c.near_told = false;
                    c.latest_told = false;
                    c.latest = c.latest.filter(|latest| *latest > *ends);
                }
                self.addressed_clock = Some((clock.clone(), at));
            }
            What::TimerStopped { clock } => {
                if matches!(clock, ClockKey::Voice(_)) {
                    self.clocks.retain(|c| c.key != *clock);
                }
            }
            What::Acknowledged { clocks } => {
                for key in clocks {
                    self.acknowledge(key);
                }
            }
            What::Due { due } | What::Resumed { due, .. } => {
                for due in due {
                    self.told(kit, due, at);
                }
                // The summary ends with the open question.
                if let (What::Resumed { .. }, Some(q)) = (&event.what, &mut self.question) {
                    q.asked = at;
                }
            }
            What::Tasting(fact) => self.sitting.apply(fact),
            What::Plate { taster } => self.sitting.tell_plate(*taster, at),
            What::Card { taster } => self.sitting.tell_card(*taster),
            What::Asked { question } => self.ask(kit, question, event.call, at),
            What::Settled { how, .. } => {
                let was = self.question.take();
                match (how, was) {
                    (Settled::Overtaken, Some(was)) => self.blur(kit, &was.question),
                    // Tasters can hear: what is left of the sheet is not said.
                    (Settled::Refused, Some(was))
                        if matches!(was.question, Question::OutOfHearing { .. }) =>
                    {
                        self.sitting.sheet_away();
                    }
                    _ => {}
                }
            }
            What::Queried { query } => self.queried(kit, query, at),
            What::NotUnderstood { .. } => self.mumbled = Some(at),
            What::Weighed { item, grams } => {
                self.weighed.retain(|(id, _)| id != item);
                self.weighed.push((item.clone(), *grams));
            }
            What::Counted { item, pieces } => {
                self.counted.retain(|(id, _)| id != item);
                self.counted.push((item.clone(), *pieces));
            }
            What::Portions { portions } => self.portions = Some(*portions),
            What::ServeAt { serve } => self.serve = Some(*serve),
            What::DayLaid {
                eat,
                begins,
                good_until,
            } => {
                self.day = Some(day::Laid {
                    at,
                    eat: *eat,
                    begins: begins.clone(),
                    good_until: *good_until,
                });
                let late = self.late().unwrap_or(0);
                self.late_told = day::to_tell(self.late_told, late);
            }
            What::DayLost => self.day = None,
            What::NothingToBegin | What::Refused { .. } => {}
            What::QuietSet { on } => self.quiet = *on,
            What::AsleepSet { on } => self.asleep = *on,
            What::ByNameSet { on } => self.by_name = *on,
            What::Called => self.named = Some(at),
            What::VoiceSet { volume, speed } => {
                self.volume = *volume;
                self.speed = *speed;
            }
            What::UnitsSet { units } => self.units = *units,
            What::Noted { text } => self.notes.push(Note {
                at,
                text: text.clone(),
            }),
            // The state folds the past anew; here only the time of speaking changes.
            What::Undone { .. } => {}
            What::Ended => {
                self.ended = self.ended.or(Some(at));
                self.clocks.clear();
                self.question = None;
            }
        }
    }

    /// A move that the cook told, not one that went with the end of a step.
    fn is_told_move(&self, event: &Event) -> bool {
        match &event.what {
            What::MovedOut { .. } => {
                event.call.is_none() || self.last_end.is_none_or(|(_, call)| call != event.call)
            }
            What::Flipped { .. }
            | What::SidesUnsure { .. }
            | What::Turned { .. }
            | What::Put { .. }
            | What::Located { .. }
            | What::SwappedPlaces { .. }
            | What::SwappedPieces { .. }
            | What::OrderTold { .. }
            | What::Stacked { .. } => true,
            _ => false,
        }
    }

    pub(super) fn address(&mut self, step: StepIx, at: At) {
        self.addressed = Some((step, at));
    }

    pub(super) fn address_vessel(&mut self, kit: &Kit, vessel: VesselIx, at: At) {
        self.addressed_vessel = Some((vessel, at));
        if let Some(step) = self.step_in(kit, vessel) {
            self.address(step, at);
        }
    }

    /// What the cook asks about is what a bare call after it means.
    fn queried(&mut self, kit: &Kit, query: &Call, at: At) {
        let (Call::HowLong { what } | Call::IsItDone { what } | Call::Believe { what }) = query
        else {
            return;
        };
        match what {
            Some(Subject::Vessel(id)) => {
                if let Some(v) = kit.vessel_ix(id) {
                    self.address_vessel(kit, v, at);
                }
            }
            Some(Subject::Sample(id)) => {
                if let Some(v) = self.vessel_with(kit, id) {
                    self.address_vessel(kit, v, at);
                }
            }
            Some(Subject::Step(id)) => {
                if let Some(ix) = kit.step_ix(id)
                    && self.phase(ix) == Phase::Running
                {
                    self.address(ix, at);
                }
            }
            _ => {}
        }
    }

    fn did(&mut self, kit: &Kit, deed: Deed, about: Option<&Subject>, at: At) {
        let vessel = match about {
            Some(Subject::Vessel(v)) => kit.vessel_ix(v),
            _ => None,
        };
        let Some(v) = vessel else { return };
        self.address_vessel(kit, v, at);
        if let Some(state) = self.vessels.get_mut(v) {
            match deed {
                Deed::Heat(level) => state.heat = Some(level),
                Deed::LidOn => state.lid = true,
                Deed::LidOff => state.lid = false,
                Deed::Basted | Deed::Stirred => {}
            }
            if !matches!(deed, Deed::Basted | Deed::Stirred) {
                state.changed = Some(at);
            }
        }
    }

    fn flipped(&mut self, kit: &Kit, vessel: VesselIx, piece: Option<PieceIx>, at: At) {
        self.address_vessel(kit, vessel, at);
        self.whereabouts.flip(vessel, piece);
        // One piece of several turned over does not settle the flip that is due.
        if piece.is_some() && self.whereabouts.in_vessel(vessel).count() > 1 {
            return;
        }
        if let Some(ix) = self.step_in(kit, vessel) {
            if let Some(s) = self.steps.get_mut(ix) {
                s.flips = s.flips.saturating_add(1);
                s.last_flip = Some(at);
            }
            self.set_flip(kit, ix, at);
        }
    }

    fn acknowledge(&mut self, key: &ClockKey) {
        match key {
            ClockKey::Voice(_) => self.clocks.retain(|c| c.key != *key || c.ring.is_none()),
            _ => {
                if let Some(ring) = self.clock_mut(key).and_then(|c| c.ring.as_mut()) {
                    ring.known = true;
                }
            }
        }
    }

    fn told(&mut self, kit: &Kit, due: &Due, at: At) {
        match due {
            Due::Up(key) => {
                if let ClockKey::Rest(id) = key
                    && let Some(ix) = kit.step_ix(id)
                    && let Some(s) = self.steps.get_mut(ix)
                    && s.phase == Phase::Resting
                {
                    s.phase = Phase::Done;
                }
                if let Some(c) = self.clock_mut(key) {
                    c.ring = Some(Ring {
                        since: at,
                        told: 1,
                        known: false,
                    });
                }
                self.turn_to(kit, key, at);
            }
            Due::StillUp { clock, times } => {
                if let Some(ring) = self.clock_mut(clock).and_then(|c| c.ring.as_mut()) {
                    ring.told = (*times).max(ring.told);
                }
                self.turn_to(kit, clock, at);
            }
            Due::DangerZone(item) => {
                if !self.warned.contains(item) {
                    self.warned.push(item.clone());
                }
            }
            Due::CoolingNear(item) | Due::CoolingOver(item) => {
                let over = matches!(due, Due::CoolingOver(_));
                let i = self.cooling.iter().position(|c| c.item == *item);
                let limit = i.and_then(|i| self.cooling.get(i)?.limit(self));
                if let Some(c) = i.and_then(|i| self.cooling.get_mut(i)) {
                    c.near_told = limit.map(|l| l.1);
                    c.missed_told |= over;
                }
            }
            Due::HoldOver(id) => {
                if let Some(ix) = kit.step_ix(id)
                    && !self.holds_told.contains(&ix)
                {
                    self.holds_told.push(ix);
                }
            }
            Due::LimitNear(id) => {
                if let Some(c) = self.limited(id) {
                    c.near_told = true;
                }
            }
            Due::LimitReached(id) => {
                if let Some(c) = self.limited(id) {
                    c.latest_told = true;
                    c.ring = Some(Ring {
                        since: at,
                        told: 1,
                        known: false,
                    });
                }
            }
            Due::BeginSoon(id) => {
                if let Some(ix) = kit.step_ix(id)
                    && !self.called.contains(&ix)
                {
                    self.called.push(ix);
                }
            }
            Due::AskAgain { times } => {
                if let Some(q) = &mut self.question {
                    q.times = (*times).max(q.times);
                    q.asked = at;
                }
            }
        }
    }

    /// The clock with a limit of a step: its wait while it runs, its rest afterwards.
    fn limited(&mut self, id: &Id) -> Option<&mut Clock> {
        self.clocks
            .iter_mut()
            .find(|c| matches!(&c.key, ClockKey::Wait(s) | ClockKey::Rest(s) if s == id))
    }

    /// The tool has just spoken of this clock.
    fn turn_to(&mut self, kit: &Kit, key: &ClockKey, at: At) {
        self.addressed_clock = Some((key.clone(), at));
        if let Some(ix) = step_of(key).and_then(|id| kit.step_ix(id))
            && self.phase(ix) == Phase::Running
        {
            self.address(ix, at);
        }
    }

    fn ask(&mut self, kit: &Kit, question: &Question, call: Option<u32>, at: At) {
        if let Question::Where { sample, .. } = question
            && let Some(piece) = kit.sample_piece(sample)
        {
            for ix in 0..self.steps.len() {
                if self.held_samples(kit, ix).any(|p| p == piece)
                    && let Some(s) = self.steps.get_mut(ix)
                {
                    s.ask_where = None;
                }
            }
        }
        self.question = Some(Pending {
            question: question.clone(),
            call,
            asked: at,
            times: 1,
        });
    }
}

pub fn step_of(key: &ClockKey) -> Option<&Id> {
    match key {
        ClockKey::Wait(id) | ClockKey::Flip(id) | ClockKey::Rest(id) => Some(id),
        ClockKey::Voice(_) => None,
    }
}

pub fn of_step(key: &ClockKey, id: &Id) -> bool {
    step_of(key) == Some(id)
}
