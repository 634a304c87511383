//! Calls around the blind tasting. While it is open nothing is answered that tells which
//! is which, and an answer is recorded only after it was read back and said yes to.

use crate::grammar::{Call, Subject, TastingCall};
use crate::kitchen::kit::Kit;
use crate::kitchen::{Doubt, Question, Refusal, Settled, What};
use crate::plan::Id;
use crate::tasting::{self, Code, Fact, OpenError, Opened, Samples, Tasting};

use super::Desk;

impl Desk<'_> {
    pub(super) fn tasting(&mut self, call: &Call, what: &TastingCall) {
        match what {
            TastingCall::Open { .. } => self.open_tasting(call, what),
            TastingCall::Sheet => self.serving_sheet(call),
            TastingCall::NextTaster => self.next_taster(call),
            TastingCall::Pick {
                taster,
                code,
                guess,
            } => self.pick(call, *taster, *code, *guess),
            TastingCall::CantTell { taster } => self.cant_tell(call, *taster),
            TastingCall::Leaves { taster } => self.leaves(call, *taster),
            TastingCall::Result => self.result(call),
            TastingCall::HowMany { .. } => self.emit(What::Queried {
                query: call.clone(),
            }),
            TastingCall::WhichIs { .. } => {
                if self.core.sitting.tasting.is_none() {
                    return self.refuse(call, Refusal::NoTasting);
                }
                if !self.would_tell(call) {
                    self.emit(What::Queried {
                        query: call.clone(),
                    });
                }
            }
        }
    }

    /// Refuses a call whose answer would tell tasters which is which. True if it did.
    pub(super) fn would_tell(&mut self, call: &Call) -> bool {
        let about_places = matches!(
            call,
            Call::WhereIs { .. } | Call::WhatIsAt { .. } | Call::Map
        );
        // Whoever plates has to find the pieces, and has the sheet.
        let plating = about_places && !self.core.sitting.is_blind(self.now);
        let Some(open) = self.core.sitting.open().filter(|_| !plating) else {
            return false;
        };
        let waiting = open.waiting();
        self.refuse(call, Refusal::WouldTell { waiting });
        true
    }

    fn refuse_tasting(&mut self, call: &Call, why: tasting::Refusal) {
        self.refuse(call, Refusal::Tasting(why));
    }

    fn open_tasting(&mut self, call: &Call, what: &TastingCall) {
        let TastingCall::Open {
            test,
            samples,
            tasters,
            attribute,
        } = what
        else {
            return;
        };
        if self.core.sitting.open().is_some() {
            return self.refuse_tasting(call, tasting::Refusal::AlreadyOpen);
        }
        let planned = self.kit.plan.tasting.as_ref();
        let samples: Vec<Id> = match (samples.as_slice(), planned) {
            ([], Some(plan)) => plan.samples.clone(),
            ([], None) => match self.kit.plan.samples.as_slice() {
                [] => return self.refuse(call, Refusal::NothingToCompare),
                [one] => vec![one.id.clone()],
                several => {
                    return self.ask(Question::Which {
                        of: call.clone(),
                        options: several
                            .iter()
                            .map(|s| Subject::Sample(s.id.clone()))
                            .collect(),
                    });
                }
            },
            (said, _) => said.to_vec(),
        };
        let Some(names) = compared(self.kit, &samples) else {
            return self.refuse(call, Refusal::NothingToCompare);
        };
        let Some(tasters) = tasters.or(planned.and_then(|p| p.tasters)) else {
            return self.ask(Question::HowManyTaste { of: call.clone() });
        };
        // By the number of the tasting, those taken back counted: a call more or less
        // before it changes no code.
        let earlier = self.state.log.iter();
        let earlier = earlier
            .filter(|e| matches!(e.what, What::Tasting(Fact::Opened(_))))
            .count();
        let seed = Opened::seed_of(self.state.seed, u32::try_from(earlier).unwrap_or(u32::MAX));
        let mut opened = Opened::new(*test, names, tasters, seed);
        if *test == tasting::Test::PairedDifference {
            opened.attribute = attribute
                .clone()
                .or_else(|| planned.and_then(|p| p.attribute.clone()));
        }
        match Tasting::open(opened.clone()) {
            Ok(_) => {
                // An open question about a marked piece would be asked before tasters.
                self.overtake();
                self.emit(What::Tasting(Fact::Opened(opened)));
            }
            Err(why) => self.refuse_tasting(call, why.into()),
        }
    }

    /// The number of tasters, in answer to the question for it.
    pub(super) fn tasters_told(&mut self, of: &Call, value: f64, held: Option<u32>) -> bool {
        let mut again = of.clone();
        let Call::Tasting {
            what: TastingCall::Open { tasters, .. },
        } = &mut again
        else {
            return false;
        };
        if value.fract() != 0.0 || !(0.0..=f64::from(u16::MAX)).contains(&value) {
            self.refuse_tasting(of, OpenError::NoTasters.into());
            return true;
        }
        *tasters = Some(value as u16);
        self.settle(Settled::Answered, true, held);
        self.act(&again, false);
        true
    }

    fn serving_sheet(&mut self, call: &Call) {
        if self.core.sitting.open().is_none() {
            return self.refuse_tasting(call, tasting::Refusal::NotOpen);
        }
        self.ask(Question::OutOfHearing { taster: 1 });
    }

    fn next_taster(&mut self, call: &Call) {
        let sitting = &self.core.sitting;
        let Some(open) = sitting.open() else {
            return self.refuse_tasting(call, tasting::Refusal::NotOpen);
        };
        if let Some(told) = sitting.plating(self.now)
            && told < open.opened().tasters
        {
            return self.emit(What::Plate { taster: told + 1 });
        }
        if let Some(taster) = sitting.left_off(self.now) {
            return self.ask(Question::OutOfHearing { taster });
        }
        match sitting.next_waiting() {
            Some(taster) => self.emit(What::Card { taster }),
            None => self.emit(What::Queried {
                query: Call::Tasting {
                    what: TastingCall::Result,
                },
            }),
        }
    }

    fn pick(&mut self, call: &Call, taster: Option<u16>, code: Code, guess: bool) {
        let Some(open) = self.core.sitting.open() else {
            return self.refuse_tasting(call, tasting::Refusal::NotOpen);
        };
        match open.pick(taster, code, guess) {
            Ok(fact) => self.confirm(fact),
            Err(why) => self.refuse_tasting(call, why),
        }
    }

    /// An answer is final, so it is read back before it counts.
    fn confirm(&mut self, fact: Fact) {
        self.overtake();
        self.ask(Question::Verdict { fact });
    }

    /// Whom a bare "can't tell" is about: the taster spoken of last, else the next one.
    fn in_turn(&self) -> Option<u16> {
        let sitting = &self.core.sitting;
        let waits = |t: &u16| sitting.open().is_some_and(|o| o.waiting().contains(t));
        sitting
            .taster
            .filter(waits)
            .or(sitting.next_waiting())
            .or(sitting.taster)
    }

    fn cant_tell(&mut self, call: &Call, taster: Option<u16>) {
        let Some(taster) = taster.or_else(|| self.in_turn()) else {
            return self.refuse_tasting(call, tasting::Refusal::NotOpen);
        };
        let Some(open) = self.core.sitting.open() else {
            return self.refuse_tasting(call, tasting::Refusal::NotOpen);
        };
        match open.cant_tell(taster) {
            Ok(fact) => {
                self.overtake();
                self.emit(What::Tasting(fact));
                let owes = self.core.sitting.open();
                if owes.is_some_and(|o| o.owes_a_guess(taster)) {
                    self.ask(Question::PickOne { taster });
                }
            }
            Err(why) => self.refuse_tasting(call, why),
        }
    }

    fn leaves(&mut self, call: &Call, taster: u16) {
        let Some(open) = self.core.sitting.open() else {
            return self.refuse_tasting(call, tasting::Refusal::NotOpen);
        };
        match open.leave(taster) {
            Ok(fact) => self.confirm(fact),
            Err(why) => self.refuse_tasting(call, why),
        }
    }

    fn result(&mut self, call: &Call) {
        let sitting = &self.core.sitting;
        if sitting.closed().is_some() {
            return self.emit(What::Queried {
                query: call.clone(),
            });
        }
        let close = sitting.open().map(tasting::Open::close);
        match close {
            None => self.refuse(call, Refusal::NoTasting),
            Some(Ok(fact)) => self.emit(What::Tasting(fact)),
            Some(Err(why)) => self.refuse_tasting(call, why),
        }
    }

    // ---- answers

    pub(super) fn answer_verdict(&mut self, call: &Call, fact: &Fact, held: Option<u32>) -> bool {
        match (call, fact) {
            (Call::Yes, _) => {
                self.settle(Settled::Answered, true, held);
                self.emit(What::Tasting(fact.clone()));
                true
            }
            // "no, four one nine": the code again, for the same taster.
            (
                Call::No { value: Some(value) } | Call::Number { value },
                Fact::Picked { taster, guess, .. },
            ) => {
                let Some(code) = code_of(value.lo, value.hi) else {
                    return false;
                };
                self.pick(call, Some(*taster), code, *guess);
                true
            }
            (
                Call::Tasting {
                    what: TastingCall::CantTell { taster: said },
                },
                Fact::Picked { taster, code, .. },
            ) if said.is_none_or(|t| t == *taster) => {
                let (taster, code) = (*taster, *code);
                self.confirm(Fact::Picked {
                    taster,
                    code,
                    guess: true,
                });
                true
            }
            _ => false,
        }
    }

    /// The pick that "can't tell" was followed by.
    pub(super) fn answer_pick_one(&mut self, call: &Call, taster: u16) -> bool {
        let (Call::Number { value } | Call::No { value: Some(value) }) = call else {
            return false;
        };
        let Some(code) = code_of(value.lo, value.hi) else {
            return false;
        };
        self.pick(call, Some(taster), code, true);
        true
    }

    /// Why the cook should not end yet: someone has still to answer.
    pub(super) fn tasting_unanswered(&self) -> Option<Doubt> {
        let waiting = self.core.sitting.open()?.waiting();
        Some(Doubt::TastingOpen { waiting })
    }

    /// The taster whose recorded answer is newer than anything that can be taken back.
    pub(super) fn verdict_since(&self, undoable: Option<u32>) -> Option<Refusal> {
        let newer = self
            .state
            .log
            .iter()
            .rev()
            .take_while(|e| e.call.is_none_or(|c| undoable.is_none_or(|u| c > u)));
        for event in newer {
            if let What::Tasting(fact) = &event.what {
                let taster = match fact {
                    Fact::Picked { taster, .. }
                    | Fact::CantTell { taster }
                    | Fact::Left { taster } => Some(*taster),
                    Fact::Closed => None,
                    Fact::Opened(_) => continue,
                };
                return Some(Refusal::VerdictStands { taster });
            }
        }
        None
    }
}

fn code_of(lo: f64, hi: f64) -> Option<Code> {
    if lo != hi || lo.fract() != 0.0 || !(0.0..1000.0).contains(&lo) {
        return None;
    }
    Code::new(lo as u16).ok()
}

/// The names of what is compared: the sample treated differently against another, or
/// against the unmarked pieces of its kind.
fn compared(kit: &Kit, samples: &[Id]) -> Option<Samples> {
    let name = |id: &Id| {
        let sample = kit.sample(id)?;
        Some(sample.names.first().unwrap_or(&sample.id).clone())
    };
    match samples {
        [test, control] => Some(Samples::new(name(control)?, name(test)?)),
        [test] => {
            let of = &kit.sample(test)?.of;
            let item = kit.plan.items.iter().find(|i| i.id == *of)?;
            let marked = kit.plan.samples.iter().filter(|s| s.of == *of).count();
            if (item.pieces as usize) <= marked {
                return None;
            }
            let plain = item.names.first().unwrap_or(&item.id);
            Some(Samples::new(format!("plain {plain}"), name(test)?))
        }
        _ => None,
    }
}
