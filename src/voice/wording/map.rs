//! The vessels and what lies where, as lines of text for a screen.

use crate::kitchen::whereabouts::Side;
use crate::kitchen::{MarkView, PlaceIn, State, VesselView};
use crate::plan::{Id, Place};

use super::choice;
use super::places::{counted, place, side};

/// A place of which nothing was told, and one at which some piece may lie.
const NOTHING: &str = "·";
const PERHAPS: &str = "?";

/// Every vessel that holds something, seen from where the cook stands. A marked piece has
/// its side where the pieces of a vessel differ in it; what is not sure is shown as that.
pub fn map(state: &State) -> String {
    let marks = state.marks();
    let mut out = String::new();
    for v in state.vessels() {
        let empty = v.somewhere.is_empty() && v.places.iter().all(|(_, p)| p.is_empty());
        if !empty {
            out.push_str(&vessel(&v, &marks));
        }
    }
    if out.is_empty() {
        out.push_str("Nothing has been placed yet.\n");
    }
    out
}

fn vessel(v: &VesselView, marks: &[MarkView]) -> String {
    let mut notes = Vec::new();
    if v.stacked {
        notes.push("stacked");
    }
    notes.extend(v.side.and_then(side));
    let mut out = v.name.clone();
    if !notes.is_empty() {
        out.push_str(&format!(" ({})", notes.join(", ")));
    }
    out.push('\n');
    let here = |names: &[String]| -> Vec<String> {
        names
            .iter()
            .map(|n| with_side(n, &v.id, v.side, marks))
            .collect()
    };
    match v.grid {
        Some((rows, columns)) if rows * columns > 1 && !v.stacked => {
            let cells: Vec<String> = v
                .places
                .iter()
                .map(|(p, names)| match (names.is_empty(), p) {
                    (false, _) => here(names).join(" + "),
                    (true, Some(p)) if v.perhaps.contains(p) => PERHAPS.to_owned(),
                    (true, _) => NOTHING.to_owned(),
                })
                .collect();
            let width = cells.iter().map(|c| c.chars().count()).max().unwrap_or(0);
            for row in cells.chunks(usize::from(columns)) {
                let row: Vec<String> = row.iter().map(|c| format!("{c:<width$}")).collect();
                out.push_str(&format!("  | {} |\n", row.join(" | ")));
            }
        }
        _ => {
            for (p, names) in v.places.iter().filter(|(_, n)| !n.is_empty()) {
                let label = p.map(|p| format!("{}: ", named(v, p))).unwrap_or_default();
                out.push_str(&format!("  {label}{}\n", counted(&here(names)).join("; ")));
            }
        }
    }
    if !v.somewhere.is_empty() {
        let names: Vec<String> = v
            .somewhere
            .iter()
            .map(|n| with_places(n, v, marks))
            .collect();
        out.push_str(&format!(
            "  not sure where: {}\n",
            counted(&names).join("; ")
        ));
    }
    out
}

fn named(v: &VesselView, p: Place) -> String {
    let (rows, columns) = v.grid.unwrap_or((0, 0));
    place(&PlaceIn {
        place: p,
        rows,
        columns,
    })
}

/// "test chop (second side down)", where its vessel does not say it for all.
fn with_side(name: &str, vessel: &Id, of_all: Option<Side>, marks: &[MarkView]) -> String {
    let mark = marks
        .iter()
        .find(|m| m.name == name && m.vessel.as_ref() == Some(vessel));
    match mark.and_then(|m| side(m.side)).filter(|_| of_all.is_none()) {
        Some(side) if mark.is_some_and(|m| m.turned_over) => format!("{name} ({side})"),
        _ => name.to_owned(),
    }
}

/// "test chop (back left or front left)", where it is one of a few.
fn with_places(name: &str, v: &VesselView, marks: &[MarkView]) -> String {
    let perhaps = marks
        .iter()
        .find(|m| m.name == name)
        .map(|m| m.perhaps.as_slice())
        .unwrap_or_default();
    match perhaps {
        [] => name.to_owned(),
        many if many.len() > 3 || v.stacked => name.to_owned(),
        few => {
            let names: Vec<String> = few.iter().map(|p| named(v, *p)).collect();
            format!("{name} ({})", choice(&names))
        }
    }
}
