//! Everything out of one vessel into another.

use crate::grammar::{Call, Order};
use crate::kitchen::focus::{Candidate, Pick, pick};
use crate::kitchen::whereabouts::{VesselIx, Where};
use crate::kitchen::{Question, Refusal, What};
use crate::plan::Id;

use super::Desk;

impl Desk<'_> {
    pub(super) fn out_to(
        &mut self,
        call: &Call,
        from: Option<&Id>,
        to: &Id,
        order: Option<Order>,
        sure: bool,
    ) {
        let Some(to_ix) = self.kit.vessel_ix(to) else {
            return self.refuse(call, Refusal::UnknownName);
        };
        let from_ix = match from {
            Some(id) => match self.kit.vessel_ix(id) {
                Some(v) => v,
                None => return self.refuse(call, Refusal::UnknownName),
            },
            None => {
                // Vessels whose step goes there come first, then all that hold food.
                let active: Vec<VesselIx> = self
                    .core
                    .running()
                    .filter_map(|s| self.kit.step(s))
                    .filter(|s| s.out_to.as_ref() == Some(to))
                    .filter_map(|s| s.vessel.as_ref().and_then(|v| self.kit.vessel_ix(v)))
                    .collect();
                let holding: Vec<VesselIx> = (0..self.kit.plan.vessels.len())
                    .filter(|v| *v != to_ix)
                    .filter(|v| self.core.whereabouts.in_vessel(*v).next().is_some())
                    .collect();
                let running: Vec<VesselIx> = holding
                    .iter()
                    .copied()
                    .filter(|v| self.core.step_in(self.kit, *v).is_some())
                    .collect();
                let set = [active, running, holding]
                    .into_iter()
                    .find(|s| !s.is_empty())
                    .unwrap_or_default();
                match self.pick_vessel_to_empty(&set) {
                    Pick::One(v) => v,
                    Pick::Ask(several) => return self.which_vessel(call, &several),
                    Pick::None => return self.refuse(call, Refusal::NothingUnderWay),
                }
            }
        };
        if from_ix == to_ix {
            return self.refuse(call, Refusal::SameThing);
        }
        let step = self.core.step_in(self.kit, from_ix);
        let holds = self.core.whereabouts.in_vessel(from_ix).next().is_some();
        if !holds && step.is_none() {
            return self.refuse(call, Refusal::VesselEmpty(self.kit.vessel_id(from_ix)));
        }
        if let Some(ix) = step
            && !sure
            && let Some(why) = self.why_not_yet(ix)
        {
            let of = Call::OutTo {
                from: Some(self.kit.vessel_id(from_ix)),
                to: to.clone(),
                order,
            };
            return self.sure(&of, why);
        }
        if let Some(ix) = step {
            self.end_step(ix, sure, false);
        }
        if holds {
            self.move_out(from_ix, to_ix, order);
        }
        if step.is_some() && !self.start_ready(step) {
            self.emit(What::NothingToBegin);
        }
    }

    pub(super) fn pick_vessel_to_empty(&self, vessels: &[VesselIx]) -> Pick<VesselIx> {
        let all: Vec<_> = vessels
            .iter()
            .map(|v| {
                let clock = self
                    .core
                    .step_in(self.kit, *v)
                    .and_then(|s| self.core.clock_of_step(&self.step_id(s)));
                Candidate {
                    what: *v,
                    due: clock.map(|c| c.ends),
                    sounds: clock.is_some_and(|c| c.sounds()),
                }
            })
            .collect();
        pick(&all, self.core.addressed_vessel, self.now, false)
    }

    /// The move itself, and the question about its order where samples are in it.
    pub(super) fn move_out(&mut self, from: VesselIx, to: VesselIx, order: Option<Order>) {
        let marked: Vec<Id> = self
            .kit
            .marked()
            .filter(|(_, p)| {
                let lie = self.core.whereabouts.pieces.get(*p).and_then(|p| p.lie);
                lie.is_some_and(|l| l.vessel == from)
            })
            .map(|(s, _)| s.id.clone())
            .collect();
        self.emit(What::MovedOut {
            from: self.kit.vessel_id(from),
            to: self.kit.vessel_id(to),
            order,
        });
        let unknown: Vec<Id> = marked
            .into_iter()
            .filter(|s| {
                self.kit.sample_piece(s).is_some_and(|p| {
                    !matches!(self.core.whereabouts.place_of(p), Where::Known { .. })
                })
            })
            .collect();
        if unknown.is_empty() {
            return;
        }
        // The order helps only where there was one to keep.
        if order.is_none() && self.core.whereabouts.order_would_tell(None) {
            self.to_ask = Some(Question::Order {
                from: self.kit.vessel_id(from),
                to: self.kit.vessel_id(to),
                samples: unknown,
            });
        }
    }
}
