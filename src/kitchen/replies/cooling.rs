//! Food that cools after the cook, in names and numbers.

use crate::doneness::cooling::{Cooling, FROM_F, REHEAT_F};
use crate::doneness::units::from_fahrenheit;
use crate::grammar::Subject;
use crate::kitchen::cooling::Cools;
use crate::kitchen::reply_doneness::{CoolingLine, CoolingStands, Remark};
use crate::kitchen::{At, meaning};
use crate::plan::Id;

use super::Telling;

impl Telling<'_> {
    /// How the cooling of an item stands; none for one that does not cool.
    pub(super) fn cooling_line(&self, item: &Id, at: At) -> Option<CoolingLine> {
        let cools = self.after.core.cooling.iter().find(|c| c.item == *item)?;
        Some(CoolingLine {
            item: self.subject_name(&Subject::Item(item.clone())),
            stands: self.cooling_stands(cools, at),
        })
    }

    /// All that cools and is not cold yet.
    pub(super) fn cooling_lines(&self, at: At) -> Vec<CoolingLine> {
        let core = &self.after.core;
        core.cooling
            .iter()
            .filter(|c| c.stands(core, at) != Cooling::Cold)
            .filter_map(|c| self.cooling_line(&c.item, at))
            .collect()
    }

    fn cooling_stands(&self, cools: &Cools, at: At) -> CoolingStands {
        match cools.stands(&self.after.core, at) {
            Cooling::Cold => CoolingStands::Cold,
            Cooling::Missed { to, again, .. } => CoolingStands::Missed {
                to,
                again: again.then(|| from_fahrenheit(REHEAT_F)),
            },
            Cooling::Under { to, left_s } => CoolingStands::Under {
                to,
                left: (left_s * 1000.0) as i64,
                kept: None,
                hot: false,
            },
        }
    }

    /// What a reading of a cooling item means.
    pub(super) fn cooling_remarks(&self, number: u32, at: At) -> Vec<Remark> {
        let core = &self.after.core;
        let Some(taken) = core
            .readings
            .iter()
            .rev()
            .find(|t| t.reading.number == number)
        else {
            return Vec::new();
        };
        let Some(cools) = core
            .cooling
            .iter()
            .find(|c| Some(&c.item) == taken.reading.item.as_ref())
        else {
            return Vec::new();
        };
        let mut stands = self.cooling_stands(cools, at);
        if let CoolingStands::Under { kept, hot, .. } = &mut stands {
            *hot = meaning::read(taken).hi.0 > from_fahrenheit(FROM_F).0 + 1e-9;
            let before = cools.account(&self.before.core);
            let now = cools.account(core);
            *kept = before
                .legs
                .iter()
                .zip(&now.legs)
                .find(|(b, n)| b.there_s.is_none() && n.there_s.is_some())
                .map(|(_, n)| n.to);
        }
        vec![Remark::Cooling(stands)]
    }
}
