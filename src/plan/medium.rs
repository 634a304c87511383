//! What a vessel's medium may not do: the oil that is in it, where that begins to smoke,
//! and the temperature that it must never pass.

use super::model::{Celsius, Span};
use super::names::short;
use super::problem::{Desk, Fault};
use super::quantity::{self, Reading};
use super::table::Table;
use super::things::{in_sense, words};
use crate::doneness::{smoke, smokes};

/// The oil by its name, where it smokes, and the limit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Medium {
    pub oil: Option<String>,
    /// The plan's own range, or the one of the table for its oil.
    pub smoke: Option<Span<Celsius>>,
    pub limit: Option<Celsius>,
}

pub(super) fn medium(table: &mut Table<'_>, desk: &mut Desk<'_>) -> Medium {
    let oil = words(table, "oil", desk);
    let at = desk.marks.nearest(&table.path_of("oil"));
    let own = own_range(table, desk);
    let limit = table.read("limit", desk, |text| {
        in_sense(
            text,
            30.0,
            280.0,
            "what the oil or the water must never pass, such as 375 F or 190 C",
        )
    });
    let known = oil.as_deref().and_then(smoke).map(|s| s.range);
    if let (Some(oil), None, false) = (&oil, known, table.has("smoke")) {
        desk.problem(
            at,
            format!("no smoke range is known for the oil `{}`", short(oil)),
            format!(
                "its own range beside it, `smoke: 400 F .. 450 F`; or one of {}",
                known_oils()
            ),
        );
    }
    Medium {
        oil,
        smoke: own.or(known),
        limit,
    }
}

/// Short enough for one line: what is known unrefined comes last, under one word.
fn known_oils() -> String {
    let of = |raw: bool| -> Vec<&str> {
        smokes()
            .iter()
            .filter(|s| s.oil.starts_with(UNREFINED) == raw)
            .map(|s| s.oil.trim_start_matches(UNREFINED))
            .collect()
    };
    format!(
        "{}; {UNREFINED}{}",
        of(false).join(", "),
        of(true).join(", ")
    )
}

const UNREFINED: &str = "unrefined ";

/// `smoke: 400 F .. 450 F`, or its two ends as a list.
fn own_range(table: &mut Table<'_>, desk: &mut Desk<'_>) -> Option<Span<Celsius>> {
    let texts = table.texts("smoke", desk);
    let (first, at) = texts.first()?.clone();
    let joined = match texts.as_slice() {
        [_] => first,
        [(lo, _), (hi, _)] => format!("{lo} .. {hi}"),
        _ => {
            desk.problem(
                at,
                "`smoke` has more than two ends",
                "where it begins to smoke, at least and at most: 400 F .. 450 F",
            );
            return None;
        }
    };
    match range(&joined) {
        Ok(range) => Some(range),
        Err(fault) => {
            desk.problem(at, format!("`smoke`: {}", fault.what), fault.write_instead);
            None
        }
    }
}

fn range(text: &str) -> Reading<Span<Celsius>> {
    let range = quantity::temperature_span(text)?;
    // The least and the most that any table has, with room to spare.
    if range.lo.0 < 90.0 || range.hi.0 > 300.0 {
        return Err(Fault::new(
            format!("no oil begins to smoke at `{}`", short(text)),
            "a range between 90 C and 300 C, such as 400 F .. 450 F",
        ));
    }
    Ok(range)
}
