//! Fahrenheit and Celsius: exact conversion, and the rounding of a cook at a probe.

use crate::plan::{Celsius, Units};

/// °C from °F: (F − 32)/1.8, exact by definition (NIST SP 811, B.8, from memory).
pub fn from_fahrenheit(f: f64) -> Celsius {
    Celsius((f - 32.0) / 1.8)
}

/// °F.
pub fn fahrenheit(c: Celsius) -> f64 {
    c.0 * 1.8 + 32.0
}

/// A temperature in `units`.
pub fn in_units(c: Celsius, units: Units) -> f64 {
    match units {
        Units::Celsius => c.0,
        Units::Fahrenheit => fahrenheit(c),
    }
}

/// From a number in `units`.
pub fn of_units(value: f64, units: Units) -> Celsius {
    match units {
        Units::Celsius => Celsius(value),
        Units::Fahrenheit => from_fahrenheit(value),
    }
}

/// Float dust of a conversion there and back, in degrees.
const DUST: f64 = 1e-9;

/// To the whole degree, as a probe shows it; halves up.
pub fn as_read(c: Celsius, units: Units) -> i32 {
    (in_units(c, units) + 0.5 + DUST).floor() as i32
}

/// A limit that must be reached, to the whole degree and never relaxed: 165 °F is 74 °C
/// (NIST SP 811, B.7.2, from memory).
pub fn at_least(c: Celsius, units: Units) -> i32 {
    (in_units(c, units) - DUST).ceil() as i32
}

/// A reading that has to reach a limit, rounded down.
pub fn at_most(c: Celsius, units: Units) -> i32 {
    (in_units(c, units) + DUST).floor() as i32
}

/// Whether a temperature has reached a limit, whatever unit either was written in.
pub fn reached(c: Celsius, limit: Celsius) -> bool {
    c.0 >= limit.0 - DUST
}
