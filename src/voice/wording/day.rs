//! Words for the day: late or not, when to eat, when to begin.

use crate::kitchen::{At, DaySay};
use crate::voice::numbers;

use super::{WordingCtx, exact, list, sentences};

/// Nearer than this is now.
const NOW: i64 = 60_000;
/// From this far on, the day of the week is said too.
const SAY_DAY_FROM: i64 = 12 * 3_600_000;

/// To the minute.
fn minutes(ms: i64) -> String {
    exact(ms.max(0).saturating_add(30_000) / 60_000 * 60_000)
}

/// "at seven twenty", "at seven twenty on sunday", or "in two hours" without a wall clock.
fn when(at: At, in_ms: i64, ctx: &WordingCtx) -> String {
    match ctx.wall_at(at) {
        Some(z) => {
            let time = numbers::clock_time_with(
                u8::try_from(z.hour()).unwrap_or(0),
                u8::try_from(z.minute()).unwrap_or(0),
            );
            if in_ms >= SAY_DAY_FROM {
                format!("at {time} on {}", z.strftime("%A"))
            } else {
                format!("at {time}")
            }
        }
        None => format!("in {}", minutes(in_ms.max(NOW))),
    }
}

pub fn word(say: &DaySay, ctx: &WordingCtx) -> String {
    match say {
        DaySay::Moved { eat, in_ms, late } if *late > 0 => sentences(&[format!(
            "{} late, we eat {}",
            minutes(*late),
            when(*eat, *in_ms, ctx)
        )]),
        DaySay::Moved { eat, in_ms, .. } => {
            sentences(&[format!("on time again, we eat {}", when(*eat, *in_ms, ctx))])
        }
        DaySay::Late { late, eat, in_ms } => {
            let eat = when(*eat, *in_ms, ctx);
            sentences(&match late {
                None => vec![
                    "nobody has said when it is to be served".to_owned(),
                    format!("it can be ready {eat}"),
                ],
                Some(late) if *late >= NOW => {
                    vec![format!("{} late", minutes(*late)), format!("we eat {eat}")]
                }
                Some(_) => vec!["on time".to_owned(), format!("we eat {eat}")],
            })
        }
        DaySay::Eat { eat, in_ms } => {
            let eat_at = when(*eat, *in_ms, ctx);
            let span = match ctx.wall_at(*eat) {
                Some(_) => format!(", in {}", minutes((*in_ms).max(NOW))),
                None => String::new(),
            };
            sentences(&[format!("we eat {eat_at}{span}")])
        }
        DaySay::Begin {
            step,
            at,
            in_ms,
            latest,
            latest_in,
        } => {
            let begin = if *in_ms < NOW {
                format!("begin {step} now")
            } else {
                let span = match ctx.wall_at(*at) {
                    Some(_) => format!(", in {}", minutes(*in_ms)),
                    None => String::new(),
                };
                format!("begin {step} {}{span}", when(*at, *in_ms, ctx))
            };
            let mut parts = vec![begin];
            if let Some(latest) = latest
                && *latest_in >= NOW
            {
                parts.push(format!("at the latest {}", when(*latest, *latest_in, ctx)));
            }
            sentences(&parts)
        }
        DaySay::Begun { step, over: false } => sentences(&[format!("{step} is under way")]),
        DaySay::Begun { step, over: true } => sentences(&[format!("{step} is done")]),
        DaySay::NothingToBegin => sentences(&["nothing is left to begin"]),
        DaySay::Lengthless { steps } => sentences(&[format!(
            "I can't tell, the plan does not say how long {} takes",
            list(steps)
        )]),
        DaySay::Broken => {
            sentences(&["I can't tell, the plan's limits cannot all be kept any more"])
        }
    }
}
