//! How many pieces lie in one layer, as if each were round: a piece of that footprint
//! which is longer than it is wide may need a look.

use super::pan::{Floor, Pan};
use super::tables::food_density;

/// Radius of the smallest circle around n circles of radius 1, n from 1. Closed forms
/// up to 13 but for 10 and 12; the rest from memory of the published packings.
const AROUND: [f64; 20] = [
    1.0, 2.0, 2.154_701, 2.414_214, 2.701_302, 3.0, 3.0, 3.304_765, 3.613_126, 3.813_026,
    3.923_804, 4.029_602, 4.236_068, 4.328_429, 4.521_357, 4.615_426, 4.792_034, 4.863_703,
    4.863_703, 5.122_321,
];

/// Diameter of a round piece of that mass and thickness, millimetres.
pub fn footprint_mm(mass_g: f64, thickness_mm: f64) -> f64 {
    let area_mm2 = mass_g / food_density() * 1000.0 / thickness_mm;
    2.0 * (area_mm2 / std::f64::consts::PI).sqrt()
}

/// The most discs of a diameter that lie flat on the floor of a pan; at least what is
/// counted, perhaps one more with patience.
pub fn most(pan: Pan, disc_mm: f64) -> u32 {
    if disc_mm.is_nan() || disc_mm <= 0.0 {
        return 0;
    }
    match pan.floor {
        Floor::Round { floor_mm, .. } => {
            let ratio = floor_mm / disc_mm;
            let listed = AROUND.iter().take_while(|r| **r <= ratio + 1e-6).count();
            if listed < AROUND.len() {
                listed as u32
            } else {
                // Beyond the list: rows as in a honeycomb, the rim left ragged.
                (0.75 * ratio * ratio).floor().min(1e6) as u32
            }
        }
        Floor::Sides { a_mm, b_mm } => {
            let square = (a_mm / disc_mm).floor() * (b_mm / disc_mm).floor();
            square
                .max(staggered(a_mm, b_mm, disc_mm))
                .max(staggered(b_mm, a_mm, disc_mm))
                .min(1e6) as u32
        }
    }
}

/// Rows along `a`, every other one shifted by half a disc.
fn staggered(a: f64, b: f64, d: f64) -> f64 {
    if a < d || b < d {
        return 0.0;
    }
    let rows = ((b - d) / (d * 0.75f64.sqrt()) + 1e-9).floor() + 1.0;
    let full = (a / d + 1e-9).floor();
    let shifted = ((a - d / 2.0) / d + 1e-9).floor();
    let odd = (rows / 2.0).floor();
    (rows - odd) * full + odd * shifted
}
