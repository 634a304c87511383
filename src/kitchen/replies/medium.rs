//! What a reading of oil, water or sugar means: against the window, the vessel's limit and
//! the range in which its oil begins to smoke.

use crate::doneness::{Turn, turn, units, unnamed};
use crate::kitchen::core::Taken;
use crate::kitchen::reply_doneness::Remark;
use crate::kitchen::{At, Measured, meaning};
use crate::plan::Celsius;

use super::Telling;

impl Telling<'_> {
    pub(super) fn medium_remarks(
        &self,
        step: Option<usize>,
        vessel: Option<&str>,
        number: u32,
        at: At,
    ) -> Vec<Remark> {
        let core = &self.after.core;
        let Some(taken) = core
            .readings
            .iter()
            .rev()
            .find(|t| t.reading.number == number)
        else {
            return Vec::new();
        };
        let value = meaning::read(taken);
        let mut remarks = Vec::new();
        if let Some((ix, s)) = step.and_then(|ix| Some((ix, self.kit().step(ix)?)))
            && let Some(window) = meaning::window_of(self.kit(), s)
        {
            let since = core
                .steps
                .get(ix)
                .and_then(|s| s.food_in)
                .map(|t| at.since(t) as f64 / 1000.0);
            let worst = if units::reached(value.hi, window.hi) {
                value.hi
            } else {
                value.lo
            };
            remarks.extend(match turn(window, worst, since) {
                Turn::Fine => None,
                Turn::Up => Some(Remark::TurnUp),
                Turn::Down => Some(Remark::TurnDown),
                Turn::WillComeBack => Some(Remark::WillComeBack),
            });
        }
        remarks.extend(vessel.map_or_else(Vec::new, |v| self.cautions(v, taken)));
        remarks
    }

    /// Past the limit, or where the oil begins to smoke: once for each rise above it.
    fn cautions(&self, vessel: &str, taken: &Taken) -> Vec<Remark> {
        let before = self
            .after
            .core
            .readings
            .iter()
            .rev()
            .skip_while(|t| t.reading.number != taken.reading.number)
            .skip(1)
            .find(|t| {
                t.reading.kind == Measured::Medium && t.reading.vessel.as_deref() == Some(vessel)
            })
            .map(|t| meaning::read(t).hi);
        let now = meaning::read(taken).hi;
        let rose = |over: &dyn Fn(Celsius) -> bool| over(now) && !before.is_some_and(over);
        let medium = (self.kit().vessel_ix(vessel))
            .and_then(|v| self.kit().vessel(v))
            .map(|v| &v.medium);
        let mut remarks = Vec::new();
        if let Some(limit) = medium.and_then(|m| m.limit)
            && rose(&|c| c.0 > limit.0 + 1e-9)
        {
            remarks.push(Remark::AboveLimit(limit));
        }
        let smoke = medium.and_then(|m| m.smoke);
        if let Some(range) = smoke.or_else(|| self.holds_oil(vessel).then(unnamed))
            && rose(&|c| units::reached(c, range.lo))
        {
            let oil = medium.and_then(|m| m.oil.clone());
            remarks.push(Remark::Smokes { oil, range });
        }
        remarks
    }

    /// Oil, as far as the plan and the cook have said.
    pub(super) fn holds_oil(&self, vessel: &str) -> bool {
        let told = self
            .kit()
            .vessel_ix(vessel)
            .and_then(|v| self.after.core.vessels.get(v))
            .is_some_and(|v| v.oil_in.is_some());
        let named = (self.kit().vessel_ix(vessel))
            .and_then(|v| self.kit().vessel(v))
            .is_some_and(|v| v.medium.oil.is_some());
        told || named
            || self
                .kit()
                .plan
                .steps
                .iter()
                .filter(|s| s.vessel.as_deref() == Some(vessel))
                .flat_map(|s| s.say.split(|c: char| !c.is_alphabetic()))
                .any(|w| w.eq_ignore_ascii_case("oil"))
    }
}
