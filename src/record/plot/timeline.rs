//! The planned and the real time of each step, one above the other.

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::{Drawn, INK, PALE, SOFT, axis_unit, draw, font};

/// One step: a bar for the plan and one for each cook.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    pub name: String,
    pub bars: Vec<Option<Bar>>,
}

/// Minutes since the cook began.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    pub from: f64,
    /// None where nothing says how long: an open end.
    pub to: Option<f64>,
    /// End of the rest after it.
    pub rested: Option<f64>,
}

const WIDTH: u32 = 760;
const LEFT: i32 = 170;
const BAR: i32 = 13;
const GAP: i32 = 10;

/// Draws the rows; the first bar of each is the plan's, drawn hollow.
pub fn svg(label: &str, rows: &[Row]) -> Drawn {
    let bars = rows.iter().map(|r| r.bars.len()).max().unwrap_or(1).max(1) as i32;
    let row = bars * BAR + GAP;
    let body = row * rows.len() as i32;
    let height = (body + 50) as u32;
    let end = rows
        .iter()
        .flat_map(|r| r.bars.iter().flatten())
        .flat_map(|b| [Some(b.from), b.to, b.rested])
        .flatten()
        .fold(1.0, f64::max);
    draw((WIDTH, height), label, |area| {
        let right = WIDTH as i32 - 20;
        let x = |minutes: f64| LEFT + (f64::from(right - LEFT) * minutes / end).round() as i32;
        let (unit, per) = axis_unit(end);
        let step = nice(end / per / 8.0);
        let mut at = 0.0;
        while at * per <= end + 1e-9 {
            let gx = x(at * per);
            let line = vec![(gx, 0), (gx, body)];
            area.draw(&PathElement::new(line, SOFT.mix(0.3).stroke_width(1)))?;
            let style = font(14).color(&INK).pos(Pos::new(HPos::Center, VPos::Top));
            let text = crate::plan::show::decimal(at, 2);
            area.draw(&Text::new(text, (gx, body + 6), style))?;
            at += step;
        }
        let style = font(14).color(&INK).pos(Pos::new(HPos::Center, VPos::Top));
        let axis = unit.to_owned();
        area.draw(&Text::new(axis, ((LEFT + right) / 2, body + 26), style))?;
        for (n, r) in rows.iter().enumerate() {
            let top = n as i32 * row + GAP / 2;
            let middle = top + bars * BAR / 2;
            let style = font(15)
                .color(&INK)
                .pos(Pos::new(HPos::Right, VPos::Center));
            area.draw(&Text::new(short(&r.name), (LEFT - 8, middle), style))?;
            for (k, bar) in r.bars.iter().enumerate() {
                let Some(bar) = bar else { continue };
                let y = top + k as i32 * BAR;
                one(area, bar, k, &x, y)?;
            }
        }
        Ok(())
    })
}

fn one(
    area: &DrawingArea<SVGBackend<'_>, plotters::coord::Shift>,
    bar: &Bar,
    kind: usize,
    x: &impl Fn(f64) -> i32,
    y: i32,
) -> Result<(), Box<dyn std::error::Error>> {
    let (low, high) = (y + 2, y + BAR - 2);
    let from = x(bar.from);
    let Some(to) = bar.to else {
        // An open end: a mark where it begins and a dashed line on.
        let line = [(from, (low + high) / 2), (from + 36, (low + high) / 2)];
        area.draw(&PathElement::new(
            vec![(from, low), (from, high)],
            INK.stroke_width(2),
        ))?;
        for (n, piece) in (line[0].0..line[1].0).step_by(6).enumerate() {
            if n % 2 == 0 {
                let dash = vec![(piece, line[0].1), (piece + 5, line[0].1)];
                area.draw(&PathElement::new(dash, INK.stroke_width(1)))?;
            }
        }
        return Ok(());
    };
    let to = x(to).max(from + 2);
    let body = [(from, low), (to, high)];
    match kind {
        0 => area.draw(&Rectangle::new(body, INK.stroke_width(1)))?,
        1 => area.draw(&Rectangle::new(body, INK.filled()))?,
        _ => {
            area.draw(&Rectangle::new(body, PALE.filled()))?;
            area.draw(&Rectangle::new(body, INK.stroke_width(1)))?;
            // Stripes tell the third and later cooks from the plan without a colour.
            for sx in (from..to).step_by(4 + kind) {
                let stripe = vec![(sx, high), ((sx + 4).min(to), low)];
                area.draw(&PathElement::new(stripe, INK.stroke_width(1)))?;
            }
        }
    }
    if let Some(rested) = bar.rested {
        let line = vec![(to, (low + high) / 2), (x(rested), (low + high) / 2)];
        area.draw(&PathElement::new(line, INK.stroke_width(2)))?;
    }
    Ok(())
}

/// A round step for an axis: 1, 2, 5 or 10 times a power of ten, and quarters of an hour.
fn nice(rough: f64) -> f64 {
    let power = 10f64.powf(rough.max(1e-3).log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|m| m * power)
        .find(|s| *s >= rough)
        .unwrap_or(10.0 * power)
}

/// What fits beside the bars; the whole name stands in the table.
fn short(name: &str) -> String {
    const MOST: usize = 22;
    if name.chars().count() <= MOST {
        return name.to_owned();
    }
    let cut: String = name.chars().take(MOST - 1).collect();
    format!("{}…", cut.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn axis_steps_are_round() {
        for (rough, step) in [
            (0.7, 1.0),
            (1.0, 1.0),
            (3.2, 5.0),
            (11.0, 20.0),
            (0.12, 0.2),
        ] {
            assert!(
                (nice(rough) - step).abs() < 1e-9,
                "{rough}: {}",
                nice(rough)
            );
        }
    }
}
