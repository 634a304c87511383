//! Cooling after the cook, in the two steps of the Food Code.
//!
//! The warmest spot decides: a step is there from the first reading after which none is
//! above its limit. A reading is never taken back by time alone; a limit that passed
//! without one is missed.

use crate::plan::Celsius;

use super::units::{from_fahrenheit, reached};

/// Food Code 3-501.14(A): 135 to 70 °F within two hours, and to 41 °F within six hours in
/// all. °F and seconds from the beginning.
pub const LEGS: [(f64, f64); 2] = [(70.0, 2.0 * 3600.0), (41.0, 6.0 * 3600.0)];
/// Where it begins, °F: as long as it is read above this, no time has passed.
pub const FROM_F: f64 = 135.0;
/// Food that has not come to 70 °F in time may be heated to this once and cooled anew, or
/// is thrown away (University of Maine Cooperative Extension, Cooling Record Sheet; a
/// school kitchen's two-stage log adds that it is done once only). Past the second limit
/// we know of no second chance that all agree on, so none is offered.
pub const REHEAT_F: f64 = 165.0;

/// One of the two steps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    pub to: Celsius,
    /// When it has to be there, seconds.
    pub by_s: f64,
    /// The first reading after which none was above `to`.
    pub there_s: Option<f64>,
}

impl Leg {
    fn missed(&self, now_s: f64) -> bool {
        self.there_s.unwrap_or(now_s) > self.by_s
    }
}

/// The cooling of an item as its readings tell it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cooled {
    /// Since when the time counts: the last reading that was above 135 °F, or the call.
    pub from_s: f64,
    pub legs: [Leg; 2],
    /// It was heated up once after a missed first step.
    pub reheated: bool,
}

/// Where the cooling of an item stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cooling {
    /// To be at this by then.
    Under {
        to: Celsius,
        left_s: f64,
    },
    /// Not at this in time; `again`: it may be heated to [`REHEAT_F`] and cooled anew.
    Missed {
        to: Celsius,
        over_s: f64,
        again: bool,
    },
    Cold,
}

/// From readings (seconds since the cook said that it cools, °C) in order of time; with
/// none the first step counts from the word. What is no number is passed over.
pub fn cooled(readings: &[(f64, Celsius)]) -> Cooled {
    let all: Vec<(f64, Celsius)> = readings
        .iter()
        .copied()
        .filter(|(at, c)| at.is_finite() && c.0.is_finite())
        .collect();
    let (from, reheat) = (from_fahrenheit(FROM_F), from_fahrenheit(REHEAT_F));
    let (mut zero, mut rest, mut reheated) = (0.0, all.as_slice(), false);
    let mut seen = 0;
    while let Some((at, c)) = rest.get(seen).copied() {
        if c.0 > from.0 + 1e-9 {
            let [first, second] = legs(zero, rest.get(..seen).unwrap_or_default());
            let late = first.missed(at) || second.missed(at);
            if late && (reheated || second.missed(at) || !reached(c, reheat)) {
                break;
            }
            reheated |= late;
            zero = at;
            rest = rest.get(seen + 1..).unwrap_or_default();
            seen = 0;
        } else {
            seen += 1;
        }
    }
    Cooled {
        from_s: zero,
        legs: legs(zero, rest),
        reheated,
    }
}

fn legs(zero: f64, readings: &[(f64, Celsius)]) -> [Leg; 2] {
    LEGS.map(|(f, within_s)| {
        let to = from_fahrenheit(f);
        let under = readings
            .iter()
            .rev()
            .take_while(|(_, c)| c.0 <= to.0 + 1e-9);
        Leg {
            to,
            by_s: zero + within_s,
            there_s: under.last().map(|(at, _)| *at),
        }
    })
}

impl Cooled {
    /// Where it stands; `now_s` is no earlier than the last reading.
    pub fn at(&self, now_s: f64) -> Cooling {
        for (i, leg) in self.legs.iter().enumerate() {
            if leg.missed(now_s) {
                return Cooling::Missed {
                    to: leg.to,
                    over_s: leg.there_s.unwrap_or(now_s) - leg.by_s,
                    again: i == 0 && !self.reheated && !self.legs[1].missed(now_s),
                };
            }
            if leg.there_s.is_none() {
                return Cooling::Under {
                    to: leg.to,
                    left_s: leg.by_s - now_s,
                };
            }
        }
        Cooling::Cold
    }
}
