//! Which step a call means.

use crate::grammar::{Call, Subject};
use crate::kitchen::core::Phase;
use crate::kitchen::focus::{Candidate, Pick, pick};
use crate::kitchen::fold::step_of;
use crate::kitchen::kit::StepIx;
use crate::kitchen::{At, Question, Refusal};

use super::Desk;

impl Desk<'_> {
    /// The running step that a name is about.
    pub(super) fn running_step(&self, subject: &Subject) -> Result<StepIx, Refusal> {
        match subject {
            Subject::Step(id) => {
                let ix = self.kit.step_ix(id).ok_or(Refusal::UnknownName)?;
                match self.core.phase(ix) {
                    Phase::Running => Ok(ix),
                    Phase::NotBegun => Err(Refusal::NotUnderWay(id.clone())),
                    Phase::Resting | Phase::Done => Err(Refusal::AlreadyDone(id.clone())),
                }
            }
            Subject::Sample(id) => {
                let v = self.vessel_of(subject)?;
                let others = self.core.whereabouts.in_vessel(v).count();
                if others > 1 {
                    return Err(Refusal::OneOfSeveral {
                        sample: id.clone(),
                        vessel: self.kit.vessel_id(v),
                    });
                }
                self.core
                    .step_in(self.kit, v)
                    .ok_or_else(|| Refusal::VesselIdle(self.kit.vessel_id(v)))
            }
            Subject::Item(id) => {
                let mut holding = self.core.running().filter(|s| {
                    self.kit.step(*s).is_some_and(|s| {
                        s.holds.iter().any(|h| {
                            matches!(&h.what, crate::plan::What::Pieces { item, .. } if item == id)
                        })
                    })
                });
                match (holding.next(), holding.next()) {
                    (Some(one), None) => Ok(one),
                    _ => Err(Refusal::NoStepFor(subject.clone())),
                }
            }
            _ => {
                let v = self.vessel_of(subject)?;
                self.core
                    .step_in(self.kit, v)
                    .ok_or_else(|| Refusal::VesselIdle(self.kit.vessel_id(v)))
            }
        }
    }

    /// The step that "start …" means: by its name, or the next of its vessel.
    pub(super) fn startable(&self, subject: &Subject) -> Result<StepIx, Refusal> {
        if let Subject::Step(id) = subject {
            return self.kit.step_ix(id).ok_or(Refusal::UnknownName);
        }
        let v = self.vessel_of(subject)?;
        let id = self.kit.vessel_id(v);
        let uses = |s: &StepIx| {
            self.kit
                .step(*s)
                .is_some_and(|s| s.vessel.as_ref() == Some(&id))
        };
        let ready = self.core.ready(self.kit).find(uses);
        ready
            .or_else(|| {
                (0..self.core.steps.len())
                    .filter(|s| self.core.phase(*s) == Phase::NotBegun)
                    .find(uses)
            })
            .or_else(|| self.core.running().find(uses))
            .ok_or_else(|| Refusal::NoStepFor(subject.clone()))
    }

    /// Which of these steps a bare call means.
    pub(super) fn pick_step(&self, steps: &[StepIx], due_first: bool) -> Pick<StepIx> {
        let all: Vec<_> = steps
            .iter()
            .map(|s| Candidate {
                what: *s,
                due: self.due_of(*s),
                sounds: self
                    .core
                    .sounding()
                    .any(|c| step_of(&c.key) == Some(&self.step_id(*s))),
            })
            .collect();
        pick(&all, self.core.addressed, self.now, due_first)
    }

    fn due_of(&self, ix: StepIx) -> Option<At> {
        let id = self.step_id(ix);
        self.core
            .clocks
            .iter()
            .filter(|c| step_of(&c.key) == Some(&id) && c.ring.is_none_or(|r| !r.known))
            .map(|c| c.ends)
            .min()
    }

    pub(super) fn which_step(&mut self, call: &Call, steps: &[StepIx]) {
        let options = steps
            .iter()
            .map(|s| Subject::Step(self.step_id(*s)))
            .collect();
        self.ask(Question::Which {
            of: call.clone(),
            options,
        });
    }
}
