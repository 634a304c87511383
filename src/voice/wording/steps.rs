//! Words for steps: what begins, what ended, what is next, what happened meanwhile.

use crate::kitchen::{Say, StepLine};
use crate::voice::numbers;

use super::{WordingCtx, about, clocks, list, readings, sentence, sentences, span};

/// Away for less than this (milliseconds), what was said before is still in the ear.
const SHORT_AWAY: i64 = 60_000;

/// A step as it stands: "fry left, flip in two minutes, until the core is one forty five".
pub fn step_line(step: &StepLine, ctx: &WordingCtx) -> String {
    let mut parts = vec![step.name.clone()];
    parts.extend(step.clocks.iter().map(|c| clocks::part(c, ctx)));
    // A goal tells the cook nothing new while the clock decides.
    if step.clocks.is_empty() || step.until.iter().any(|g| !readings::is_word(g)) {
        parts.extend(step.until.iter().map(|g| readings::goal(g, ctx)));
    }
    if parts.len() == 1 {
        parts.push("under way".to_owned());
    }
    parts.join(", ")
}

fn times(
    work: &Option<i64>,
    time: &Option<crate::plan::Span<i64>>,
    flip_every: &Option<i64>,
) -> String {
    let mut parts = Vec::new();
    if let Some(work) = work {
        parts.push(format!("{} of work", super::exact(*work)));
    }
    if let Some(time) = time {
        let then = if parts.is_empty() { "" } else { "then " };
        parts.push(format!(
            "{then}{}",
            numbers::span_range(span(time.lo), span(time.hi))
        ));
    }
    if let Some(every) = flip_every {
        parts.push(format!("flip every {}", every_span(*every)));
    }
    parts.join(", ")
}

/// "four minutes", "minute", as after "every".
fn every_span(ms: i64) -> String {
    let said = super::exact(ms);
    for article in ["a ", "an "] {
        if let Some(rest) = said.strip_prefix(article)
            && !rest.contains(' ')
        {
            return rest.to_owned();
        }
    }
    said
}

pub fn word(say: &Say, ctx: &WordingCtx) -> String {
    match say {
        Say::StepBegins {
            title,
            name,
            say,
            work,
            time,
            flip_every,
            cautions,
        } => {
            let mut parts = Vec::new();
            if let Some(title) = title {
                parts.push(title.clone());
            }
            parts.push(if say.trim().is_empty() {
                name.clone()
            } else {
                say.clone()
            });
            parts.push(times(work, time, flip_every));
            parts.extend(cautions.iter().cloned());
            sentences(&parts)
        }
        Say::WaitBegins { name, time } => {
            let time = time.as_ref().map_or_else(
                || "the wait begins".to_owned(),
                |t| numbers::span_range(span(t.lo), span(t.hi)) + " from now",
            );
            sentences(&[format!("{name}, {time}")])
        }
        Say::StepEnds { name, rest, last } => {
            let mut parts = vec![format!("done, {name}")];
            if let Some(rest) = rest {
                let rest = numbers::span_range(span(rest.lo), span(rest.hi));
                parts.push(format!("rest it {rest}"));
            }
            let mut text = sentences(&parts);
            if *last && rest.is_none() {
                text.push_str(" That was the last step.");
            }
            text
        }
        Say::SteppedBack { name, say } => sentences(&[format!("back to {name}"), say.clone()]),
        Say::ComingUp {
            running,
            next,
            all_done,
        } => {
            if *all_done && running.is_empty() {
                return "All steps are done. Say end the cook when you are.".to_owned();
            }
            let mut parts: Vec<String> = running.iter().map(|s| step_line(s, ctx)).collect();
            match next {
                Some((name, waits)) if waits.is_empty() => parts.push(format!("next, {name}")),
                Some((name, waits)) => {
                    parts.push(format!("then {name}, after {}", list(waits)));
                }
                None => {}
            }
            sentences(&parts)
        }
        Say::Status {
            running,
            timers,
            cooling,
            ready,
            all_done,
        } => {
            let mut parts: Vec<String> = running.iter().map(|s| step_line(s, ctx)).collect();
            parts.extend(timers.iter().map(|t| clocks::line(t, ctx)));
            parts.extend(cooling.iter().map(|c| super::cooling::line(c, ctx)));
            if !ready.is_empty() {
                parts.push(format!("ready to begin, {}", list(ready)));
            }
            if parts.is_empty() {
                return if *all_done {
                    "All steps are done.".to_owned()
                } else {
                    "Nothing is under way.".to_owned()
                };
            }
            sentences(&parts)
        }
        Say::Resumed {
            away,
            ended,
            running,
            timers,
            next,
        } => {
            // A start again after a slip of the hand is no absence: the cook was there, and
            // wants to hear only that it goes on, and with what.
            let short = *away < SHORT_AWAY;
            let mut parts = vec![if short {
                "going on".to_owned()
            } else {
                format!("back after {}", about(*away))
            }];
            if !ended.is_empty() {
                parts.push(format!("meanwhile, {}", clocks::due_phrase(ended, ctx)));
            }
            parts.extend(running.iter().map(|s| step_line(s, ctx)));
            parts.extend(
                timers
                    .iter()
                    .filter(|t| t.left > 0 && !short)
                    .map(|t| clocks::line(t, ctx)),
            );
            if let (Some(next), false) = (next, short) {
                parts.push(format!("ready to begin, {next}"));
            }
            sentences(&parts)
        }
        Say::Ended => match &ctx.record {
            Some(record) => sentence(&format!("the cook has ended. The record is in {record}")),
            None => "The cook has ended. The record is kept.".to_owned(),
        },
        _ => String::new(),
    }
}
