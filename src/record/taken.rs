//! An event as it was taken, in a few words. Written from the event's own fields, so that
//! no kind of event can be forgotten: what has no words of its own shows its fields.

use serde_json::Value;

use crate::kitchen::{PieceId, Reading, What};
use crate::plan::{Place, Units};

use super::names::Names;
use super::written;

pub fn taken(what: &What, names: &Names) -> String {
    match what {
        What::Reading(reading) => self::reading(reading, names),
        What::Noted { text: Some(text) } => format!("note: {text}"),
        other => match serde_json::to_value(other) {
            Ok(Value::Object(mut fields)) => {
                let tag = match fields.remove("what") {
                    Some(Value::String(tag)) => tag.replace('_', " "),
                    _ => String::new(),
                };
                // Places are named by the vessel they are in.
                for (place, vessel) in [("place", "vessel"), ("a", "vessel_a"), ("b", "vessel_b")] {
                    let Some(Value::String(vessel)) = fields.get(vessel) else {
                        continue;
                    };
                    let found = fields
                        .get(place)
                        .cloned()
                        .map(serde_json::from_value::<Place>);
                    if let Some(Ok(seen)) = found {
                        let words = names.place_in(vessel, seen);
                        fields.insert(place.to_owned(), Value::String(words));
                    }
                }
                let mut parts = Vec::new();
                for (key, value) in &fields {
                    field(key, value, names, &mut parts);
                }
                match parts.is_empty() {
                    true => tag,
                    false => format!("{tag}: {}", parts.join(", ")),
                }
            }
            _ => String::new(),
        },
    }
}

fn reading(reading: &Reading, names: &Names) -> String {
    let unit = match reading.units {
        Units::Fahrenheit => "°F",
        Units::Celsius => "°C",
    };
    let called = if reading.called.lo == reading.called.hi {
        format!("{}", reading.called.lo)
    } else {
        format!("{} to {}", reading.called.lo, reading.called.hi)
    };
    let kind = serde_json::to_value(reading.kind)
        .ok()
        .and_then(|v| v.as_str().map(str::to_owned))
        .unwrap_or_default();
    let mut text = format!("reading {}: {kind} {called} {unit}", reading.number);
    if let Some(piece) = &reading.piece {
        text.push_str(&format!(", {}", names.piece(piece)));
    }
    if let Some(vessel) = &reading.vessel {
        text.push_str(&format!(", {}", names.name(vessel)));
    }
    text
}

fn field(key: &str, value: &Value, names: &Names, parts: &mut Vec<String>) {
    let label = key.replace('_', " ");
    match value {
        // A tasting's seed gives its key away, and no record is better for it.
        _ if key == "seed" => {}
        Value::Null | Value::Bool(false) => {}
        Value::Bool(true) => parts.push(label),
        Value::Number(n) if key == "ms" || key.ends_with("_ms") => {
            parts.push(written::length(n.as_i64().unwrap_or_default()));
        }
        Value::Number(n) if key == "ends" || key == "at" => {
            let at = written::time(n.as_i64().unwrap_or_default());
            parts.push(format!("{label} {at}"));
        }
        Value::Number(n) => parts.push(format!("{label} {n}")),
        Value::String(text) => {
            let plain = names.name(text);
            // A step in a field called `step` needs no label.
            match key {
                "step" | "vessel" | "sample" | "deed" | "turn" | "place" | "how" | "why" => {
                    parts.push(plain);
                }
                _ => parts.push(format!("{label} {plain}")),
            }
        }
        Value::Array(all) => {
            let mut inner = Vec::new();
            for one in all {
                field("", one, names, &mut inner);
            }
            let inner: Vec<String> = inner.iter().map(|i| i.trim().to_owned()).collect();
            parts.push(format!("{label} {}", inner.join("; ")).trim().to_owned());
        }
        Value::Object(fields) => {
            if let Ok(piece) = serde_json::from_value::<PieceId>(value.clone()) {
                parts.push(names.piece(&piece));
                return;
            }
            let mut inner = Vec::new();
            for (key, value) in fields {
                field(key, value, names, &mut inner);
            }
            parts.push(format!("{label} {}", inner.join(" ")).trim().to_owned());
        }
    }
}
