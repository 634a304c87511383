//! Words for clocks and for what is due.

use crate::kitchen::{ClockLine, ClockName, DueLine, Say};
use crate::voice::numbers;

use super::{WordingCtx, about, exact, list, sentence, sentences};

/// From this length on the clock time of an end is said too: nobody counts hours.
const SAY_TIME_FROM: i64 = 45 * 60_000;

/// How a clock is called: "the brine", "the flip in the left skillet", "the rice timer".
pub fn clock_name(clock: &ClockName) -> String {
    match clock {
        ClockName::Wait(step) => step.clone(),
        ClockName::Flip(vessel) => format!("{vessel} flip"),
        ClockName::Rest(step) => format!("{step} rest"),
        ClockName::Timer {
            name: Some(name), ..
        } => format!("{name} timer"),
        ClockName::Timer { name: None, ms } => format!("{} timer", as_adjective(*ms)),
    }
}

/// "four minute", as before a noun.
fn as_adjective(ms: i64) -> String {
    let seconds = ms.max(0).saturating_add(500) / 1000;
    let one_unit = [(3600, "hour"), (60, "minute"), (1, "second")]
        .into_iter()
        .find(|(unit, _)| seconds > 0 && seconds % unit == 0)
        .filter(|(unit, _)| *unit > 1 || seconds < 60);
    match one_unit {
        Some((unit, name)) => {
            let n = u64::try_from(seconds / unit).unwrap_or(0);
            format!("{} {name}", numbers::plain(n))
        }
        None => exact(ms),
    }
}

/// "in four minutes", "two minutes over"; with the clock time where it is far.
fn left(line: &ClockLine, ctx: &WordingCtx) -> String {
    if line.left <= 0 {
        return match line.most {
            Some(most) if most > 0 => format!(
                "ready {}, {} to the limit",
                if line.left > -10_000 {
                    "now".to_owned()
                } else {
                    format!("for {}", about(line.left))
                },
                about(most)
            ),
            _ if line.left > -10_000 => "now".to_owned(),
            _ => format!("{} over", about(line.left)),
        };
    }
    format!(
        "{} left{}",
        about_or_exact(line.left),
        until(line.left, ctx)
    )
}

/// Under five minutes to the second, rounded above.
fn about_or_exact(ms: i64) -> String {
    if ms < 5 * 60_000 {
        exact(ms)
    } else {
        about(ms)
    }
}

/// ", until seven forty" where the end is far away and the wall time is known.
fn until(ms: i64, ctx: &WordingCtx) -> String {
    if ms < SAY_TIME_FROM {
        return String::new();
    }
    let Some((known, _)) = ctx.wall.as_ref() else {
        return String::new();
    };
    ctx.wall_at(known.plus(ms))
        .map(|z| format!(", until {}", clock_time(&z)))
        .unwrap_or_default()
}

fn clock_time(z: &jiff::ZonedDateTime) -> String {
    numbers::clock_time_with(
        u8::try_from(z.hour()).unwrap_or(0),
        u8::try_from(z.minute()).unwrap_or(0),
    )
}

/// A clock with what it has left: "brine: eleven hours left".
pub fn line(line: &ClockLine, ctx: &WordingCtx) -> String {
    match &line.clock {
        ClockName::Flip(vessel) if line.left > 0 => {
            format!("{vessel}, flip in {}", about_or_exact(line.left))
        }
        ClockName::Flip(vessel) if line.left > -10_000 => format!("{vessel}, flip now"),
        ClockName::Flip(vessel) => format!("{vessel}, flip {} over", about(line.left)),
        clock => format!("{}, {}", clock_name(clock), left(line, ctx)),
    }
}

/// A clock of a step that has been named already: "flip in two minutes".
pub fn part(line: &ClockLine, ctx: &WordingCtx) -> String {
    match &line.clock {
        ClockName::Flip(_) if line.left > 0 => format!("flip in {}", about_or_exact(line.left)),
        ClockName::Flip(_) if line.left > -10_000 => "flip now".to_owned(),
        ClockName::Flip(_) => format!("flip {} over", about(line.left)),
        ClockName::Rest(_) => format!("rest, {}", left(line, ctx)),
        _ => left(line, ctx),
    }
}

/// An open window: nothing is late yet.
fn window(most: i64) -> String {
    format!("may end now, {} to the limit", about(most))
}

/// The call to act on an alarm, and how long it has been waiting.
fn due(line: &DueLine, ctx: &WordingCtx) -> String {
    match line {
        DueLine::Up {
            clock,
            over,
            times,
            most,
            out_to,
        } => {
            let late = if *times > 1 || *over > 30_000 {
                format!(", {} over", about(*over))
            } else {
                String::new()
            };
            match clock {
                ClockName::Flip(vessel) if *times > 1 => {
                    format!("{vessel} still waits for its flip{late}")
                }
                ClockName::Flip(vessel) => format!("flip, {vessel}{late}"),
                ClockName::Rest(step) => format!("{step} has rested{late}"),
                ClockName::Wait(step) => match (most, out_to) {
                    (Some(most), _) if *most > 0 => format!("{step} {}", window(*most)),
                    (_, Some(to)) => format!("{step}, time is up{late}, out to the {to}"),
                    _ => format!("{step}, time is up{late}"),
                },
                timer => format!("{} is up{late}", clock_name(timer)),
            }
        }
        DueLine::LimitNear { step, left } => {
            format!("{step}, {} to the limit", about(*left))
        }
        DueLine::LimitReached { step } => format!("{step} is at its limit, end it now"),
        DueLine::DangerZone { item, limit } => format!(
            "{item}, {} in the danger zone in all, as far as I was told, the consumer limit",
            hours(*limit)
        ),
        DueLine::HoldOver { step } => {
            format!("{step}, the hold that the table asks is over by the clock, read it once more")
        }
        DueLine::CoolingNear(line) => super::cooling::near(line, ctx),
        DueLine::CoolingOver(line) => super::cooling::over(line, ctx),
        DueLine::BeginSoon { step, left } => {
            format!("{step} in {}, wash your hands", about((*left).max(60_000)))
        }
    }
}

/// "one hour", "two hours".
pub fn hours(ms: i64) -> String {
    match (ms / 3_600_000).unsigned_abs() {
        1 => "one hour".to_owned(),
        n => format!("{} hours", numbers::plain(n)),
    }
}

/// How often the alarm that waits longest has gone unanswered.
pub fn unanswered(lines: &[DueLine]) -> u8 {
    let most = lines.iter().map(|l| match l {
        DueLine::Up { times, .. } => times.saturating_sub(1),
        DueLine::LimitNear { .. }
        | DueLine::LimitReached { .. }
        | DueLine::DangerZone { .. }
        | DueLine::CoolingNear(_)
        | DueLine::HoldOver { .. }
        | DueLine::CoolingOver(_)
        | DueLine::BeginSoon { .. } => 0,
    });
    u8::try_from(most.max().unwrap_or(0)).unwrap_or(u8::MAX)
}

fn open_window(line: &DueLine) -> Option<(String, i64)> {
    match line {
        DueLine::Up {
            clock: ClockName::Wait(step),
            most: Some(most),
            ..
        } if *most > 0 => Some((step.clone(), *most)),
        _ => None,
    }
}

/// Several due things in one sentence; flips due together are one call.
pub fn due_lines(lines: &[DueLine], ctx: &WordingCtx) -> String {
    sentence(&due_phrase(lines, ctx))
}

/// [`due_lines`] within a sentence.
pub fn due_phrase(lines: &[DueLine], ctx: &WordingCtx) -> String {
    let first_flip = |l: &DueLine| match l {
        DueLine::Up {
            clock: ClockName::Flip(vessel),
            times: 1,
            over,
            ..
        } if *over <= 30_000 => Some(vessel.clone()),
        _ => None,
    };
    let flips: Vec<String> = lines.iter().filter_map(first_flip).collect();
    // A limit says all that the end of the same step would say.
    let limits: Vec<&String> = lines
        .iter()
        .filter_map(|l| match l {
            DueLine::LimitReached { step } => Some(step),
            _ => None,
        })
        .collect();
    // So do windows that are open equally long.
    let mut windows: Vec<(String, Vec<String>)> = Vec::new();
    for l in lines {
        if let Some((step, most)) = open_window(l)
            && !limits.contains(&&step)
        {
            let words = window(most);
            match windows.iter_mut().find(|(w, _)| *w == words) {
                Some((_, steps)) => steps.push(step),
                None => windows.push((words, vec![step])),
            }
        }
    }
    let mut parts: Vec<String> = lines
        .iter()
        .filter(|l| flips.len() < 2 || first_flip(l).is_none())
        .filter(|l| open_window(l).is_none())
        .filter(|l| {
            !matches!(l, DueLine::Up { clock: ClockName::Wait(step), .. } if limits.contains(&step))
        })
        .map(|l| due(l, ctx))
        .collect();
    parts.extend(
        windows
            .iter()
            .map(|(words, steps)| format!("{} {words}", list(steps))),
    );
    if flips.len() > 1 {
        parts.insert(0, format!("flip, {}", list(&flips)));
    }
    match parts.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [init @ .., last] => format!("{}; and {last}", init.join("; ")),
    }
}

pub fn word(say: &Say, ctx: &WordingCtx) -> String {
    match say {
        Say::FoodIn { vessel, clocks } => {
            let place = vessel
                .as_ref()
                .map(|v| format!(", {v}"))
                .unwrap_or_default();
            let mut parts = vec![format!("in{place}")];
            parts.extend(clocks.iter().map(|c| part(c, ctx)));
            sentences(&parts)
        }
        Say::TimerSet { name, ms } => {
            let name = name.as_ref().map(|n| format!("{n} ")).unwrap_or_default();
            sentence(&format!("{name}timer, {}{}", exact(*ms), until(*ms, ctx)))
        }
        Say::ClockMoved { clock, left } => sentence(&match clock {
            ClockName::Flip(vessel) => format!("{vessel}, flip in {}", exact(*left)),
            clock => format!(
                "{}, {} now{}",
                clock_name(clock),
                exact(*left),
                until(*left, ctx)
            ),
        }),
        Say::TimerStopped { clock } => sentence(&format!("{} stopped", clock_name(clock))),
        Say::Acknowledged { timers } if timers.is_empty() => "OK.".to_owned(),
        Say::Acknowledged { timers } => {
            let names: Vec<String> = timers.iter().map(clock_name).collect();
            sentence(&format!("{} stopped", list(&names)))
        }
        Say::Due(lines) => due_lines(lines, ctx),
        Say::HowLong {
            piece,
            steps,
            timers,
            cooling,
        } => {
            let mut parts: Vec<String> = piece.iter().map(super::doneness::asked).collect();
            parts.extend(steps.iter().map(|s| super::steps::step_line(s, ctx)));
            parts.extend(timers.iter().map(|t| line(t, ctx)));
            parts.extend(cooling.iter().map(|c| super::cooling::line(c, ctx)));
            if parts.is_empty() {
                return "No clock is running.".to_owned();
            }
            sentences(&parts)
        }
        Say::Time { at } => match ctx.wall_at(*at) {
            Some(z) => sentence(&clock_time(&z)),
            None => sentence(&format!("{} since the cook began", exact(at.0))),
        },
        _ => String::new(),
    }
}
