//! Amounts as a cook writes them: `12 h .. 16 h`, `1 h 30 min`, `145 F`, `1.5 kg`, `1 1/2 in`.
//!
//! Every amount carries its unit; a bare number is refused, since a brine of
//! `12` is a different dish in hours and in days. Conversions are exact by
//! definition: 1 in = 25.4 mm, 1 lb = 453.59237 g (international yard and pound
//! agreement, 1959), F to C by (F - 32) / 1.8.

use std::time::Duration;

use super::model::{Celsius, Span};
use super::needs::Amount;
use super::problem::{Fault, nearest};
use super::units::*;

pub type Reading<T> = Result<T, Fault>;

/// `12 h`, `1 h 30 min`, `90 s`; whole milliseconds, at most 30 days.
pub fn duration(text: &str) -> Reading<Duration> {
    let ms = sum(text, &TIME)?;
    if ms > 30.0 * 86_400_000.0 {
        return Err(Fault::new(
            format!("`{}` is more than 30 days", text.trim()),
            "a shorter time, such as 12 h or 2 d",
        ));
    }
    // In range by the check above, so the cast is exact.
    Ok(Duration::from_millis(ms.round() as u64))
}

/// `12 h` or `12 h .. 16 h`.
pub fn duration_span(text: &str) -> Reading<Span<Duration>> {
    span(text, &TIME, duration)
}

/// `145 F`, `63 C`, `-18 C`; °F and °C too.
pub fn temperature(text: &str) -> Reading<Celsius> {
    let [term] = terms(text, &TEMPERATURE)?[..] else {
        return Err(Fault::new(
            format!("`{}` is not one temperature", text.trim()),
            TEMPERATURE.example,
        ));
    };
    Ok(Celsius(match term.unit {
        "F" => (term.number - 32.0) / 1.8,
        _ => term.number,
    }))
}

/// `168 C .. 172 C`; one value is a span of itself.
pub fn temperature_span(text: &str) -> Reading<Span<Celsius>> {
    span(text, &TEMPERATURE, temperature)
}

/// Grams: `250 g`, `1.5 kg`, `1 lb 4 oz`. Never zero.
pub fn mass(text: &str) -> Reading<f64> {
    more_than_nothing(text, sum(text, &MASS)?, 1e6, "1000 kg", &MASS)
}

/// Millilitres: `500 ml`, `2 l`, `1 1/2 cups`, `2 tbsp`, `3 tsp`, `1 gal` (US customary, by
/// UCUM). Never zero.
pub fn volume(text: &str) -> Reading<f64> {
    more_than_nothing(text, sum(text, &VOLUME)?, 1e6, "1000 l", &VOLUME)
}

/// A mass, a volume or a number of pieces, by its unit.
pub fn amount(text: &str) -> Reading<Amount> {
    let all = terms(text, &AMOUNT)?;
    let of = |dimension: &Dimension| {
        all.iter()
            .all(|t| dimension.units.iter().any(|u| u.1 == t.unit))
    };
    if of(&MASS) {
        mass(text).map(Amount::Mass)
    } else if of(&VOLUME) {
        volume(text).map(Amount::Volume)
    } else if of(&PIECES) {
        more_than_nothing(text, sum(text, &PIECES)?, 1e4, "10000 pieces", &PIECES)
            .map(Amount::Pieces)
    } else {
        Err(Fault::new(
            format!("`{}` mixes masses, volumes and pieces", text.trim()),
            AMOUNT.example,
        ))
    }
}

/// Millimetres: `25 mm`, `2.5 cm`, `1 1/2 in`. Never zero.
pub fn length(text: &str) -> Reading<f64> {
    more_than_nothing(text, sum(text, &LENGTH)?, 3000.0, "3 m", &LENGTH)
}

/// Millimetres, the longer side first: `20 in x 13 in`.
pub fn sides(text: &str) -> Reading<(f64, f64)> {
    let parts: Vec<&str> = text.split(['x', '×']).collect();
    let [a, b] = parts[..] else {
        return Err(Fault::new(
            format!("`{}` is not two sides", text.trim()),
            "20 in x 13 in, or 50 cm x 33 cm",
        ));
    };
    let (a, b) = (length(a)?, length(b)?);
    Ok((a.max(b), a.min(b)))
}

/// Metres above the sea: `300 m`, `5000 ft`.
pub fn altitude(text: &str) -> Reading<f64> {
    let metres = sum_signed(text, &ALTITUDE)?;
    // The Dead Sea shore and the highest town there is.
    if (-450.0..=5_500.0).contains(&metres) {
        Ok(metres)
    } else {
        Err(Fault::new(
            format!("nobody cooks at `{}`", text.trim()),
            "the height above the sea, such as 300 m or 5000 ft",
        ))
    }
}

/// `8 %` → 8.0.
pub fn percent(text: &str) -> Reading<f64> {
    let value = sum(text, &PERCENT)?;
    if value <= 100.0 {
        Ok(value)
    } else {
        Err(Fault::new(
            format!("`{}` is more than the whole", text.trim()),
            "at most 100 %",
        ))
    }
}

/// A whole number from 1 to `most`.
pub fn count(text: &str, most: u32) -> Reading<u32> {
    let text = text.trim();
    match text.parse::<i64>() {
        Ok(n) if n >= 1 && n <= i64::from(most) => Ok(n as u32),
        Ok(n) if n < 1 => Err(Fault::new(
            format!("`{text}` is none at all"),
            "1 or more, or leave the thing out",
        )),
        Ok(_) => Err(Fault::new(
            format!("`{text}` is more than {most}"),
            format!("a number from 1 to {most}"),
        )),
        Err(_) => Err(Fault::new(
            format!("`{text}` is not a whole number"),
            "digits, such as 6",
        )),
    }
}

#[derive(Debug, Clone, Copy)]
struct Term {
    number: f64,
    unit: &'static str,
    size: f64,
}

fn sum(text: &str, dimension: &Dimension) -> Reading<f64> {
    let total = sum_signed(text, dimension)?;
    if total < 0.0 {
        return Err(Fault::new(
            format!("`{}` is less than nothing", text.trim()),
            dimension.example,
        ));
    }
    Ok(total)
}

fn sum_signed(text: &str, dimension: &Dimension) -> Reading<f64> {
    let terms = terms(text, dimension)?;
    for pair in terms.windows(2) {
        if let [a, b] = pair
            && (a.size <= b.size || b.number < 0.0)
        {
            return Err(Fault::new(
                format!("`{}` has its units out of order", text.trim()),
                format!("the larger unit first: {}", dimension.example),
            ));
        }
    }
    Ok(terms.iter().map(|t| t.number * t.size).sum())
}

fn more_than_nothing(
    text: &str,
    value: f64,
    most: f64,
    most_words: &str,
    dimension: &Dimension,
) -> Reading<f64> {
    if value <= 0.0 {
        Err(Fault::new(
            format!("`{}` is nothing", text.trim()),
            dimension.example,
        ))
    } else if value > most {
        Err(Fault::new(
            format!("`{}` is more than {most_words}", text.trim()),
            dimension.example,
        ))
    } else {
        Ok(value)
    }
}

fn span<T: PartialOrd + Copy>(
    text: &str,
    dimension: &Dimension,
    one: impl Fn(&str) -> Reading<T>,
) -> Reading<Span<T>> {
    let parts: Vec<&str> = text.split("..").collect();
    match parts[..] {
        [a] => {
            if let Some((lo, hi)) = mistyped_range(a) {
                let unit = hi.trim_start_matches(|c: char| !c.is_alphabetic() && c != '°');
                let lo = if lo.ends_with(|c: char| c.is_ascii_digit()) {
                    format!("{lo} {unit}")
                } else {
                    lo.to_owned()
                };
                return Err(Fault::new(
                    format!("`{}` is not {}", text.trim(), dimension.name),
                    format!("{lo} .. {hi}"),
                ));
            }
            let value = one(a)?;
            Ok(Span {
                lo: value,
                hi: value,
            })
        }
        [a, b] => {
            let (a, b) = (a.trim(), b.trim());
            if let (Ok(_), true) = (a.parse::<f64>(), one(b).is_ok()) {
                let unit = b.trim_start_matches(|c: char| !c.is_alphabetic() && c != '°');
                return Err(Fault::new(
                    format!("`{a}` has no unit"),
                    format!("{a} {unit} .. {b}"),
                ));
            }
            let (lo, hi) = (one(a)?, one(b)?);
            if lo > hi {
                return Err(Fault::new(
                    format!("the range `{a} .. {b}` runs the wrong way round"),
                    format!("{b} .. {a}"),
                ));
            }
            Ok(Span { lo, hi })
        }
        _ => Err(Fault::new(
            format!("`{}` has more than two ends", text.trim()),
            "one range, the lesser end first",
        )),
    }
}

/// `12 - 16 h`, `12 h to 16 h`: what a cook may write for a range.
fn mistyped_range(text: &str) -> Option<(&str, &str)> {
    let text = text.trim();
    let (lo, hi) = [" to ", " - ", "–", "…", "-"]
        .iter()
        .find_map(|mark| text.split_once(mark))?;
    let (lo, hi) = (lo.trim(), hi.trim());
    let digit = |t: &str| t.starts_with(|c: char| c.is_ascii_digit());
    (digit(lo) && digit(hi)).then_some((lo, hi))
}

/// Splits `1 h 30 min` into its numbers and units.
fn terms(text: &str, dimension: &Dimension) -> Reading<Vec<Term>> {
    let text = text.trim();
    let mut rest = text;
    let mut terms = Vec::new();
    while !rest.is_empty() {
        let (number, after) = number(rest).map_err(|odd| match odd {
            Odd::Comma(with_point) => {
                Fault::new(format!("`{text}` has a decimal comma"), with_point)
            }
            Odd::NotANumber => Fault::new(
                format!("`{text}` is not {}", dimension.name),
                dimension.example,
            ),
        })?;
        let written = rest.get(..rest.len() - after.len()).unwrap_or(rest).trim();
        let after = after.trim_start();
        let end = after
            .find(|c: char| !(c.is_alphabetic() || c == '°' || c == '%'))
            .unwrap_or(after.len());
        let (word, tail) = after.split_at(end);
        let (_, unit, size) = unit(word, written, text, dimension)?;
        terms.push(Term { number, unit, size });
        rest = tail.trim_start();
    }
    if terms.is_empty() {
        return Err(Fault::new("nothing is written here", dimension.example));
    }
    Ok(terms)
}

fn unit(
    word: &str,
    number: &str,
    text: &str,
    dimension: &Dimension,
) -> Reading<(&'static str, &'static str, f64)> {
    if word.is_empty() {
        let first = dimension.units.iter().map(|u| u.1);
        let mut seen: Vec<&str> = Vec::new();
        for unit in first {
            if !seen.contains(&unit) {
                seen.push(unit);
            }
        }
        let options: Vec<String> = seen.iter().map(|u| format!("{number} {u}")).collect();
        return Err(Fault::new(
            format!("`{text}` has no unit"),
            options.join(" or "),
        ));
    }
    if let Some(found) = dimension.units.iter().find(|u| u.0 == word) {
        return Ok(*found);
    }
    if dimension.name == TIME.name && matches!(word, "m" | "M") {
        return Err(Fault::new(
            format!("`{text}`: `m` could be minutes or metres"),
            format!("{number} min"),
        ));
    }
    // `145 f`, `12 H`: the right letter in the wrong case is the only near miss of
    // a short unit; longer ones may be mistyped.
    let guess = dimension
        .units
        .iter()
        .find(|u| u.0.eq_ignore_ascii_case(word))
        .map(|u| u.0)
        .or_else(|| {
            (word.len() > 2)
                .then(|| nearest(word, dimension.units.iter().map(|u| u.0)))
                .flatten()
        });
    Err(match guess {
        Some(unit) => Fault::new(
            format!("`{text}`: `{word}` is no unit of the plan language"),
            format!("{number} {unit}"),
        ),
        None => Fault::new(
            format!("`{text}`: `{word}` is not a unit of {}", dimension.name),
            dimension.example,
        ),
    })
}

enum Odd {
    Comma(String),
    NotANumber,
}

/// `12`, `1.5`, `3/4`, `1 1/2`, `-18` at the start of `text`, and what follows.
fn number(text: &str) -> Result<(f64, &str), Odd> {
    let unsigned = text.strip_prefix('-').unwrap_or(text);
    let sign = if unsigned.len() < text.len() {
        -1.0
    } else {
        1.0
    };
    let (whole, rest) = digits(unsigned).ok_or(Odd::NotANumber)?;
    if let Some(decimals) = rest.strip_prefix(',')
        && digits(decimals).is_some()
    {
        return Err(Odd::Comma(text.replacen(',', ".", 1)));
    }
    if let Some(after) = rest.strip_prefix('.')
        && !after.starts_with('.')
    {
        let (decimals, rest) = digits(after).ok_or(Odd::NotANumber)?;
        let value = format!("{whole}.{decimals}")
            .parse::<f64>()
            .map_err(|_| Odd::NotANumber)?;
        return Ok((sign * value, rest));
    }
    let value: f64 = whole.parse().map_err(|_| Odd::NotANumber)?;
    if let Some((fraction, rest)) = fraction(rest.strip_prefix('/'), value) {
        return Ok((sign * fraction, rest));
    }
    if let Some((top, after)) = digits(rest.trim_start())
        && let Ok(top) = top.parse::<f64>()
        && let Some((fraction, rest)) = fraction(after.strip_prefix('/'), top)
    {
        return Ok((sign * (value + fraction), rest));
    }
    Ok((sign * value, rest))
}

fn fraction(below: Option<&str>, top: f64) -> Option<(f64, &str)> {
    let (bottom, rest) = digits(below?)?;
    let bottom: f64 = bottom.parse().ok()?;
    (bottom > 0.0).then(|| (top / bottom, rest))
}

/// At most nine digits, so that every number is an exact f64.
fn digits(text: &str) -> Option<(&str, &str)> {
    let end = text
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(text.len());
    (1..=9).contains(&end).then(|| text.split_at(end))
}
