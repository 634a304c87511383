//! The day as a table, and why there is none, in words to read.

use jiff::ZonedDateTime;

use crate::plan::{Checked, Plan, Problem};

use super::clock::{moment, short, span};
use super::lay::{Conflict, Day, TooSoon, Trouble};

pub fn name(plan: &Plan, step: usize) -> &str {
    plan.steps.get(step).map_or("", |s| {
        s.names.first().map_or(s.id.as_str(), String::as_str)
    })
}

/// The day to pin up. `now` is the moment that the day's seconds count from.
pub fn table(plan: &Plan, day: &Day, now: &ZonedDateTime) -> String {
    let serve = moment(now, day.serve);
    let mut text = format!("The day, for {}\n\n", serve.strftime("%A %-d %B, %H:%M"));
    let mut rows = vec![[
        String::new(),
        "begin".to_owned(),
        "or from".to_owned(),
        "at the latest".to_owned(),
        "slack".to_owned(),
        "hands".to_owned(),
        "ends".to_owned(),
        String::new(),
    ]];
    let mut date = None;
    for row in &day.rows {
        let begin = moment(now, row.advised);
        let day_word = match date == Some(begin.date()) {
            true => String::new(),
            false => begin.strftime("%a %-d %b").to_string(),
        };
        date = Some(begin.date());
        rows.push([
            day_word,
            begin.strftime("%H:%M").to_string(),
            if row.from < row.advised {
                short(&moment(now, row.from), &begin)
            } else {
                String::new()
            },
            short(&moment(now, row.latest), &begin),
            if row.slack() > 0 {
                span(row.slack())
            } else {
                "none".to_owned()
            },
            if row.hands > 0 {
                span(row.hands)
            } else {
                String::new()
            },
            short(&moment(now, row.ends), &begin),
            format!(
                "{}{}",
                if row.critical { "* " } else { "  " },
                name(plan, row.step)
            ),
        ]);
    }
    let widths: Vec<usize> = (0..8)
        .map(|c| {
            rows.iter()
                .filter_map(|r| r.get(c))
                .map(|cell| cell.chars().count())
                .max()
                .unwrap_or(0)
        })
        .collect();
    for row in &rows {
        let line: Vec<String> = row
            .iter()
            .zip(&widths)
            .map(|(cell, width)| format!("{cell:<width$}"))
            .collect();
        text.push_str("   ");
        text.push_str(line.join("  ").trim_end());
        text.push('\n');
    }
    text.push_str(&format!(
        "\n   * critical: these decide how long it all takes, {} from the first to the table.\n",
        span(day.soonest)
    ));
    if !day.proven {
        text.push_str(&format!(
            "   It may be possible {} sooner; the search was stopped.\n",
            span(day.soonest - day.bound)
        ));
    }
    text
}

/// The refusal of a day that ends too late: "the wet brine needs 12 h and there are 9 h;
/// the earliest serving is 21:40".
pub fn too_soon(plan: &Plan, t: &TooSoon, now: &ZonedDateTime) -> String {
    let earliest = moment(now, t.earliest);
    let earliest = if earliest.date() == now.date() {
        earliest.strftime("%H:%M").to_string()
    } else {
        earliest.strftime("%A %H:%M").to_string()
    };
    let step = name(plan, t.step);
    let why = if t.hands {
        let pairs = if plan.hands == 1 {
            "one pair of hands is".to_owned()
        } else {
            format!("{} pairs of hands are", plan.hands)
        };
        format!("{pairs} not enough for all that is to be done by then")
    } else if t.there_are > 0 {
        format!(
            "`{step}` needs {} and there are {}",
            span(t.needs),
            // Down: eight hours and fifty nine minutes are not nine.
            span(t.there_are - 59)
        )
    } else {
        format!(
            "`{step}` alone needs {} and there is no time left for it",
            span(t.needs)
        )
    };
    format!("{why}; the earliest serving is {earliest}")
}

/// Why a plan has no schedule, at the lines that are to blame.
pub fn problems(checked: &Checked, trouble: &Trouble, now: &ZonedDateTime) -> Vec<Problem> {
    let plan = &checked.plan;
    let at = |step: usize, key: &str| {
        let id = plan.steps.get(step).map_or("", |s| s.id.as_str());
        format!("steps/{id}/{key}")
    };
    match trouble {
        Trouble::Lengthless(steps) => steps
            .iter()
            .map(|without| {
                let step = plan.steps.iter().find(|s| s.id == without.0);
                let name = step.and_then(|s| s.names.first()).unwrap_or(&without.0);
                checked.problem(
                    &format!("steps/{}", without.0),
                    format!("nobody knows how long `{name}` takes, so the day cannot be laid"),
                    "`takes:` and the time you think it needs, such as 20 min .. 30 min",
                )
            })
            .collect(),
        Trouble::TooSoon(t) => vec![checked.problem(
            "serve",
            too_soon(plan, t, now),
            "a later time to serve, or fewer or shorter steps",
        )],
        Trouble::TooMany => vec![checked.problem(
            "steps",
            "the steps hang together in more ways than could be tried",
            "`after:` where the order is known",
        )],
        Trouble::Impossible(conflicts) if conflicts.is_empty() => vec![checked.problem(
            "steps",
            "the steps cannot be done at any time: their limits contradict one another",
            "wider limits in `wait` and `rest`",
        )],
        Trouble::Impossible(conflicts) => conflicts
            .iter()
            .map(|conflict| match *conflict {
                Conflict::Hands => checked.problem(
                    "hands",
                    "there are not hands enough to keep all limits, at any time",
                    format!(
                        "`hands: {}`, or wider limits in `wait` and `rest`",
                        plan.hands + 1
                    ),
                ),
                Conflict::Length(step) => checked.problem(
                    &at(step, "wait"),
                    format!(
                        "`{}` cannot end in time for what comes after it",
                        name(plan, step)
                    ),
                    "a longer most, or fewer steps before the next one can begin",
                ),
                Conflict::Rest(step) => checked.problem(
                    &at(step, "rest"),
                    format!(
                        "nothing can begin within the rest of `{}`",
                        name(plan, step)
                    ),
                    "a longer most for the rest, or a next step that waits for less",
                ),
                Conflict::Together(step) => checked.problem(
                    &at(step, "finish with"),
                    format!("`{}` cannot end together with the other", name(plan, step)),
                    "more hands, another pan, or no `finish with`",
                ),
            })
            .collect(),
    }
}
