//! The published minimums beside what was reached.

use maud::{Markup, html};

use crate::kitchen::{CoolingView, LegView};
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
            let limit = story.state.danger_zone_limit_ms();
            let over = ms > limit;
            let cells = vec![
                text(item.names.first().unwrap_or(&item.id)),
                text(written::length(ms)),
                text(written::length(limit)),
                html! { b { (if over { "over it" } else { "within" }) } },
            ];
            (false, cells)
        })
        .collect();
    let cooling: Vec<_> = story
        .state
        .cooling()
        .iter()
        .map(|c| (false, cooled(story, c)))
        .collect();
    if rows.is_empty() && zone.is_empty() && cooling.is_empty() {
        return None;
    }
    Some(html! {
        @if !rows.is_empty() { (table(&["Step", "Food", "Published minimum", "#Planned", "#Last believed", "#Rested", "Minimum"], &rows)) }
        @if !zone.is_empty() {
            h3 { "In the danger zone, as far as the plan and the calls tell" }
            (table(&["Food", "#40 to 140 °F", "#Published limit", "Limit"], &zone))
        }
        @if !cooling.is_empty() {
            h3 { "Cooling after the cook" }
            (table(&["Food", "Since", "First limit", "#Read there", "Second limit", "#Read there", "Limits"], &cooling))
            p.soft {
                "The two limits are those of the Food Code of the United States, 3-501.14(A): 135 to 70 °F within two hours, to 41 °F within six in all. "
                "What was not read in time counts as missed."
            }
        }
        p.soft {
            "Minimums and the limit are the consumer advice of the United States' food inspection service (FSIS). "
            "Local codes and licensed practice come first. A reading is of the place that was probed, no more."
        }
    })
}

/// The two limits of an item that cools, and when it was read there.
fn cooled(story: &Story, cooling: &CoolingView) -> Vec<Markup> {
    let names = story.plan.items.iter().find(|i| i.id == cooling.item);
    let name = names.and_then(|i| i.names.first()).unwrap_or(&cooling.item);
    let again = if cooling.reheated {
        ", heated up once"
    } else {
        ""
    };
    let now = story.ending.at();
    let missed = |l: &LegView| l.there.unwrap_or(now) > l.by;
    let verdict = if cooling.legs.iter().any(missed) {
        "missed"
    } else if cooling.legs.iter().all(|l| l.there.is_some()) {
        "kept"
    } else {
        "not over"
    };
    let mut cells = vec![
        text(name),
        text(format!("{}{again}", written::time(cooling.from.0))),
    ];
    for leg in &cooling.legs {
        let to = written::temperature(leg.to, story.units);
        cells.push(text(format!("{to} by {}", written::time(leg.by.0))));
        cells.push(text(
            leg.there.map_or(String::new(), |at| written::time(at.0)),
        ));
    }
    cells.push(html! { b { (verdict) } });
    cells
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
