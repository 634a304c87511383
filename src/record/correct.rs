//! What the plan should have said, from what happened: "fry left took 38 minutes, the plan
//! says 30". A proposal changes one value of the plan's text at its place; the cook accepts
//! it or not.
//!
//! Temperatures are never proposed: a core that was taken out too cold is no reason to plan
//! it so. A rest is never proposed shorter, since it can be part of what makes meat safe.

use std::time::Duration;

use crate::kitchen::{At, ClockKey};
use crate::plan::{self, Checked, Plan, Problem, Span, Step, Until, show};

use super::edit;
use super::planned::ms;
use super::story::Story;

/// One value of the plan that happened otherwise.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// `steps/fry_left/wait`: section, identifier, key.
    pub path: String,
    /// In words: what happened and what the plan says.
    pub why: String,
    /// The value as the plan says it.
    pub now: String,
    /// The value as it is proposed.
    pub then: String,
}

/// Less than this share off the plan is as planned: no cook works to the second.
const NEAR: f64 = 0.1;
/// And so is less than this.
const NEAR_MS: i64 = 30_000;

/// Everything in which the cook was otherwise than `plan`, in the plan's order. Steps that
/// the plan no longer has, or that did not end, are passed over.
pub fn propose(plan: &Plan, story: &Story) -> Vec<Proposal> {
    let mut all = Vec::new();
    for step in &plan.steps {
        let Some(row) = story.steps.iter().find(|r| r.id == step.id) else {
            continue;
        };
        let name = &row.name;
        let from = row.food_in.or(row.waits_from).or(row.began);
        let took = row.ended.zip(from).map(|(to, from)| to.since(from));
        let until = step.until.iter().find_map(|u| match u {
            Until::Time(span) => Some(*span),
            _ => None,
        });
        if let Some(took) = took {
            let of_time = match (step.wait, until) {
                (Some(span), _) => Some(("wait", span)),
                (None, Some(span)) => Some(("until/time", span)),
                (None, None) => step.takes.map(|span| ("takes", span)),
            };
            match (of_time, step.hands_on) {
                (Some((key, span)), _) => {
                    all.extend(length(step, name, key, "took", span, took, true));
                }
                (None, Some(hands)) if step.until.is_empty() => {
                    let span = Span {
                        lo: hands,
                        hi: hands,
                    };
                    let whole = row.took().unwrap_or(took);
                    all.extend(length(step, name, "hands on", "took", span, whole, true));
                }
                (None, _) => {}
            }
        }
        if let Some(every) = step.flip_every
            && let Some(real) = between_flips(story, step, from)
        {
            let span = Span {
                lo: every,
                hi: every,
            };
            let what = "was flipped every";
            all.extend(length(step, name, "flip every", what, span, real, true));
        }
        if let Some(rest) = step.rest
            && let Some(rested) = rested(story, step)
        {
            all.extend(length(step, name, "rest", "rested", rest, rested, false));
        }
    }
    all
}

fn length(
    step: &Step,
    name: &str,
    key: &str,
    did: &str,
    planned: Span<Duration>,
    real: i64,
    shorter_too: bool,
) -> Option<Proposal> {
    let (lo, hi) = (ms(planned.lo), ms(planned.hi));
    let off = |bound: i64| {
        let by = (real - bound).abs();
        by >= NEAR_MS && by as f64 >= NEAR * bound as f64
    };
    let real_value = rounded(real);
    let then = if real > hi && off(hi) {
        if lo == hi {
            Span {
                lo: real_value,
                hi: real_value,
            }
        } else {
            Span {
                lo: planned.lo,
                hi: real_value,
            }
        }
    } else if shorter_too && real < lo && off(lo) && !real_value.is_zero() {
        if lo == hi {
            Span {
                lo: real_value,
                hi: real_value,
            }
        } else {
            Span {
                lo: real_value,
                hi: planned.hi,
            }
        }
    } else {
        return None;
    };
    let now = show::span(planned, show::duration);
    let then = show::span(then, show::duration);
    (now != then).then(|| Proposal {
        path: format!("steps/{}/{key}", step.id),
        why: format!(
            "{name} {did} {}, the plan says {now}",
            show::duration(real_value)
        ),
        now,
        then,
    })
}

/// As finely as a plan is written: half minutes up to ten minutes, minutes up to two
/// hours, five minutes from there on.
fn rounded(real: i64) -> Duration {
    let grain = match real {
        ..600_000 => 30_000,
        600_000..7_200_000 => 60_000,
        _ => 300_000,
    };
    let ms = (real.max(0) + grain / 2) / grain * grain;
    Duration::from_millis(ms.unsigned_abs())
}

/// The middle one of the times between flips of a step, milliseconds; none with fewer than two.
fn between_flips(story: &Story, step: &Step, from: Option<At>) -> Option<i64> {
    let mut ends: Vec<At> = story
        .clocks
        .iter()
        .filter(|c| c.key == ClockKey::Flip(step.id.clone()))
        .map(|c| c.from)
        .filter(|at| Some(*at) > from)
        .collect();
    ends.sort();
    ends.dedup();
    let mut last = from?;
    let mut gaps: Vec<i64> = ends
        .into_iter()
        .map(|at| {
            let gap = at.since(last);
            last = at;
            gap
        })
        .collect();
    gaps.sort_unstable();
    (gaps.len() >= 2).then(|| gaps[gaps.len() / 2])
}

/// How long the food of a step stood before the first step that waits for it began.
fn rested(story: &Story, step: &Step) -> Option<i64> {
    let ended = story.steps.iter().find(|r| r.id == step.id)?.ended?;
    let next = story
        .plan
        .steps
        .iter()
        .filter(|s| s.after.contains(&step.id))
        .filter_map(|s| story.steps.iter().find(|r| r.id == s.id)?.began)
        .filter(|at| *at >= ended)
        .min()?;
    Some(next.since(ended))
}

/// The plan's text with these proposals in it, each at its place and nothing else changed.
///
/// # Errors
/// The problems of the plan before or after the edit, or the value that cannot be edited:
/// one that is written over several lines or with escapes.
pub fn accept(text: &str, file: &str, proposals: &[Proposal]) -> Result<String, Vec<Problem>> {
    let mut text = text.to_owned();
    for proposal in proposals {
        let checked = plan::read(&text, file)?;
        let by_hand = |checked: &Checked| {
            vec![checked.problem(
                &proposal.path,
                "this value is not written on one line, so it is not edited here",
                proposal.then.clone(),
            )]
        };
        let at = checked
            .marks
            .exact(&proposal.path)
            .ok_or_else(|| by_hand(&checked))?;
        let edited = edit::replace(&text, at, &proposal.then).ok_or_else(|| by_hand(&checked))?;
        // A plan that cannot be read back is worse than an old figure.
        plan::read(&edited, file)?;
        text = edited;
    }
    Ok(text)
}
