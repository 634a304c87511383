//! Time in the danger zone, and the cooling of cooked food.

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

/// The two steps of cooling after the cook, Food Code 3-501.14(A): 135 to 70 °F within
/// two hours, and to 41 °F within six hours in all.
pub const COOLING: [(f64, f64); 2] = [(70.0, 2.0 * 3600.0), (41.0, 6.0 * 3600.0)];
pub const COOLING_FROM_F: f64 = 135.0;

/// Where the cooling of an item stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cooling {
    /// Still hot: the clock has not begun.
    Hot,
    /// To be at this by then: °C, seconds from the beginning of the cooling.
    Under {
        to: Celsius,
        left_s: f64,
    },
    /// Not at this in time.
    Missed {
        to: Celsius,
        over_s: f64,
    },
    Cold,
}

/// From readings (seconds since the cooling began at 135 °F, °C) in order of time; with
/// none the first step is under way.
pub fn cooling(readings: &[(f64, Celsius)], now_s: f64) -> Cooling {
    let last = readings.last();
    if last.is_some_and(|(_, c)| c.0 > from_fahrenheit(COOLING_FROM_F).0 + 1e-9) {
        return Cooling::Hot;
    }
    for (f, by_s) in COOLING {
        let to = from_fahrenheit(f);
        let there = readings.iter().find(|(_, c)| c.0 <= to.0 + 1e-9);
        match there {
            Some((at, _)) if *at <= by_s => {}
            Some((at, _)) => {
                return Cooling::Missed {
                    to,
                    over_s: at - by_s,
                };
            }
            None if now_s > by_s => {
                return Cooling::Missed {
                    to,
                    over_s: now_s - by_s,
                };
            }
            None => {
                return Cooling::Under {
                    to,
                    left_s: by_s - now_s,
                };
            }
        }
    }
    Cooling::Cold
}
