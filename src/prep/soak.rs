//! How fast the salt of a strong brine comes to the middle of the meat: an estimate, as wide as
//! the published figures are.
//!
//! Fick's second law for a body in a bath that keeps its strength at the surface (J. Crank, The
//! Mathematics of Diffusion, plane sheet and cylinder): the same series as that of heat, with
//! an infinite Biot number. Bone, skin and fat make it slower.

use crate::doneness::conduction::Series;
use crate::plan::{Shape, Span};

use super::tables;

/// Terms of the series; right to 10⁻⁶ from a Fourier number of 0.005 on.
const TERMS: u32 = 40;

/// Half the thickness, squared, by the diffusion coefficient: seconds for a Fourier number
/// of 1, the fastest first.
fn unit_s(thickness_mm: f64) -> Option<Span<f64>> {
    let half_m = thickness_mm / 2000.0;
    let (slow, fast) = tables::salt_diffusion();
    let of = |d: f64| half_m * half_m / d;
    (half_m > 0.0 && half_m.is_finite() && slow > 0.0 && fast >= slow).then(|| Span {
        lo: of(fast),
        hi: of(slow),
    })
}

/// Hours until the water in the middle has `share` (0 to 1) of the strength of the brine; none
/// where there is no such time.
pub fn hours_until(shape: Shape, thickness_mm: f64, share: f64) -> Option<Span<f64>> {
    let fo = Series::new(shape, f64::INFINITY, TERMS).fo_at(1.0 - share)?;
    let unit = unit_s(thickness_mm)?;
    Some(Span {
        lo: fo * unit.lo / 3600.0,
        hi: fo * unit.hi / 3600.0,
    })
}

/// The share of the brine's strength that the middle has after the least and the most of these
/// hours, by the slowest and the fastest figure.
pub fn share_after(shape: Shape, thickness_mm: f64, hours: Span<f64>) -> Option<Span<f64>> {
    let unit = unit_s(thickness_mm)?;
    let series = Series::new(shape, f64::INFINITY, TERMS);
    let share = |hours: f64, unit: f64| {
        let fo = hours.max(0.0) * 3600.0 / unit;
        // Before that the middle has nothing yet, and the series is not to be trusted.
        if fo < 0.005 {
            return 0.0;
        }
        (1.0 - series.theta(0.0, fo)).clamp(0.0, 1.0)
    };
    Some(Span {
        lo: share(hours.lo, unit.hi),
        hi: share(hours.hi, unit.lo),
    })
}
