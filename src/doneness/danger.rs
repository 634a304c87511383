//! Time in the danger zone.

use crate::plan::Celsius;

use super::units::from_fahrenheit;

/// USDA consumer convention, 40 to 140 °F. (The Food Code's is 41 to 135 °F.)
pub const ZONE_F: (f64, f64) = (40.0, 140.0);
/// Two hours in all (USDA FSIS Danger Zone) …
pub const LIMIT_S: f64 = 2.0 * 3600.0;
/// … one when it is above 90 °F in the kitchen.
pub const LIMIT_HOT_DAY_S: f64 = 3600.0;
pub const HOT_DAY_F: f64 = 90.0;

/// A stretch of the cook in which an item was about so warm, on its warm side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    pub from_s: f64,
    pub to_s: f64,
    pub at: Celsius,
}

pub fn in_zone(c: Celsius) -> bool {
    // Float dust of the conversion, no more.
    c.0 > from_fahrenheit(ZONE_F.0).0 + 1e-9 && c.0 < from_fahrenheit(ZONE_F.1).0 - 1e-9
}

/// Seconds in the zone over all stretches, overnight included. Stretches are as given:
/// overlaps count twice, what runs backwards counts nothing.
pub fn total_s(stretches: &[Stretch]) -> f64 {
    stretches
        .iter()
        .filter(|s| in_zone(s.at))
        .map(|s| s.to_s - s.from_s)
        .filter(|d| d.is_finite() && *d > 0.0)
        .sum()
}

/// The limit for a kitchen of such a temperature, if that is known.
pub fn limit_s(kitchen: Option<Celsius>) -> f64 {
    match kitchen {
        Some(c) if c.0 > from_fahrenheit(HOT_DAY_F).0 => LIMIT_HOT_DAY_S,
        _ => LIMIT_S,
    }
}
