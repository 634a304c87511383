//! What the readings say about the batch: a sample of the posterior, the same for the
//! same readings, made without chance.
//!
//! Each of a few hundred points is one way the batch could be: rate α/L², Biot number,
//! surroundings, start, spread of the pieces. The core of a piece follows the first
//! conduction term, with the second as its correction for early readings (without it,
//! time left came out a tenth too long on the bench's training seeds). A reading is that of some piece, with noise; or it met bone or oil
//! and is high; or it had not settled and is low. Points are first laid over the prior
//! with a low-discrepancy sequence, then twice again where the readings put the weight
//! (adaptive importance sampling).

use crate::plan::Shape;

use super::batch::{AROUND, BIOT, Batch, COOKS_ABOVE, Normal, RATE, SPREAD, START, UNKNOWNS};
use super::conduction;
use super::probe::Probe;
use super::spread::scores;

/// Points of each of the passes.
const POINTS: [usize; 4] = [320, 320, 384, 640];

/// Noise of an honest reading, °C: a good probe is within 1 °C (the Food Code's
/// 4-203.11), and the tip is never quite in the middle.
pub const NOISE_C: f64 = 0.95;

/// A reading is called so long after or before the probe showed it, s.
const CALL_S: f64 = 18.0;

/// How often a probing meets bone or oil, and how often it is called before it settled.
const HIGH_SHARE: f64 = 0.18;
const LOW_SHARE: f64 = 0.09;
/// Highs lie anywhere in this many °C above the core.
const HIGH_RANGE_C: f64 = 60.0;
/// Lows are this far below on average, °C.
const LOW_SCALE_C: f64 = 5.0;

/// One way the batch could be.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Point {
    x: [f64; UNKNOWNS],
    weight: f64,
    /// Derived: λ₁²·α/L² (1/s), (T∞ − T₀)·C₁, T∞, T₀, the pieces' spread; how much
    /// faster the second term dies, and (T∞ − T₀)·C₂.
    k: f64,
    gap: f64,
    faster: f64,
    second: f64,
    around: f64,
    start: f64,
    spread: f64,
}

/// λ₁², C₁, λ₂²/λ₁² and C₂ by ln Bi, tabulated once for a shape.
#[derive(Debug, Clone)]
struct Kernel {
    rows: Vec<[f64; 4]>,
}

const LN_BI: (f64, f64) = (-3.0, 6.0);
const ROWS: usize = 91;

impl Kernel {
    fn new(shape: Shape) -> Kernel {
        let step = (LN_BI.1 - LN_BI.0) / (ROWS - 1) as f64;
        Kernel {
            rows: (0..ROWS)
                .map(|i| {
                    let biot = (LN_BI.0 + step * i as f64).exp();
                    let first = conduction::term(shape, biot, 0);
                    let second = conduction::term(shape, biot, 1);
                    [
                        first.lambda * first.lambda,
                        first.c,
                        (second.lambda / first.lambda).powi(2),
                        second.c,
                    ]
                })
                .collect(),
        }
    }

    fn of(shape: Shape) -> &'static Kernel {
        use std::sync::OnceLock;
        static SLAB: OnceLock<Kernel> = OnceLock::new();
        static CYLINDER: OnceLock<Kernel> = OnceLock::new();
        static SPHERE: OnceLock<Kernel> = OnceLock::new();
        match shape {
            Shape::Slab => SLAB.get_or_init(|| Kernel::new(shape)),
            Shape::Cylinder => CYLINDER.get_or_init(|| Kernel::new(shape)),
            Shape::Sphere => SPHERE.get_or_init(|| Kernel::new(shape)),
        }
    }

    fn at(&self, ln_bi: f64) -> [f64; 4] {
        let step = (LN_BI.1 - LN_BI.0) / (ROWS - 1) as f64;
        let pos = ((ln_bi - LN_BI.0) / step).clamp(0.0, (ROWS - 1) as f64 - 1e-9);
        let i = pos as usize;
        let f = pos - i as f64;
        let (a, b) = (self.rows[i], self.rows[i + 1]);
        std::array::from_fn(|i| a[i] + f * (b[i] - a[i]))
    }
}

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

/// A batch that never gets to its target is said to take this long.
pub const NEVER_S: f64 = 24.0 * 3600.0;

impl Point {
    fn new(x: [f64; UNKNOWNS], kernel: &Kernel) -> Point {
        let [l2, c, faster, c2] = kernel.at(x[BIOT]);
        let around = COOKS_ABOVE + x[AROUND].exp();
        let start = x[START];
        Point {
            x,
            weight: 0.0,
            k: l2 * x[RATE].exp(),
            gap: (around - start) * c,
            faster,
            second: (around - start) * c2,
            around,
            start,
            spread: x[SPREAD].exp(),
        }
    }

    /// The core of a piece that stands `z` deviations from the mean.
    fn core(&self, at_s: f64, z: f64) -> f64 {
        let rate = self.k * (self.spread * z).exp();
        let gone = rate * at_s;
        let first = self.around - self.gap * (-gone).exp();
        let early = gone * self.faster;
        let core = if early < 9.0 {
            first - self.second * (-early).exp()
        } else {
            first
        };
        core.max(self.start)
    }

    fn reaches(&self, target: f64, z: f64) -> f64 {
        if self.around <= target + 0.01 {
            return NEVER_S;
        }
        let rate = self.k * (self.spread * z).exp();
        ((self.gap / (self.around - target)).ln() / rate).clamp(0.0, NEVER_S)
    }

    /// Density of a reading under: some piece, bone or oil, not settled.
    fn likelihood(&self, at_s: f64, y: f64, scores: &[f64]) -> [f64; 3] {
        let n = scores.len().max(1) as f64;
        let mut parts = [0.0; 3];
        for z in scores {
            let core = self.core(at_s, *z);
            let d = y - core;
            let rise = self.k * (self.around - core).max(0.0) * CALL_S;
            let variance = NOISE_C * NOISE_C + rise * rise;
            let s = d * d / variance;
            if s < 49.0 {
                parts[0] += (-0.5 * s).exp() / variance.sqrt();
            }
            if d > 0.0 && d < HIGH_RANGE_C * 2.0 {
                parts[1] += if d < HIGH_RANGE_C { 1.0 } else { 0.2 };
            }
            if d < 0.0 {
                parts[2] += (d / LOW_SCALE_C).exp();
            }
        }
        [
            parts[0] * (1.0 - HIGH_SHARE - LOW_SHARE) / (n * 2.506_628),
            // A little everywhere: no reading may rule a point out for good.
            parts[1] * HIGH_SHARE / (n * HIGH_RANGE_C * 1.2) + 1e-6,
            parts[2] * LOW_SHARE / (n * LOW_SCALE_C) + 1e-6,
        ]
    }

    fn fits(&self, readings: &[Weighted], scores: &[f64]) -> f64 {
        readings
            .iter()
            .flat_map(|r| r.probe.values().map(move |y| (r, y)))
            .map(|(r, y)| {
                let parts = self.likelihood(r.probe.at_s, y, scores);
                r.weight * (parts[0] + parts[1] + parts[2]).ln()
            })
            .sum()
    }
}

/// Normalises weights from their logarithms. For a pass that only guides the next, they
/// are flattened until enough points share them.
fn weigh(sample: &mut [Point], logs: &[f64], flatten: bool) {
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
const DOUBT: usize = 8;
const DOUBTFUL_SD: f64 = 3.0;

fn sd(priors: &[Normal; UNKNOWNS], i: usize, wide: bool) -> f64 {
    if wide && i == RATE {
        DOUBTFUL_SD * priors[i].sd
    } else {
        priors[i].sd
    }
}

fn from_prior(priors: &[Normal; UNKNOWNS], z: &[f64; UNKNOWNS], wide: bool) -> [f64; UNKNOWNS] {
    std::array::from_fn(|i| priors[i].mean + sd(priors, i, wide) * z[i])
}

/// Densities of the two parts of the prior.
fn densities(priors: &[Normal; UNKNOWNS], x: &[f64; UNKNOWNS]) -> (f64, f64) {
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
struct Proposal {
    mean: [f64; UNKNOWNS],
    lower: [[f64; UNKNOWNS]; UNKNOWNS],
}

/// How much wider than the sample the next pass is laid (variance).
const WIDER: f64 = 1.5;

impl Proposal {
    fn of(sample: &[Point], priors: &[Normal; UNKNOWNS]) -> Proposal {
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

    fn draw(&self, z: &[f64; UNKNOWNS]) -> [f64; UNKNOWNS] {
        std::array::from_fn(|i| {
            self.mean[i] + (0..=i).map(|j| self.lower[i][j] * z[j]).sum::<f64>()
        })
    }

    fn log_density(&self, x: &[f64; UNKNOWNS]) -> f64 {
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
fn normals(count: usize, from: usize) -> impl Iterator<Item = [f64; UNKNOWNS]> {
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
