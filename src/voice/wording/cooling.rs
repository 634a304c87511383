//! Words for food that cools after the cook.

use crate::doneness::cooling::FROM_F;
use crate::doneness::units::{at_least, at_most, from_fahrenheit};
use crate::kitchen::{CoolingLine, CoolingStands};
use crate::plan::Celsius;
use crate::voice::numbers;

use super::{WordingCtx, exact};

const MINUTE: i64 = 60_000;

/// A limit that must not be exceeded, never rounded up.
fn limit(c: Celsius, ctx: &WordingCtx) -> String {
    numbers::called(f64::from(at_most(c, ctx.units)))
}

/// Time left, never more than there is: full minutes, full five from an hour on.
fn within(ms: i64) -> String {
    let step = if ms >= 60 * MINUTE { 5 } else { 1 } * MINUTE;
    match ms.div_euclid(step) * step {
        left if left < MINUTE => "the minute".to_owned(),
        left => exact(left),
    }
}

/// How it stands, each a sentence.
pub fn stands(stands: &CoolingStands, ctx: &WordingCtx) -> Vec<String> {
    match stands {
        CoolingStands::Under {
            to,
            left,
            kept,
            hot,
        } => {
            let mut parts = Vec::new();
            if *hot {
                let from = limit(from_fahrenheit(FROM_F), ctx);
                parts.push(format!("still above {from}, the time counts from now"));
            }
            if let Some(kept) = kept {
                parts.push(format!("{} in time", limit(*kept, ctx)));
            }
            parts.push(format!(
                "to be at {} within {}",
                limit(*to, ctx),
                within(*left)
            ));
            parts
        }
        CoolingStands::Missed { to, again } => missed(*to, *again, ctx),
        CoolingStands::Cold => vec!["cooled, in time".to_owned()],
    }
}

fn missed(to: Celsius, again: Option<Celsius>, ctx: &WordingCtx) -> Vec<String> {
    let what = match again {
        Some(hot) => format!(
            "heat it to {} once and cool it anew, or throw it away",
            numbers::called(f64::from(at_least(hot, ctx.units)))
        ),
        None => "throw it away".to_owned(),
    };
    vec![
        format!("not read at {} in time", limit(to, ctx)),
        what,
        "local codes come first".to_owned(),
    ]
}

/// "Stock, cooling, to be at seventy within two hours".
pub fn line(line: &CoolingLine, ctx: &WordingCtx) -> String {
    format!(
        "{} cooling, {}",
        line.item,
        stands(&line.stands, ctx).join(", ")
    )
}

/// Unasked, before a limit.
pub fn near(line: &CoolingLine, ctx: &WordingCtx) -> String {
    match &line.stands {
        CoolingStands::Under { to, left, .. } => format!(
            "{} has to be at {} within {}, read it",
            line.item,
            limit(*to, ctx),
            within(*left)
        ),
        stands_else => format!("{}, {}", line.item, stands(stands_else, ctx).join(", ")),
    }
}

/// Unasked, when a limit has passed.
pub fn over(line: &CoolingLine, ctx: &WordingCtx) -> String {
    format!("{}, {}", line.item, stands(&line.stands, ctx).join(", "))
}
