//! What a call means while a question is open.

use crate::grammar::{Call, Subject, Turn};
use crate::kitchen::clocks::Clock;
use crate::kitchen::manners::{CORRECT_WITHIN, MINUTE};
use crate::kitchen::whereabouts::VesselIx;
use crate::kitchen::{ClockKey, Doubt, NumberDoubt, Question, Reading, Refusal, Settled, What};
use crate::plan::{Span, Units};

use super::Desk;
use super::clocks::unnamed;
use super::names::completed;

impl Desk<'_> {
    /// Takes a call as the answer to the open question. False when it is none.
    pub(super) fn answer(&mut self, call: &Call) -> bool {
        let Some(pending) = self.core.question.clone() else {
            return false;
        };
        // "scratch that" is about the last thing called: the held call, or one after it.
        let newest = self.state.undoable.last().map(|(call, _)| *call);
        let scratched = *call == Call::ScratchThat
            && pending.question.holds_a_call()
            && newest.is_none_or(|n| pending.call.is_none_or(|p| p > n));
        if *call == Call::Cancel
            || (matches!(call, Call::No { value: None })
                && !matches!(pending.question, Question::ChangedPlaces { .. }))
            || scratched
        {
            self.settle(
                Settled::Refused,
                pending.question.holds_a_call(),
                pending.call,
            );
            return true;
        }
        let held = pending.call;
        match pending.question {
            Question::Which { of, options } => self.answer_which(call, &of, &options, held),
            Question::WhichWay { vessel } => {
                let turn = match call {
                    Call::Way { clockwise: true } => Turn::QuarterClockwise,
                    Call::Way { clockwise: false } => Turn::QuarterCounterclockwise,
                    Call::Turned { vessel: v, turn }
                        if matches!(
                            turn,
                            Turn::QuarterClockwise | Turn::QuarterCounterclockwise
                        ) && v.as_ref().is_none_or(|v| *v == vessel) =>
                    {
                        *turn
                    }
                    _ => return false,
                };
                self.settle(Settled::Answered, true, held);
                self.emit(What::Turned { vessel, turn });
                true
            }
            Question::Sure { of, why } => self.answer_sure(call, &of, &why, held),
            Question::Verdict { fact } => self.answer_verdict(call, &fact, held),
            Question::PickOne { taster } => self.answer_pick_one(call, taster),
            Question::UseOffset { celsius } => {
                if !matches!(call, Call::Yes | Call::UseOffset) {
                    return false;
                }
                self.settle(Settled::Answered, false, held);
                self.emit(What::OffsetUsed { celsius });
                true
            }
            Question::OutOfHearing { taster } => {
                if *call != Call::Yes {
                    return false;
                }
                self.settle(Settled::Answered, true, held);
                self.emit(What::Plate { taster });
                true
            }
            Question::HowManyTaste { of } => match call {
                Call::Number { value } if value.lo == value.hi => {
                    self.tasters_told(&of, value.lo, held)
                }
                _ => false,
            },
            Question::NumberAgain { of, why } => {
                let value = match call {
                    Call::Number { value } | Call::No { value: Some(value) } => *value,
                    _ => return false,
                };
                self.settle(Settled::Answered, true, held);
                match why {
                    NumberDoubt::Corrected => self.correct(call, value),
                    NumberDoubt::OutOfSense | NumberDoubt::Either { .. } => {
                        let mut again = of;
                        if let Call::Reading { value: v, .. } | Call::Room { value: v, .. } =
                            &mut again
                        {
                            *v = value;
                        }
                        self.act(&again, false);
                    }
                }
                true
            }
            Question::CoreOrMedium { of } => {
                let Call::Kind { kind } = call else {
                    return false;
                };
                self.settle(Settled::Answered, true, held);
                let mut again = of;
                if let Call::Reading { kind: k, .. } = &mut again {
                    *k = *kind;
                }
                self.act(&again, false);
                true
            }
            Question::Order { to, samples, .. } => match call {
                Call::InOrder { order } => {
                    self.settle(Settled::Answered, false, held);
                    self.tell_order(*order);
                    true
                }
                // "the left" instead of an order: where the sample lies.
                Call::Answer {
                    subject: Subject::Place(place),
                } => match samples.as_slice() {
                    [one] => self.locate(call, one, &to, *place),
                    _ => false,
                },
                Call::Put {
                    piece,
                    vessel,
                    place: Some(place),
                } if samples.contains(piece) && vessel.as_ref().is_none_or(|v| *v == to) => {
                    self.locate(call, piece, &to, *place)
                }
                _ => false,
            },
            Question::Where { sample } => match call {
                Call::Answer {
                    subject: Subject::Place(place),
                } => {
                    let subject = Subject::Sample(sample.clone());
                    let Ok(v) = self.vessel_of(&subject) else {
                        return false;
                    };
                    self.locate(call, &sample, &self.kit.vessel_id(v), *place)
                }
                Call::Answer {
                    subject: Subject::Vessel(v),
                } => {
                    self.settle(Settled::Answered, false, held);
                    let put = Call::Put {
                        piece: sample,
                        vessel: Some(v.clone()),
                        place: None,
                    };
                    self.act(&put, false);
                    true
                }
                Call::Put {
                    piece,
                    vessel: named,
                    place: Some(place),
                } if *piece == sample => {
                    let Ok(v) = self.vessel_of(&Subject::Sample(sample.clone())) else {
                        return false;
                    };
                    let own = self.kit.vessel_id(v);
                    if named.as_ref().is_none_or(|n| *n == own) {
                        return self.locate(call, &sample, &own, *place);
                    }
                    self.settle(Settled::Answered, false, held);
                    self.act(call, false);
                    true
                }
                Call::Put { piece, .. } if *piece == sample => {
                    self.settle(Settled::Answered, false, held);
                    self.act(call, false);
                    true
                }
                Call::InOrder { order } if self.core.whereabouts.order_would_tell(None) => {
                    self.settle(Settled::Answered, false, held);
                    self.tell_order(*order);
                    true
                }
                _ => false,
            },
            Question::WhichPlace { of, vessel, places } => match call {
                Call::Answer {
                    subject: Subject::Place(place),
                } => self.answer_place(call, &of, &vessel, &places, *place, held),
                _ => false,
            },
            Question::ChangedPlaces {
                moved: _,
                other,
                vessel_before,
                place_before,
                ..
            } => match call {
                Call::Yes => {
                    self.settle(Settled::Answered, false, held);
                    self.emit(What::Located {
                        piece: other,
                        vessel: vessel_before,
                        place: place_before,
                    });
                    true
                }
                Call::No { value: None } => {
                    self.settle(Settled::Answered, false, held);
                    self.ask_where_piece(&other);
                    true
                }
                _ => false,
            },
        }
    }

    pub(super) fn settle(&mut self, how: Settled, held: bool, call: Option<u32>) {
        self.emit(What::Settled {
            how,
            of: if held { call } else { None },
        });
    }

    fn answer_which(
        &mut self,
        call: &Call,
        of: &Call,
        options: &[Subject],
        held: Option<u32>,
    ) -> bool {
        let chosen: Vec<Subject> = match call {
            Call::Answer {
                subject: Subject::All,
            } => options.to_vec(),
            Call::Answer { subject } => self.option(options, subject).into_iter().collect(),
            Call::Number { value } => self.timer_of_minutes(options, *value).into_iter().collect(),
            _ => {
                // The same call said in full.
                let in_full = options.iter().any(|o| completed(of, o) == *call)
                    || matches!((of, call), (Call::Reading { .. }, Call::Reading { about: Some(s), .. })
                        if self.option(options, s).is_some());
                if in_full && call != of {
                    self.settle(Settled::Answered, true, held);
                    self.act(call, false);
                }
                return in_full && call != of;
            }
        };
        if chosen.is_empty() {
            return false;
        }
        self.settle(Settled::Answered, true, held);
        for subject in chosen {
            self.act(&completed(of, &subject), false);
        }
        true
    }

    /// The option that a name means: the same name, the same vessel or step, or the
    /// only one with that side in its name.
    fn option(&self, options: &[Subject], subject: &Subject) -> Option<Subject> {
        if options.contains(subject) {
            return Some(subject.clone());
        }
        let vessels: Vec<Option<VesselIx>> =
            options.iter().map(|o| self.vessel_of_option(o)).collect();
        let wanted = match subject {
            Subject::Place(place) => self.named_by_side(vessels.iter().copied().flatten(), *place),
            Subject::Vessel(_) | Subject::Step(_) | Subject::Sample(_) => {
                self.vessel_of(subject).ok()
            }
            _ => None,
        }?;
        let mut fit = options
            .iter()
            .zip(&vessels)
            .filter(|(_, v)| **v == Some(wanted))
            .map(|(o, _)| o.clone());
        match (fit.next(), fit.next()) {
            (Some(one), None) => Some(one),
            _ => None,
        }
    }

    /// "the four": the timer without a name that was set to so many minutes.
    fn timer_of_minutes(&self, options: &[Subject], value: Span<f64>) -> Option<Subject> {
        let minutes = |c: &Clock| (c.ends.since(c.from)) as f64 / MINUTE as f64;
        let mut fit = self
            .core
            .clocks
            .iter()
            .filter(|c| matches!(c.key, ClockKey::Voice(_)) && c.name.is_none())
            .filter(|c| (minutes(c) - value.lo).abs() < 0.01)
            .map(|c| Subject::Clock(unnamed(&c.key)))
            .filter(|s| options.contains(s));
        match (fit.next(), fit.next()) {
            (Some(one), None) => Some(one),
            _ => None,
        }
    }

    fn answer_sure(&mut self, call: &Call, of: &Call, why: &Doubt, held: Option<u32>) -> bool {
        match call {
            Call::Yes => {
                self.settle(Settled::Answered, true, held);
                // What was heard badly is now certain, but may still be unwise.
                self.act(of, *why != Doubt::HeardBadly);
                true
            }
            // "no, one fifteen" to "reading one fifty, yes or no?"
            Call::No { value: Some(value) } => {
                let Call::Reading {
                    about, kind, unit, ..
                } = of
                else {
                    return false;
                };
                self.settle(Settled::Answered, true, held);
                let again = Call::Reading {
                    about: about.clone(),
                    kind: *kind,
                    value: *value,
                    unit: match why {
                        Doubt::OtherUnit { said } => Some(*said),
                        _ => *unit,
                    },
                };
                self.act(&again, false);
                true
            }
            // "fahrenheit" to "one fifty celsius cannot be, one fifty fahrenheit?"
            Call::Units { celsius } => {
                let Doubt::OtherUnit { said } = why else {
                    return false;
                };
                let insists = *celsius == (*said == Units::Celsius);
                self.settle(Settled::Answered, true, held);
                if insists {
                    let mut again = of.clone();
                    if let Call::Reading { unit, .. } = &mut again {
                        *unit = Some(*said);
                    }
                    self.ask(Question::NumberAgain {
                        of: again,
                        why: NumberDoubt::OutOfSense,
                    });
                } else {
                    self.act(of, true);
                }
                true
            }
            _ => false,
        }
    }

    /// "no", with or without a better number, while nothing is asked.
    pub(super) fn no(&mut self, call: &Call, value: Option<Span<f64>>) {
        let last = self.last_reading();
        match (value, last) {
            (Some(value), Some(_)) => self.correct(call, value),
            (None, Some(reading)) => self.ask(Question::NumberAgain {
                of: reading,
                why: NumberDoubt::Corrected,
            }),
            (Some(_), None) => self.refuse(call, Refusal::NothingToCorrect),
            (None, None) => self.refuse(call, Refusal::NoQuestion),
        }
    }

    /// The reading that was the last thing recorded, as the call that gave it.
    fn last_reading(&self) -> Option<Call> {
        let taken = self.core.readings.last()?;
        if self.now.since(taken.at) > CORRECT_WITHIN {
            return None;
        }
        Some(self.call_of(&taken.reading))
    }

    /// The call that would give a reading again.
    pub(super) fn call_of(&self, reading: &Reading) -> Call {
        Call::Reading {
            about: None,
            kind: crate::grammar::ReadingKind::Unstated,
            value: reading.called,
            unit: (reading.units != self.core.units).then_some(reading.units),
        }
    }

    pub(super) fn stray_answer(&mut self, call: &Call) {
        // "left skillet" with nothing asked: how it stands there.
        match call {
            Call::Answer { subject } => {
                let query = Call::HowLong {
                    what: Some(subject.clone()),
                };
                self.how_long(&query, Some(subject));
            }
            Call::Number { value } => {
                // A bare number is a reading that was called short.
                let reading = Call::Reading {
                    about: None,
                    kind: crate::grammar::ReadingKind::Unstated,
                    value: *value,
                    unit: None,
                };
                self.sure(&reading, Doubt::HeardBadly);
            }
            Call::InOrder { order } if self.core.whereabouts.order_would_tell(None) => {
                self.tell_order(*order);
            }
            _ => self.refuse(call, Refusal::NoQuestion),
        }
    }
}
