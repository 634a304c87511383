//! Amounts back into the words of the plan language, so that what `check` prints
//! could be written into a plan.

use std::time::Duration;

use super::model::{Celsius, Span, Units};

/// `1 h 30 min`, `90 s` as `1 min 30 s`, `0 s`; parts of a second only when there are some.
pub fn duration(value: Duration) -> String {
    let ms = value.as_millis();
    let (d, h, min) = (ms / 86_400_000, ms / 3_600_000 % 24, ms / 60_000 % 60);
    let ms = ms % 60_000;
    let s = match ms % 1000 {
        0 => format!("{} s", ms / 1000),
        part => format!("{}.{part:03} s", ms / 1000),
    };
    // Cooks say "36 h" of a brine, not "1 d 12 h".
    let (d, h) = if d < 3 { (0, h + 24 * d) } else { (d, h) };
    let mut parts = Vec::new();
    for (n, unit) in [(d, "d"), (h, "h"), (min, "min")] {
        if n > 0 {
            parts.push(format!("{n} {unit}"));
        }
    }
    if ms > 0 || parts.is_empty() {
        parts.push(s);
    }
    parts.join(" ")
}

/// `145 F`, `62.8 C`: to a tenth of a degree, as a probe shows it.
pub fn temperature(value: Celsius, units: Units) -> String {
    match units {
        Units::Fahrenheit => format!("{} F", decimal(value.0 * 1.8 + 32.0, 1)),
        Units::Celsius => format!("{} C", decimal(value.0, 1)),
    }
}

/// Grams up to a kilogram, kilograms from there on.
pub fn mass(grams: f64) -> String {
    if grams < 1000.0 {
        format!("{} g", decimal(grams, 1))
    } else {
        format!("{} kg", decimal(grams / 1000.0, 3))
    }
}

/// Inches where the plan speaks Fahrenheit, millimetres elsewhere.
pub fn length(mm: f64, units: Units) -> String {
    match units {
        Units::Fahrenheit => format!("{} in", decimal(mm / 25.4, 2)),
        Units::Celsius => format!("{} mm", decimal(mm, 1)),
    }
}

pub fn span<T: PartialEq + Copy>(value: Span<T>, one: impl Fn(T) -> String) -> String {
    if value.lo == value.hi {
        one(value.lo)
    } else {
        format!("{} .. {}", one(value.lo), one(value.hi))
    }
}

/// At most `places` decimals, none of them a trailing zero.
pub fn decimal(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let text = match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.'),
        false => &text,
    };
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}
