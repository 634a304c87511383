//! When the plan alone would have had each step: the day as [`crate::prep::day`] lays it from
//! the begin of the cook, with its hands and burners. Where a step has no length the day
//! cannot be laid; then each step stands as soon as all it waits for could be done.

use std::time::Duration;

use crate::plan::{Plan, Span, Step, Until};
use crate::prep::day;

/// A step on the plan's own time line, milliseconds from the begin of the cook.
#[derive(Debug, Clone, PartialEq)]
pub struct Planned {
    pub from: i64,
    /// None where the plan gives the step no length (it ends at a temperature or a word).
    pub to: Option<i64>,
    /// End of the least rest.
    pub rested: Option<i64>,
}

/// The least and most that the plan gives a step, if it gives one: its work and wait, else the
/// time that ends it, else the time it is said to take, else the work of the hands.
pub fn given(step: &Step) -> Option<Span<Duration>> {
    let until = step.until.iter().find_map(|u| match u {
        Until::Time(span) => Some(*span),
        _ => None,
    });
    let hands = step.hands_on.map(|d| Span { lo: d, hi: d });
    // A step that ends at a temperature or a word lasts as long as that takes, however long
    // the hands are needed at its begin.
    let open = step.until.iter().any(|u| !matches!(u, Until::Time(_)));
    let work = step.hands_on.unwrap_or_default();
    step.wait
        .map(|wait| Span {
            lo: wait.lo.saturating_add(work),
            hi: wait.hi.saturating_add(work),
        })
        .or(until)
        .or(step.takes)
        .or(if open { None } else { hands })
}

/// One for each step, in the plan's order (in which every step follows those it waits for).
pub fn planned(plan: &Plan) -> Vec<Planned> {
    laid(plan).unwrap_or_else(|| soonest(plan))
}

fn laid(plan: &Plan) -> Option<Vec<Planned>> {
    let day = day::lay(plan, &[], None).ok()?;
    plan.steps
        .iter()
        .enumerate()
        .map(|(ix, step)| {
            let row = day.rows.iter().find(|r| r.step == ix)?;
            let to = row.ends.saturating_mul(1000);
            Some(Planned {
                from: row.advised.saturating_mul(1000),
                to: Some(to),
                rested: step.rest.map(|rest| to.saturating_add(ms(rest.lo))),
            })
        })
        .collect()
}

fn soonest(plan: &Plan) -> Vec<Planned> {
    let mut all: Vec<Planned> = Vec::with_capacity(plan.steps.len());
    for step in &plan.steps {
        let from = step
            .after
            .iter()
            .filter_map(|id| plan.steps.iter().position(|s| s.id == *id))
            .filter_map(|ix| all.get(ix))
            .map(|p| p.rested.or(p.to).unwrap_or(p.from))
            .max()
            .unwrap_or(0);
        let to = given(step).map(|span| from.saturating_add(ms(span.lo)));
        let rested = to
            .zip(step.rest)
            .map(|(to, rest)| to.saturating_add(ms(rest.lo)));
        all.push(Planned { from, to, rested });
    }
    all
}

pub fn ms(duration: Duration) -> i64 {
    i64::try_from(duration.as_millis()).unwrap_or(i64::MAX / 4)
}
