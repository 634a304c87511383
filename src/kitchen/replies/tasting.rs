//! Replies around the blind tasting, and what other replies must keep to themselves
//! while it is open.

use crate::grammar::{Call, TastingCall};
use crate::kitchen::reply::{Reply, Say};
use crate::kitchen::reply_tasting::TastingSay;
use crate::kitchen::{At, What};
use crate::plan::Id;
use crate::tasting::{ALPHA, Fact, Test, USUAL_POWER, Which, how_many, what_can};

use super::{Telling, reply};

/// What "how many tasters" asks for when no share is said: a difference that half of all
/// tasters perceive (our own choice).
const USUAL_SHARE: (u8, u8) = (1, 2);

fn one(say: TastingSay) -> Vec<Reply> {
    vec![reply(Say::Tasting(Box::new(say)))]
}

impl Telling<'_> {
    pub(super) fn tasting(&self, fact: &Fact) -> Vec<Reply> {
        // A fact that did not fit changed nothing.
        if self.before.core.sitting == self.after.core.sitting {
            return Vec::new();
        }
        match fact {
            Fact::Opened(opened) => one(TastingSay::Opened {
                test: opened.test,
                samples: opened.samples.clone(),
                attribute: opened.attribute.clone(),
                tasters: opened.tasters,
                reach: what_can(opened.test, opened.tasters.into(), ALPHA).ok(),
            }),
            Fact::Closed => self.result(),
            // The question for a pick follows and says it.
            Fact::CantTell { taster }
                if self
                    .after
                    .core
                    .sitting
                    .open()
                    .is_some_and(|o| o.owes_a_guess(*taster)) =>
            {
                Vec::new()
            }
            fact => one(TastingSay::Recorded {
                fact: fact.clone(),
                waiting: self.waiting().len(),
            }),
        }
    }

    pub(super) fn waiting(&self) -> Vec<u16> {
        let open = self.after.core.sitting.open();
        open.map(|o| o.waiting()).unwrap_or_default()
    }

    pub(super) fn plate(&self, taster: u16) -> Vec<Reply> {
        let Some(open) = self.after.core.sitting.open() else {
            return Vec::new();
        };
        let sheet = open.plater_sheet();
        let name = |which| sheet.samples.name(which).to_owned();
        let Some(row) = sheet.rows.iter().find(|r| r.taster == taster) else {
            return Vec::new();
        };
        let portions = match taster {
            1 => [Which::Control, Which::Test]
                .map(|which| (sheet.portions(which), name(which)))
                .to_vec(),
            _ => Vec::new(),
        };
        one(TastingSay::Plate {
            taster,
            reference: row.reference.map(name),
            servings: row
                .servings
                .iter()
                .map(|s| (s.code, name(s.sample)))
                .collect(),
            portions,
            last: taster == open.opened().tasters,
        })
    }

    pub(super) fn card(&self, taster: u16) -> Vec<Reply> {
        let Some(open) = self.after.core.sitting.open() else {
            return Vec::new();
        };
        let card = open.cards().find(|c| c.taster == taster);
        card.map_or_else(Vec::new, |card| {
            one(TastingSay::Card {
                card,
                test: open.opened().test,
                attribute: open.opened().attribute.clone(),
            })
        })
    }

    pub(super) fn tasting_queried(&self, call: &TastingCall) -> Vec<Reply> {
        match call {
            TastingCall::Result => self.result(),
            TastingCall::WhichIs { sample } => self.which_is(sample.as_ref()),
            TastingCall::HowMany { test, share, power } => {
                self.how_many_tasters(*test, *share, *power)
            }
            _ => Vec::new(),
        }
    }

    fn result(&self) -> Vec<Reply> {
        let sitting = &self.after.core.sitting;
        let Some(closed) = sitting.closed() else {
            return match sitting.open() {
                Some(_) => one(TastingSay::StillOpen {
                    waiting: self.waiting(),
                }),
                None => Vec::new(),
            };
        };
        let Ok(outcome) = closed.outcome() else {
            return Vec::new();
        };
        one(TastingSay::Result {
            outcome,
            tally: closed.tally(),
            samples: closed.opened().samples.clone(),
            attribute: closed.opened().attribute.clone(),
        })
    }

    /// The sample named, else the one that was treated differently.
    fn which_is(&self, sample: Option<&Id>) -> Vec<Reply> {
        let Some(closed) = self.after.core.sitting.closed() else {
            return Vec::new();
        };
        let samples = &closed.opened().samples;
        let named = sample.map(|id| self.sample_name(id));
        let which = match named {
            Some(name) if name == samples.control => Which::Control,
            _ => Which::Test,
        };
        let sheet = closed.sheet();
        let codes = sheet
            .rows
            .iter()
            .flat_map(|row| {
                let held = row.servings.iter().filter(|s| s.sample == which);
                held.map(|s| (row.taster, s.code))
            })
            .collect();
        one(TastingSay::Key {
            sample: samples.name(which).to_owned(),
            codes,
        })
    }

    fn how_many_tasters(
        &self,
        test: Option<Test>,
        share: Option<(u8, u8)>,
        power: Option<u8>,
    ) -> Vec<Reply> {
        let sitting = &self.after.core.sitting;
        let opened = sitting
            .open()
            .map(|o| o.opened())
            .or_else(|| sitting.closed().map(|c| c.opened()));
        let test = test
            .or_else(|| opened.map(|o| o.test))
            .or_else(|| self.kit().plan.tasting.as_ref().map(|t| t.test))
            .unwrap_or(Test::Triangle);
        let share = share.unwrap_or(USUAL_SHARE);
        let power = power.unwrap_or((USUAL_POWER * 100.0).round() as u8);
        let discriminators = f64::from(share.0) / f64::from(share.1);
        let needs = how_many(test, ALPHA, 1.0 - f64::from(power) / 100.0, discriminators).ok();
        one(TastingSay::HowMany {
            test,
            share,
            power,
            needs,
        })
    }

    /// Said while nobody could hear, and not to be repeated now that somebody may.
    pub(super) fn not_for_tasters(&self, what: &What, at: At) -> bool {
        let telling = matches!(
            what,
            What::Plate { .. }
                | What::Queried {
                    query: Call::WhereIs { .. } | Call::WhatIsAt { .. } | Call::Map
                }
        );
        telling && self.after.core.sitting.is_blind(at)
    }

    /// A tasting is open and tasters may hear: where marked pieces lie is left out of what
    /// is said, and nobody is reminded of them.
    pub(super) fn keep_blind(&self, at: At, replies: Vec<Reply>) -> Vec<Reply> {
        if !self.after.core.sitting.is_blind(at) {
            return replies;
        }
        let mut kept = Vec::new();
        for mut r in replies {
            match &mut r.say {
                Say::Reminder { .. } => continue,
                Say::Swapped { marks, .. }
                | Say::MovedOut { marks, .. }
                | Say::OrderTold { marks, .. } => marks.clear(),
                // What is taken back is told again; where a piece was put is not.
                Say::TakenBack { what, marks } => {
                    marks.clear();
                    what.retain(|say| !matches!(say, Say::Lies(_)));
                    for say in what {
                        if let Say::Swapped { marks, .. }
                        | Say::MovedOut { marks, .. }
                        | Say::OrderTold { marks, .. } = say
                        {
                            marks.clear();
                        }
                    }
                }
                _ => {}
            }
            kept.push(r);
        }
        kept
    }
}
