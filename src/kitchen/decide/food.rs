//! Food and oil that go in.

use crate::grammar::{Call, Subject, Thing};
use crate::kitchen::agenda;
use crate::kitchen::focus::Pick;
use crate::kitchen::kit::StepIx;
use crate::kitchen::whereabouts::VesselIx;
use crate::kitchen::{Refusal, What};
use crate::plan::{Id, Place, VesselKind};

use super::Desk;

impl Desk<'_> {
    pub(super) fn came_in(
        &mut self,
        call: &Call,
        what: Option<&Thing>,
        vessel: Option<&Id>,
        place: Option<Place>,
    ) {
        match what {
            Some(Thing::Sample(id)) => self.put(call, id, vessel, place),
            Some(Thing::Oil) => {
                let vessel = match vessel {
                    Some(v) => Some(v.clone()),
                    None => {
                        let hot: Vec<VesselIx> = self
                            .core
                            .running()
                            .filter_map(|s| self.kit.step(s)?.vessel.as_ref())
                            .filter_map(|v| self.kit.vessel_ix(v))
                            .collect();
                        match self.pick_vessel(&hot, None) {
                            Pick::None => None,
                            Pick::One(v) => Some(self.kit.vessel_id(v)),
                            Pick::Ask(several) => return self.which_vessel(call, &several),
                        }
                    }
                };
                self.emit(What::OilIn { vessel });
            }
            Some(Thing::Item(_)) | None => self.food_in(call, what, vessel),
        }
    }

    /// "chops in": the food of a step is in. A step that is next and waits for this is
    /// begun by it.
    pub(super) fn food_in(&mut self, call: &Call, what: Option<&Thing>, vessel: Option<&Id>) {
        let fits = |s: &StepIx| {
            self.kit.step(*s).is_some_and(|step| {
                let right_vessel = vessel.is_none() || step.vessel.as_ref() == vessel;
                let right_food = match what {
                    Some(Thing::Item(id)) => step.holds.iter().any(|h| match &h.what {
                        crate::plan::What::Pieces { item, .. } => item == id,
                        crate::plan::What::Sample(s) => {
                            self.kit.sample(s).is_some_and(|s| s.of == *id)
                        }
                    }),
                    _ => step.vessel.is_some(),
                };
                right_vessel && right_food
            })
        };
        let running: Vec<StepIx> = self
            .core
            .running()
            .filter(fits)
            .filter(|s| {
                self.core
                    .steps
                    .get(*s)
                    .is_some_and(|s| s.flips == 0 && s.food_in.is_none())
                    // Food whose time is up has long been in.
                    && self
                        .core
                        .clock_of_step(&self.step_id(*s))
                        .is_none_or(|c| c.ring.is_none())
            })
            .collect();
        let ready: Vec<StepIx> = self.core.ready(self.kit).filter(fits).collect();
        let (ix, begin) = match (self.pick_step(&running, false), ready.as_slice()) {
            (Pick::One(ix), _) => (ix, false),
            (Pick::Ask(several), _) => return self.which_step_vessel(call, &several),
            (Pick::None, [one]) => (*one, true),
            (Pick::None, []) => {
                if let (Some(Thing::Item(item)), true) = (what, self.is_fridge(vessel)) {
                    return self.emit(What::Fridge {
                        item: item.clone(),
                        out: false,
                    });
                }
                let again: Vec<StepIx> = self.core.running().filter(fits).collect();
                if let Some(ix) = again.first() {
                    return self.refuse(call, Refusal::AlreadyUnderWay(self.step_id(*ix)));
                }
                let why = match (vessel, what) {
                    (Some(v), _) => Refusal::NoStepFor(Subject::Vessel(v.clone())),
                    (None, Some(Thing::Item(id))) => Refusal::WhichPieces(id.clone()),
                    _ => Refusal::NothingUnderWay,
                };
                return self.refuse(call, why);
            }
            (Pick::None, several) => {
                let several = several.to_vec();
                return self.which_step_vessel(call, &several);
            }
        };
        let step = self.step_id(ix);
        if begin {
            self.emit(What::StepStarted {
                step: step.clone(),
                early: false,
            });
        }
        self.emit(What::FoodIn { step });
        let unknown = self
            .core
            .held_samples(self.kit, ix)
            .find_map(|p| agenda::where_is(self.kit, &self.core, p));
        self.to_ask = self.to_ask.take().or(unknown);
    }

    fn is_fridge(&self, vessel: Option<&Id>) -> bool {
        vessel
            .and_then(|v| self.kit.vessel(self.kit.vessel_ix(v)?))
            .is_some_and(|v| v.kind == VesselKind::Fridge)
    }

    pub(super) fn which_step_vessel(&mut self, call: &Call, steps: &[StepIx]) {
        let vessels: Vec<VesselIx> = steps
            .iter()
            .filter_map(|s| self.kit.step(*s)?.vessel.as_ref())
            .filter_map(|v| self.kit.vessel_ix(v))
            .collect();
        self.which_vessel(call, &vessels);
    }
}
