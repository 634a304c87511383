//! What the readings say about the batch: a sample of the posterior, the same for the
//! same readings, made without chance.
//!
//! Each of a few hundred points is one way the batch could be: rate α/L², Biot number,
//! surroundings, start, spread of the pieces. The core of a piece follows the first
//! conduction term, with the second as its correction for early readings (without it,
//! time left came out a tenth too long on the bench's training seeds). A reading is that
//! of some piece, with noise; or it met bone or oil and is high; or it had not settled and
//! is low. Points are first laid over the prior
//! with a low-discrepancy sequence, then twice again where the readings put the weight
//! (adaptive importance sampling).
//!
//! | file | idea |
//! | --- | --- |
//! | `kernel` | the conduction terms by Biot number, tabulated once |
//! | `point` | one way the batch could be: its core over time, what a reading says to it |
//! | `sample` | laying points: the prior, the proposal, the weights |

mod kernel;
mod point;
mod sample;

use super::batch::{Batch, UNKNOWNS};
use super::probe::Probe;
use super::spread::scores;
use kernel::Kernel;
use point::Point;
use sample::{DOUBT, Proposal, densities, from_prior, normals, weigh};

pub use point::{NEVER_S, NOISE_C};

/// Points of each of the passes.
const POINTS: [usize; 4] = [320, 320, 384, 640];

/// A reading with the weight that it still has.
#[derive(Debug, Clone, Copy)]
pub struct Weighted {
    pub probe: Probe,
    /// 1, or less when the medium has changed since.
    pub weight: f64,
}

/// The posterior sample.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    points: Vec<Point>,
    scores: Vec<f64>,
    target: f64,
}

/// The share of a reading's likelihood that each explanation has.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    pub honest: f64,
    pub high: f64,
    pub low: f64,
}

impl Fit {
    pub fn new(batch: &Batch, readings: &[Weighted]) -> Fit {
        let priors = batch.priors();
        let kernel = Kernel::of(batch.shape);
        let scores = scores(batch.pieces);
        let of = |x: [f64; UNKNOWNS]| Point::new(x, kernel);
        let mut sample: Vec<Point> = normals(POINTS[0], 0)
            .enumerate()
            .map(|(i, z)| of(from_prior(&priors, &z, i % DOUBT == DOUBT - 1)))
            .collect();
        if readings.is_empty() {
            let w = 1.0 / sample.len() as f64;
            sample.iter_mut().for_each(|p| p.weight = w);
            return Fit {
                points: sample,
                scores,
                target: batch.target.0,
            };
        }
        let mut logs: Vec<f64> = sample.iter().map(|p| p.fits(readings, &scores)).collect();
        weigh(&mut sample, &logs, true);
        let mut seed = POINTS[0];
        for count in &POINTS[1..] {
            let proposal = Proposal::of(&sample, &priors);
            let wide = count / 8;
            sample = normals(*count, seed)
                .enumerate()
                .map(|(i, z)| {
                    of(if i % 8 == 7 {
                        from_prior(&priors, &z, i % 16 == 15)
                    } else {
                        proposal.draw(&z)
                    })
                })
                .collect();
            seed += count;
            let share = wide as f64 / *count as f64;
            logs = sample
                .iter()
                .map(|p| {
                    let (sure, wide) = densities(&priors, &p.x);
                    let doubt = 1.0 / DOUBT as f64;
                    let prior = (1.0 - doubt) * sure + doubt * wide;
                    let drawn = (1.0 - share) * proposal.log_density(&p.x).exp()
                        + share * 0.5 * (sure + wide);
                    p.fits(readings, &scores) + prior.ln() - drawn.ln()
                })
                .collect();
            let last = seed >= POINTS.iter().sum();
            weigh(&mut sample, &logs, !last);
        }
        Fit {
            points: sample,
            scores,
            target: batch.target.0,
        }
    }

    fn coldest(&self) -> f64 {
        self.scores.first().copied().unwrap_or(0.0)
    }

    fn warmest(&self) -> f64 {
        self.scores.last().copied().unwrap_or(0.0)
    }

    /// Seconds from the food going in until the coldest piece is at the target: the
    /// value below which this share of the weight lies. A batch that never gets there
    /// counts as a day.
    pub fn target_at(&self, share: f64) -> f64 {
        let z = self.coldest();
        self.quantile(share, |p| p.reaches(self.target, z))
    }

    /// The coldest piece's core, °C, at a time.
    pub fn coldest_at(&self, at_s: f64, share: f64) -> f64 {
        let z = self.coldest();
        self.quantile(share, |p| p.core(at_s, z))
    }

    /// The warmest piece's core, °C, at a time.
    pub fn warmest_at(&self, at_s: f64, share: f64) -> f64 {
        let z = self.warmest();
        self.quantile(share, |p| p.core(at_s, z))
    }

    /// How far the pieces are apart at a time, °C.
    pub fn apart_at(&self, at_s: f64, share: f64) -> f64 {
        let (cold, warm) = (self.coldest(), self.warmest());
        self.quantile(share, |p| p.core(at_s, warm) - p.core(at_s, cold))
    }

    /// How likely the coldest piece is below `celsius` now.
    pub fn below(&self, at_s: f64, celsius: f64) -> f64 {
        let z = self.coldest();
        self.points
            .iter()
            .filter(|p| p.core(at_s, z) < celsius)
            .map(|p| p.weight)
            .sum()
    }

    /// What a reading looks like to this sample.
    pub fn shares(&self, at_s: f64, celsius: f64) -> Shares {
        let mut sum = [0.0; 3];
        for p in &self.points {
            let parts = p.likelihood(at_s, celsius, &self.scores);
            for (s, part) in sum.iter_mut().zip(parts) {
                *s += p.weight * part;
            }
        }
        let all: f64 = sum.iter().sum();
        if all > 0.0 {
            Shares {
                honest: sum[0] / all,
                high: sum[1] / all,
                low: sum[2] / all,
            }
        } else {
            Shares {
                honest: 0.0,
                high: 0.5,
                low: 0.5,
            }
        }
    }

    fn quantile(&self, share: f64, of: impl Fn(&Point) -> f64) -> f64 {
        let mut all: Vec<(f64, f64)> = self.points.iter().map(|p| (of(p), p.weight)).collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut sum = 0.0;
        let mut before: Option<(f64, f64)> = None;
        for (value, weight) in all {
            // Mid-weights, joined by straight lines: smooth in the readings.
            let mid = sum + 0.5 * weight;
            sum += weight;
            if mid >= share {
                return match before {
                    Some((v, m)) if mid > m => v + (value - v) * (share - m) / (mid - m),
                    _ => value,
                };
            }
            before = Some((value, mid));
        }
        before.map_or(0.0, |(v, _)| v)
    }
}
