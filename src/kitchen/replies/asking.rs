//! Questions in names.

use crate::grammar::{Call, Subject, TastingCall, Thing};
use crate::kitchen::manners::MUMBLE;
use crate::kitchen::reply::{Lies, PlaceIn, Reply, Say};
use crate::kitchen::reply_asking::{Asking, Held, SureWhy};
use crate::kitchen::{At, Deed, Doubt, NumberDoubt, Question, Settled};
use crate::plan::{Span, Units};

use super::{Telling, reply};

impl Telling<'_> {
    pub(super) fn asking(&self, question: &Question, heard: Option<&str>, at: At) -> Asking {
        match question {
            Question::Which { of, options } => Asking::Which {
                held: Box::new(self.held(of, heard)),
                options: options
                    .iter()
                    .map(|o| match self.option_clock(o) {
                        Some(clock) => crate::voice::wording::clock(&clock),
                        None => self.subject_name(o),
                    })
                    .collect(),
            },
            Question::WhichWay { vessel } => Asking::WhichWay {
                vessel: self.vessel_name(vessel),
            },
            Question::Sure { of, why } => Asking::Sure {
                held: Box::new(self.held(of, heard)),
                why: self.why(why, at),
            },
            Question::NumberAgain { of, why } => Asking::NumberAgain {
                called: called(of),
                unit: unit(of),
                corrected: *why == NumberDoubt::Corrected,
                or: match why {
                    NumberDoubt::Either { other } => Some(*other),
                    _ => None,
                },
            },
            Question::CoreOrMedium { of } => Asking::CoreOrMedium {
                oil: self.asks_of_oil(of),
                called: called(of),
                unit: unit(of),
            },
            Question::Order { to, samples, .. } => Asking::Order {
                to: self.vessel_name(to),
                samples: samples.iter().map(|s| self.sample_name(s)).collect(),
            },
            Question::Where { sample } => {
                let piece = self.kit().sample_piece(sample);
                let lies = piece.map_or(Lies::NotPlaced, |p| self.lies(p));
                let places = match &lies {
                    Lies::OneOf { places, .. } => places.clone(),
                    _ => piece
                        .and_then(|p| self.after.core.whereabouts.pieces.get(p)?.lie)
                        .map(|l| self.places_of(l.vessel))
                        .unwrap_or_default(),
                };
                Asking::Where {
                    sample: self.sample_name(sample),
                    lies,
                    places,
                }
            }
            Question::WhichPlace { vessel, places, .. } => {
                let v = self.kit().vessel_ix(vessel);
                Asking::WhichPlace {
                    vessel: self.vessel_name(vessel),
                    places: v
                        .map(|v| places.iter().map(|p| self.place_in(v, *p)).collect())
                        .unwrap_or_default(),
                }
            }
            Question::Verdict { fact } => Asking::Verdict { fact: fact.clone() },
            Question::PickOne { taster } => Asking::PickOne {
                taster: *taster,
                codes: self
                    .after
                    .core
                    .sitting
                    .open()
                    .and_then(|o| o.cards().find(|c| c.taster == *taster))
                    .map(|c| c.codes)
                    .unwrap_or_default(),
            },
            Question::UseOffset { celsius } => Asking::UseOffset { celsius: *celsius },
            Question::OutOfHearing { .. } => Asking::OutOfHearing,
            Question::HowManyTaste { .. } => Asking::HowManyTaste,
            Question::ChangedPlaces { moved, other, .. } => {
                let name = |p| {
                    self.kit()
                        .piece_ix(p)
                        .map(|p| self.piece_name(p))
                        .unwrap_or_default()
                };
                Asking::ChangedPlaces {
                    moved: name(moved),
                    other: name(other),
                }
            }
        }
    }

    fn asks_of_oil(&self, of: &Call) -> bool {
        match of {
            Call::Reading {
                about: Some(Subject::Vessel(v)),
                ..
            } => self.holds_oil(v),
            _ => true,
        }
    }

    fn held(&self, of: &Call, heard: Option<&str>) -> Held {
        let name = |s: &Option<_>| s.as_ref().map(|s| self.subject_name(s));
        match of {
            Call::Next => Held::Done(None),
            Call::Done { what } => Held::Done(name(what)),
            Call::Start { what } => Held::Start(Some(self.subject_name(what))),
            Call::Flipped { .. } => Held::Flipped,
            Call::Turned { .. } => Held::Turned,
            Call::Swap { .. } => Held::Swapped,
            Call::OutTo { to, .. } => Held::MovedOut {
                to: self.vessel_name(to),
            },
            Call::Stacked { .. } => Held::Stacked,
            Call::Reading {
                about, value, unit, ..
            } => Held::Reading {
                called: *value,
                unit: *unit,
                about: name(about).filter(|n| !n.is_empty()),
            },
            Call::Extend { duration, less, .. } => Held::Extend {
                ms: crate::kitchen::fold::ms(*duration),
                less: *less,
            },
            Call::StopTimer { .. } => Held::StopTimer,
            Call::Timer { duration, name } => Held::Timer {
                name: name.clone(),
                ms: crate::kitchen::fold::ms(*duration),
            },
            Call::In { what, .. } => Held::In {
                what: match what {
                    Some(Thing::Oil) => Some("oil".to_owned()),
                    Some(Thing::Item(id)) => Some(self.subject_name(&Subject::Item(id.clone()))),
                    Some(Thing::Sample(id)) => Some(self.sample_name(id)),
                    None => None,
                },
            },
            Call::Put { piece, .. } => Held::Put {
                sample: self.sample_name(piece),
            },
            Call::Basted { .. } => Held::Did(Deed::Basted),
            Call::Stirred { .. } => Held::Did(Deed::Stirred),
            Call::Heat { level, .. } => Held::Did(Deed::Heat(*level)),
            Call::Lid { on, .. } => Held::Did(if *on { Deed::LidOn } else { Deed::LidOff }),
            Call::HowLong { .. } => Held::HowLong,
            Call::IsItDone { .. } | Call::Believe { .. } => Held::IsItDone,
            Call::WhatIsAt { place, .. } => Held::WhatIsAt {
                place: PlaceIn {
                    place: *place,
                    rows: 0,
                    columns: 0,
                },
            },
            Call::Tasting {
                what: TastingCall::Open { test, .. },
            } => Held::Tasting(*test),
            Call::EndCook => Held::EndCook,
            Call::ScratchThat => Held::ScratchThat,
            Call::BackOne => Held::BackOne,
            _ => Held::Heard(heard.unwrap_or_default().to_owned()),
        }
    }

    fn why(&self, why: &Doubt, at: At) -> SureWhy {
        match why {
            Doubt::HeardBadly => SureWhy::HeardBadly,
            Doubt::TimeLeft { step, ms } => SureWhy::TimeLeft {
                step: self.step_name(step),
                ms: *ms,
            },
            Doubt::Unmet { step } => SureWhy::Unmet {
                step: self.step_name(step),
                goal: self.kit().step_ix(step).and_then(|ix| self.goal(ix)),
            },
            Doubt::Early { step, waits_for } => SureWhy::Early {
                step: self.step_name(step),
                waits_for: waits_for.iter().map(|s| self.step_name(s)).collect(),
            },
            Doubt::Unfinished { steps } => SureWhy::Unfinished {
                steps: steps.iter().map(|s| self.step_name(s)).collect(),
            },
            Doubt::EndsTheCook => SureWhy::EndsTheCook,
            Doubt::OtherUnit { said } => SureWhy::OtherUnit { said: *said },
            Doubt::StillCooling { item } => match self.cooling_line(item, at) {
                Some(line) => SureWhy::StillCooling { line },
                None => SureWhy::EndsTheCook,
            },
            Doubt::TastingOpen { waiting } => SureWhy::TastingOpen {
                waiting: waiting.clone(),
            },
            Doubt::LongAgo { ms } => SureWhy::LongAgo {
                ms: *ms,
                what: self
                    .before
                    .undoable
                    .last()
                    .and_then(|(call, _)| self.taken_back(&[*call]).into_iter().next())
                    .map(Box::new),
            },
        }
    }

    pub(super) fn settled(&self, how: Settled) -> Vec<Reply> {
        let Some(pending) = &self.before.core.question else {
            return Vec::new();
        };
        let held = match &pending.question {
            Question::Which { of, .. }
            | Question::Sure { of, .. }
            | Question::NumberAgain { of, .. }
            | Question::CoreOrMedium { of }
            | Question::HowManyTaste { of }
            | Question::WhichPlace { of, .. } => Some(Box::new(self.held(of, None))),
            Question::WhichWay { .. } => Some(Box::new(Held::Turned)),
            Question::Verdict { fact } => Some(Box::new(Held::Answer(fact.clone()))),
            Question::OutOfHearing { .. } => Some(Box::new(Held::ServingSheet)),
            _ => None,
        };
        match how {
            Settled::Refused => vec![reply(Say::Dropped { held })],
            // A figure that was called and is dropped for another call is not passed over
            // in silence; a "done" that gives way to another call is.
            Settled::Overtaken
                if matches!(
                    held.as_deref(),
                    Some(Held::Reading { .. } | Held::Timer { .. } | Held::Extend { .. })
                ) =>
            {
                vec![reply(Say::Dropped { held })]
            }
            Settled::Overtaken | Settled::Answered => Vec::new(),
        }
    }

    pub(super) fn not_understood(&self, at: At) -> Vec<Reply> {
        // Talk that is not for us comes in a row; asking back each time would be chatter.
        if self
            .before
            .core
            .mumbled
            .is_some_and(|m| at.since(m) < MUMBLE)
        {
            return Vec::new();
        }
        let mut all = vec![reply(Say::NotUnderstood {
            open: self.after.core.question.is_some(),
        })];
        if let Some(q) = &self.after.core.question {
            all.push(reply(Say::Ask {
                asking: self.asking(&q.question, None, at),
                times: q.times.max(2),
            }));
        }
        all
    }
}

fn unit(of: &Call) -> Option<Units> {
    match of {
        Call::Reading { unit, .. } | Call::Room { unit, .. } => *unit,
        _ => None,
    }
}

fn called(of: &Call) -> Span<f64> {
    match of {
        Call::Reading { value, .. } | Call::Room { value, .. } => *value,
        _ => Span { lo: 0.0, hi: 0.0 },
    }
}
