//! What readings mean, in names and numbers: with a reading, and when asked.

use crate::doneness::{Aim, Belief, Missing, Oddity, units};
use crate::grammar::Subject;
use crate::kitchen::core::Phase;
use crate::kitchen::holding::{self, Owes};
use crate::kitchen::meaning::{self, Standing};
use crate::kitchen::reply::{Goal, Say};
use crate::kitchen::reply_doneness::{BelievedLine, LeftLine, PieceAsked, Remark, VerdictLine};
use crate::kitchen::{At, Measured, Reading, Reply};
use crate::plan::{Item, Span, below};

use super::{Telling, reply};

/// The same time left is not said again within this share of it.
const SAME_LEFT: f64 = 0.2;

impl Telling<'_> {
    pub(super) fn reading(&self, reading: &Reading, corrected: bool, at: At) -> Vec<Reply> {
        let (number, kind) = (reading.number, reading.kind);
        let vessel = reading.vessel.as_deref();
        let item = reading.item.clone().map(Subject::Item);
        let about = (reading.piece.as_ref())
            .and_then(|p| self.kit().piece_ix(p))
            .map(|p| self.piece_name(p))
            .or_else(|| item.map(|i| self.subject_name(&i)))
            .or_else(|| vessel.map(|v| self.vessel_name(v)));
        let step = vessel
            .and_then(|v| self.kit().vessel_ix(v))
            .and_then(|v| self.after.core.step_in(self.kit(), v));
        let mut goal = step.and_then(|ix| self.goal(ix)).filter(|g| {
            matches!(
                (g, kind),
                (Goal::Core { .. }, Measured::Core) | (Goal::Medium { .. }, Measured::Medium)
            )
        });
        let mut remarks = match (kind, step) {
            (Measured::Core, Some(ix)) => self.core_remarks(ix, number, at),
            (Measured::Medium, _) => self.medium_remarks(step, vessel, number, at),
            (Measured::Ice | Measured::Boil, _) => self.probe_remarks(kind, number),
            (Measured::Cooling, _) => self.cooling_remarks(number, at),
            (Measured::Core, None) => Vec::new(),
        };
        if remarks.iter().any(|r| matches!(r, Remark::Odd { .. })) {
            goal = None;
        }
        let done = step.is_some_and(|ix| meaning::is_done(self.kit(), &self.after.core, ix));
        let met = goal.as_ref().is_some_and(Goal::met);
        if let (Some(ix), true) = (step, done && met && kind == Measured::Core) {
            remarks.extend(self.hold_remark(ix, at));
        }
        let mut all = vec![reply(Say::Reading {
            called: reading.called,
            units: reading.units,
            celsius: reading.celsius,
            kind,
            about,
            corrected,
            goal,
            out_to: step
                .filter(|_| met && done)
                .and_then(|ix| self.kit().step(ix)?.out_to.as_ref())
                .map(|v| self.vessel_name(v)),
            remarks,
        })];
        let was_done = step.is_some_and(|ix| meaning::is_done(self.kit(), &self.before.core, ix));
        if let (true, false, Some(ix)) = (met && done, was_done, step) {
            all.extend(self.remind_before_transfer(ix));
        }
        all
    }

    fn core_remarks(&self, ix: usize, number: u32, at: At) -> Vec<Remark> {
        let core = &self.after.core;
        let Some(belief) = meaning::belief(self.kit(), core, ix) else {
            return Vec::new();
        };
        let verdict = belief.verdict();
        if let Some(why) = meaning::oddity(self.kit(), core, ix, number) {
            return vec![Remark::Odd {
                why,
                going_on: verdict.coldest.map(|c| c.0),
            }];
        }
        match verdict.missing {
            Some(Missing::MorePieces(_)) => vec![Remark::ReadMore {
                behind: verdict.behind,
                pieces: self.pieces(ix),
            }],
            Some(Missing::Agreement) => vec![Remark::TooSoon],
            Some(Missing::Warmth) => self.left_remark(ix, belief, at).into_iter().collect(),
            Some(Missing::Readings) | None => Vec::new(),
        }
    }

    fn pieces(&self, ix: usize) -> u32 {
        self.kit().step(ix).map_or(1, meaning::pieces)
    }

    /// Time left, where a reading has changed it: from the second round on.
    fn left_remark(&self, ix: usize, belief: &Belief, at: At) -> Option<Remark> {
        if belief.rounds.len() < 2 {
            return None;
        }
        let now = self.left(ix, belief, at);
        let begins = belief.rounds.last().is_some_and(|r| r.probes.len() == 1);
        let before = meaning::belief(self.kit(), &self.before.core, ix)
            .map(|b| self.left(ix, b, at).likely)?;
        let moved = (now.likely - before).abs() as f64 > SAME_LEFT * before as f64;
        (begins || moved).then_some(Remark::Left(now))
    }

    pub(super) fn left(&self, ix: usize, belief: &Belief, at: At) -> LeftLine {
        let left = belief.time_left(meaning::cooking_s(&self.after.core, ix, at));
        let ms = |s: f64| (s * 1000.0).round() as i64;
        LeftLine {
            likely: ms(left.likely_s),
            low: ms(left.low_s),
            high: ms(left.high_s),
            guess: left.guess,
        }
    }

    fn probe_remarks(&self, kind: Measured, number: u32) -> Vec<Remark> {
        let taken = self
            .after
            .core
            .readings
            .iter()
            .rev()
            .find(|t| t.reading.number == number);
        match taken.and_then(|t| meaning::probe_off(self.kit(), kind, t.reading.celsius)) {
            Some(off) if meaning::worth_adding(off) => vec![Remark::ProbeOff { celsius: off }],
            Some(_) => vec![Remark::ProbeRight],
            None => Vec::new(),
        }
    }

    /// What a plan that aims below the consumer minimum owes.
    fn hold_remark(&self, ix: usize, at: At) -> Option<Remark> {
        let core = &self.after.core;
        match holding::owes(self.kit(), ix)? {
            Owes::Minimum(minimum) => {
                let (coldest, _) = meaning::belief(self.kit(), core, ix)?.coldest()?;
                (!units::reached(coldest, minimum.core)).then_some(Remark::NoMargin {
                    minimum: minimum.core,
                })
            }
            Owes::Hold(row) => {
                let left = holding::left_s(self.kit(), core, ix, row, at)?;
                Some(Remark::Hold {
                    at_f: row.row_f,
                    ms: i64::from(row.hold_s) * 1000,
                    left: (left * 1000.0).round() as i64,
                })
            }
        }
    }

    /// Once aloud: the plan aims below the published minimum. Not again for a later step
    /// that does the same to the same food.
    pub(super) fn aims_below(&self, ix: usize) -> Vec<Reply> {
        let plan = &self.kit().plan;
        let Some(step) = self.kit().step(ix) else {
            return Vec::new();
        };
        let told = |item: &Item, aim: &Aim| {
            plan.steps.iter().enumerate().any(|(other, s)| {
                other != ix
                    && self.before.core.phase(other) != Phase::NotBegun
                    && below(s, plan)
                        .iter()
                        .any(|(i, a)| i.id == item.id && a == aim)
            })
        };
        below(step, plan)
            .into_iter()
            .filter(|(item, aim)| !told(item, aim))
            .filter_map(|(item, aim)| match aim {
                Aim::Below {
                    minimum,
                    hold,
                    brined,
                } => Some(reply(Say::BelowMinimum {
                    item: item.names.first().cloned().unwrap_or_default(),
                    minimum: minimum.core,
                    hold_ms: hold.ok().map(|r| i64::from(r.hold_s) * 1000),
                    brined,
                })),
                Aim::Unregulated | Aim::Meets(_) => None,
            })
            .collect()
    }

    /// "Is it done": of a vessel, or of a marked piece by its own readings.
    pub(super) fn is_it_done(&self, what: Option<&Subject>, at: At) -> Option<Say> {
        let core = &self.after.core;
        let (v, piece) = match what? {
            Subject::Vessel(v) => (self.kit().vessel_ix(v)?, None),
            Subject::Sample(id) => (
                core.vessel_with(self.kit(), id)?,
                self.kit().sample_piece(id),
            ),
            _ => return None,
        };
        let step = core.step_in(self.kit(), v);
        let own = step
            .zip(piece)
            .and_then(|(ix, p)| meaning::belief_of_piece(self.kit(), core, ix, p));
        let asked = piece.map(|p| PieceAsked {
            name: self.piece_name(p),
            own: own.is_some(),
        });
        Some(match (step, own) {
            (Some(ix), Some(own)) => Say::Judged {
                about: asked.as_ref().map(|a| a.name.clone()).unwrap_or_default(),
                piece: asked,
                goal: self.goal(ix),
                verdict: self.verdict_of(ix, &own, 1, at),
            },
            (step, _) => Say::Judged {
                about: self.vessel_name_ix(v),
                piece: asked,
                goal: step.and_then(|ix| self.goal(ix)),
                verdict: step.and_then(|ix| {
                    let belief = meaning::belief(self.kit(), core, ix)?;
                    self.verdict_of(ix, belief, self.pieces(ix), at)
                }),
            },
        })
    }

    fn verdict_of(&self, ix: usize, belief: &Belief, pieces: u32, at: At) -> Option<VerdictLine> {
        let Standing::Core { target, .. } = meaning::standing(self.kit(), &self.after.core, ix)
        else {
            return None;
        };
        let verdict = belief.verdict();
        let left = Some(belief)
            .filter(|_| matches!(verdict.missing, Some(Missing::Warmth)))
            .filter(|b| b.rounds.len() >= 2)
            .map(|b| self.left(ix, b, at));
        Some(VerdictLine {
            done: verdict.done,
            coldest: verdict.coldest.map(|c| c.0),
            behind: verdict.behind,
            pieces,
            target,
            too_soon: verdict.missing == Some(Missing::Agreement),
            left,
        })
    }

    /// A reading in the kitchen's unit: as called, unless it was called in the other.
    fn in_the_kitchens(&self, reading: &Reading) -> Span<f64> {
        let kitchens = self.after.core.units;
        if reading.units == kitchens {
            return reading.called;
        }
        Span {
            lo: units::in_units(reading.celsius.lo, kitchens),
            hi: units::in_units(reading.celsius.hi, kitchens),
        }
    }

    /// Which readings of the last round are believed.
    pub(super) fn believed(&self, ix: usize) -> Option<BelievedLine> {
        let core = &self.after.core;
        let belief = meaning::belief(self.kit(), core, ix)?;
        let verdict = belief.verdict();
        let odd = meaning::core_readings(self.kit(), core, ix)
            .zip(&belief.oddities)
            .filter_map(|(t, o)| Some((self.in_the_kitchens(&t.reading), (*o)?)))
            .collect::<Vec<(Span<f64>, Oddity)>>();
        Some(BelievedLine {
            coldest: verdict.coldest.map(|c| c.0),
            behind: verdict.behind,
            odd,
        })
    }
}
