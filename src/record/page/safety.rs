//! The published minimums beside what was reached.

use maud::{Markup, html};

use crate::doneness::danger::LIMIT_S;
use crate::plan::{FoodClass, Until};
use crate::record::judged;
use crate::record::story::Story;
use crate::record::written;

use super::{table, text};

/// One row for every step that cooks something with a published minimum.
pub fn section(story: &Story) -> Option<Markup> {
    let units = story.units;
    let rows: Vec<_> = story
        .plan
        .steps
        .iter()
        .filter_map(|step| {
            let target = step.until.iter().find_map(|u| match u {
                Until::Core(target) => Some(*target),
                _ => None,
            })?;
            let item = judged::item(story, step)?;
            let asked = judged::asked(item.class)?;
            let row = story.steps.iter().find(|r| r.id == step.id)?;
            let last = story.judged.last_of(&step.id);
            let rest = match asked.rest_s {
                0 => String::new(),
                s => format!(" and {} of rest", written::length(i64::from(s) * 1000)),
            };
            let verdict = match last {
                None => "no believed reading",
                Some(b) if b.core.0 >= asked.core.0 - 1e-9 => "reached",
                Some(_) => "below it",
            };
            let cells = vec![
                text(&row.name),
                text(item.names.first().unwrap_or(&item.id)),
                text(format!("{}{rest}", written::temperature(asked.core, units))),
                text(written::temperature(target, units)),
                text(last.map_or(String::new(), |b| written::temperature(b.core, units))),
                text(rested(story, &row.id)),
                html! { b { (verdict) } },
            ];
            Some((false, cells))
        })
        .collect();
    let zone: Vec<_> = story
        .plan
        .items
        .iter()
        .filter(|item| item.class != FoodClass::Other)
        .map(|item| {
            let ms = story.state.danger_zone_ms(&item.id, story.ending.at());
            let over = ms as f64 > LIMIT_S * 1000.0;
            let cells = vec![
                text(item.names.first().unwrap_or(&item.id)),
                text(written::length(ms)),
                text(written::length((LIMIT_S * 1000.0) as i64)),
                html! { b { (if over { "over it" } else { "within" }) } },
            ];
            (false, cells)
        })
        .collect();
    if rows.is_empty() && zone.is_empty() {
        return None;
    }
    Some(html! {
        @if !rows.is_empty() { (table(&["Step", "Food", "Published minimum", "#Planned", "#Last believed", "#Rested", "Minimum"], &rows)) }
        @if !zone.is_empty() {
            h3 { "In the danger zone, as far as the plan and the calls tell" }
            (table(&["Food", "#40 to 140 °F", "#Published limit", "Limit"], &zone))
        }
        p.soft {
            "Minimums and the limit are the consumer advice of the United States' food inspection service (FSIS). "
            "Local codes and licensed practice come first. A reading is of the place that was probed, no more."
        }
    })
}

/// How long its rest clock ran, if it rested.
fn rested(story: &Story, step: &str) -> String {
    let key = crate::kitchen::ClockKey::Rest(step.to_owned());
    let Some(clock) = story.clocks.iter().rev().find(|c| c.key == key) else {
        return String::new();
    };
    let end = clock.closed.unwrap_or_else(|| story.ending.at());
    written::length(end.since(clock.from))
}
