//! Heat flowing into a slab, a long cylinder or a sphere that started at one
//! temperature: eigenvalues, the one-term approach, the whole series.
//!
//! The characteristic equations and coefficients are those of any heat transfer text
//! (Biot number on half the thickness or the radius); they are checked against printed
//! tables in `tests/doneness/conduction.rs`. Dimensionless throughout:
//! θ = (T − T∞)/(T₀ − T∞), Fo = αt/L², ξ = x/L from the middle.

use crate::plan::Shape;

/// θ = c·exp(−λ²·Fo) in the middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Term {
    pub lambda: f64,
    pub c: f64,
}

/// A characteristic equation with its poles multiplied away, so that it is continuous,
/// and with a Biot number of any size, infinite too (`share` = Bi/(1+Bi)).
fn equation(shape: Shape, x: f64, share: f64) -> f64 {
    let other = 1.0 - share;
    match shape {
        // x tan x = Bi
        Shape::Slab => other * x * x.sin() - share * x.cos(),
        // x J1(x) = Bi J0(x)
        Shape::Cylinder => other * x * libm::j1(x) - share * libm::j0(x),
        // 1 − x cot x = Bi, divided by x so that 0 is no root
        Shape::Sphere => other * x.cos() + (share - other) * sinc(x),
    }
}

fn sinc(x: f64) -> f64 {
    if x.abs() < 1e-8 { 1.0 } else { x.sin() / x }
}

/// The term number `k` (from 0) of the series for the middle. A Biot number that is
/// not positive, or not a number, is taken as the smallest that makes sense (10⁻⁶).
pub fn term(shape: Shape, biot: f64, k: u32) -> Term {
    let biot = if biot > 1e-6 { biot } else { 1e-6 };
    let share = if biot.is_infinite() {
        1.0
    } else {
        biot / (1.0 + biot)
    };
    let pi = std::f64::consts::PI;
    // Each of these intervals holds one root, between zeros of the two functions.
    let k = f64::from(k);
    let (mut lo, mut hi) = match shape {
        Shape::Slab => (k * pi, (k + 0.5) * pi),
        Shape::Cylinder => (k * pi, (k + 1.0) * pi),
        // A margin, since at Bi = 1 and at infinity the root is at the end itself.
        Shape::Sphere if biot < 1.0 => (k * pi, (k + 0.5) * pi + 0.1),
        Shape::Sphere => ((k + 0.5) * pi - 0.1, (k + 1.0) * pi + 0.1),
    };
    let rising = equation(shape, hi, share) > equation(shape, lo, share);
    for _ in 0..60 {
        let mid = 0.5 * (lo + hi);
        if (equation(shape, mid, share) > 0.0) == rising {
            hi = mid;
        } else {
            lo = mid;
        }
    }
    let x = 0.5 * (lo + hi);
    let c = match shape {
        Shape::Slab => 4.0 * x.sin() / (2.0 * x + (2.0 * x).sin()),
        Shape::Cylinder => {
            let (j0, j1) = (libm::j0(x), libm::j1(x));
            2.0 * j1 / (x * (j0 * j0 + j1 * j1))
        }
        Shape::Sphere => 4.0 * (x.sin() - x * x.cos()) / (2.0 * x - (2.0 * x).sin()),
    };
    Term { lambda: x, c }
}

/// θ in the middle by the first term alone, never above 1. Good for Fo > 0.2.
pub fn one_term(shape: Shape, biot: f64, fo: f64) -> f64 {
    let t = term(shape, biot, 0);
    (t.c * (-t.lambda * t.lambda * fo.max(0.0)).exp()).min(1.0)
}

/// A body with its series worked out once.
#[derive(Debug, Clone)]
pub struct Series {
    shape: Shape,
    terms: Vec<Term>,
}

impl Series {
    /// `count` terms, at most 200; 40 are right to 10⁻⁶ from Fo = 0.005 on.
    pub fn new(shape: Shape, biot: f64, count: u32) -> Series {
        Series {
            shape,
            terms: (0..count.clamp(1, 200))
                .map(|k| term(shape, biot, k))
                .collect(),
        }
    }

    /// θ at ξ (0 the middle, 1 the surface) and Fo.
    pub fn theta(&self, xi: f64, fo: f64) -> f64 {
        let fo = fo.max(0.0);
        self.terms
            .iter()
            .map(|t| {
                let x = t.lambda * xi;
                let form = match self.shape {
                    Shape::Slab => x.cos(),
                    Shape::Cylinder => libm::j0(x),
                    Shape::Sphere => sinc(x),
                };
                t.c * (-t.lambda * t.lambda * fo).exp() * form
            })
            .sum()
    }

    /// The Fourier number at which the middle has come down to `theta`; none where that
    /// is not between 0 and 1.
    pub fn fo_at(&self, theta: f64) -> Option<f64> {
        if !(theta > 0.0 && theta < 1.0) {
            return None;
        }
        let first = self.terms.first()?;
        let mut hi = (first.c / theta).ln().max(0.0) / (first.lambda * first.lambda) + 1.0;
        let mut lo = 0.0;
        for _ in 0..60 {
            let mid = 0.5 * (lo + hi);
            if self.theta(0.0, mid) > theta {
                lo = mid;
            } else {
                hi = mid;
            }
        }
        Some(0.5 * (lo + hi))
    }
}

/// Time constant of a body that is one temperature throughout (Bi below about 0.1), in
/// seconds: ρ·V·c/(h·A), SI units.
pub fn lumped_tau(density: f64, heat_capacity: f64, volume_by_area: f64, h: f64) -> f64 {
    density * heat_capacity * volume_by_area / h
}
