//! Salt and oil as they are to be weighed and poured, for the food that is really there.

use crate::kitchen::core::Phase;
use crate::kitchen::reply::{Reply, Say, SumsSay};
use crate::prep::oil::Danger;
use crate::prep::scale::Bought;
use crate::prep::sums;

use super::{Telling, reply};

impl Telling<'_> {
    /// The sums of one step; none when it has nothing to weigh or pour.
    fn sums_of(&self, ix: usize) -> Option<SumsSay> {
        let step = self.kit().step(ix)?;
        if step.brine.is_none() && step.oil.is_none() {
            return None;
        }
        let core = &self.after.core;
        let bought = Bought {
            portions: core.portions.map(f64::from),
            pieces: core.counted.clone(),
            mass_g: core.weighed.clone(),
        };
        let real = bought.apply(&self.kit().plan);
        let step = real.steps.get(ix)?;
        let oil = sums::oil_of(step, &real).map(|(.., oil)| oil);
        Some(SumsSay {
            step: self.step_name(&step.id),
            salt_g: sums::brine_of(step, &real).map(|b| b.salt_g),
            oil_ml: oil.map(|o| o.pour_ml),
            danger: oil.map_or(Danger::Usual, |o| o.danger),
        })
    }

    /// With a step that begins.
    pub(super) fn sums_at(&self, ix: usize) -> Vec<Reply> {
        self.sums_of(ix)
            .map(|s| reply(Say::Sums(Some(s))))
            .into_iter()
            .collect()
    }

    /// "how much salt": of what is under way, else of the next step that has any.
    pub(super) fn how_much(&self, oil: bool) -> Say {
        let core = &self.after.core;
        let open = |wanted: Phase| {
            (0..core.steps.len())
                .filter(move |ix| core.phase(*ix) == wanted)
                .filter_map(|ix| self.sums_of(ix))
                .find(|s| {
                    if oil {
                        s.oil_ml.is_some()
                    } else {
                        s.salt_g.is_some()
                    }
                })
        };
        let found = open(Phase::Running).or_else(|| open(Phase::NotBegun));
        Say::Sums(found.map(|s| match oil {
            true => SumsSay { salt_g: None, ..s },
            false => SumsSay {
                oil_ml: None,
                danger: Danger::Usual,
                ..s
            },
        }))
    }

    /// A mass read back, and the sums that it makes others.
    pub(super) fn weighed(&self, item: &str, grams: f64) -> Vec<Reply> {
        self.with_sums(Say::Weighed {
            item: self.item_name(item),
            grams,
        })
    }

    pub(super) fn counted(&self, item: &str, pieces: u32) -> Vec<Reply> {
        self.with_sums(Say::Counted {
            item: self.item_name(item),
            pieces,
        })
    }

    pub(super) fn portions(&self, portions: u16) -> Vec<Reply> {
        self.with_sums(Say::Portions { portions })
    }

    fn item_name(&self, item: &str) -> String {
        self.subject_name(&crate::grammar::Subject::Item(item.to_owned()))
    }

    fn with_sums(&self, say: Say) -> Vec<Reply> {
        let mut all = vec![reply(say)];
        if let Say::Sums(Some(s)) = self.how_much(false) {
            all.push(reply(Say::Sums(Some(s))));
        }
        // More food in the oil may bring it over the rim.
        if let Say::Sums(Some(s)) = self.how_much(true)
            && s.danger != Danger::Usual
        {
            all.push(reply(Say::Sums(Some(s))));
        }
        all
    }
}
