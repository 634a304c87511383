//! Cooks of one plan side by side: what was done differently.

use maud::{Markup, html};

use crate::kitchen::Measured;
use crate::plan::{Celsius, Id};

use super::page::{figure, table, text};
use super::plot::curve::{Curve, Point, Series};
use super::plot::{minutes, timeline};
use super::story::{StepRow, Story};
use super::written;

/// The plan's bar and one bar a cook, for every step of any of the cooks.
pub fn bars(stories: &[Story]) -> Vec<timeline::Row> {
    rows_of(&stories.iter().collect::<Vec<_>>())
}

fn rows_of(stories: &[&Story]) -> Vec<timeline::Row> {
    steps(stories)
        .into_iter()
        .map(|(id, name)| {
            let of = |story: &Story| story.steps.iter().find(|s| s.id == id).cloned();
            let plan = stories.iter().find_map(|s| of(s)).map(|s| timeline::Bar {
                from: minutes(s.planned.from),
                to: s.planned.to.map(minutes),
                rested: s.planned.rested.map(minutes),
            });
            let mut bars = vec![plan];
            bars.extend(stories.iter().map(|story| real(story, &of(story)?)));
            timeline::Row { name, bars }
        })
        .collect()
}

fn real(story: &Story, step: &StepRow) -> Option<timeline::Bar> {
    let from = step.began?;
    let rest = story.clocks.iter().rev().find(|c| {
        c.key == crate::kitchen::ClockKey::Rest(step.id.clone()) && step.ended == Some(c.from)
    });
    Some(timeline::Bar {
        from: minutes(from.0),
        to: step
            .ended
            .or(Some(story.ending.at()))
            .map(|to| minutes(to.0)),
        rested: rest.map(|r| minutes(r.closed.unwrap_or(story.ending.at()).0)),
    })
}

/// The bars from the longest silence of the cook on, where that is most of it: after a
/// brine of thirteen hours half an hour of frying is a hair. The plan's bars are laid so
/// that its first step after the silence begins with the real one.
pub fn bars_after_the_wait(story: &Story) -> Option<Vec<timeline::Row>> {
    let end = story.ending.at();
    let calls = story.lines.iter().filter(|l| l.call.is_some());
    let mut last = crate::kitchen::At(0);
    let mut longest = (0, last);
    for at in calls.map(|l| l.at).chain([end]) {
        if at.since(last) > longest.0 {
            longest = (at.since(last), at);
        }
        last = at;
    }
    let (silence, from) = longest;
    if silence < 3_600_000 || silence * 2 < end.0 || end.since(from) < 60_000 {
        return None;
    }
    let late = |s: &&StepRow| s.began.is_some_and(|b| b >= from);
    let first = story.steps.iter().filter(late).min_by_key(|s| s.began)?;
    let shift = minutes(first.began?.since(from)) - minutes(first.planned.from);
    let moved = |bar: timeline::Bar, by: f64| timeline::Bar {
        from: bar.from + by,
        to: bar.to.map(|t| t + by),
        rested: bar.rested.map(|t| t + by),
    };
    let begin = minutes(from.0);
    let rows = rows_of(&[story]).into_iter().zip(&story.steps);
    let rows = rows.filter(|(_, step)| step.began.is_none_or(|b| b >= from));
    Some(
        rows.map(|(row, _)| timeline::Row {
            name: row.name,
            bars: row
                .bars
                .into_iter()
                .enumerate()
                .map(|(n, bar)| {
                    let bar = bar?;
                    Some(moved(bar, if n == 0 { shift } else { -begin }))
                })
                .map(|bar| bar.filter(|b| b.from >= 0.0))
                .collect(),
        })
        .collect(),
    )
}

/// Every step of any cook, in the order of the first that has it.
fn steps(stories: &[&Story]) -> Vec<(Id, String)> {
    let mut all: Vec<(Id, String)> = Vec::new();
    for story in stories {
        for step in &story.steps {
            if !all.iter().any(|(id, _)| *id == step.id) {
                all.push((step.id.clone(), step.name.clone()));
            }
        }
    }
    all
}

/// The part of the page that compares.
pub fn side_by_side(stories: &[(String, Story)]) -> Markup {
    let cooks: Vec<&Story> = stories.iter().map(|(_, s)| s).collect();
    let one_plan = cooks.windows(2).all(|w| w[0].plan.title == w[1].plan.title);
    let label = format!("Steps of {} cooks on one time line", cooks.len());
    let mut columns = vec!["Step".to_owned(), "#Planned".to_owned()];
    columns.extend((1..=cooks.len()).map(|n| format!("#Cook {n}")));
    let columns: Vec<&str> = columns.iter().map(String::as_str).collect();
    html! {
        section id="side-by-side" {
            h2 { "Side by side" }
            @if !one_plan {
                p { b { "These are cooks of different plans." } " Steps of the same name are set beside one another." }
            }
            ol {
                @for (source, story) in stories {
                    li {
                        @if let Some(began) = &story.began {
                            (began.strftime("%-d %B %Y, %H:%M").to_string()) ", "
                        }
                        (written::length(story.ending.at().0)) ", " span.soft { (source) }
                    }
                }
            }
            (figure(timeline::svg(&label, &rows_of(&cooks)), Some("Hollow: the plan. Solid: the first cook. Striped: the others.")))
            h3 { "How long each step took" }
            (table(&columns, &lengths(&cooks)))
            @let found = differences(&cooks);
            @if !found.is_empty() {
                h3 { "What was done differently" }
                ul { @for line in &found { li { (line) } } }
            }
            @for curve in curves(&cooks) {
                h3 { (curve.label) }
                (figure(curve.svg(), Some("Filled dots, solid line: the first cook. Rings: the second. Triangles: the others. Time counts from the begin of the step.")))
            }
        }
    }
}

fn lengths(cooks: &[&Story]) -> Vec<(bool, Vec<Markup>)> {
    steps(cooks)
        .into_iter()
        .map(|(id, name)| {
            let planned = cooks.iter().find_map(|story| {
                let step = story.plan.steps.iter().find(|s| s.id == id)?;
                super::planned::given(step)
            });
            let mut cells = vec![
                text(&name),
                text(planned.map_or(String::new(), |p| {
                    crate::plan::show::span(p, crate::plan::show::duration)
                })),
            ];
            let took = |story: &Story| story.steps.iter().find(|s| s.id == id)?.took();
            let first = cooks.first().and_then(|s| took(s));
            for (n, story) in cooks.iter().enumerate() {
                cells.push(match (took(story), first) {
                    (Some(t), Some(first)) if n > 0 => text(format!(
                        "{} ({})",
                        written::length(t),
                        written::difference(t - first)
                    )),
                    (Some(t), _) => text(written::length(t)),
                    (None, _) => text("not done"),
                });
            }
            (false, cells)
        })
        .collect()
}

/// In words, each later cook against the first.
fn differences(cooks: &[&Story]) -> Vec<String> {
    let Some((first, others)) = cooks.split_first() else {
        return Vec::new();
    };
    let mut lines = Vec::new();
    for (n, other) in others.iter().enumerate() {
        let cook = format!("Cook {}", n + 2);
        for (id, name) in steps(cooks) {
            let of = |story: &Story| story.steps.iter().find(|s| s.id == id).cloned();
            let (Some(a), Some(b)) = (of(first), of(other)) else {
                lines.push(format!(
                    "{cook}: the step {name} is in only one of the two plans."
                ));
                continue;
            };
            if let (Some(x), Some(y)) = (a.took(), b.took())
                && (y - x).abs() >= 60_000
                && (y - x).abs() * 10 >= x
            {
                let way = if y > x { "longer" } else { "shorter" };
                let by = written::length((y - x).abs());
                lines.push(format!("{cook}: {name} took {by} {way}."));
            }
            if a.flips != b.flips {
                lines.push(format!(
                    "{cook}: {name} was flipped {} instead of {}.",
                    times(b.flips),
                    times(a.flips)
                ));
            }
            let (x, y) = (last_core(first, &id), last_core(other, &id));
            if let (Some(x), Some(y)) = (x, y)
                && (x.0 - y.0).abs() >= 0.5
            {
                lines.push(format!(
                    "{cook}: {name} ended at a core of {} instead of {}.",
                    written::temperature(y, first.units),
                    written::temperature(x, first.units)
                ));
            }
        }
        let heat = |story: &Story| story.stove.iter().filter(|s| !s.oil).count();
        if heat(first) != heat(other) {
            lines.push(format!(
                "{cook}: heat and lid were changed {} instead of {}.",
                times(heat(other) as u32),
                times(heat(first) as u32)
            ));
        }
    }
    lines
}

fn times(n: u32) -> String {
    match n {
        0 => "not at all".to_owned(),
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        n => format!("{n} times"),
    }
}

fn last_core(story: &Story, step: &Id) -> Option<Celsius> {
    story
        .readings
        .iter()
        .rev()
        .filter(|r| story.judged.why(r.number).is_none())
        .find(|r| r.kind == Measured::Core && r.step.as_ref() == Some(step))
        .map(|r| r.celsius.lo)
}

/// Core readings of the steps that more than one cook read, from the begin of the step.
fn curves(cooks: &[&Story]) -> Vec<Curve> {
    let Some(units) = cooks.first().map(|s| s.units) else {
        return Vec::new();
    };
    let series = |story: &Story, id: &Id| {
        let began = story.steps.iter().find(|s| s.id == *id)?.began?;
        let points: Vec<Point> = story
            .readings
            .iter()
            .filter(|r| r.kind == Measured::Core && r.step.as_ref() == Some(id))
            .map(|r| Point {
                at: minutes(r.at.since(began)),
                low: written::in_units(r.celsius.lo, units),
                high: written::in_units(r.celsius.hi, units),
                flagged: story.judged.why(r.number).is_some(),
            })
            .collect();
        (!points.is_empty()).then(|| Series {
            points,
            ..Series::default()
        })
    };
    steps(cooks)
        .into_iter()
        .filter_map(|(id, name)| {
            let all: Vec<Series> = cooks.iter().filter_map(|s| series(s, &id)).collect();
            let target = cooks.iter().find_map(|story| {
                let of = |r: &&super::story::ReadingRow| r.step.as_ref() == Some(&id);
                story.readings.iter().find(of)?.target
            });
            (all.len() > 1).then(|| Curve {
                label: format!("{name}: core readings of {} cooks", all.len()),
                time: "since the step began".to_owned(),
                unit: written::unit(units).to_owned(),
                series: all,
                target: target.map(|t| {
                    let words = format!("target {}", written::temperature(t, units));
                    (written::in_units(t, units), words)
                }),
                ..Curve::default()
            })
        })
        .collect()
}
