//! Words for where things are, and for moves.

use crate::grammar::{Heat, Order, Turn};
use crate::kitchen::whereabouts::Side;
use crate::kitchen::{Deed, Lies, Mark, Moment, PlaceIn, Say};
use crate::plan::{Layout, Place};
use crate::voice::numbers;

use super::{choice, list, sentence, sentences, span};

/// "left", "back left", "four o'clock".
pub fn place(p: &PlaceIn) -> String {
    match p.place {
        Place::Left => "left".to_owned(),
        Place::Right => "right".to_owned(),
        Place::Front => "front".to_owned(),
        Place::Back => "back".to_owned(),
        Place::Middle => "middle".to_owned(),
        Place::Hour(h) => format!("{} o'clock", numbers::plain(u64::from(h))),
        // The plan names the places of grids, so that what is said can be said back.
        Place::Cell { .. } => Layout::Grid {
            rows: p.rows,
            columns: p.columns,
        }
        .names_of(p.place)
        .into_iter()
        .next()
        .unwrap_or_else(|| "there".to_owned()),
    }
}

fn at(p: &PlaceIn) -> String {
    match p.place {
        Place::Hour(_) => format!("at {}", place(p)),
        _ => match place(p).as_str() {
            "middle" => "in the middle".to_owned(),
            name => format!("at the {name}"),
        },
    }
}

fn lies(lies: &Lies) -> String {
    match lies {
        Lies::NotPlaced => "not told yet".to_owned(),
        Lies::In { vessel } => vessel.clone(),
        Lies::At { vessel, place } => format!("{vessel}, {}", at(place)),
        Lies::OneOf { vessel, places } => {
            let names: Vec<String> = places.iter().map(place).collect();
            if names.len() > 3 {
                format!("{vessel}, not sure where")
            } else {
                format!("{vessel}, not sure, {}", choice(&names))
            }
        }
        Lies::NotSure { vessel } => format!("not sure, last told in the {vessel}"),
        Lies::Stacked { vessel } => format!("{vessel}, somewhere in the stack"),
    }
}

pub fn mark(mark: &Mark) -> String {
    format!("{}: {}", mark.name, lies(&mark.lies))
}

fn marks(marks: &[Mark]) -> Vec<String> {
    marks.iter().map(mark).collect()
}

pub fn side(side: Side) -> Option<&'static str> {
    match side {
        Side::First => Some("first side down"),
        Side::Second => Some("second side down"),
        Side::Unsure => None,
    }
}

fn heat(level: Heat) -> &'static str {
    match level {
        Heat::Off => "heat off",
        Heat::Low => "heat low",
        Heat::MediumLow => "heat medium low",
        Heat::Medium => "heat medium",
        Heat::MediumHigh => "heat medium high",
        Heat::High => "heat high",
        Heat::Up => "heat up",
        Heat::Down => "heat down",
    }
}

pub fn deed(deed: Deed) -> &'static str {
    match deed {
        Deed::Basted => "basted",
        Deed::Stirred => "stirred",
        Deed::Heat(level) => heat(level),
        Deed::LidOn => "lid on",
        Deed::LidOff => "lid off",
    }
}

pub fn word(say: &Say) -> String {
    match say {
        Say::OilIn { vessel } => about("oil in", vessel.as_deref()),
        Say::Did {
            deed: done,
            about: what,
        } => about(deed(*done), what.as_deref().filter(|w| !w.is_empty())),
        Say::Flipped {
            what,
            vessel,
            side: down,
            next_in,
        } => {
            let mut parts = vec![if what.is_empty() {
                format!("flipped, {vessel}")
            } else {
                format!("flipped, {what}, {vessel}")
            }];
            if !what.is_empty() {
                parts.extend(side(*down).map(str::to_owned));
            }
            if let Some(next) = next_in.filter(|n| *n > 0) {
                parts.push(format!("next flip in {}", super::about(next)));
            }
            sentences(&parts)
        }
        Say::SidesUnsure { vessel } => sentences(&[
            format!("one flipped, {vessel}"),
            "not sure which, so I no longer know which side is down".to_owned(),
        ]),
        Say::Turned { vessel, turn } => sentence(&match turn {
            Turn::Half => format!("turned, {vessel}"),
            Turn::QuarterClockwise => format!("{vessel}, a quarter clockwise"),
            Turn::QuarterCounterclockwise => format!("{vessel}, a quarter counterclockwise"),
            Turn::Quarter => format!("{vessel}, a quarter turn"),
        }),
        Say::Lies(m) => sentence(&mark(m)),
        Say::Swapped { a, b, marks: m } => {
            let mut parts = vec![format!("swapped {a} and {b}")];
            parts.extend(marks(m));
            sentences(&parts)
        }
        Say::MovedOut {
            from,
            to,
            order,
            marks: m,
        } => {
            let order = match order {
                Some(Order::Kept) => ", same order",
                Some(Order::Reversed) => ", reversed",
                None => "",
            };
            let mut parts = vec![format!("{from} out to the {to}{order}")];
            // Without an order the question follows; what is not known is not said twice.
            parts.extend(
                m.iter()
                    .filter(|m| matches!(m.lies, Lies::At { .. }))
                    .map(mark),
            );
            sentences(&parts)
        }
        Say::OrderTold { order, marks: m } => {
            let mut parts = vec![
                match order {
                    Order::Kept => "same order",
                    Order::Reversed => "reversed",
                }
                .to_owned(),
            ];
            parts.extend(marks(m));
            sentences(&parts)
        }
        Say::Stacked { vessel } => sentence(&format!("stacked, {vessel}")),
        Say::Reminder { moment, marks: m } => reminder(*moment, m),
        Say::WhereIs {
            mark: m,
            side: down,
            told,
            by_plan,
            in_question,
        } => {
            if *in_question {
                return sentence(&format!("{}: not sure until you have answered", m.name));
            }
            let mut parts = vec![mark(m)];
            let known = matches!(m.lies, Lies::In { .. } | Lies::At { .. });
            if *by_plan {
                return sentence(&format!("{}, by the plan", mark(m)));
            }
            if known && let Some(side) = side(*down) {
                parts.push(side.to_owned());
            }
            let mut text = parts.join(", ");
            let unknown = matches!(m.lies, Lies::NotPlaced | Lies::NotSure { .. });
            if let (Some(told), false) = (told, unknown) {
                text.push_str(&format!(", told {}", numbers::ago(span(*told))));
            }
            sentence(&text)
        }
        Say::WhatIsAt {
            vessel,
            place: p,
            surely,
            maybe,
            in_question,
        } => {
            let spot = format!("{vessel}, {}", place(p));
            if *in_question {
                return sentence(&format!("{spot}: not sure until you have answered"));
            }
            let named: Vec<String> = counted(surely);
            match (named.is_empty(), maybe.is_empty()) {
                (false, _) => sentence(&format!("{spot}: {}", list(&named))),
                (true, false) => sentence(&format!(
                    "{spot}: not sure, perhaps {}",
                    choice(&counted(maybe))
                )),
                (true, true) => sentence(&format!("{spot}: nothing that I was told of")),
            }
        }
        Say::Map { marks: m } => {
            if m.is_empty() {
                "No marked pieces in this plan.".to_owned()
            } else {
                sentences(&marks(m))
            }
        }
        _ => String::new(),
    }
}

fn about(deed: &str, what: Option<&str>) -> String {
    match what {
        Some(what) => sentence(&format!("{deed}, {what}")),
        None => sentence(deed),
    }
}

/// Like names once, with their number: "two chops" is said "chop, two of them".
pub fn counted(names: &[String]) -> Vec<String> {
    let mut out: Vec<(String, u64)> = Vec::new();
    for name in names {
        match out.iter_mut().find(|(n, _)| n == name) {
            Some((_, n)) => *n += 1,
            None => out.push((name.clone(), 1)),
        }
    }
    out.into_iter()
        .map(|(name, n)| match n {
            1 => name,
            n => format!("{name}, {} of them", numbers::plain(n)),
        })
        .collect()
}

fn reminder(moment: Moment, m: &[Mark]) -> String {
    let what = list(&marks(m));
    match moment {
        Moment::BeforeTransfer => sentence(&format!("before it goes out, {what}")),
        Moment::AfterTurn => sentence(&format!("now {what}")),
        Moment::MarkGoesDown => sentence(&format!("the mark goes down with this flip, {what}")),
        Moment::Plating => sentence(&format!("keep it apart, {what}")),
    }
}
