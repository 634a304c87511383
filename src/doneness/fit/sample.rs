//! Laying the points of a fit without chance: the prior, a proposal where the readings put
//! the weight, and the weights.

use crate::doneness::batch::{Normal, RATE, UNKNOWNS};

use super::point::Point;

/// Normalises weights from their logarithms. For a pass that only guides the next, they
/// are flattened until enough points share them.
pub fn weigh(sample: &mut [Point], logs: &[f64], flatten: bool) {
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut power = 1.0;
    loop {
        let mut sum = 0.0;
        let mut squares = 0.0;
        for (p, l) in sample.iter_mut().zip(logs) {
            let w = (power * (l - most)).exp();
            p.weight = if w.is_finite() { w } else { 0.0 };
            sum += p.weight;
            squares += p.weight * p.weight;
        }
        if sum > 0.0 {
            for p in sample.iter_mut() {
                p.weight /= sum;
            }
            if !flatten || sum * sum / squares >= ENOUGH || power < 1e-3 {
                return;
            }
        } else {
            let w = 1.0 / sample.len().max(1) as f64;
            sample.iter_mut().for_each(|p| p.weight = w);
            return;
        }
        power *= 0.7;
    }
}

/// Points that must share the weight before it guides the next pass.
const ENOUGH: f64 = 25.0;

/// One time in so many the plan is wrong about the rate (a thickness mistyped, food that
/// went in long before it was told): then it is this much less sure.
pub const DOUBT: usize = 8;
const DOUBTFUL_SD: f64 = 3.0;

fn sd(priors: &[Normal; UNKNOWNS], i: usize, wide: bool) -> f64 {
    if wide && i == RATE {
        DOUBTFUL_SD * priors[i].sd
    } else {
        priors[i].sd
    }
}

pub fn from_prior(priors: &[Normal; UNKNOWNS], z: &[f64; UNKNOWNS], wide: bool) -> [f64; UNKNOWNS] {
    std::array::from_fn(|i| priors[i].mean + sd(priors, i, wide) * z[i])
}

/// Densities of the two parts of the prior.
pub fn densities(priors: &[Normal; UNKNOWNS], x: &[f64; UNKNOWNS]) -> (f64, f64) {
    let of = |wide| -> f64 {
        (0..UNKNOWNS)
            .map(|i| {
                let sd = sd(priors, i, wide);
                let d = (x[i] - priors[i].mean) / sd;
                -0.5 * d * d - sd.ln() - HALF_LN_2PI
            })
            .sum()
    };
    (of(false).exp(), of(true).exp())
}

const HALF_LN_2PI: f64 = 0.918_938_533_204_672_8;

/// A normal proposal: mean and the lower triangle of a Cholesky factor.
pub struct Proposal {
    mean: [f64; UNKNOWNS],
    lower: [[f64; UNKNOWNS]; UNKNOWNS],
}

/// How much wider than the sample the next pass is laid (variance).
const WIDER: f64 = 1.5;

impl Proposal {
    pub fn of(sample: &[Point], priors: &[Normal; UNKNOWNS]) -> Proposal {
        let mean: [f64; UNKNOWNS] =
            std::array::from_fn(|i| sample.iter().map(|p| p.weight * p.x[i]).sum());
        let mut cov = [[0.0; UNKNOWNS]; UNKNOWNS];
        for p in sample {
            for i in 0..UNKNOWNS {
                for j in 0..=i {
                    cov[i][j] += p.weight * (p.x[i] - mean[i]) * (p.x[j] - mean[j]);
                }
            }
        }
        let mut lower = [[0.0; UNKNOWNS]; UNKNOWNS];
        for i in 0..UNKNOWNS {
            for j in 0..=i {
                let floor = if i == j {
                    (0.02 * priors[i].sd).powi(2)
                } else {
                    0.0
                };
                let rest: f64 = (0..j).map(|k| lower[i][k] * lower[j][k]).sum();
                let v = WIDER * cov[i][j] + floor - rest;
                lower[i][j] = if i == j {
                    v.max(floor).sqrt()
                } else {
                    v / lower[j][j]
                };
            }
        }
        Proposal { mean, lower }
    }

    pub fn draw(&self, z: &[f64; UNKNOWNS]) -> [f64; UNKNOWNS] {
        std::array::from_fn(|i| {
            self.mean[i] + (0..=i).map(|j| self.lower[i][j] * z[j]).sum::<f64>()
        })
    }

    pub fn log_density(&self, x: &[f64; UNKNOWNS]) -> f64 {
        let mut z = [0.0; UNKNOWNS];
        let mut log = 0.0;
        for i in 0..UNKNOWNS {
            let rest: f64 = (0..i).map(|j| self.lower[i][j] * z[j]).sum();
            z[i] = (x[i] - self.mean[i] - rest) / self.lower[i][i];
            log -= 0.5 * z[i] * z[i] + self.lower[i][i].ln() + HALF_LN_2PI;
        }
        log
    }
}

/// Normal deviates from a Halton sequence, by Box and Muller's pairs: evenly spread, and
/// the same every time.
pub fn normals(count: usize, from: usize) -> impl Iterator<Item = [f64; UNKNOWNS]> {
    const BASES: [usize; 6] = [2, 3, 5, 7, 11, 13];
    (0..count).map(move |i| {
        let index = i + from + 17;
        let u: [f64; 6] = std::array::from_fn(|d| {
            let (mut f, mut r, mut n) = (1.0, 0.0, index);
            while n > 0 {
                f /= BASES[d] as f64;
                r += f * (n % BASES[d]) as f64;
                n /= BASES[d];
            }
            r
        });
        let pair = |a: f64, b: f64| {
            let radius = (-2.0 * (1.0 - a).max(1e-12).ln()).sqrt();
            let (s, c) = (std::f64::consts::TAU * b).sin_cos();
            (radius * c, radius * s)
        };
        let (a, b) = pair(u[0], u[1]);
        let (c, d) = pair(u[2], u[3]);
        let (e, _) = pair(u[4], u[5]);
        [a, b, c, d, e]
    })
}
