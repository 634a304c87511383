//! Plots as SVG, drawn with plotters. Black and white first: what differs has another
//! shape or dash, never only another grey.
//!
//! - [`curve`]: temperatures over time, with target, window and what was done to the heat
//! - [`timeline`]: the planned and the real time of each step, one above the other
//! - [`vessel`]: a vessel from above with what lies where

pub mod curve;
pub mod timeline;
pub mod vessel;

use plotters::prelude::*;
use plotters::style::FontDesc;

/// Why a plot could not be drawn, as text for the page.
pub type Drawn = Result<String, String>;

pub const INK: RGBColor = RGBColor(0, 0, 0);
pub const SOFT: RGBColor = RGBColor(90, 90, 90);
pub const PALE: RGBColor = RGBColor(222, 222, 222);

pub fn font(size: u32) -> FontDesc<'static> {
    ("sans-serif", f64::from(size)).into_font()
}

/// Draws on a canvas of this size and gives it a name for those who cannot see it.
pub fn draw(
    size: (u32, u32),
    label: &str,
    with: impl FnOnce(
        &DrawingArea<SVGBackend<'_>, plotters::coord::Shift>,
    ) -> Result<(), Box<dyn std::error::Error>>,
) -> Drawn {
    let mut svg = String::new();
    {
        let area = SVGBackend::with_string(&mut svg, size).into_drawing_area();
        with(&area).map_err(|e| e.to_string())?;
        area.present().map_err(|e| e.to_string())?;
    }
    // The page scales it, so its height in pixels goes, and its name comes.
    let (_, rest) = svg
        .split_once("viewBox=")
        .ok_or_else(|| "the plotting library wrote no SVG".to_owned())?;
    let label = maud::html! { (label) }.into_string();
    let width = size.0;
    Ok(format!(
        "<svg role=\"img\" aria-label=\"{label}\" width=\"{width}\" viewBox={rest}"
    ))
}

/// Minutes of cook time.
pub fn minutes(ms: i64) -> f64 {
    ms as f64 / 60_000.0
}

/// The unit for an axis that is so many minutes long, and how many minutes one of it is.
pub fn axis_unit(minutes: f64) -> (&'static str, f64) {
    if minutes > 240.0 {
        ("hours", 60.0)
    } else {
        ("minutes", 1.0)
    }
}
