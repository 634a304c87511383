//! Rounds of readings → which to believe, whether it is done, how long is left.

use crate::plan::Celsius;

use super::batch::Batch;
use super::fit::{Fit, NEVER_S, NOISE_C, Weighted};
use super::probe::{Probe, rounds};

/// Why a reading is not believed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Oddity {
    /// Higher than the food can be: the probe met bone, or oil ran along it.
    BoneOrOil,
    /// Lower than the food can be by now: called before the probe had settled.
    NotSettled,
    /// No number at all.
    NoNumber,
}

/// Readings called close together.
#[derive(Debug, Clone, PartialEq)]
pub struct Round {
    /// Indices into the probes.
    pub probes: Vec<usize>,
    /// Seconds since the food went in, of its last reading.
    pub at_s: f64,
    /// The lowest credible reading.
    pub believed: Option<Celsius>,
    /// How many pieces the credible readings can speak for.
    pub behind: u32,
}

/// What the readings come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Belief {
    /// One for each probe: why it is not believed, if it is not.
    pub oddities: Vec<Option<Oddity>>,
    pub rounds: Vec<Round>,
    batch: Batch,
    fit: Fit,
}

/// What stands between a round and "done".
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Missing {
    /// No credible reading yet.
    Readings,
    /// The coldest is below the target.
    Warmth,
    /// So many more readings: fewer were credible than there are pieces, or only one.
    MorePieces(u32),
    /// The round is warm enough, yet the ones before say that it cannot be so yet.
    Agreement,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    pub done: bool,
    /// Coldest credible reading of the last round that has one, and when that was.
    pub coldest: Option<(Celsius, f64)>,
    /// Credible readings in that round.
    pub behind: u32,
    pub missing: Option<Missing>,
}

/// Seconds until the coldest piece is at the target; never below zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TimeLeft {
    /// As likely longer as shorter.
    pub likely_s: f64,
    /// Four times in five it lies between these.
    pub low_s: f64,
    pub high_s: f64,
    /// No reading stands behind it: a guess from the plan alone.
    pub guess: bool,
}

/// Readings from before the medium last changed count for this share.
const BEFORE_CHANGE: f64 = 0.25;

/// Share of the posterior that a reading must lie outside of to be odd, beside the noise.
const TAIL: f64 = 0.03;
const NOISES_LOW: f64 = 2.5;
const NOISES_HIGH: f64 = 3.0;
/// An earlier reading is odd when it explains itself so with this probability.
const ODD_SHARE: f64 = 0.7;
/// Done: the chance that the coldest piece is still more than this below the target …
const SHORT_C: f64 = 2.0 / 1.8;
/// … may be at most this.
const SHORT_CHANCE: f64 = 0.04;
/// At least so many readings, even of one piece.
const LEAST_READINGS: u32 = 2;
/// And no more than so many, of however many pieces.
const MOST_READINGS: u32 = 6;
/// Before this the plan's prior judges no reading: food goes in before it is told.
const PRIOR_FROM_S: f64 = 180.0;

/// The interval from the fit is stretched by this about its middle, for up to two rounds
/// and for more: the priors are wider than kitchens are, and the pieces less regular than
/// the fit. Set on the training seeds of `examples/bench_doneness.rs`.
const STRETCH: (f64, f64) = (0.8, 0.78);

/// `changes_s`: when the burner, the lid or the medium was changed (seconds since the
/// food went in). The order of the probes does not matter.
pub fn believe(batch: &Batch, probes: &[Probe], changes_s: &[f64]) -> Belief {
    let parted = rounds(probes);
    let mut oddities: Vec<Option<Oddity>> = probes
        .iter()
        .map(|p| (!p.is_finite()).then_some(Oddity::NoNumber))
        .collect();
    let changed = changes_s
        .iter()
        .copied()
        .filter(|c| c.is_finite())
        .fold(f64::NEG_INFINITY, f64::max);
    let weighted = |rounds: &[Vec<usize>]| -> Vec<Weighted> {
        let mut all: Vec<Weighted> = rounds
            .iter()
            .flatten()
            .map(|i| Weighted {
                probe: probes[*i],
                weight: if probes[*i].at_s < changed {
                    BEFORE_CHANGE
                } else {
                    1.0
                },
            })
            .collect();
        // Sums of floats depend on their order; a verdict must not.
        all.sort_by(|a, b| {
            let key = |w: &Weighted| (w.probe.at_s, w.probe.value.lo.0, w.probe.value.hi.0);
            let (a, b) = (key(a), key(b));
            a.0.total_cmp(&b.0)
                .then(a.1.total_cmp(&b.1))
                .then(a.2.total_cmp(&b.2))
        });
        all
    };
    let fit = Fit::new(batch, &weighted(&parted));
    if let Some((last, earlier)) = parted.split_last() {
        for i in earlier.iter().flatten() {
            oddities[*i] = hindsight(&fit, &probes[*i]);
        }
        let past = Fit::new(batch, &weighted(earlier));
        for (i, odd) in in_round(&past, earlier.is_empty(), probes, last) {
            oddities[i] = odd;
        }
    }
    let rounds = parted
        .into_iter()
        .map(|indices| summed_up(indices, probes, &oddities))
        .collect();
    Belief {
        oddities,
        rounds,
        batch: batch.clone(),
        fit,
    }
}

/// An earlier reading, seen from all that came after it.
fn hindsight(fit: &Fit, probe: &Probe) -> Option<Oddity> {
    probe.values().find_map(|y| {
        let shares = fit.shares(probe.at_s, y);
        if shares.high > ODD_SHARE {
            Some(Oddity::BoneOrOil)
        } else if shares.low > ODD_SHARE {
            Some(Oddity::NotSettled)
        } else {
            None
        }
    })
}

/// The readings of a round against the rounds before it and against each other.
fn in_round(
    past: &Fit,
    first: bool,
    probes: &[Probe],
    round: &[usize],
) -> Vec<(usize, Option<Oddity>)> {
    let at = round
        .iter()
        .map(|i| probes[*i].at_s)
        .fold(f64::NEG_INFINITY, f64::max);
    let (floor, mut ceiling) = if first && at < PRIOR_FROM_S {
        (f64::NEG_INFINITY, f64::INFINITY)
    } else {
        (
            past.coldest_at(at, TAIL) - NOISES_LOW * NOISE_C,
            past.warmest_at(at, 1.0 - TAIL) + NOISES_HIGH * NOISE_C,
        )
    };
    let base = round
        .iter()
        .map(|i| probes[*i].value.lo.0)
        .filter(|y| *y >= floor)
        .fold(f64::INFINITY, f64::min);
    let apart = past.apart_at(at, 0.9) + NOISES_HIGH * NOISE_C * 1.3;
    // Readings that agree outweigh a prior: the plan may be wrong, bone never agrees.
    if first && base > ceiling {
        let agree = round
            .iter()
            .filter(|i| probes[**i].value.hi.0 <= base + apart)
            .count();
        if agree >= 2 {
            ceiling = f64::INFINITY;
        }
    }
    round
        .iter()
        .map(|i| {
            let v = probes[*i].value;
            let odd = if v.lo.0 < floor {
                Some(Oddity::NotSettled)
            } else if v.hi.0 > ceiling || v.hi.0 > base + apart {
                Some(Oddity::BoneOrOil)
            } else {
                None
            };
            (*i, odd)
        })
        .collect()
}

fn summed_up(indices: Vec<usize>, probes: &[Probe], oddities: &[Option<Oddity>]) -> Round {
    let at_s = indices
        .iter()
        .map(|i| probes[*i].at_s)
        .fold(f64::NEG_INFINITY, f64::max);
    let mut believed: Option<f64> = None;
    let mut behind = 0;
    for i in &indices {
        if oddities[*i].is_none() {
            let lo = probes[*i].value.lo.0;
            believed = Some(believed.map_or(lo, |b| b.min(lo)));
            behind += probes[*i].speaks_for();
        }
    }
    Round {
        probes: indices,
        at_s,
        believed: believed.map(Celsius),
        behind,
    }
}

impl Belief {
    /// The coldest credible reading of the last round that has one, and its time.
    pub fn coldest(&self) -> Option<(Celsius, f64)> {
        self.standing()
            .and_then(|r| r.believed.map(|b| (b, r.at_s)))
    }

    fn standing(&self) -> Option<&Round> {
        self.rounds.iter().rev().find(|r| r.believed.is_some())
    }

    /// Readings that a round needs before it can be done.
    pub fn need(&self) -> u32 {
        self.batch.pieces.clamp(LEAST_READINGS, MOST_READINGS)
    }

    /// Whether the batch is done at its target.
    pub fn verdict(&self) -> Verdict {
        let behind = self.standing().map_or(0, |r| r.behind);
        let coldest = self.coldest();
        let need = self.need();
        let target = self.batch.target.0;
        let missing = match coldest {
            None => Some(Missing::Readings),
            Some((c, at)) => {
                let reached = |r: &Round| {
                    r.behind >= need && r.believed.is_some_and(|b| b.0 >= target - 1e-9)
                };
                // Two whole rounds outweigh a prior that may be wrong.
                let twice = self
                    .rounds
                    .iter()
                    .rev()
                    .take(2)
                    .filter(|r| reached(r))
                    .count()
                    == 2;
                let judged = at >= PRIOR_FROM_S && !twice;
                if c.0 < target - 1e-9 {
                    Some(Missing::Warmth)
                } else if behind < need {
                    Some(Missing::MorePieces(need - behind))
                } else if judged && self.fit.below(at, target - SHORT_C) > SHORT_CHANCE {
                    Some(Missing::Agreement)
                } else {
                    None
                }
            }
        };
        Verdict {
            done: missing.is_none(),
            coldest,
            behind,
            missing,
        }
    }

    /// Time left at `now_s` after the food went in.
    pub fn time_left(&self, now_s: f64) -> TimeLeft {
        let left = |share: f64| self.fit.target_at(share);
        let (low, mid, high) = (left(0.1), left(0.5), left(0.9));
        let stretch = if self.rounds.len() <= 2 {
            STRETCH.0
        } else {
            STRETCH.1
        };
        let from = |at: f64| (at - now_s).clamp(0.0, NEVER_S);
        TimeLeft {
            likely_s: from(mid),
            low_s: from(mid - stretch * (mid - low)),
            high_s: from(mid + stretch * (high - mid)),
            guess: self.rounds.is_empty(),
        }
    }

    /// Where the fit has the coldest piece at a time, °C: lower end, middle and upper
    /// end of four times in five.
    pub fn coldest_between(&self, at_s: f64) -> (Celsius, Celsius, Celsius) {
        let at = |share| Celsius(self.fit.coldest_at(at_s, share));
        (at(0.1), at(0.5), at(0.9))
    }
}
