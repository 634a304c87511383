//! How long each item has been in the danger zone, over the whole cook, as far as the
//! plan and the calls tell: out of the fridge before the heat, and on the heat until its
//! coldest piece was read at 140 °F. It is in the fridge by a step that says so or by the
//! cook's word. The convention is the consumer one, 40 to 140 °F.

use crate::doneness::danger::{ZONE_F, limit_s};
use crate::doneness::units::{from_fahrenheit, reached};
use crate::plan::{FoodClass, Id, Step, VesselKind};

use super::At;
use super::core::Core;
use super::kit::{Kit, StepIx};
use super::meaning;

/// The cook put an item into the fridge, or took it out.
#[derive(Debug, Clone, PartialEq)]
pub struct FridgeMove {
    pub item: Id,
    pub at: At,
    pub out: bool,
}

/// Words of a step that say that its food stays cold.
const COLD: [&str; 5] = ["fridge", "refrigerator", "refrigerated", "ice", "cellar"];

fn is_cold(kit: &Kit, step: &Step) -> bool {
    let fridge = step
        .vessel
        .as_ref()
        .and_then(|v| kit.vessel(kit.vessel_ix(v)?))
        .is_some_and(|v| v.kind == VesselKind::Fridge);
    fridge
        // "Out of the fridge" is where the counting begins.
        || (!step.say.to_lowercase().contains("out of the fridge")
            && (step.say.split(|c: char| !c.is_alphabetic()))
                .any(|w| COLD.iter().any(|c| w.eq_ignore_ascii_case(c))))
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

/// A step that has held an item, as far as it has gone.
struct Stage {
    ix: StepIx,
    began: At,
    ended: Option<At>,
    cold: bool,
    /// Where there is fire under it: food that leaves it is no longer raw on a counter.
    heat: bool,
}

fn stages(kit: &Kit, core: &Core, item: &Id) -> (Vec<Stage>, bool) {
    let mut waits = false;
    let mut all = Vec::new();
    for (ix, step) in kit.plan.steps.iter().enumerate() {
        if !kit.items_of(step).contains(&item) {
            continue;
        }
        let Some(state) = core.steps.get(ix) else {
            continue;
        };
        let Some(began) = state.began else {
            waits = true;
            continue;
        };
        let kind = (step.vessel.as_ref())
            .and_then(|v| kit.vessel(kit.vessel_ix(v)?))
            .map(|v| v.kind);
        all.push(Stage {
            ix,
            began,
            ended: state.ended,
            cold: is_cold(kit, step),
            heat: matches!(
                kind,
                Some(VesselKind::Skillet | VesselKind::Pot | VesselKind::Oven)
            ),
        });
    }
    (all, waits)
}

/// Stretches in the zone, (from, to); the last may be open. What stood out before the
/// heat stays out until its next step begins, or until the cook says where it went.
fn stretches(kit: &Kit, core: &Core, item: &Id) -> Vec<(At, Option<At>)> {
    let (stages, waits) = stages(kit, core, item);
    let moves: Vec<(At, bool)> = core
        .fridge
        .iter()
        .filter(|m| m.item == *item)
        .map(|m| (m.at, m.out))
        .collect();
    let begins_at = |at: At| stages.iter().map(|s| s.began).filter(|b| *b >= at).min();
    let mut all: Vec<(At, Option<At>)> = Vec::new();
    let mut hot_at = None;
    for stage in stages.iter().filter(|s| !s.cold) {
        let hot = hot_since(kit, core, stage.ix);
        let to = hot.or(match stage.ended {
            Some(end) if stage.heat => Some(end),
            Some(end) => begins_at(end).or((!waits).then_some(end)),
            None => None,
        });
        all.push((stage.began, to));
        // What was read hot once counts as cooked from then on.
        if hot.is_some() {
            hot_at = hot;
            break;
        }
    }
    let cold_at = |at: At| moves.iter().find(|(t, out)| !out && *t >= at).map(|m| m.0);
    for (at, _) in moves.iter().filter(|(_, out)| *out) {
        let to = [begins_at(*at), cold_at(*at)].into_iter().flatten().min();
        all.push((*at, to));
    }
    let mut all = merged(all);
    for (at, _) in moves.iter().filter(|(_, out)| !out) {
        let out = moves.iter().find(|(t, out)| *out && t >= at).map(|m| m.0);
        let warm = stages.iter().filter(|s| !s.cold && s.began > *at);
        let until = [out, warm.map(|s| s.began).min()]
            .into_iter()
            .flatten()
            .min();
        all = without(&all, *at, until);
    }
    // Cooked, or cooling by the two limits that are clocked for it.
    let cools = core.cooling.iter().find(|c| c.item == *item);
    let over = [hot_at, cools.map(|c| c.since)].into_iter().flatten().min();
    match over {
        Some(over) => without(&all, over, None),
        None => all,
    }
}

/// Pieces of one item in two pans are in the zone at one time.
fn merged(mut all: Vec<(At, Option<At>)>) -> Vec<(At, Option<At>)> {
    all.sort_by_key(|s| s.0);
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

/// Stretches less the time from `at` to `until`.
fn without(all: &[(At, Option<At>)], at: At, until: Option<At>) -> Vec<(At, Option<At>)> {
    let mut left = Vec::new();
    for (from, to) in all.iter().copied() {
        if from < at {
            left.push((from, Some(to.map_or(at, |t| t.min(at)))));
        }
        if let Some(until) = until
            && to.is_none_or(|t| t > until)
        {
            left.push((from.max(until), to));
        }
    }
    left
}

/// The published limit in this kitchen, milliseconds: one hour on a hot day, else two.
pub fn limit(core: &Core) -> i64 {
    (limit_s(core.room) * 1000.0) as i64
}

/// When an item has been, or will have been, in the zone for the published limit.
pub fn limit_at(kit: &Kit, core: &Core, item: &Id) -> Option<At> {
    let mut left = limit(core);
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
