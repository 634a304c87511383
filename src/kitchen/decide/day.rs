//! When it is served, and the rest of the cook laid anew when something has moved it.

use crate::grammar::{Call, Subject};
use crate::kitchen::core::Phase;
use crate::kitchen::day;
use crate::kitchen::{At, Refusal, What};

use crate::prep::scale::{PIECES_MOST, PORTIONS_MOST};

use super::Desk;

impl Desk<'_> {
    pub(super) fn serve_at(&mut self, at: At) {
        if self.core.begun.is_some() && self.core.ended.is_none() && self.core.serve != Some(at) {
            self.emit(What::ServeAt { serve: at });
        }
    }

    /// After anything that moves the rest of the cook, where there is a time to keep.
    pub(super) fn lay_if_moved(&mut self) {
        let moved = self.out.iter().any(|e| {
            matches!(
                e.what,
                What::StepStarted { .. }
                    | What::StepEnded { .. }
                    | What::SteppedBack { .. }
                    | What::ClockMoved { .. }
                    | What::FoodIn { .. }
                    | What::HandsFree { .. }
                    | What::Resumed { .. }
                    | What::ServeAt { .. }
            )
        });
        if moved {
            self.lay_day();
        }
    }

    pub(super) fn lay_day(&mut self) {
        if self.core.serve.is_none() || self.core.ended.is_some() || self.core.all_done() {
            return;
        }
        // A plan without lengths, or with limits that are past keeping, has no day; what is
        // asked of it is answered so.
        if let Ok(laid) = day::lay(self.kit, &self.core, self.now, self.core.serve) {
            self.emit(What::DayLaid {
                eat: laid.eat,
                begins: laid.begins,
                good_until: laid.good_until,
            });
        } else if self.core.day.is_some() {
            self.emit(What::DayLost);
        }
    }

    /// "the shoulder weighs one point nine kilos": all of it together.
    pub(super) fn weighs(&mut self, call: &Call, item: &str, grams: f64) {
        let known = self
            .kit
            .item_ix(item)
            .and_then(|i| self.kit.plan.items.get(i));
        match known {
            Some(_) if grams > 0.0 && grams < 1e6 => self.emit(What::Weighed {
                item: item.to_owned(),
                grams,
            }),
            _ => self.refuse(call, Refusal::UnknownName),
        }
    }

    /// "there are eight chops": the sums go by it.
    pub(super) fn there_are(&mut self, call: &Call, item: &str, pieces: u32) {
        if self.kit.item_ix(item).is_none() {
            self.refuse(call, Refusal::UnknownName);
        } else if (1..=PIECES_MOST).contains(&pieces) {
            self.emit(What::Counted {
                item: item.to_owned(),
                pieces,
            });
        } else {
            self.refuse(call, Refusal::HowMany(PIECES_MOST));
        }
    }

    /// "cooking for six": the sums go by it.
    pub(super) fn cooking_for(&mut self, call: &Call, portions: u16) {
        if self.kit.plan.portions.is_none() {
            self.refuse(call, Refusal::NoPortions);
        } else if (1..=PORTIONS_MOST).contains(&u32::from(portions)) {
            self.emit(What::Portions { portions });
        } else {
            self.refuse(call, Refusal::HowMany(PORTIONS_MOST));
        }
    }

    /// "when should i start the oil": the step that heats or uses it.
    pub(super) fn when_start(&mut self, call: &Call, what: Option<&Subject>, oil: bool) {
        let open = |ix: &usize| self.core.phase(*ix) != Phase::Done;
        let step = if oil {
            let uses = |ix: &usize| {
                self.kit.step(*ix).is_some_and(|s| {
                    s.oil.is_some()
                        || s.until
                            .iter()
                            .any(|u| matches!(u, crate::plan::Until::Medium(_)))
                        || s.say
                            .to_lowercase()
                            .split(|c: char| !c.is_alphabetic())
                            .any(|w| w == "oil")
                })
            };
            let found = (0..self.core.steps.len()).filter(open).find(uses);
            if found.is_none() {
                return self.refuse(call, Refusal::NoStepFor(Subject::All));
            }
            found
        } else {
            match what {
                None => None,
                Some(subject) => {
                    let ix = match subject {
                        Subject::Step(id) => self.kit.step_ix(id),
                        Subject::Vessel(id) => (0..self.core.steps.len()).filter(open).find(|ix| {
                            self.kit.step(*ix).is_some_and(|s| s.vessel.as_ref() == Some(id))
                        }),
                        Subject::Item(id) => (0..self.core.steps.len())
                            .filter(|ix| self.core.phase(*ix) == Phase::NotBegun)
                            .find(|ix| {
                                self.kit.step(*ix).is_some_and(|s| {
                                    s.holds.iter().any(|h| {
                                        matches!(&h.what, crate::plan::What::Pieces { item, .. } if item == id)
                                    })
                                })
                            }),
                        _ => None,
                    };
                    if ix.is_none() {
                        return self.refuse(call, Refusal::NoStepFor(subject.clone()));
                    }
                    ix
                }
            }
        };
        let query = match step {
            Some(ix) => Call::WhenStart {
                what: Some(Subject::Step(self.step_id(ix))),
                oil: false,
            },
            None => call.clone(),
        };
        self.emit(What::Queried { query });
    }
}
