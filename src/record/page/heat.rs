//! Readings with their curves, and what was done to the heat.

use maud::{Markup, html};

use crate::kitchen::Measured;
use crate::plan::{Celsius, Id};
use crate::record::judged;
use crate::record::names::Names;
use crate::record::plot::curve::{Curve, Point, Series};
use crate::record::plot::minutes;
use crate::record::story::{ReadingRow, Story};
use crate::record::written;

use super::{figure, kind, table, text};

pub fn section(story: &Story) -> Option<Markup> {
    if story.readings.is_empty() {
        return None;
    }
    let names = Names::of(&story.plan);
    let mut curves = Vec::new();
    for vessel in vessels(story) {
        for kind in [Measured::Core, Measured::Medium] {
            let curve = curve(story, vessel.as_ref(), kind, &names);
            if !curve.is_empty() {
                curves.push(curve);
            }
        }
    }
    let rows: Vec<_> = story
        .readings
        .iter()
        .map(|r| (false, row(story, r, &names)))
        .collect();
    Some(html! {
        @for curve in &curves {
            h3 { (curve.label) }
            (figure(curve.svg(), Some(&caption(curve))))
        }
        (table(&["#At", "Vessel", "Piece", "Of", "#Called", "#Target", "Believed", "Remarks"], &rows))
    })
}

fn row(story: &Story, r: &ReadingRow, names: &Names) -> Vec<Markup> {
    let degrees = |c: Celsius| written::degrees(c, story.units);
    let unit = written::unit(r.called_in);
    let called = if r.called.lo == r.called.hi {
        format!("{} {unit}", r.called.lo)
    } else {
        format!("{} to {} {unit}", r.called.lo, r.called.hi)
    };
    let target = match (r.kind, r.target, r.window) {
        (Measured::Core, Some(target), _) => written::temperature(target, story.units),
        (Measured::Medium, _, Some(w)) => format!(
            "{} to {}",
            degrees(w.lo),
            written::temperature(w.hi, story.units)
        ),
        _ => String::new(),
    };
    let believed = story
        .judged
        .believed
        .iter()
        .find(|b| b.at == r.at && Some(&b.vessel) == r.vessel.as_ref())
        .map(|b| {
            format!(
                "{} ({} to {})",
                written::temperature(b.core, story.units),
                degrees(b.low),
                degrees(b.high)
            )
        })
        .unwrap_or_default();
    let mut remarks = Vec::new();
    if let Some(first) = r.first {
        let first = if first.lo == first.hi {
            first.lo.to_string()
        } else {
            format!("{} to {}", first.lo, first.hi)
        };
        remarks.push(format!("first understood as {first}, corrected"));
    }
    if r.offset_c != 0.0 {
        let by = match story.units {
            crate::plan::Units::Fahrenheit => r.offset_c * 1.8,
            crate::plan::Units::Celsius => r.offset_c,
        };
        let unit = written::unit(story.units);
        remarks.push(format!("taken as {by:+.1} {unit}, since the probe is off"));
    }
    if let Some(why) = story.judged.why(r.number) {
        remarks.push(format!("not believed: {why}"));
    }
    vec![
        text(written::time(r.at.0)),
        text(
            r.vessel
                .as_deref()
                .map(|v| names.name(v))
                .unwrap_or_default(),
        ),
        text(r.piece.clone().unwrap_or_default()),
        text(kind(r.kind)),
        text(called),
        text(target),
        text(believed),
        text(remarks.join("; ")),
    ]
}

/// Every vessel that was read, in the order of the first reading; readings without one last.
pub fn vessels(story: &Story) -> Vec<Option<Id>> {
    let mut all: Vec<Option<Id>> = Vec::new();
    for r in &story.readings {
        if !all.contains(&r.vessel) {
            all.push(r.vessel.clone());
        }
    }
    all
}

/// The readings of one kind in one vessel.
pub fn curve(story: &Story, vessel: Option<&Id>, of: Measured, names: &Names) -> Curve {
    let units = story.units;
    let value = |c: Celsius| written::in_units(c, units);
    let readings: Vec<&ReadingRow> = story
        .readings
        .iter()
        .filter(|r| r.vessel.as_ref() == vessel && r.kind == of)
        .collect();
    let points = readings.iter().map(|r| Point {
        at: minutes(r.at.0),
        low: value(Celsius(r.celsius.lo.0 + r.offset_c)),
        high: value(Celsius(r.celsius.hi.0 + r.offset_c)),
        flagged: story.judged.why(r.number).is_some(),
    });
    let believed = story
        .judged
        .believed
        .iter()
        .filter(|b| of == Measured::Core && Some(&b.vessel) == vessel)
        .map(|b| (minutes(b.at.0), value(b.low), value(b.core), value(b.high)));
    let place = vessel.map_or("no vessel".to_owned(), |v| names.name(v));
    let target = readings.iter().rev().find_map(|r| r.target);
    let window = readings.iter().rev().find_map(|r| r.window);
    let deeds = story
        .stove
        .iter()
        .filter(|s| s.vessel.as_ref() == vessel)
        .map(|s| (minutes(s.at.0), s.what.clone()));
    Curve {
        label: format!("{place}: {} readings", kind(of)),
        time: "since the cook began".to_owned(),
        unit: written::unit(units).to_owned(),
        series: vec![Series {
            name: String::new(),
            points: points.collect(),
            believed: believed.collect(),
        }],
        target: target.filter(|_| of == Measured::Core).map(|t| {
            (
                value(t),
                format!("target {}", written::temperature(t, units)),
            )
        }),
        safe: safe(story, &readings)
            .filter(|_| of == Measured::Core)
            .map(|t| {
                let words = format!("published minimum {}", written::temperature(t, units));
                (value(t), words)
            }),
        window: window
            .filter(|_| of == Measured::Medium)
            .map(|w| (value(w.lo), value(w.hi))),
        deeds: deeds.collect(),
    }
}

/// The highest minimum of what the steps of these readings cook.
fn safe(story: &Story, readings: &[&ReadingRow]) -> Option<Celsius> {
    readings
        .iter()
        .filter_map(|r| {
            let id = r.step.as_ref()?;
            let step = story.plan.steps.iter().find(|s| s.id == *id)?;
            Some(judged::asked(judged::item(story, step)?.class)?.core)
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))
}

fn caption(curve: &Curve) -> String {
    let mut parts = vec!["Dots: as called, with what the probe is off."];
    if curve
        .series
        .iter()
        .any(|s| s.points.iter().any(|p| p.flagged))
    {
        parts.push("Crosses: not believed.");
    }
    if curve.series.iter().any(|s| !s.believed.is_empty()) {
        parts.push("Grey bars: where the core is believed to be, four times of five.");
    }
    if curve.target.is_some() {
        parts.push("Dashed: the target.");
    }
    if curve.safe.is_some() {
        parts.push("Dotted: the published minimum for this food; local codes come first.");
    }
    if curve.window.is_some() {
        parts.push("Grey band: the window of the plan.");
    }
    if !curve.deeds.is_empty() {
        parts.push("Upright lines: what was done to the heat, the lid or the oil.");
    }
    parts.join(" ")
}

pub fn stove(story: &Story) -> Option<Markup> {
    if story.stove.is_empty() {
        return None;
    }
    let names = Names::of(&story.plan);
    let rows: Vec<_> = story
        .stove
        .iter()
        .map(|s| {
            let vessel = s.vessel.as_deref().map(|v| names.name(v));
            let cells = vec![
                text(written::time(s.at.0)),
                text(vessel.unwrap_or_default()),
                text(&s.what),
            ];
            (false, cells)
        })
        .collect();
    Some(table(&["#At", "Vessel", "What was done"], &rows))
}
