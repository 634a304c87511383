//! What is known before the first reading: the batch, and the weak priors drawn from it.

use crate::plan::{Celsius, Shape};

/// How the heat comes to the food.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Heating {
    /// In oil or water that covers it, or nearly.
    Immersed,
    /// On a hot floor, turned now and then.
    Pan,
    /// In hot air.
    Oven,
}

/// Like pieces that are cooked together in one vessel.
#[derive(Debug, Clone, PartialEq)]
pub struct Batch {
    pub pieces: u32,
    pub shape: Shape,
    /// Whole thickness or diameter.
    pub thickness_mm: Option<f64>,
    pub start: Option<Celsius>,
    pub heating: Heating,
    /// The medium as last read, or the middle of the plan's window.
    pub medium: Option<Celsius>,
    /// The core at which the coldest piece is done.
    pub target: Celsius,
}

/// A normal prior: mean and standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Normal {
    pub mean: f64,
    pub sd: f64,
}

const fn normal(mean: f64, sd: f64) -> Normal {
    Normal { mean, sd }
}

/// Number of unknowns of the fit.
pub(super) const UNKNOWNS: usize = 5;
pub(super) const RATE: usize = 0;
pub(super) const BIOT: usize = 1;
pub(super) const AROUND: usize = 2;
pub(super) const START: usize = 3;
pub(super) const SPREAD: usize = 4;

/// Surroundings are fitted as ln(T∞ − this), °C: below it nothing cooks.
pub(super) const COOKS_ABOVE: f64 = 60.0;

/// Thermal diffusivity of raw lean meat, m²/s: chicken breast predicted 1.355e-7 at
/// 20 °C (Choi and Okos), beef 1.23e-7 to 1.33e-7 (see `data/doneness/README.md`).
pub const DIFFUSIVITY: f64 = 1.33e-7;

/// Without a stated thickness: a piece of about an inch and a quarter. Our own guess.
const THICKNESS_MM: f64 = 32.0;
/// Without a stated start: out of the fridge for a little. Our own guess.
const START_C: f64 = 8.0;

impl Batch {
    /// The priors of ln(α/L²) with α/L² in 1/s, ln Bi, ln(T∞ − [`COOKS_ABOVE`]), the
    /// start in °C, and ln of the spread of the pieces' rates. Widths are our own
    /// judgement: thickness is a cook's estimate, the film coefficient is hardly known.
    pub(super) fn priors(&self) -> [Normal; UNKNOWNS] {
        let known = self.thickness_mm.filter(|t| t.is_finite() && *t > 0.5);
        let half = known.unwrap_or(THICKNESS_MM).clamp(1.0, 400.0) / 2000.0;
        let rate = (DIFFUSIVITY / (half * half)).ln();
        let rate_sd: f64 = if known.is_some() { 0.22 } else { 0.7 };
        let medium = self.medium.map(|c| c.0).filter(|c| c.is_finite());
        let (rate, biot, around) = match self.heating {
            Heating::Immersed => {
                // The surface of wet food stays near boiling for most of the cook.
                let m = medium.unwrap_or(150.0).clamp(50.0, 300.0);
                let wet = m.min(100.0);
                let mean = wet + 0.6 * (m - wet);
                let sd = 4.0 + 0.2 * (m - wet) + if medium.is_some() { 0.0 } else { 15.0 };
                (normal(rate, rate_sd), normal(10f64.ln(), 0.8), (mean, sd))
            }
            // Heat from one side at a time: slower than a slab that is hot on both.
            Heating::Pan => (
                normal(rate - 0.35, rate_sd.hypot(0.25)),
                normal(5f64.ln(), 0.7),
                (medium.map_or(115.0, |m| 0.5 * (m + 105.0)), 16.0),
            ),
            Heating::Oven => {
                let m = medium.unwrap_or(175.0).clamp(50.0, 300.0);
                let mean = if m > 100.0 { 0.6 * m + 30.0 } else { m };
                (normal(rate, rate_sd), normal(2f64.ln(), 0.6), (mean, 20.0))
            }
        };
        let above = (around.0 - COOKS_ABOVE).max(8.0);
        let start = self.start.map(|c| c.0).filter(|c| c.is_finite());
        [
            rate,
            biot,
            normal(above.ln(), (around.1 / above).clamp(0.05, 0.6)),
            match start {
                Some(c) => normal(c, 2.0),
                None => normal(START_C, 5.0),
            },
            normal(0.045f64.ln(), 0.5),
        ]
    }
}
