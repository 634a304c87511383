//! What the readings meant: the believed core of each step after each reading, with its
//! interval, and the readings that were not believed. Asked of the room of doneness with
//! what was known then; the readings themselves stay as called.

use std::collections::BTreeMap;

use crate::doneness::{self, Batch, Heating, Oddity, Probe, believe, minimum};
use crate::kitchen::{At, Measured};
use crate::plan::{Celsius, FoodClass, Id, Item, Shape, Span, Step, Until, VesselKind, What};

use super::story::{ReadingRow, Story};

#[derive(Debug, Clone, Default, PartialEq)]
pub struct Judged {
    pub believed: Vec<Believed>,
    /// Readings by their number, with the reason why each was not believed.
    pub flagged: BTreeMap<u32, String>,
}

/// What was believed after a reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Believed {
    pub at: At,
    pub step: Id,
    pub vessel: Id,
    /// The lowest credible reading of the round.
    pub core: Celsius,
    /// Where the coldest piece lay, four times of five.
    pub low: Celsius,
    pub high: Celsius,
}

impl Judged {
    /// Why a reading was not believed, if it was not.
    pub fn why(&self, number: u32) -> Option<&str> {
        self.flagged.get(&number).map(String::as_str)
    }

    /// What was believed of a step in the end.
    pub fn last_of(&self, step: &Id) -> Option<&Believed> {
        self.believed.iter().rev().find(|b| b.step == *step)
    }
}

/// The published consumer minimum for a food class, where there is one.
pub fn safe_core(class: FoodClass) -> Option<Celsius> {
    minimum(class).map(|m| m.core)
}

/// The item that a step cooks: the first that it holds.
pub fn item<'a>(story: &'a Story, step: &Step) -> Option<&'a Item> {
    let plan = &story.plan;
    let of = |id: &Id| plan.items.iter().find(|i| i.id == *id);
    step.holds.iter().find_map(|h| match &h.what {
        What::Pieces { item, .. } => of(item),
        What::Sample(id) => of(&plan.samples.iter().find(|s| s.id == *id)?.of),
    })
}

pub fn judge(story: &Story) -> Judged {
    let mut judged = Judged::default();
    for step in &story.plan.steps {
        of_step(story, step, &mut judged);
    }
    judged.believed.sort_by_key(|b| b.at);
    judged
}

fn of_step(story: &Story, step: &Step, judged: &mut Judged) -> Option<()> {
    let target = step.until.iter().find_map(|u| match u {
        Until::Core(target) => Some(*target),
        _ => None,
    })?;
    let vessel = step.vessel.as_ref()?;
    let row = story.steps.iter().find(|r| r.id == step.id)?;
    let zero = row.food_in.or(row.began)?;
    let readings: Vec<&ReadingRow> = story
        .readings
        .iter()
        .filter(|r| r.kind == Measured::Core && r.step.as_ref() == Some(&step.id))
        .collect();
    let probes: Vec<Probe> = readings
        .iter()
        .map(|r| Probe {
            at_s: seconds(r.at, zero),
            value: r.celsius,
            piece: r.piece.as_ref().map(|name| number_of(story, name)),
        })
        .collect();
    for n in 1..=probes.len() {
        let now = readings.get(n - 1)?.at;
        let known = probes.get(..n)?;
        let batch = batch(story, step, target, now);
        let belief = believe(&batch, known, &changes(story, vessel, zero, now));
        if let Some((core, at_s)) = belief.coldest() {
            let (low, _, high) = belief.coldest_between(at_s);
            judged.believed.push(Believed {
                at: now,
                step: step.id.clone(),
                vessel: vessel.clone(),
                core,
                low,
                high,
            });
        }
        // Later readings tell more of the earlier ones: the last word stands.
        for (reading, odd) in readings.iter().zip(&belief.oddities) {
            match odd {
                Some(odd) => judged.flagged.insert(reading.number, why(*odd).to_owned()),
                None => judged.flagged.remove(&reading.number),
            };
        }
    }
    Some(())
}

fn why(odd: Oddity) -> &'static str {
    match odd {
        Oddity::BoneOrOil => "higher than the food can be: bone or oil",
        Oddity::NotSettled => "lower than the food can be: the probe had not settled",
        Oddity::NoNumber => "no number",
    }
}

fn seconds(at: At, zero: At) -> f64 {
    at.since(zero) as f64 / 1000.0
}

/// A number that tells the named pieces apart.
fn number_of(story: &Story, name: &str) -> u32 {
    let named = story.readings.iter().filter_map(|r| r.piece.as_deref());
    let place = named.into_iter().position(|n| n == name);
    place.and_then(|p| u32::try_from(p).ok()).unwrap_or(0)
}

/// When the heat or the lid of a vessel was last changed, after the food went in.
fn changes(story: &Story, vessel: &Id, zero: At, now: At) -> Vec<f64> {
    story
        .stove
        .iter()
        .filter(|s| !s.oil && s.vessel.as_ref() == Some(vessel))
        .filter(|s| s.at > zero && s.at <= now)
        .filter(|s| s.what.starts_with("heat") || s.what.starts_with("lid"))
        .map(|s| seconds(s.at, zero))
        .collect()
}

fn batch(story: &Story, step: &Step, target: Celsius, now: At) -> Batch {
    let item = item(story, step);
    let vessel = story
        .plan
        .vessels
        .iter()
        .find(|v| step.vessel.as_ref() == Some(&v.id));
    let middle = |s: Span<Celsius>| Celsius(0.5 * (s.lo.0 + s.hi.0));
    let read = story
        .readings
        .iter()
        .rev()
        .filter(|r| r.at <= now && r.kind == Measured::Medium && r.vessel == step.vessel)
        .map(|r| middle(r.celsius))
        .next();
    let planned = story
        .plan
        .steps
        .iter()
        .filter(|s| s.vessel == step.vessel)
        .flat_map(|s| &s.until)
        .find_map(|u| match u {
            Until::Medium(window) => Some(middle(*window)),
            _ => None,
        });
    let medium = read.or(planned);
    let pieces = step.holds.iter().map(|h| match &h.what {
        What::Pieces { count, .. } => *count,
        What::Sample(_) => 1,
    });
    Batch {
        pieces: pieces.fold(0u32, u32::saturating_add).max(1),
        shape: item.map_or(Shape::Slab, |i| i.shape),
        thickness_mm: item.and_then(|i| i.thickness_mm),
        start: item.and_then(|i| i.start),
        heating: match vessel.map(|v| v.kind) {
            Some(VesselKind::Pot) => Heating::Immersed,
            Some(VesselKind::Skillet) if medium.is_some() => Heating::Immersed,
            Some(VesselKind::Skillet) => Heating::Pan,
            _ => Heating::Oven,
        },
        medium,
        target,
    }
}

/// What a food class asks for, in words: the minimum and the rest after it.
pub fn asked(class: FoodClass) -> Option<doneness::Minimum> {
    minimum(class)
}
