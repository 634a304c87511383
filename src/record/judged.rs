//! What the readings meant: the believed core of each step after each reading, with its
//! interval, and the readings that were not believed, all as the kitchen took them. The
//! readings themselves stay as called.

use std::collections::BTreeMap;

use crate::doneness::{Minimum, Oddity, minimum};
use crate::kitchen::{At, State};
use crate::plan::{Celsius, FoodClass, Id, Item, Step, What};

use super::story::Story;

#[derive(Debug, Clone, Default, PartialEq)]
pub struct Judged {
    pub believed: Vec<Believed>,
    /// Readings by their number, with the reason why each was not believed.
    flagged: BTreeMap<u32, &'static str>,
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
    /// Takes in what is believed of a step after its readings `numbers`.
    pub(super) fn after(&mut self, state: &State, step: &Step, at: At, numbers: &[u32]) {
        let Some(belief) = state.belief_of(&step.id) else {
            return;
        };
        if let (Some(core), Some((low, high)), Some(vessel)) =
            (belief.core, belief.between, &step.vessel)
        {
            self.believed.push(Believed {
                at,
                step: step.id.clone(),
                vessel: vessel.clone(),
                core,
                low,
                high,
            });
        }
        // Later readings tell more of the earlier ones: the last word stands.
        self.flagged.retain(|number, _| !numbers.contains(number));
        for (number, odd) in belief.odd {
            self.flagged.insert(number, why(odd));
        }
    }

    /// Why a reading was not believed, if it was not.
    pub fn why(&self, number: u32) -> Option<&str> {
        self.flagged.get(&number).copied()
    }

    /// What was believed of a step in the end.
    pub fn last_of(&self, step: &Id) -> Option<&Believed> {
        self.believed.iter().rev().find(|b| b.step == *step)
    }
}

fn why(odd: Oddity) -> &'static str {
    match odd {
        Oddity::BoneOrOil => "higher than the food can be: bone or oil",
        Oddity::NotSettled => "lower than the food can be: the probe had not settled",
        Oddity::NoNumber => "no number",
    }
}

/// The published consumer minimum for a food class, where there is one.
pub fn asked(class: FoodClass) -> Option<Minimum> {
    minimum(class)
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
