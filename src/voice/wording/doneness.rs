//! Words for what readings mean.

use crate::doneness::{NEVER_S, Oddity, units};
use crate::kitchen::{BelievedLine, LeftLine, PieceAsked, Remark, VerdictLine};
use crate::plan::{Celsius, Span, Units};
use crate::voice::numbers;

use super::readings::{degrees, read_back_span};
use super::{WordingCtx, about, exact, sentences};

const MINUTE: i64 = 60_000;

/// "about six minutes, give or take two".
pub fn left(line: &LeftLine) -> String {
    let said = time_left(line);
    if line.guess {
        format!("a guess before any reading, {said}")
    } else {
        said
    }
}

fn time_left(line: &LeftLine) -> String {
    if line.likely >= (NEVER_S * 500.0) as i64 {
        return "it does not get there like this".to_owned();
    }
    let either = (line.high - line.likely).max(line.likely - line.low);
    // No finer than it is known: to the minute, or to five.
    let step = if either > 8 * MINUTE { 5 } else { 1 };
    let minutes = |ms: i64| {
        let unit = step * MINUTE;
        (ms + unit / 2).div_euclid(unit) * step
    };
    let (likely, either_m) = (minutes(line.likely), minutes(either));
    if likely < 1 || line.likely < 75_000 {
        return if line.high < 2 * MINUTE {
            "about a minute".to_owned()
        } else {
            format!("a minute or two, at most {}", about(line.high))
        };
    }
    if likely >= 100 {
        return in_hours(line, either);
    }
    let plain = |m: i64| numbers::plain(m.unsigned_abs());
    let unit = if likely == 1 { "minute" } else { "minutes" };
    if line.high >= (NEVER_S * 500.0) as i64 {
        return format!("about {} {unit}, and perhaps much longer", plain(likely));
    }
    if either_m * 2 >= likely && minutes(line.low) < minutes(line.high) {
        return format!(
            "between {} and {} minutes",
            plain(minutes(line.low).max(1)),
            plain(minutes(line.high))
        );
    }
    if either_m < 1 {
        return format!("about {} {unit}", plain(likely));
    }
    format!(
        "about {} {unit}, give or take {}",
        plain(likely),
        plain(either_m)
    )
}

/// The same where nobody counts in minutes any more.
fn in_hours(line: &LeftLine, either: i64) -> String {
    if line.high >= (NEVER_S * 500.0) as i64 {
        return format!("about {}, and perhaps much longer", about(line.likely));
    }
    let (low, high) = (about(line.low), about(line.high));
    if either * 2 >= line.likely && low != high {
        return format!("between {low} and {high}");
    }
    format!(
        "about {}, give or take {}",
        about(line.likely),
        about(either)
    )
}

fn readings_of(behind: u32, pieces: u32) -> String {
    let readings = if behind == 1 { "reading" } else { "readings" };
    let pieces_word = if pieces == 1 { "piece" } else { "pieces" };
    format!(
        "{} {readings} of {} {pieces_word}",
        numbers::plain(behind.into()),
        numbers::plain(pieces.into())
    )
}

fn why(odd: Oddity) -> &'static str {
    match odd {
        Oddity::BoneOrOil => "that one looks like bone or oil, try another spot",
        Oddity::NotSettled => "lower than it can be by now, let the probe settle",
        Oddity::NoNumber => "that is no temperature",
    }
}

/// A difference of temperatures, as many whole or half degrees: "two", "one and a half".
fn difference(celsius: f64, ctx: &WordingCtx) -> String {
    let d = match ctx.units {
        Units::Celsius => celsius,
        Units::Fahrenheit => celsius * 1.8,
    };
    let halves = (d.abs() * 2.0).round() as u64;
    match (halves / 2, halves % 2) {
        (0, _) => "half a degree".to_owned(),
        (1, 0) => "one degree".to_owned(),
        (n, 0) => format!("{} degrees", numbers::plain(n)),
        (n, _) => format!("{} and a half degrees", numbers::plain(n)),
    }
}

/// What is said after the read-back, each a sentence.
pub fn remark(remark: &Remark, ctx: &WordingCtx) -> Vec<String> {
    match remark {
        Remark::Odd { why: odd, going_on } => {
            let mut parts = vec![why(*odd).to_owned()];
            if let Some(c) = going_on {
                parts.push(format!("I go on with {}", degrees(*c, ctx)));
            }
            parts
        }
        Remark::ReadMore { behind, pieces } => {
            let more = if behind < pieces {
                "read the others"
            } else {
                "try another spot"
            };
            vec![readings_of(*behind, *pieces), more.to_owned()]
        }
        Remark::TooSoon => vec!["sooner than I expected, probe once more".to_owned()],
        Remark::Left(line) => vec![left(line)],
        Remark::TurnUp => vec!["turn it up a little".to_owned()],
        Remark::TurnDown => vec!["turn it down".to_owned()],
        Remark::WillComeBack => vec!["cold food went in, it comes back".to_owned()],
        Remark::AboveLimit(limit) => vec![format!(
            "careful, never above {}, heat down now",
            numbers::called(f64::from(units::at_most(*limit, ctx.units)))
        )],
        Remark::Smokes { oil, range } => vec![smokes(oil.as_deref(), *range, ctx)],
        Remark::ProbeOff { celsius } => {
            let which = if *celsius > 0.0 { "low" } else { "high" };
            vec![format!("it reads {} {which}", difference(*celsius, ctx))]
        }
        Remark::Cooling(stands) => super::cooling::stands(stands, ctx),
        Remark::ProbeRight => vec!["the probe is right".to_owned()],
        Remark::NoMargin { minimum } => vec![format!(
            "it is brined, so no hold makes up for the published {}",
            numbers::called(f64::from(units::at_least(*minimum, ctx.units)))
        )],
        Remark::Hold { at_f, ms, left } => {
            let mut parts = vec![format!(
                "the published table asks {} at {} Fahrenheit",
                exact(*ms),
                numbers::called(f64::from(*at_f))
            )];
            if *left > 0 {
                parts.push(format!("{} of it to go", exact(*left)));
            }
            parts
        }
    }
}

fn smokes(oil: Option<&str>, range: Span<Celsius>, ctx: &WordingCtx) -> String {
    // Lard is not called an oil, and "olive oil" is one already.
    const WHOLE: [&str; 5] = ["oil", "fat", "butter", "lard", "tallow"];
    let who = match oil {
        Some(oil) if oil.split(' ').any(|w| WHOLE.contains(&w)) => format!("{oil} begins"),
        Some(oil) => format!("{oil} oil begins"),
        None => "oils begin".to_owned(),
    };
    // Whole degrees, the lower end never up.
    let lo = numbers::called(f64::from(units::at_most(range.lo, ctx.units)));
    let hi = numbers::called(f64::from(units::as_read(range.hi, ctx.units)));
    let from = if range.hi == range.lo {
        format!("at about {lo}")
    } else {
        format!("from {lo} to {hi}")
    };
    format!("careful, {who} to smoke {from}, take it off the heat")
}

/// The question after a probe check.
pub fn use_offset(celsius: f64, ctx: &WordingCtx) -> String {
    let deed = if celsius > 0.0 { "Add" } else { "Take off" };
    format!("{deed} {} from now on?", difference(celsius, ctx))
}

/// A plan that aims below the published minimum, said once.
pub fn below_minimum(
    item: &str,
    minimum: Celsius,
    hold_ms: Option<i64>,
    brined: bool,
    ctx: &WordingCtx,
) -> String {
    let limit = numbers::called(f64::from(units::at_least(minimum, ctx.units)));
    let mut parts = vec![format!(
        "this aims below the published {limit} for the {item}"
    )];
    parts.push(match hold_ms {
        Some(0) => "the hold table asks no more than reaching it".to_owned(),
        Some(ms) => format!(
            "the hold table asks {} there, in the coldest part of every piece",
            exact(ms)
        ),
        None => "no published hold makes up for it".to_owned(),
    });
    if brined {
        parts.push("it is brined, and salt takes that margin away".to_owned());
    }
    sentences(&parts)
}

/// The answer to "yes".
pub fn offset_used(celsius: f64, ctx: &WordingCtx) -> String {
    let deed = if celsius > 0.0 {
        "added to"
    } else {
        "taken off"
    };
    format!("{} {deed} every reading", difference(celsius, ctx))
}

/// Whose readings answer a question about a marked piece.
pub fn asked(piece: &PieceAsked) -> String {
    if piece.own {
        format!("by the {}'s own readings", piece.name)
    } else {
        format!("no reading of the {} itself", piece.name)
    }
}

/// "Is it done?"
pub fn verdict(name: &str, line: &VerdictLine, ctx: &WordingCtx) -> String {
    let target = degrees(line.target, ctx);
    let Some(coldest) = line.coldest else {
        return sentences(&[
            format!("{name}, no reading yet"),
            format!("target {target}"),
        ]);
    };
    let stands = format!(
        "coldest {}, {}",
        degrees(coldest, ctx),
        readings_of(line.behind, line.pieces)
    );
    let mut parts = Vec::new();
    if line.done {
        parts.push(format!("{name} is done, {stands}"));
        parts.push(format!("target {target}"));
        return sentences(&parts);
    }
    parts.push(format!("{name} not done, {stands}"));
    parts.push(format!("target {target}"));
    if line.too_soon {
        parts.extend(remark(&Remark::TooSoon, ctx));
    } else if crate::doneness::units::reached(coldest, line.target) {
        let more = if line.behind < line.pieces {
            "read the others"
        } else {
            "try another spot"
        };
        parts.push(more.to_owned());
    }
    if let Some(l) = &line.left {
        parts.push(left(l));
    }
    sentences(&parts)
}

/// "Which reading do you believe?"
pub fn believed(name: &str, line: Option<&BelievedLine>, ctx: &WordingCtx) -> String {
    let Some(line) = line else {
        return sentences(&[format!("{name} has no temperature to reach")]);
    };
    let mut parts = Vec::new();
    match line.coldest {
        Some(c) => parts.push(format!(
            "{name}, {}, the lowest I can believe, of {} this round",
            degrees(c, ctx),
            numbers::plain(line.behind.into())
        )),
        None if line.odd.is_empty() => parts.push(format!("{name}, no reading yet")),
        None => parts.push(format!("{name}, none yet")),
    }
    let of = |odd: Oddity| -> Vec<String> {
        line.odd
            .iter()
            .filter(|(_, o)| *o == odd)
            .map(|(v, _)| read_back_span(*v))
            .collect()
    };
    let high = of(Oddity::BoneOrOil);
    if !high.is_empty() {
        parts.push(format!("not {}, bone or oil", high.join(", nor ")));
    }
    let low = of(Oddity::NotSettled);
    if !low.is_empty() {
        parts.push(format!("not {}, it had not settled", low.join(", nor ")));
    }
    sentences(&parts)
}
