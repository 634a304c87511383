//! Times, lengths and temperatures as the record writes them.

use std::time::Duration;

use crate::plan::{Celsius, Units, show};

/// Cook time as `h:mm:ss`.
pub fn time(ms: i64) -> String {
    let sign = if ms < 0 { "-" } else { "" };
    let s = ms.unsigned_abs() / 1000;
    format!("{sign}{}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)
}

/// A length in the plan's own words, to the second: `1 h 30 min`.
pub fn length(ms: i64) -> String {
    let rounded = (ms.unsigned_abs() + 500) / 1000 * 1000;
    let sign = if ms < 0 { "-" } else { "" };
    format!("{sign}{}", show::duration(Duration::from_millis(rounded)))
}

/// A difference with its sign: `+8 min`; `as planned` below half a minute.
pub fn difference(ms: i64) -> String {
    if ms.abs() < 30_000 {
        return "same".to_owned();
    }
    let sign = if ms < 0 { "\u{2212}" } else { "+" };
    format!("{sign}{}", length(ms.abs()))
}

/// `145 °F`, to a tenth.
pub fn temperature(value: Celsius, units: Units) -> String {
    format!("{} {}", degrees(value, units), unit(units))
}

/// The figure without its unit.
pub fn degrees(value: Celsius, units: Units) -> String {
    show::decimal(in_units(value, units), 1)
}

pub fn in_units(value: Celsius, units: Units) -> f64 {
    match units {
        Units::Fahrenheit => value.0 * 1.8 + 32.0,
        Units::Celsius => value.0,
    }
}

pub fn unit(units: Units) -> &'static str {
    match units {
        Units::Fahrenheit => "°F",
        Units::Celsius => "°C",
    }
}
