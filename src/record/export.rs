//! The record as JSON: complete, so that the journal's events can be had back from it,
//! with the rows beside them for other programs.
//!
//! ```text
//! { "record": 1,
//!   "header":   {plan_file, plan (its whole text), zone, seed, hobcall},
//!   "sessions": [{anchor: {cook_ms, wall, boot, boottime_ms}, program}],
//!   "torn":     {at, bytes} or null,
//!   "events":   [{n, wall, event}],          times in milliseconds of cook time
//!   "rows":     {steps, clocks, readings, stove, places, notes, calls} }
//! ```
//!
//! `rows` is worked out from the rest and is not read back.

use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

use crate::journal::{Cook, Header, Session, Torn};
use crate::kitchen::whereabouts::Side;
use crate::kitchen::{At, Event};

use super::story::Story;

const VERSION: u32 = 1;

/// Why a text is no record.
#[derive(Debug, thiserror::Error)]
pub enum NotARecord {
    #[error("not a record in JSON: {0}; make one with `hobcall record JOURNAL --json FILE`")]
    Json(#[from] serde_json::Error),
    #[error("written by version {found} of the record, this program knows {VERSION}")]
    Version { found: u32 },
    #[error("event number {found} stands where {expected} belongs; events are missing")]
    Gap { found: u64, expected: u64 },
}

#[derive(Serialize, Deserialize)]
struct Numbered {
    n: u64,
    wall: jiff::Timestamp,
    event: Event,
}

#[derive(Serialize, Deserialize)]
struct TornTail {
    at: u64,
    bytes: Vec<u8>,
}

#[derive(Serialize, Deserialize)]
struct Whole {
    record: u32,
    header: Header,
    sessions: Vec<Session>,
    torn: Option<TornTail>,
    events: Vec<Numbered>,
    #[serde(default)]
    rows: Value,
}

/// The record of a cook as JSON text.
///
/// # Errors
/// None that a journal can cause; the serializer's own.
pub fn to_json(cook: &Cook<Event>, story: &Story) -> Result<String, serde_json::Error> {
    let events = cook
        .events
        .iter()
        .enumerate()
        .map(|(n, (wall, event))| Numbered {
            n: n as u64,
            wall: *wall,
            event: event.clone(),
        });
    let whole = Whole {
        record: VERSION,
        header: cook.header.clone(),
        sessions: cook.sessions.clone(),
        torn: cook.torn.as_ref().map(|t| TornTail {
            at: t.at,
            bytes: t.bytes.clone(),
        }),
        events: events.collect(),
        rows: rows(story),
    };
    serde_json::to_string_pretty(&whole)
}

/// The journal's content from the text that [`to_json`] wrote.
///
/// # Errors
/// When the text is no record, is newer than this program, or lacks events.
pub fn from_json(text: &str) -> Result<Cook<Event>, NotARecord> {
    let whole: Whole = serde_json::from_str(text)?;
    if whole.record > VERSION {
        return Err(NotARecord::Version {
            found: whole.record,
        });
    }
    let mut events = Vec::with_capacity(whole.events.len());
    for (expected, numbered) in (0u64..).zip(whole.events) {
        if numbered.n != expected {
            return Err(NotARecord::Gap {
                found: numbered.n,
                expected,
            });
        }
        events.push((numbered.wall, numbered.event));
    }
    Ok(Cook {
        header: whole.header,
        sessions: whole.sessions,
        events,
        torn: whole.torn.map(|t| Torn {
            at: t.at,
            bytes: t.bytes,
        }),
    })
}

pub fn side(side: Side) -> &'static str {
    match side {
        Side::First => "first",
        Side::Second => "second",
        Side::Unsure => "not sure",
    }
}

fn rows(story: &Story) -> Value {
    let ms = |at: Option<At>| at.map(|at| at.0);
    json!({
        "steps": story.steps.iter().map(|s| json!({
            "step": s.id,
            "planned_from_ms": s.planned.from,
            "planned_to_ms": s.planned.to,
            "began_ms": ms(s.began),
            "food_in_ms": ms(s.food_in),
            "waits_from_ms": ms(s.waits_from),
            "ended_ms": ms(s.ended),
            "flips": s.flips,
            "began_early": s.began_early,
            "ended_early": s.ended_early,
        })).collect::<Vec<_>>(),
        "clocks": story.clocks.iter().map(|c| json!({
            "clock": c.name,
            "from_ms": c.from.0,
            "ends_ms": c.ends.0,
            "latest_ms": ms(c.latest),
            "moved": c.moved,
            "rang_ms": ms(c.rang),
            "answered_ms": ms(c.answered),
            "closed_ms": ms(c.closed),
        })).collect::<Vec<_>>(),
        "readings": story.readings.iter().map(|r| json!({
            "at_ms": r.at.0,
            "number": r.number,
            "vessel": r.vessel,
            "piece": r.piece,
            "kind": r.kind,
            "called": r.called,
            "called_in": r.called_in,
            "first_understood": r.first,
            "celsius": r.celsius,
            "offset_celsius": r.offset_c,
            "step": r.step,
            "target_celsius": r.target,
            "window_celsius": r.window,
            "not_believed": story.judged.why(r.number),
        })).collect::<Vec<_>>(),
        "believed": story.judged.believed.iter().map(|b| json!({
            "at_ms": b.at.0,
            "vessel": b.vessel,
            "core_celsius": b.core,
            "low_celsius": b.low,
            "high_celsius": b.high,
        })).collect::<Vec<_>>(),
        "cooling": story.state.cooling().iter().map(|c| json!({
            "item": c.item,
            "from_ms": c.from.0,
            "reheated": c.reheated,
            "limits": c.legs.iter().map(|l| json!({
                "to_celsius": l.to,
                "by_ms": l.by.0,
                "there_ms": ms(l.there),
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "stove": story.stove.iter().map(|s| json!({
            "at_ms": s.at.0,
            "vessel": s.vessel,
            "what": s.what,
        })).collect::<Vec<_>>(),
        "places": story.stays.iter().map(|s| json!({
            "piece": s.name,
            "from_ms": s.from.0,
            "to_ms": ms(s.to),
            "vessel": s.vessel,
            "place": s.place,
            "side_down": side(s.side),
            "sure": s.sure,
            "by_plan": s.by_plan,
        })).collect::<Vec<_>>(),
        "notes": story.notes.iter().map(|n| json!({
            "at_ms": n.at.0,
            "text": n.text,
        })).collect::<Vec<_>>(),
        "calls": story.lines.iter().map(|l| json!({
            "at_ms": l.at.0,
            "call": l.call,
            "heard": l.heard,
            "taken": l.taken,
            "said": l.said,
            "taken_back": l.taken_back,
        })).collect::<Vec<_>>(),
    })
}
