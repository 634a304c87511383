//! A vessel from above, as the cook stands before it: back at the top. A marked piece has
//! a double frame and says which side is down.

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use crate::kitchen::whereabouts::Side;
use crate::kitchen::{MarkView, VesselView};

use super::{Drawn, INK, SOFT, draw, font};

const CELL: (i32, i32) = (104, 62);
const TOP: i32 = 24;

pub fn svg(vessel: &VesselView, marks: &[MarkView]) -> Drawn {
    let label = label(vessel, marks);
    let marked = |names: &[String]| -> Option<MarkView> {
        marks
            .iter()
            .find(|m| m.vessel.as_ref() == Some(&vessel.id) && names.contains(&m.name))
            .cloned()
    };
    let rows = match vessel.grid {
        Some((rows, columns)) if !vessel.stacked => (i32::from(rows), i32::from(columns)),
        // A clock face is read off in two rows of six.
        None if !vessel.stacked => (2, 6),
        _ => (1, 1),
    };
    let extra = i32::from(!vessel.somewhere.is_empty()) * 20;
    let size = (
        (rows.1 * CELL.0 + 8) as u32,
        (rows.0 * CELL.1 + TOP + 8 + extra) as u32,
    );
    let size = (size.0.max(190), size.1);
    draw(size, &label, |area| {
        let left = Pos::new(HPos::Left, VPos::Top);
        let title = match vessel.stacked {
            true => format!("{} (stacked)", vessel.name),
            false => vessel.name.clone(),
        };
        area.draw(&Text::new(title, (4, 2), font(16).color(&INK).pos(left)))?;
        let cells: Vec<Vec<String>> = if vessel.stacked {
            vec![vessel.places.iter().flat_map(|p| p.1.clone()).collect()]
        } else {
            vessel.places.iter().map(|p| p.1.clone()).collect()
        };
        for (n, names) in cells.iter().enumerate() {
            let n = n as i32;
            let (r, c) = (n / rows.1, n % rows.1);
            let at = (4 + c * CELL.0, TOP + r * CELL.1);
            cell(area, at, names, marked(names).as_ref())?;
        }
        if extra > 0 {
            let text = format!("not sure where: {}", vessel.somewhere.join(", "));
            let at = (4, TOP + rows.0 * CELL.1 + 4);
            let left = Pos::new(HPos::Left, VPos::Top);
            area.draw(&Text::new(text, at, font(13).color(&INK).pos(left)))?;
        }
        Ok(())
    })
}

fn cell(
    area: &DrawingArea<SVGBackend<'_>, plotters::coord::Shift>,
    (x, y): (i32, i32),
    names: &[String],
    mark: Option<&MarkView>,
) -> Result<(), Box<dyn std::error::Error>> {
    // A path, since the library draws every rectangle with a hairline.
    let frame = |inset: i32, width: u32| {
        let (l, t) = (x + inset, y + inset);
        let (r, b) = (x + CELL.0 - inset, y + CELL.1 - inset);
        let round = vec![(l, t), (r, t), (r, b), (l, b), (l, t)];
        PathElement::new(round, INK.stroke_width(width))
    };
    area.draw(&frame(1, 1))?;
    let centre = Pos::new(HPos::Center, VPos::Center);
    let middle = (x + CELL.0 / 2, y + CELL.1 / 2);
    if names.is_empty() {
        let style = font(15).color(&SOFT).pos(centre);
        area.draw(&Text::new("·", middle, style))?;
        return Ok(());
    }
    let mut lines = wrapped(&counted(names));
    if let Some(mark) = mark {
        area.draw(&frame(5, 3))?;
        lines.truncate(2);
        match mark.side {
            Side::First => lines.push("1st side down".to_owned()),
            Side::Second => lines.push("2nd side down".to_owned()),
            Side::Unsure => lines.push("side not sure".to_owned()),
        }
    }
    lines.truncate(3);
    let first = middle.1 - 7 * (lines.len() as i32 - 1);
    for (n, line) in lines.into_iter().enumerate() {
        let style = font(14).color(&INK).pos(centre);
        area.draw(&Text::new(line, (middle.0, first + 14 * n as i32), style))?;
    }
    Ok(())
}

/// Like names once, with their number.
fn counted(names: &[String]) -> String {
    let mut out: Vec<(&str, usize)> = Vec::new();
    for name in names {
        match out.iter_mut().find(|(n, _)| n == name) {
            Some((_, n)) => *n += 1,
            None => out.push((name, 1)),
        }
    }
    out.iter()
        .map(|(name, n)| match n {
            1 => (*name).to_owned(),
            n => format!("{n} × {name}"),
        })
        .collect::<Vec<_>>()
        .join(", ")
}

/// Lines of at most fifteen letters, three of them; the whole text is in the label.
fn wrapped(text: &str) -> Vec<String> {
    const MOST: usize = 15;
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let fits = lines
            .last()
            .is_some_and(|l| l.chars().count() + 1 + word.chars().count() <= MOST);
        match lines.last_mut().filter(|_| fits) {
            Some(line) => {
                line.push(' ');
                line.push_str(word);
            }
            None => lines.push(word.chars().take(MOST).collect()),
        }
    }
    lines
}

/// The map in words.
fn label(vessel: &VesselView, marks: &[MarkView]) -> String {
    let places: Vec<String> = vessel
        .places
        .iter()
        .filter(|(_, names)| !names.is_empty())
        .map(|(place, names)| match place {
            Some(place) => format!(
                "{}: {}",
                crate::record::names::place(*place, vessel.grid),
                counted(names)
            ),
            None => counted(names),
        })
        .collect();
    let mut label = format!("{}: {}", vessel.name, places.join("; "));
    if places.is_empty() && vessel.somewhere.is_empty() {
        label.push_str("empty");
    }
    if !vessel.somewhere.is_empty() {
        label.push_str(&format!("; not sure where: {}", counted(&vessel.somewhere)));
    }
    for mark in marks {
        if mark.vessel.as_ref() == Some(&vessel.id) {
            let side = match mark.side {
                Side::First => "first side down",
                Side::Second => "second side down",
                Side::Unsure => "side not sure",
            };
            label.push_str(&format!("; {}: {side}", mark.name));
        }
    }
    label
}
