//! One way the batch could be: how its cores rise, and what a reading says to it.

use crate::doneness::batch::{AROUND, BIOT, COOKS_ABOVE, RATE, SPREAD, START, UNKNOWNS};

use super::Weighted;
use super::kernel::Kernel;

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

/// A batch that never gets to its target is said to take this long.
pub const NEVER_S: f64 = 24.0 * 3600.0;

/// One way the batch could be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    pub x: [f64; UNKNOWNS],
    pub weight: f64,
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

impl Point {
    pub fn new(x: [f64; UNKNOWNS], kernel: &Kernel) -> Point {
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
    pub fn core(&self, at_s: f64, z: f64) -> f64 {
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

    pub fn reaches(&self, target: f64, z: f64) -> f64 {
        if self.around <= target + 0.01 {
            return NEVER_S;
        }
        let rate = self.k * (self.spread * z).exp();
        ((self.gap / (self.around - target)).ln() / rate).clamp(0.0, NEVER_S)
    }

    /// Density of a reading under: some piece, bone or oil, not settled.
    pub fn likelihood(&self, at_s: f64, y: f64, scores: &[f64]) -> [f64; 3] {
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

    pub fn fits(&self, readings: &[Weighted], scores: &[f64]) -> f64 {
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
