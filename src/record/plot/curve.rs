//! Temperatures over time.

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::{Drawn, INK, PALE, SOFT, draw, font};

/// Everything that one plot shows; times in minutes, temperatures in the plan's unit.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Curve {
    pub label: String,
    pub time: String,
    pub unit: String,
    pub series: Vec<Series>,
    /// Dashed: a value to reach.
    pub target: Option<(f64, String)>,
    /// Dotted: the published minimum.
    pub safe: Option<(f64, String)>,
    /// A range to stay in.
    pub window: Option<(f64, f64)>,
    /// What was done, as a line down the plot.
    pub deeds: Vec<(f64, String)>,
}

#[derive(Debug, Clone, Default, PartialEq)]
pub struct Series {
    pub name: String,
    pub points: Vec<Point>,
    /// An interval at each of some times: time, low, middle, high.
    pub believed: Vec<(f64, f64, f64, f64)>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    pub at: f64,
    pub low: f64,
    pub high: f64,
    /// Not believed: drawn as a cross, and no line goes through it.
    pub flagged: bool,
}

const SIZE: (u32, u32) = (760, 340);

impl Curve {
    /// Whether there is anything to draw.
    pub fn is_empty(&self) -> bool {
        self.series.iter().all(|s| s.points.is_empty())
    }

    pub fn svg(&self) -> Drawn {
        draw(SIZE, &self.label, |area| self.on(area))
    }

    fn spans(&self) -> ((f64, f64), (f64, f64)) {
        let points = || self.series.iter().flat_map(|s| &s.points);
        let believed = || self.series.iter().flat_map(|s| &s.believed);
        let times = points()
            .map(|p| p.at)
            .chain(believed().map(|b| b.0))
            .chain(self.deeds.iter().map(|d| d.0));
        let values = points()
            .flat_map(|p| [p.low, p.high])
            .chain(believed().flat_map(|b| [b.1, b.3]))
            .chain(self.target.iter().map(|t| t.0))
            .chain(self.safe.iter().map(|t| t.0))
            .chain(self.window.iter().flat_map(|w| [w.0, w.1]));
        (padded(times, 0.04, 5.0), padded(values, 0.12, 4.0))
    }

    fn on(
        &self,
        area: &DrawingArea<SVGBackend<'_>, plotters::coord::Shift>,
    ) -> Result<(), Box<dyn std::error::Error>> {
        let ((t0, t1), (v0, v1)) = self.spans();
        let mut chart = ChartBuilder::on(area)
            .margin(8)
            .margin_right(16)
            .margin_top(30)
            .x_label_area_size(40)
            .y_label_area_size(52)
            .build_cartesian_2d(t0..t1, v0..v1)?;
        if let Some((low, high)) = self.window {
            chart.draw_series([Rectangle::new([(t0, low), (t1, high)], PALE.filled())])?;
        }
        chart
            .configure_mesh()
            .disable_x_mesh()
            .light_line_style(TRANSPARENT)
            .bold_line_style(SOFT.mix(0.25))
            .axis_style(INK)
            .x_desc(format!("hours and minutes {}", self.time))
            .y_desc(self.unit.as_str())
            .x_label_formatter(&|x| clock(*x))
            .y_label_formatter(&|y| tick(*y))
            .label_style(font(15))
            .axis_desc_style(font(15))
            .draw()?;
        let words = |size| font(size).color(&INK);
        if let Some((value, name)) = &self.target {
            let ends = [(t0, *value), (t1, *value)];
            chart.draw_series(DashedLineSeries::new(ends, 9, 5, INK.stroke_width(2)))?;
            let style = words(14).pos(Pos::new(HPos::Left, VPos::Bottom));
            chart.draw_series([Text::new(name.clone(), (t0, *value), style)])?;
        }
        if let Some((value, name)) = &self.safe {
            let ends = [(t0, *value), (t1, *value)];
            chart.draw_series(DashedLineSeries::new(ends, 2, 4, INK.stroke_width(2)))?;
            let style = words(14).pos(Pos::new(HPos::Right, VPos::Bottom));
            chart.draw_series([Text::new(name.clone(), (t1, *value), style)])?;
        }
        for (n, (at, name)) in self.deeds.iter().enumerate() {
            let ends = [(*at, v0), (*at, v1)];
            chart.draw_series(DashedLineSeries::new(ends, 4, 3, SOFT.stroke_width(1)))?;
            // Neighbours stand on two heights, so that their words do not lie on one another.
            let x = chart.backend_coord(&(*at, v1)).0;
            let y = if n % 2 == 0 { 4 } else { 17 };
            let anchor = match x {
                x if x > 660 => HPos::Right,
                x if x < 100 => HPos::Left,
                _ => HPos::Center,
            };
            let style = words(13).pos(Pos::new(anchor, VPos::Top));
            area.draw(&Text::new(name.clone(), (x, y), style))?;
        }
        for (n, series) in self.series.iter().enumerate() {
            for (at, low, middle, high) in &series.believed {
                let bar = vec![(*at, *low), (*at, *high)];
                chart.draw_series([PathElement::new(bar, SOFT.stroke_width(5))])?;
                chart.draw_series([Circle::new((*at, *middle), 2, WHITE.filled())])?;
            }
            let line: Vec<(f64, f64)> = series
                .points
                .iter()
                .filter(|p| !p.flagged)
                .map(|p| (p.at, (p.low + p.high) / 2.0))
                .collect();
            match n {
                0 => {
                    chart.draw_series(LineSeries::new(line, SOFT.stroke_width(1)))?;
                }
                _ => {
                    chart.draw_series(DashedLineSeries::new(line, 6, 4, SOFT.stroke_width(1)))?;
                }
            }
            for p in &series.points {
                let at = (p.at, (p.low + p.high) / 2.0);
                if p.low < p.high {
                    let range = vec![(p.at, p.low), (p.at, p.high)];
                    chart.draw_series([PathElement::new(range, INK.stroke_width(2))])?;
                }
                match (p.flagged, n) {
                    (true, _) => {
                        chart.draw_series([Cross::new(at, 6, INK.stroke_width(2))])?;
                    }
                    (false, 0) => {
                        chart.draw_series([Circle::new(at, 4, INK.filled())])?;
                    }
                    (false, 1) => {
                        chart.draw_series([Circle::new(at, 5, INK.stroke_width(2))])?;
                    }
                    (false, _) => {
                        chart.draw_series([TriangleMarker::new(at, 6, INK.filled())])?;
                    }
                }
            }
        }
        Ok(())
    }
}

/// A span around all values with some air, at least `least` wide.
fn padded(values: impl Iterator<Item = f64>, air: f64, least: f64) -> (f64, f64) {
    let (low, high) = values
        .filter(|v| v.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
            (l.min(v), h.max(v))
        });
    if low > high {
        return (0.0, 1.0);
    }
    let air = ((high - low) * air).max(least / 2.0);
    (low - air, high + air)
}

/// Minutes as `h:mm`, with seconds where a tick falls between minutes.
fn clock(minutes: f64) -> String {
    let s = (minutes * 60.0).round() as i64;
    let sign = if s < 0 { "\u{2212}" } else { "" };
    let s = s.abs();
    match s % 60 {
        0 => format!("{sign}{}:{:02}", s / 3600, s / 60 % 60),
        part => format!("{sign}{}:{:02}:{part:02}", s / 3600, s / 60 % 60),
    }
}

fn tick(value: f64) -> String {
    crate::plan::show::decimal(value, 1)
}
