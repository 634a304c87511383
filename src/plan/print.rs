//! A plan as a cook would read it from a sheet on the wall.

use std::time::Duration;

use super::aims;
use super::model::*;
use super::print_things::{of_item, of_sample, of_vessel};
use super::show;
use crate::tasting::Test;

/// The whole plan as plain text, lines of at most 80 columns where words allow it.
/// Times are counted from the beginning of the cook (`T+12 h`).
pub fn print(plan: &Plan) -> String {
    let mut page = Page::default();
    page.line(0, &plan.title);
    page.line(0, &heading(plan));
    for line in of_hearing(&plan.hearing) {
        page.line(0, &line);
    }
    if !plan.items.is_empty() {
        page.line(0, "");
        page.line(0, "What is cooked");
        for item in &plan.items {
            page.line(1, &of_item(item, plan.units));
            if let Some(minimum) = aims::minimum(item, plan) {
                page.line(2, &minimum);
            }
            for sample in plan.samples.iter().filter(|s| s.of == item.id) {
                page.line(2, &of_sample(sample));
            }
        }
    }
    if !plan.vessels.is_empty() {
        page.line(0, "");
        page.line(0, "What it is cooked in");
        for vessel in &plan.vessels {
            page.line(1, &of_vessel(vessel, plan.units));
        }
    }
    page.line(0, "");
    page.line(0, "Steps");
    let times = begins(plan);
    for (index, (step, begins)) in plan.steps.iter().zip(&times).enumerate() {
        page.line(0, "");
        page.line(
            1,
            &format!("{}. {} ({begins})", index + 1, called(&step.names)),
        );
        for line in of_step(step, plan) {
            page.line(2, &line);
        }
    }
    if let Some(tasting) = &plan.tasting {
        page.line(0, "");
        page.line(0, &of_tasting(tasting, plan));
    }
    page.text
}

fn of_hearing(hearing: &Hearing) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(name) = &hearing.address {
        lines.push(format!(
            "Calls begin with \"{name}\", until \"{name} no name needed\""
        ));
    }
    let said = |way: &Way| match way {
        Way::Words(words) => words.join(" "),
        Way::Phones(phones) => format!("/{phones}/"),
    };
    lines.extend(hearing.pronounce.iter().map(|p| {
        let ways: Vec<String> = p.ways.iter().map(said).collect();
        format!("\"{}\" is said {}", p.word, ways.join(" or "))
    }));
    lines
}

fn of_tasting(tasting: &TastingPlan, plan: &Plan) -> String {
    let name = |id: &Id| {
        let sample = plan.samples.iter().find(|s| s.id == *id);
        sample
            .and_then(|s| s.names.first())
            .cloned()
            .unwrap_or_default()
    };
    let test = match (tasting.test, &tasting.attribute) {
        (Test::Triangle, _) => "triangle test (which is the odd one)".to_owned(),
        (Test::DuoTrio, _) => "duo-trio test (which is the same as the reference)".to_owned(),
        (Test::PairedPreference, _) => "preference test (which is liked better)".to_owned(),
        (Test::PairedDifference, Some(attribute)) => format!("which is {attribute}"),
        (Test::PairedDifference, None) => "difference test".to_owned(),
    };
    let compared = match tasting.samples.as_slice() {
        [one] => format!("{} against its plain twins", name(one)),
        all => all.iter().map(name).collect::<Vec<_>>().join(" against "),
    };
    let mut parts = vec![format!("Tasted blind: {test}"), compared];
    parts.extend(
        tasting
            .tasters
            .map(|n| format!("{n} taster{}", plural(u32::from(n)))),
    );
    parts.join(", ")
}

#[derive(Default)]
struct Page {
    text: String,
}

impl Page {
    fn line(&mut self, indent: usize, words: &str) {
        const WIDTH: usize = 80;
        let margin = 3 * indent;
        let mut column = 0;
        for word in words.split(' ') {
            let length = word.chars().count();
            if column == 0 {
                self.text.push_str(&" ".repeat(margin));
                column = margin;
            } else if column + 1 + length > WIDTH {
                self.text.push('\n');
                // Further lines of one thing stand a little to the right of its first.
                self.text.push_str(&" ".repeat(margin + 2));
                column = margin + 2;
            } else {
                self.text.push(' ');
                column += 1;
            }
            self.text.push_str(word);
            column += length;
        }
        let kept = self.text.trim_end_matches(' ').len();
        self.text.truncate(kept);
        self.text.push('\n');
    }
}

fn heading(plan: &Plan) -> String {
    let mut parts = Vec::new();
    if let Some(serve) = &plan.serve {
        parts.push(match serve.split_once(' ') {
            Some((day, time)) => format!("for {} {time}", capital(day)),
            None => format!("for {serve}"),
        });
    }
    parts.push(
        match plan.units {
            Units::Fahrenheit => "Fahrenheit",
            Units::Celsius => "Celsius",
        }
        .to_owned(),
    );
    if plan.language != "en" {
        parts.push(format!("spoken in `{}`", plan.language));
    }
    if plan.altitude_m != 0.0 {
        let height = match plan.units {
            Units::Fahrenheit => format!("{} ft", show::decimal(plan.altitude_m / 0.3048, 0)),
            Units::Celsius => format!("{} m", show::decimal(plan.altitude_m, 0)),
        };
        parts.push(format!("{height} above the sea"));
    }
    parts.extend(
        plan.room
            .map(|c| format!("{} in the kitchen", show::temperature(c, plan.units))),
    );
    parts.push(match plan.hands {
        1 => "one pair of hands".to_owned(),
        n => format!("{n} pairs of hands"),
    });
    if let Some(burners) = plan.burners {
        parts.push(format!("{burners} burner{}", plural(burners)));
    }
    parts.join(", ")
}

pub(super) fn called(names: &[String]) -> String {
    match names.split_first() {
        None => String::new(),
        Some((first, [])) => first.clone(),
        Some((first, rest)) => format!("{first} (or {})", rest.join(", ")),
    }
}

fn of_step(step: &Step, plan: &Plan) -> Vec<String> {
    let mut lines = vec![step.say.clone()];
    let in_vessel = step.vessel.as_ref().map(|id| name_in(plan, id));
    if let Some(vessel) = &in_vessel {
        let holds = of_holdings(step, plan);
        lines.push(match holds.is_empty() {
            true => format!("In: {vessel}."),
            false => format!("In: {vessel}, with {}.", listed(&holds)),
        });
    }
    let mut run = Vec::new();
    run.extend(
        step.hands_on
            .map(|d| format!("hands on {}", show::duration(d))),
    );
    run.extend(
        step.wait
            .map(|w| format!("wait {}", show::span(w, show::duration))),
    );
    run.extend(
        step.takes
            .map(|t| format!("thought to take {}", show::span(t, show::duration))),
    );
    run.extend(
        step.cools
            .then(|| "cools: two limits of the Food Code".to_owned()),
    );
    run.extend(
        step.flip_every
            .map(|d| format!("flip every {}", show::duration(d))),
    );
    let ends: Vec<String> = step
        .until
        .iter()
        .map(|until| match until {
            Until::Time(span) => show::span(*span, show::duration),
            Until::Core(t) => format!("{} in the middle", show::temperature(*t, plan.units)),
            Until::Medium(window) => format!(
                "the {} is at {}",
                in_vessel.as_deref().unwrap_or("pot"),
                show::span(*window, |t| show::temperature(t, plan.units))
            ),
            Until::Word(word) => word.clone(),
        })
        .collect();
    match ends.is_empty() {
        false => run.push(format!("until {}", ends.join(", or "))),
        true if step.wait.is_none() && step.hands_on.is_none() => {
            run.push("until you say so".to_owned())
        }
        true => {}
    }
    if let Some(first) = run.first_mut() {
        *first = capital(first);
    }
    lines.push(format!("{}.", run.join("; ")));
    let mut end = Vec::new();
    end.extend(
        step.out_to
            .as_ref()
            .map(|id| format!("out to the {}", name_in(plan, id))),
    );
    end.extend(
        step.rest
            .map(|r| format!("rest {}", show::span(r, show::duration))),
    );
    if !step.finish_with.is_empty() {
        let names: Vec<String> = step
            .finish_with
            .iter()
            .map(|id| name_in(plan, id))
            .collect();
        end.push(format!("to end together with {}", listed(&names)));
    }
    if !end.is_empty() {
        lines.push(format!("Then {}.", end.join(", ")));
    }
    lines.extend(step.cautions.iter().map(|c| format!("CAUTION: {c}")));
    lines.extend(aims::warnings(step, plan));
    lines
}

/// Single pieces of one kind, each at its place, are told together: "3 chops at left,
/// middle and right".
fn of_holdings(step: &Step, plan: &Plan) -> Vec<String> {
    let layout = plan
        .vessels
        .iter()
        .find(|v| Some(&v.id) == step.vessel.as_ref())
        .map(|v| v.places);
    let mut told: Vec<(What, Vec<String>)> = Vec::new();
    for holding in &step.holds {
        let place = holding
            .place
            .zip(layout)
            .and_then(|(place, layout)| layout.names_of(place).into_iter().next());
        match (told.last_mut(), &holding.what, place) {
            (
                Some((What::Pieces { item, count }, places)),
                What::Pieces {
                    item: other,
                    count: 1,
                },
                Some(place),
            ) if item == other && !places.is_empty() => {
                *count += 1;
                places.push(place);
            }
            (_, what, place) => told.push((what.clone(), place.into_iter().collect())),
        }
    }
    told.into_iter()
        .map(|(what, places)| match places.is_empty() {
            true => of_what(&what, plan),
            false => format!("{} at {}", of_what(&what, plan), listed(&places)),
        })
        .collect()
}

fn of_what(what: &What, plan: &Plan) -> String {
    match what {
        What::Sample(id) => name_in(plan, id),
        What::Pieces { item, count } => {
            let item = plan.items.iter().find(|i| i.id == *item);
            let lone = item.is_some_and(|i| i.pieces == 1);
            let names = item.map(|i| i.names.as_slice()).unwrap_or_default();
            match (names, *count) {
                ([one, ..], 1) if lone => one.clone(),
                // A further name that begins with the first is its plural.
                ([one, rest @ ..], n) if n > 1 => {
                    let many = rest.iter().find(|name| name.starts_with(one.as_str()));
                    format!("{n} {}", many.unwrap_or(one))
                }
                ([one, ..], n) => format!("{n} {one}"),
                ([], n) => n.to_string(),
            }
        }
    }
}

/// The first spoken name of whatever has this identifier.
fn name_in(plan: &Plan, id: &Id) -> String {
    let items = plan.items.iter().map(|x| (&x.id, &x.names));
    let samples = plan.samples.iter().map(|x| (&x.id, &x.names));
    let vessels = plan.vessels.iter().map(|x| (&x.id, &x.names));
    let steps = plan.steps.iter().map(|x| (&x.id, &x.names));
    items
        .chain(samples)
        .chain(vessels)
        .chain(steps)
        .find(|(other, _)| *other == id)
        .and_then(|(_, names)| names.first().cloned())
        .unwrap_or_else(|| id.clone())
}

fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// When each step can begin, counted from the start: exact where every step before
/// it has a length, else "not before".
fn begins(plan: &Plan) -> Vec<String> {
    let mut ends: Vec<(&Id, Duration, Option<Duration>)> = Vec::new();
    let mut out = Vec::new();
    for step in &plan.steps {
        let before: Vec<_> = ends
            .iter()
            .filter(|(id, ..)| step.after.contains(id))
            .collect();
        let least = before
            .iter()
            .map(|(_, lo, _)| *lo)
            .max()
            .unwrap_or_default();
        let most = before
            .iter()
            .map(|(_, _, hi)| *hi)
            .try_fold(Duration::ZERO, |most, hi| hi.map(|hi| most.max(hi)));
        let waits_for: Vec<String> = step.after.iter().map(|id| name_in(plan, id)).collect();
        let time = match most {
            Some(most) => format!(
                "T+{}",
                show::span(
                    Span {
                        lo: least,
                        hi: most
                    },
                    show::duration
                )
                .replace(".. ", ".. T+")
            ),
            None => format!("not before T+{}", show::duration(least)),
        };
        out.push(match waits_for.is_empty() {
            true => "at the start".to_owned(),
            false => format!("after {}: {time}", listed(&waits_for)),
        });
        let (lo, hi) = length(step);
        ends.push((&step.id, least + lo, most.zip(hi).map(|(a, b)| a + b)));
    }
    out
}

/// Least and most that a step takes with its rest; `None` when only a thermometer or
/// the cook can tell.
fn length(step: &Step) -> (Duration, Option<Duration>) {
    let hands = step.hands_on.unwrap_or_default();
    let rest = step.rest.unwrap_or(Span {
        lo: Duration::ZERO,
        hi: Duration::ZERO,
    });
    let time = step.until.iter().find_map(|u| match u {
        Until::Time(span) => Some(*span),
        _ => None,
    });
    let other_end = step.until.iter().any(|u| !matches!(u, Until::Time(_)));
    let (lo, hi) = match (step.wait, time) {
        (Some(wait), _) => (hands + wait.lo, Some(hands + wait.hi)),
        // Any of the ends will do, so another one may come before the clock.
        (None, Some(time)) if other_end => (hands, Some(hands.max(time.hi))),
        (None, Some(time)) => (hands.max(time.lo), Some(hands.max(time.hi))),
        (None, None) if other_end || step.hands_on.is_none() => (hands, None),
        (None, None) => (hands, Some(hands)),
    };
    // A wait with an open end (the core, the cook's word) has no most either.
    let hi = hi.filter(|_| !(step.wait.is_some() && other_end));
    (lo + rest.lo, hi.map(|hi| hi + rest.hi))
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}

pub(super) fn plural(n: u32) -> &'static str {
    if n == 1 { "" } else { "s" }
}
