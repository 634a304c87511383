//! Moving on: next, done, start, back one.

use crate::grammar::{Call, Subject};
use crate::kitchen::core::Phase;
use crate::kitchen::focus::Pick;
use crate::kitchen::kit::{StepIx, span_of, tends_itself};
use crate::kitchen::manners::SKIP_ASKS;
use crate::kitchen::meaning::{self, Standing};
use crate::kitchen::{ClockKey, Doubt, Refusal, What};
use crate::plan::Until;

use super::Desk;

impl Desk<'_> {
    pub(super) fn begin(&mut self) {
        if self.core.begun.is_some() {
            return;
        }
        self.emit(What::Begun);
        self.start_ready(None);
    }

    /// "next": what the cook was told is done, go on. It ends what is in the cook's
    /// hands or has come due, else begins something that can begin; it never cuts a
    /// wait short.
    pub(super) fn next(&mut self, call: &Call, sure: bool) {
        let known = self.acknowledge_timers();
        let due: Vec<StepIx> = self
            .core
            .running()
            .filter(|s| self.waited(*s) && self.wait_sounds(*s))
            .collect();
        match due.as_slice() {
            [] => {}
            [one] => return self.finish(call, *one, sure),
            several => {
                if self.end_for_next(several) {
                    return;
                }
                return self.which_step(call, several);
            }
        }
        let rested = self.acknowledge_rests();
        let in_hand: Vec<StepIx> = self
            .core
            .running()
            .filter(|s| self.kit.step(*s).is_some_and(|s| !tends_itself(s)))
            .collect();
        match self.pick_step(&in_hand, true) {
            Pick::One(ix) => return self.finish(call, ix, sure),
            Pick::Ask(several) => return self.which_step(call, &several),
            Pick::None => {}
        }
        let freed = self.hands_free(None);
        if self.start_ready(None) || freed {
            return;
        }
        let open: Vec<StepIx> = self
            .core
            .running()
            .filter(|s| self.why_not_yet(*s).is_none())
            .collect();
        if self.end_for_next(&open) {
            return;
        }
        match self.pick_step(&open, true) {
            Pick::One(ix) => self.finish(call, ix, sure),
            Pick::Ask(several) => self.which_step(call, &several),
            Pick::None if known || rested => {}
            Pick::None => self.emit(What::Queried {
                query: Call::WhatsNext,
            }),
        }
    }

    /// Several waits may end, and one step waits for just these: going on ends them
    /// all. Pans that are emptied somewhere are taken one by one.
    fn end_for_next(&mut self, may_end: &[StepIx]) -> bool {
        let passive = |s: &StepIx| {
            self.kit
                .step(*s)
                .is_some_and(|s| s.out_to.is_none() && s.flip_every.is_none() && s.rest.is_none())
        };
        let waits = |s: StepIx| -> Vec<StepIx> {
            self.kit
                .before
                .get(s)
                .into_iter()
                .flatten()
                .copied()
                .filter(|b| self.core.phase(*b) != Phase::Done)
                .collect()
        };
        let goal = (0..self.core.steps.len())
            .filter(|s| self.core.phase(*s) == Phase::NotBegun)
            .map(waits)
            .find(|b| b.len() > 1 && b.iter().all(|s| may_end.contains(s) && passive(s)));
        let Some(ends) = goal else { return false };
        for ix in &ends {
            self.end_step(*ix, false, true);
        }
        self.start_ready(ends.last().copied());
        true
    }

    pub(super) fn done(&mut self, call: &Call, what: Option<&Subject>, sure: bool) {
        let running: Vec<StepIx> = self.core.running().collect();
        let ix = match what {
            None => {
                // What sounds comes first: "done" to a timer is about the timer.
                let steps_sound = running.iter().any(|s| self.wait_sounds(*s));
                if !steps_sound && (self.acknowledge_timers() | self.acknowledge_rests()) {
                    return;
                }
                // "done" to "flip, left skillet" is about the flip.
                let flips = self.flips_that_sound();
                match flips.as_slice() {
                    [] => {}
                    _ if steps_sound => {}
                    [one] => return self.flip(*one, None),
                    several => {
                        return self.which_vessel(&Call::Flipped { what: None }, several);
                    }
                }
                let sounding: Vec<StepIx> = running
                    .iter()
                    .copied()
                    .filter(|s| self.wait_sounds(*s))
                    .collect();
                let in_hand: Vec<StepIx> = running
                    .iter()
                    .copied()
                    .filter(|s| {
                        self.kit.step(*s).is_some_and(|s| !tends_itself(s))
                            || self.core.in_hand(self.now).any(|h| h == *s)
                    })
                    .collect();
                let first = [sounding, in_hand, running]
                    .into_iter()
                    .find(|set| !set.is_empty())
                    .unwrap_or_default();
                match self.pick_step(&first, true) {
                    Pick::None => return self.refuse(call, Refusal::NothingUnderWay),
                    Pick::One(ix) => ix,
                    Pick::Ask(several) => return self.which_step(call, &several),
                }
            }
            Some(Subject::All) => match running.as_slice() {
                [] => return self.refuse(call, Refusal::NothingUnderWay),
                [one] => *one,
                several => return self.which_step(call, several),
            },
            Some(Subject::Clock(_)) => {
                return self.stop_timer(call, what);
            }
            Some(subject) => match self.running_step(subject) {
                Ok(ix) => ix,
                Err(why) => return self.refuse(call, why),
            },
        };
        self.finish(call, ix, sure);
    }

    /// Whoever goes on has their hands free: the waits that were still to come begin. False
    /// when there was none. `but`: not of this one.
    fn hands_free(&mut self, but: Option<StepIx>) -> bool {
        let all: Vec<StepIx> = (self.core.in_hand(self.now))
            .filter(|ix| Some(*ix) != but)
            .collect();
        for ix in &all {
            self.emit(What::HandsFree {
                step: self.step_id(*ix),
            });
        }
        !all.is_empty()
    }

    /// Ends a step, asking first when that is too early, and begins what follows.
    fn finish(&mut self, call: &Call, ix: StepIx, sure: bool) {
        // Before the wait has begun, "done" can only be about the work.
        if !sure && self.core.in_hand(self.now).any(|s| s == ix) {
            self.emit(What::HandsFree {
                step: self.step_id(ix),
            });
            self.start_ready(None);
            return;
        }
        if !sure && let Some(why) = self.why_not_yet(ix) {
            let of = Call::Done {
                what: Some(Subject::Step(self.step_id(ix))),
            };
            let _ = call;
            return self.sure(&of, why);
        }
        self.end_step(ix, sure, true);
        if !self.start_ready(Some(ix)) {
            self.emit(What::NothingToBegin);
        }
    }

    /// Ends a step; `transfer`: its food goes where the plan says.
    pub(super) fn end_step(&mut self, ix: StepIx, early: bool, transfer: bool) {
        self.emit(What::StepEnded {
            step: self.step_id(ix),
            early: early && self.why_not_yet(ix).is_some(),
        });
        let out = self.kit.step(ix).and_then(|s| {
            let from = s.vessel.as_ref().and_then(|v| self.kit.vessel_ix(v))?;
            let to = s.out_to.as_ref().and_then(|v| self.kit.vessel_ix(v))?;
            Some((from, to))
        });
        if let (Some((from, to)), true) = (out, transfer)
            && self.core.whereabouts.in_vessel(from).next().is_some()
        {
            self.move_out(from, to, None);
        }
    }

    /// Begins the first step that can begin, those after `ended` first. False when
    /// there is none, or the cook has something in hand already.
    pub(super) fn start_ready(&mut self, ended: Option<StepIx>) -> bool {
        let busy = self
            .core
            .running()
            .any(|s| self.kit.step(s).is_some_and(|s| !tends_itself(s)));
        if busy {
            return false;
        }
        let ready: Vec<StepIx> = self
            .core
            .ready(self.kit)
            // A step begun early may have the vessel.
            .filter(|s| {
                let vessel = self.kit.step(*s).and_then(|s| s.vessel.as_ref());
                vessel
                    .and_then(|v| self.kit.vessel_ix(v))
                    .is_none_or(|v| self.core.step_in(self.kit, v).is_none())
            })
            .collect();
        let follows = |s: &&StepIx| {
            ended.is_some_and(|e| self.kit.before.get(**s).is_some_and(|b| b.contains(&e)))
        };
        // Where there is a day to keep, the step that it has first: the order of the file may
        // cost time.
        let begin_at = |s: &&StepIx| {
            let day = self.core.day.as_ref()?;
            let id = self.step_id(**s);
            day.begins.iter().find(|b| b.step == id).map(|b| b.at)
        };
        let first = ready.iter().filter(follows).min_by_key(begin_at);
        let Some(ix) = first.or(ready.iter().min_by_key(begin_at)).copied() else {
            return false;
        };
        self.emit(What::StepStarted {
            step: self.step_id(ix),
            early: false,
        });
        true
    }

    pub(super) fn start(&mut self, call: &Call, what: &Subject, sure: bool) {
        let ix = match self.startable(what) {
            Ok(ix) => ix,
            Err(why) => return self.refuse(call, why),
        };
        match self.core.phase(ix) {
            Phase::Running => return self.refuse(call, Refusal::AlreadyUnderWay(self.step_id(ix))),
            Phase::Done | Phase::Resting => {
                return self.refuse(call, Refusal::AlreadyDone(self.step_id(ix)));
            }
            Phase::NotBegun => {}
        }
        let busy = self
            .kit
            .step(ix)
            .and_then(|s| self.kit.vessel_ix(s.vessel.as_ref()?))
            .and_then(|v| self.core.step_in(self.kit, v));
        if let Some(other) = busy {
            return self.refuse(call, Refusal::VesselBusy(self.step_id(other)));
        }
        let waits_for: Vec<_> = self
            .kit
            .before
            .get(ix)
            .into_iter()
            .flatten()
            .filter(|b| self.core.phase(**b) != Phase::Done)
            .map(|b| self.step_id(*b))
            .collect();
        if !waits_for.is_empty() && !sure {
            let of = Call::Start {
                what: Subject::Step(self.step_id(ix)),
            };
            return self.sure(
                &of,
                Doubt::Early {
                    step: self.step_id(ix),
                    waits_for,
                },
            );
        }
        // One pair of hands that begins something else has left what it was at.
        let needs_hands = self.kit.step(ix).is_some_and(|s| s.hands_on.is_some());
        if self.kit.plan.hands <= 1 && needs_hands {
            self.hands_free(Some(ix));
        }
        self.emit(What::StepStarted {
            step: self.step_id(ix),
            early: !waits_for.is_empty(),
        });
    }

    pub(super) fn back_one(&mut self, call: &Call) {
        let Some(ix) = self.core.finished.last().copied() else {
            return self.refuse(call, Refusal::NotBack);
        };
        let led_to = self
            .core
            .steps
            .get(ix)
            .and_then(|s| s.led_to)
            .filter(|s| self.core.phase(*s) == Phase::Running);
        self.emit(What::SteppedBack {
            reopened: self.step_id(ix),
            returned: led_to.map(|s| self.step_id(s)),
        });
    }

    pub(super) fn end_cook(&mut self, call: &Call, sure: bool) {
        if !sure {
            let steps: Vec<_> = (0..self.core.steps.len())
                .filter(|s| self.core.phase(*s) != Phase::Done)
                .map(|s| self.step_id(s))
                .collect();
            let why = if let Some(why) = self.tasting_unanswered() {
                why
            } else if !steps.is_empty() {
                Doubt::Unfinished { steps }
            } else if let Some(item) = self.still_cooling() {
                Doubt::StillCooling { item }
            } else {
                Doubt::EndsTheCook
            };
            return self.sure(call, why);
        }
        self.emit(What::Ended);
    }

    // ---- whether a step may end

    fn wait_sounds(&self, ix: StepIx) -> bool {
        self.core
            .clock_of_step(&self.step_id(ix))
            .is_some_and(|c| c.sounds())
    }

    /// Its least time has passed, where it has one.
    fn waited(&self, ix: StepIx) -> bool {
        self.core
            .clock_of_step(&self.step_id(ix))
            .is_none_or(|c| c.ends <= self.now || c.ring.is_some())
    }

    /// Why ending a step now needs a "yes"; none when it may end.
    pub(super) fn why_not_yet(&self, ix: StepIx) -> Option<Doubt> {
        let step = self.kit.step(ix)?;
        let id = step.id.clone();
        let left = self
            .core
            .clock(&ClockKey::Wait(id.clone()))
            .filter(|c| c.ring.is_none())
            .map_or(0, |c| c.ends.since(self.now));
        let timed = span_of(step).is_some();
        if step.wait.is_some() && left > SKIP_ASKS {
            return Some(Doubt::TimeLeft { step: id, ms: left });
        }
        let conditions = !step.until.is_empty();
        if !conditions || step.until.iter().any(|u| matches!(u, Until::Word(_))) {
            return None;
        }
        let met = meaning::is_met(self.kit, &self.core, ix);
        let time_up = step.wait.is_none() && timed && left <= 0;
        if met || time_up {
            return None;
        }
        match meaning::standing(self.kit, &self.core, ix) {
            Standing::NoTarget => {
                (left > SKIP_ASKS).then_some(Doubt::TimeLeft { step: id, ms: left })
            }
            _ => Some(Doubt::Unmet { step: id }),
        }
    }
}
