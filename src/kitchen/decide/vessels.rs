//! Which vessel a bare call means, and the names of its places.

use crate::grammar::{Call, Subject};
use crate::kitchen::focus::{Candidate, Pick, pick};
use crate::kitchen::places::Slots;
use crate::kitchen::whereabouts::VesselIx;
use crate::kitchen::{ClockKey, Question, Refusal};
use crate::plan::{Place, VesselKind};

use super::Desk;

impl Desk<'_> {
    /// A vessel that cooks what is in it.
    pub(super) fn is_hot(&self, v: VesselIx) -> bool {
        self.kit.vessel(v).is_some_and(|v| {
            matches!(
                v.kind,
                VesselKind::Skillet | VesselKind::Pot | VesselKind::Oven
            )
        })
    }

    pub(super) fn holds(&self, v: VesselIx) -> bool {
        self.core.whereabouts.in_vessel(v).next().is_some()
    }

    /// Which of these vessels a bare call means. A thing that is in only one of them
    /// decides.
    pub(super) fn pick_vessel(
        &self,
        vessels: &[VesselIx],
        about: Option<&Subject>,
    ) -> Pick<VesselIx> {
        let holding: Vec<VesselIx> = match about {
            Some(Subject::Item(id)) => vessels
                .iter()
                .copied()
                .filter(|v| {
                    self.core
                        .whereabouts
                        .in_vessel(*v)
                        .any(|p| self.kit.item_at(p).is_some_and(|i| i.id == *id))
                })
                .collect(),
            _ => vessels.to_vec(),
        };
        let all: Vec<_> = holding
            .iter()
            .map(|v| {
                let clock = self
                    .core
                    .step_in(self.kit, *v)
                    .and_then(|s| self.core.clock(&ClockKey::Flip(self.step_id(s))));
                Candidate {
                    what: *v,
                    due: clock
                        .filter(|c| c.ring.is_none_or(|r| !r.known))
                        .map(|c| c.ends),
                    sounds: clock.is_some_and(|c| c.sounds()),
                }
            })
            .collect();
        pick(&all, self.core.addressed_vessel, self.now, false)
    }

    pub(super) fn which_vessel(&mut self, call: &Call, vessels: &[VesselIx]) {
        let options = vessels
            .iter()
            .map(|v| Subject::Vessel(self.kit.vessel_id(*v)))
            .collect();
        self.ask(Question::Which {
            of: call.clone(),
            options,
        });
    }

    /// Vessels with something in them whose places can be told apart, those of running
    /// steps before others.
    pub(super) fn arranged(&self) -> Vec<VesselIx> {
        let held: Vec<VesselIx> = (0..self.kit.plan.vessels.len())
            .filter(|v| {
                self.core
                    .whereabouts
                    .frame(*v)
                    .is_some_and(|f| !f.is_heap())
            })
            .filter(|v| self.core.whereabouts.in_vessel(*v).next().is_some())
            .collect();
        let active: Vec<VesselIx> = held
            .iter()
            .copied()
            .filter(|v| self.core.step_in(self.kit, *v).is_some())
            .collect();
        if active.is_empty() { held } else { active }
    }

    /// A called place as the cook sees it in this vessel now.
    pub(super) fn seen(&self, v: VesselIx, place: Place) -> Place {
        match self.core.whereabouts.frame(v) {
            Some(frame) if !self.places_seen => frame.as_seen(place),
            _ => place,
        }
    }

    /// The slots of a place, or a refusal when the vessel has no such place.
    pub(super) fn slots(&mut self, call: &Call, v: VesselIx, place: Place) -> Option<Slots> {
        let frame = self.core.whereabouts.frame(v)?;
        let mut slots = frame.slots_at(place);
        if slots.is_empty() && self.may_face(v) {
            slots = frame.turned(1).slots_at(place);
        }
        if slots.is_empty() {
            self.refuse(
                call,
                Refusal::NoSuchPlace {
                    vessel: self.kit.vessel_id(v),
                    place,
                },
            );
            return None;
        }
        Some(slots)
    }

    /// Nothing sure is in it, so the cook's words say how it stands.
    pub(super) fn may_face(&self, v: VesselIx) -> bool {
        self.core.whereabouts.in_vessel(v).all(|p| {
            let lie = self.core.whereabouts.pieces.get(p).and_then(|p| p.lie);
            lie.is_none_or(|l| l.doubt)
        })
    }

    pub(super) fn names_of(&self, v: VesselIx, slots: Slots) -> Vec<Place> {
        let frame = self.core.whereabouts.frame(v);
        slots
            .iter()
            .filter_map(|s| frame.and_then(|f| f.place(s)))
            .collect()
    }
}
