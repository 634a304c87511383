//! How long each item has been in the danger zone, over the whole cook, as far as the
//! plan and the calls tell: out of the fridge before the heat, and on the heat until its
//! coldest piece was read at 140 °F. The convention is the consumer one, 40 to 140 °F.

use crate::doneness::danger::{LIMIT_S, ZONE_F};
use crate::doneness::units::{from_fahrenheit, reached};
use crate::plan::{FoodClass, Id, Step, VesselKind};

use super::At;
use super::core::Core;
use super::kit::{Kit, StepIx};
use super::meaning;

/// Words of a step that say that its food stays cold.
const COLD: [&str; 5] = ["fridge", "refrigerator", "refrigerated", "ice", "cellar"];

fn is_cold(kit: &Kit, step: &Step) -> bool {
    let fridge = step
        .vessel
        .as_ref()
        .and_then(|v| kit.vessel(kit.vessel_ix(v)?))
        .is_some_and(|v| v.kind == VesselKind::Fridge);
    fridge
        || std::iter::once(&step.say)
            .chain(&step.cautions)
            // "Out of the fridge" is where the counting begins.
            .filter(|t| !t.to_lowercase().contains("out of the fridge"))
            .flat_map(|t| t.split(|c: char| !c.is_alphabetic()))
            .any(|w| COLD.iter().any(|c| w.eq_ignore_ascii_case(c)))
}

/// When the food of a step was first read out of the zone, hot.
fn hot_since(kit: &Kit, core: &Core, ix: StepIx) -> Option<At> {
    let zero = core.steps.get(ix).and_then(|s| s.food_in.or(s.began))?;
    let hot = from_fahrenheit(ZONE_F.1);
    let round = meaning::belief(kit, core, ix)?
        .rounds
        .iter()
        .find(|r| r.believed.is_some_and(|c| reached(c, hot)))?;
    Some(zero.plus((round.at_s * 1000.0) as i64))
}

/// Stretches in the zone, (from, to); the last may be open.
fn stretches(kit: &Kit, core: &Core, item: &Id) -> Vec<(At, Option<At>)> {
    let mut all: Vec<(At, Option<At>)> = Vec::new();
    for (ix, step) in kit.plan.steps.iter().enumerate() {
        let Some(state) = core.steps.get(ix) else {
            continue;
        };
        let Some(began) = state.began else { continue };
        if is_cold(kit, step) || meaning::item(kit, step).is_none_or(|i| i.id != *item) {
            continue;
        }
        let hot = hot_since(kit, core, ix);
        // From then on the limits of cooling are clocked instead.
        let cools = core.cooling.iter().find(|c| c.item == *item);
        let ends = [hot.or(state.ended), cools.map(|c| c.since)];
        let to = ends.into_iter().flatten().min();
        if to.is_none_or(|to| to > began) {
            all.push((began, to));
        }
        // What was read hot once counts as cooked from then on.
        if hot.is_some() {
            break;
        }
    }
    all.sort_by_key(|s| s.0);
    // Pieces of one item in two pans are in the zone at one time.
    let mut merged: Vec<(At, Option<At>)> = Vec::new();
    for (from, to) in all {
        match merged.last_mut() {
            Some((_, end)) if end.is_none_or(|e| e >= from) => {
                *end = match (*end, to) {
                    (Some(a), Some(b)) => Some(a.max(b)),
                    _ => None,
                };
            }
            _ => merged.push((from, to)),
        }
    }
    merged
}

/// When an item has been, or will have been, in the zone for the published limit.
pub fn limit_at(kit: &Kit, core: &Core, item: &Id) -> Option<At> {
    let mut left = (LIMIT_S * 1000.0) as i64;
    for (from, to) in stretches(kit, core, item) {
        match to {
            Some(to) if to.since(from) < left => left -= to.since(from).max(0),
            _ => return Some(from.plus(left)),
        }
    }
    None
}

/// How long an item has been in the zone until `now`, milliseconds.
pub fn total(kit: &Kit, core: &Core, item: &Id, now: At) -> i64 {
    stretches(kit, core, item)
        .into_iter()
        .map(|(from, to)| to.unwrap_or(now).since(from).max(0))
        .fold(0, i64::saturating_add)
}

/// Items to which the limit applies and of which the cook has not been told.
pub fn watched<'a>(kit: &'a Kit, core: &'a Core) -> impl Iterator<Item = &'a Id> {
    kit.plan
        .items
        .iter()
        .filter(|i| i.class != FoodClass::Other)
        .map(|i| &i.id)
        .filter(|i| !core.warned.contains(i))
}
