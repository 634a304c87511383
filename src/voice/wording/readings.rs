//! Words for temperatures.

use crate::kitchen::{Goal, Measured, Say};
use crate::plan::{Celsius, Span, Units};
use crate::voice::numbers;

use super::clocks::hours;
use super::{WordingCtx, about, cooling, doneness, sentence, sentences};

/// A number as it is read back: three digits one by one, a teen or a ten that sounds
/// like another as word and digits ("fifteen, one five"), any other as it is called.
pub fn read_back(value: f64) -> String {
    let rounded = (value * 10.0).round() / 10.0;
    if rounded.abs() >= 100.0 {
        return numbers::digits(rounded);
    }
    if numbers::sounds_like_another(rounded) {
        return format!("{}, {}", numbers::called(rounded), numbers::digits(rounded));
    }
    numbers::called(rounded)
}

pub fn read_back_span(value: Span<f64>) -> String {
    if value.lo == value.hi {
        read_back(value.lo)
    } else {
        format!("{} to {}", read_back(value.lo), read_back(value.hi))
    }
}

pub fn unit(units: Units) -> &'static str {
    match units {
        Units::Fahrenheit => "Fahrenheit",
        Units::Celsius => "Celsius",
    }
}

/// Read back with the unit that was said with it, if one was.
pub fn called_in(value: Span<f64>, said: Option<Units>) -> String {
    let said = said.map(|u| format!(" {}", unit(u))).unwrap_or_default();
    format!("{}{said}", read_back_span(value))
}

/// Read back; with what it is in the kitchen's unit where it was called in the other.
fn heard(called: Span<f64>, units: Units, celsius: Span<Celsius>, ctx: &WordingCtx) -> String {
    if units == ctx.units {
        return read_back_span(called);
    }
    let kitchens = degrees_span(celsius, ctx);
    let own = called_in(called, Some(units));
    format!("{own}, {kitchens} {}", unit(ctx.units))
}

fn in_units(value: Celsius, units: Units) -> f64 {
    match units {
        Units::Celsius => value.0,
        Units::Fahrenheit => value.0 * 1.8 + 32.0,
    }
}

/// A temperature in the kitchen's units, as called.
pub fn degrees(value: Celsius, ctx: &WordingCtx) -> String {
    numbers::called(in_units(value, ctx.units))
}

fn degrees_span(value: Span<Celsius>, ctx: &WordingCtx) -> String {
    numbers::called_range(in_units(value.lo, ctx.units), in_units(value.hi, ctx.units))
}

pub fn is_word(goal: &Goal) -> bool {
    matches!(goal, Goal::Word(_))
}

/// What ends a step: "until the core is one forty five".
pub fn goal(goal: &Goal, ctx: &WordingCtx) -> String {
    match goal {
        Goal::Core {
            target, last, left, ..
        } => {
            let left = left
                .map(|l| format!(", {}", doneness::left(&l)))
                .unwrap_or_default();
            let last = last
                .map(|l| format!(", last {}", degrees_span(l, ctx)))
                .unwrap_or_default();
            format!("until the core is {}{last}{left}", degrees(*target, ctx))
        }
        Goal::Medium { window, last, .. } => {
            let last = last
                .map(|l| format!(", last {}", degrees_span(l, ctx)))
                .unwrap_or_default();
            format!("until it is {}{last}", degrees_span(*window, ctx))
        }
        Goal::Word(word) => format!("until {word}"),
    }
}

/// How a reading stands to the goal, in few words.
fn standing(goal: &Goal, ctx: &WordingCtx) -> String {
    match goal {
        Goal::Core {
            target, met: true, ..
        } => format!("at the target of {}", degrees(*target, ctx)),
        Goal::Core { target, .. } => format!("target {}", degrees(*target, ctx)),
        Goal::Medium { met: true, .. } => "in the window".to_owned(),
        Goal::Medium { window, last, .. } => {
            let where_to = match last {
                Some(l) if l.hi.0 < window.lo.0 => "below",
                Some(l) if l.lo.0 > window.hi.0 => "above",
                _ => "across the edge of",
            };
            format!("{where_to} the window, {}", degrees_span(*window, ctx))
        }
        Goal::Word(_) => String::new(),
    }
}

pub fn word(say: &Say, ctx: &WordingCtx) -> String {
    match say {
        Say::Reading {
            called,
            units,
            celsius,
            kind,
            about,
            corrected,
            goal,
            out_to,
            remarks,
        } => {
            let number = heard(*called, *units, *celsius, ctx);
            let what = match (kind, about) {
                (Measured::Ice, _) => "ice".to_owned(),
                (Measured::Boil, _) => "boiling water".to_owned(),
                (_, Some(about)) => about.clone(),
                (Measured::Core | Measured::Cooling, None) => "core".to_owned(),
                (Measured::Medium, None) => "medium".to_owned(),
            };
            let head = if *corrected { "corrected" } else { "heard" };
            let mut parts = vec![format!("{head} {number}, {what}")];
            if let Some(goal) = goal {
                parts.push(standing(goal, ctx));
            }
            parts.extend(remarks.iter().flat_map(|r| doneness::remark(r, ctx)));
            if let Some(to) = out_to {
                parts.push(format!("out to the {to}"));
            }
            sentences(&parts)
        }
        Say::BelowMinimum {
            item,
            minimum,
            hold_ms,
            brined,
        } => doneness::below_minimum(item, *minimum, *hold_ms, *brined, ctx),
        Say::Fridge {
            item,
            out,
            so_far,
            limit,
        } => {
            let place = if *out { "out of" } else { "in" };
            let mut parts = vec![format!("{item} {place} the fridge")];
            if *so_far >= 60_000 {
                parts.push(format!("{} in the danger zone so far", about(*so_far)));
            }
            if *out {
                parts.push(format!("{} in all is the limit", hours(*limit)));
            }
            sentences(&parts)
        }
        Say::Room {
            called,
            units,
            celsius,
            limit,
        } => {
            let span = Span {
                lo: *celsius,
                hi: *celsius,
            };
            sentences(&[
                format!("heard {}, the room", heard(*called, *units, span, ctx)),
                format!("{} in the danger zone is the limit", hours(*limit)),
            ])
        }
        Say::Cooling(line) => sentence(&cooling::line(line, ctx)),
        Say::OffsetUsed { celsius } => sentence(&doneness::offset_used(*celsius, ctx)),
        Say::Believed { about, line } => doneness::believed(about, line.as_ref(), ctx),
        Say::Judged {
            about,
            piece,
            verdict: Some(verdict),
            ..
        } => {
            let asked = piece.as_ref().map(doneness::asked).unwrap_or_default();
            let verdict = doneness::verdict(about, verdict, ctx);
            format!("{} {verdict}", sentence(&asked))
        }
        Say::Judged { about, goal, .. } => match goal {
            None => sentence(&format!(
                "{about} has no temperature to reach; that is yours to judge"
            )),
            Some(g @ (Goal::Core { last: None, .. } | Goal::Medium { last: None, .. })) => {
                sentences(&[format!("{about}, no reading yet"), standing_target(g, ctx)])
            }
            Some(g) => {
                let last = match g {
                    Goal::Core { last: Some(l), .. } | Goal::Medium { last: Some(l), .. } => {
                        degrees_span(*l, ctx)
                    }
                    _ => String::new(),
                };
                sentences(&[format!("{about}, last reading {last}"), standing(g, ctx)])
            }
        },
        _ => String::new(),
    }
}

fn standing_target(goal: &Goal, ctx: &WordingCtx) -> String {
    match goal {
        Goal::Core { target, .. } => format!("target {}", degrees(*target, ctx)),
        Goal::Medium { window, .. } => format!("window {}", degrees_span(*window, ctx)),
        Goal::Word(word) => format!("until {word}"),
    }
}
