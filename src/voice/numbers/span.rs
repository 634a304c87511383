//! Spans of time: how long, about how long, how long ago.

use std::time::Duration;

use super::cardinal::plain;

const MINUTE: u64 = 60;
const HOUR: u64 = 60 * MINUTE;
const DAY: u64 = 24 * HOUR;

/// "a minute", "four minutes".
fn count(n: u64, unit: &str) -> String {
    if n == 1 {
        let article = if unit == "hour" { "an" } else { "a" };
        format!("{article} {unit}")
    } else {
        format!("{} {unit}s", plain(n))
    }
}

/// The span to the second (rounded), as said over a stove: "forty five seconds",
/// "a minute and a half", "four minutes thirty", "an hour and a half",
/// "two hours and twenty minutes". Up to two days in hours, as brines are counted.
pub fn duration(span: Duration) -> String {
    let s = whole_seconds(span);
    let (d, h, m, sec) = if s < 2 * DAY {
        (0, s / HOUR, s % HOUR / MINUTE, s % MINUTE)
    } else {
        (s / DAY, s % DAY / HOUR, s % HOUR / MINUTE, s % MINUTE)
    };
    if d == 0 {
        match (h, m, sec) {
            (0, 0, 1) => return "one second".to_owned(),
            (0, 0, _) => return format!("{} seconds", plain(sec)),
            (0, 1, 30) => return "a minute and a half".to_owned(),
            (0, _, 0) => return count(m, "minute"),
            // "a minute five" is not said; from ten on the bare number is.
            (0, _, 10..) if m > 1 => return format!("{} {}", count(m, "minute"), plain(sec)),
            (1, 30, 0) => return "an hour and a half".to_owned(),
            (2.., 30, 0) => return format!("{} and a half hours", plain(h)),
            _ => {}
        }
    }
    let mut parts = Vec::new();
    for (n, unit) in [(d, "day"), (h, "hour"), (m, "minute")] {
        if n > 0 {
            parts.push(count(n, unit));
        }
    }
    match sec {
        0 => {}
        1 => parts.push("one second".to_owned()),
        _ => parts.push(format!("{} seconds", plain(sec))),
    }
    match parts.pop() {
        None => "no time".to_owned(),
        Some(last) if parts.is_empty() => last,
        Some(last) => format!("{} and {last}", parts.join(" ")),
    }
}

fn whole_seconds(span: Duration) -> u64 {
    span.as_secs() + u64::from(span.subsec_nanos() >= 500_000_000)
}

/// The span as coarsely as a cook needs it, without the word "about": to 5 s below a
/// minute, 15 s below three minutes, half a minute below five, a minute below twenty,
/// 5 min below an hour and a half, a quarter hour below three hours, half an hour
/// below twelve, then whole hours. Never less than the finest step.
pub fn about(span: Duration) -> String {
    let s = whole_seconds(span);
    let step = match s {
        0..58 => 5,
        58..173 => 15,
        173..285 => 30,
        285..1170 => MINUTE,
        1170..5400 => 5 * MINUTE,
        5400..10_350 => 15 * MINUTE,
        10_350..42_300 => 30 * MINUTE,
        42_300..172_800 => HOUR,
        _ => DAY / 2,
    };
    let rounded = ((s + step / 2) / step).max(1) * step;
    if step == DAY / 2 {
        let (days, half) = (rounded / DAY, !rounded.is_multiple_of(DAY));
        return if half {
            format!("{} and a half days", plain(days))
        } else {
            count(days, "day")
        };
    }
    duration(Duration::from_secs(rounded))
}

/// "five to seven minutes", "twelve to sixteen hours"; ends in unlike units are both
/// said in full. Exact, like [`duration`].
pub fn span_range(lo: Duration, hi: Duration) -> String {
    let (a, b) = (whole_seconds(lo), whole_seconds(hi));
    if a == b {
        return duration(lo);
    }
    for (unit, name) in [(HOUR, "hour"), (MINUTE, "minute")] {
        if a >= unit && a.is_multiple_of(unit) && b.is_multiple_of(unit) {
            return format!("{} to {} {name}s", plain(a / unit), plain(b / unit));
        }
    }
    if a < MINUTE && b < MINUTE {
        return format!("{} to {} seconds", plain(a), plain(b));
    }
    format!("{} to {}", duration(lo), duration(hi))
}

/// How long ago: "just now" up to ten seconds, else [`about`] and "ago".
pub fn ago(span: Duration) -> String {
    if whole_seconds(span) <= 10 {
        "just now".to_owned()
    } else {
        format!("{} ago", about(span))
    }
}
