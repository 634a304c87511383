//! The single words of a tag → their values.

use super::{Result, no};
use crate::grammar::call::{Heat, ReadingKind, Turn};
use crate::plan::Place;
use crate::tasting::Test;

pub(super) fn small(text: &str, from: u8, to: u8) -> Result<u8> {
    match text.parse::<u8>() {
        Ok(n) if (from..=to).contains(&n) => Ok(n),
        _ => no(format!("{text:?} is not {from} to {to}")),
    }
}

pub(super) fn flag(text: &str, yes: &str, not: &str) -> Result<bool> {
    match text {
        t if t == yes => Ok(true),
        t if t == not => Ok(false),
        _ => no(format!("{text:?} is neither {yes:?} nor {not:?}")),
    }
}

pub(super) fn place(text: &str) -> Result<Place> {
    Ok(match text {
        "left" => Place::Left,
        "right" => Place::Right,
        "front" => Place::Front,
        "back" => Place::Back,
        "middle" => Place::Middle,
        _ => return no(format!("unknown place {text:?}")),
    })
}

pub(super) fn test(text: &str) -> Result<Test> {
    Ok(match text {
        "triangle" => Test::Triangle,
        "duo_trio" => Test::DuoTrio,
        "preference" => Test::PairedPreference,
        "difference" => Test::PairedDifference,
        _ => return no(format!("unknown test {text:?}")),
    })
}

pub(super) fn turn(text: &str) -> Result<Turn> {
    Ok(match text {
        "half" => Turn::Half,
        "quarter" => Turn::Quarter,
        "quarter_clockwise" => Turn::QuarterClockwise,
        "quarter_counterclockwise" => Turn::QuarterCounterclockwise,
        _ => return no(format!("unknown turn {text:?}")),
    })
}

pub(super) fn level(text: &str) -> Result<Heat> {
    Ok(match text {
        "off" => Heat::Off,
        "low" => Heat::Low,
        "medium_low" => Heat::MediumLow,
        "medium" => Heat::Medium,
        "medium_high" => Heat::MediumHigh,
        "high" => Heat::High,
        "up" => Heat::Up,
        "down" => Heat::Down,
        _ => return no(format!("unknown level {text:?}")),
    })
}

pub(super) fn kind(text: &str) -> Result<ReadingKind> {
    Ok(match text {
        "" => ReadingKind::Unstated,
        "core" => ReadingKind::Core,
        "medium" => ReadingKind::Medium,
        "ice" => ReadingKind::Ice,
        "boil" => ReadingKind::Boil,
        _ => return no(format!("unknown kind of reading {text:?}")),
    })
}
