//! Steps that begin, end, and are opened again; the clocks and the food they bring.

use std::sync::Arc;

use crate::plan::{Id, What as Held};

use super::clocks::Clock;
use super::core::{Core, Phase};
use super::fold::{ms, of_step, step_of};
use super::kit::{Kit, StepIx, span_of, work_before_wait};
use super::manners::ASK_WHERE_AFTER;
use super::whereabouts::{PieceIx, VesselIx, Where};
use super::{At, ClockKey};

impl Core {
    pub(super) fn start(&mut self, kit: &Kit, id: &Id, at: At, call: Option<u32>) {
        let Some((ix, step)) = kit.step_ix(id).and_then(|ix| Some((ix, kit.step(ix)?))) else {
            return;
        };
        if self.phase(ix) == Phase::Running {
            return;
        }
        if let Some(last) = self.finished.last().copied()
            && call.is_some()
            && self.last_end == Some((last, call))
            && let Some(s) = self.steps.get_mut(last)
        {
            s.led_to = Some(ix);
        }
        self.clocks.retain(|c| !of_step(&c.key, id));
        if let Some(s) = self.steps.get_mut(ix) {
            s.phase = Phase::Running;
            s.began = Some(at);
            s.ended = None;
            s.food_in = None;
            s.flips = 0;
            s.last_flip = None;
        }
        let from = at.plus(work_before_wait(step));
        self.set_clocks(kit, ix, from);
        self.address(ix, at);
        self.holds_told.retain(|s| *s != ix);
        if step.cools {
            for item in kit.items_of(step) {
                self.cool(kit, item, at);
            }
        }
        if let Some(v) = step.vessel.as_ref().and_then(|v| kit.vessel_ix(v)) {
            self.addressed_vessel = Some((v, at));
            self.hold(kit, ix, v, at);
        }
    }

    /// The clocks of a step, counted from `at`: its begin, or where it has a wait the end of
    /// its hands-on time.
    pub(super) fn set_clocks(&mut self, kit: &Kit, ix: StepIx, at: At) {
        let Some(step) = kit.step(ix) else { return };
        if let Some(s) = self.steps.get_mut(ix) {
            s.waits_from = step.wait.map(|_| at);
        }
        self.clocks
            .retain(|c| !of_step(&c.key, &step.id) || matches!(c.key, ClockKey::Rest(_)));
        if let Some(span) = span_of(step) {
            let mut clock = Clock::new(ClockKey::Wait(step.id.clone()), at, at.plus(ms(span.lo)));
            clock.latest = (span.hi > span.lo).then(|| at.plus(ms(span.hi)));
            self.clocks.push(clock);
        }
        self.set_flip(kit, ix, at);
    }

    /// The clock of the next flip, counted from `at`; none so near the end that the
    /// food is about to come out.
    pub(super) fn set_flip(&mut self, kit: &Kit, ix: StepIx, at: At) {
        let Some(step) = kit.step(ix) else { return };
        let key = ClockKey::Flip(step.id.clone());
        self.clocks.retain(|c| c.key != key);
        let Some(every) = step.flip_every.map(ms).filter(|e| *e > 0) else {
            return;
        };
        let due = at.plus(every);
        let ends = self
            .clock_of_step(&step.id)
            .map(|c| c.latest.unwrap_or(c.ends));
        if ends.is_none_or(|end| due <= end.plus(-every / 4)) {
            self.clocks.push(Clock::new(key, at, due));
        }
    }

    /// What the vessel holds from this step on.
    pub(super) fn hold(&mut self, kit: &Kit, ix: StepIx, vessel: VesselIx, at: At) {
        let Some(step) = kit.step(ix) else { return };
        let mut laid = Vec::new();
        for holding in &step.holds {
            let pieces = match &holding.what {
                Held::Sample(id) => kit.sample_piece(id).into_iter().collect(),
                Held::Pieces { item, count } => {
                    self.twins_for(kit, ix, item, *count, vessel, &laid)
                }
            };
            for piece in pieces {
                self.whereabouts.plan(piece, vessel, holding.place, at);
                laid.push(piece);
            }
        }
        let unsure = self
            .held_samples(kit, ix)
            .any(|p| !matches!(self.whereabouts.place_of(p), Where::Known { .. }));
        if let Some(s) = self.steps.get_mut(ix) {
            s.ask_where = unsure.then(|| at.plus(ASK_WHERE_AFTER));
        }
    }

    /// The marked pieces among what a step holds.
    pub fn held_samples<'a>(
        &'a self,
        kit: &'a Kit,
        ix: StepIx,
    ) -> impl Iterator<Item = PieceIx> + 'a {
        kit.step(ix)
            .map(|s| s.holds.as_slice())
            .unwrap_or_default()
            .iter()
            .filter_map(|h| match &h.what {
                Held::Sample(id) => kit.sample_piece(id),
                Held::Pieces { .. } => None,
            })
    }

    /// Which of the like pieces go into a vessel: those there already, then those of
    /// the steps before, then those that are nowhere yet, and from a vessel that is
    /// in use last of all.
    pub(super) fn twins_for(
        &self,
        kit: &Kit,
        ix: StepIx,
        item: &Id,
        count: u32,
        vessel: VesselIx,
        laid: &[PieceIx],
    ) -> Vec<PieceIx> {
        let Some(item) = kit.item_ix(item) else {
            return Vec::new();
        };
        let sources: Vec<VesselIx> = kit
            .before
            .get(ix)
            .into_iter()
            .flatten()
            .filter_map(|b| kit.step(*b))
            .flat_map(|b| [b.out_to.as_ref(), b.vessel.as_ref()])
            .flatten()
            .filter_map(|v| kit.vessel_ix(v))
            .collect();
        let rank = |piece: &PieceIx| match self.whereabouts.pieces.get(*piece).and_then(|p| p.lie) {
            Some(lie) if lie.vessel == vessel => 0,
            Some(lie) if sources.contains(&lie.vessel) => 1,
            None => 2,
            Some(lie) if self.step_in(kit, lie.vessel).is_none() => 3,
            Some(_) => 4,
        };
        let mut twins: Vec<PieceIx> = kit
            .pieces_of(item)
            .filter(|p| kit.sample_of(*p).is_none() && !laid.contains(p))
            .collect();
        twins.sort_by_key(rank);
        twins.truncate(count as usize);
        twins
    }

    pub(super) fn end(&mut self, kit: &Kit, id: &Id, at: At, call: Option<u32>) {
        let Some((ix, step)) = kit.step_ix(id).and_then(|ix| Some((ix, kit.step(ix)?))) else {
            return;
        };
        if self.phase(ix) != Phase::Running {
            return;
        }
        self.clocks.retain(|c| !of_step(&c.key, id));
        let rests = step.rest.filter(|r| !r.hi.is_zero());
        if let Some(s) = self.steps.get_mut(ix) {
            s.phase = if rests.is_some() {
                Phase::Resting
            } else {
                Phase::Done
            };
            s.ended = Some(at);
            s.led_to = None;
            s.ask_where = None;
            s.lay = Some(Arc::new((self.moves, self.whereabouts.clone())));
        }
        if let Some(rest) = rests {
            let mut clock = Clock::new(ClockKey::Rest(id.clone()), at, at.plus(ms(rest.lo)));
            clock.latest = (rest.hi > rest.lo).then(|| at.plus(ms(rest.hi)));
            self.clocks.push(clock);
        }
        self.finished.push(ix);
        self.last_end = Some((ix, call));
        if self.addressed.is_some_and(|(s, _)| s == ix) {
            self.addressed = None;
        }
    }

    pub(super) fn step_back(&mut self, kit: &Kit, reopened: &Id, returned: Option<&Id>, at: At) {
        if let Some(ix) = returned.and_then(|id| kit.step_ix(id))
            && self.phase(ix) == Phase::Running
        {
            self.clocks
                .retain(|c| Some(step_of(&c.key)) != returned.map(Some));
            if let Some(s) = self.steps.get_mut(ix) {
                s.phase = Phase::NotBegun;
                s.began = None;
                s.ask_where = None;
            }
        }
        let Some(ix) = kit.step_ix(reopened) else {
            return;
        };
        if !matches!(self.phase(ix), Phase::Done | Phase::Resting) {
            return;
        }
        self.clocks.retain(|c| !of_step(&c.key, reopened));
        self.finished.retain(|s| *s != ix);
        // What went with the end of the step goes back with it, unless the cook has told
        // of a move since.
        if let Some(lay) = self.steps.get_mut(ix).and_then(|s| s.lay.take())
            && lay.0 == self.moves
        {
            self.whereabouts = lay.1.clone();
        }
        let mut from = at;
        if let Some(s) = self.steps.get_mut(ix) {
            s.phase = Phase::Running;
            s.ended = None;
            from = s.food_in.or(s.waits_from).or(s.began).unwrap_or(at);
        }
        self.set_clocks(kit, ix, from);
        let flip = self.steps.get(ix).and_then(|s| s.last_flip);
        if let Some(flip) = flip {
            self.set_flip(kit, ix, flip);
        }
        self.address(ix, at);
    }

    /// The hands-on time is over early: clocks that count from its end are moved as much. What
    /// the cook has added to them stays.
    pub(super) fn hands_free(&mut self, kit: &Kit, id: &Id, at: At) {
        let Some(ix) = kit.step_ix(id) else { return };
        let Some(s) = self.steps.get_mut(ix) else {
            return;
        };
        let (Phase::Running, Some(from)) = (s.phase, s.waits_from) else {
            return;
        };
        s.waits_from = Some(at);
        let by = at.since(from);
        for clock in self.clocks.iter_mut().filter(|c| of_step(&c.key, id)) {
            clock.from = clock.from.plus(by);
            clock.ends = clock.ends.plus(by);
            clock.latest = clock.latest.map(|l| l.plus(by));
        }
        self.address(ix, at);
    }

    pub(super) fn food_in(&mut self, kit: &Kit, id: &Id, at: At) {
        let Some(ix) = kit.step_ix(id) else { return };
        if self.phase(ix) != Phase::Running {
            return;
        }
        self.set_clocks(kit, ix, at);
        let vessel = kit.step(ix).and_then(|s| kit.vessel_ix(s.vessel.as_ref()?));
        if let Some(v) = vessel {
            self.whereabouts.confirm(v);
        }
        if let Some(s) = self.steps.get_mut(ix) {
            s.food_in = Some(at);
            s.ask_where = s.ask_where.map(|_| at);
        }
        self.address(ix, at);
    }
}
