//! What an act picks up of that which was laid down: numbers, durations, names, spots.

use std::time::Duration;

use super::{Result, Said, no};
use crate::grammar::call::{Degrees, Spot, Subject, Thing};
use crate::plan::{Id, Place, Span};

impl Said<'_> {
    /// The number before, which must be whole and fit.
    pub(super) fn whole<T: TryFrom<i64>>(&mut self) -> Result<T> {
        let thousandths = self.number()?;
        match T::try_from(thousandths / 1000) {
            Ok(n) if thousandths % 1000 == 0 => Ok(n),
            _ => no(format!("{thousandths} thousandths are no such number")),
        }
    }

    pub(super) fn number(&mut self) -> Result<i64> {
        match std::mem::take(&mut self.number).value() {
            Some(n) => Ok(n),
            None => no("no number"),
        }
    }

    /// Degrees. The second end may leave out the hundreds of the first ("one sixty to
    /// sixty five"): it is then the nearest number that ends so. A range may be said
    /// from either end.
    pub(super) fn value(&mut self) -> Result<Span<Degrees>> {
        let mut high = self.number()?;
        let low = self.low.take().unwrap_or(high);
        const HUNDRED: i64 = 100_000;
        if high < HUNDRED && low >= HUNDRED {
            let same = low - low % HUNDRED + high;
            high = match low - same > HUNDRED / 2 {
                true => same + HUNDRED,
                false => same,
            };
        }
        let degrees = |thousandths: i64| thousandths as f64 / 1000.0;
        Ok(Span {
            lo: degrees(low.min(high)),
            hi: degrees(low.max(high)),
        })
    }

    pub(super) fn add_time(&mut self, seconds: i64) -> Result<()> {
        let number = self.number()?;
        let sum = number
            .checked_mul(seconds)
            .and_then(|t| t.checked_add(self.time.unwrap_or(0)));
        match sum {
            Some(t) => {
                self.time = Some(t);
                Ok(())
            }
            None => no("more time than there is"),
        }
    }

    pub(super) fn duration(&mut self) -> Result<Duration> {
        match self.time.take().map(u64::try_from) {
            Some(Ok(ms)) if ms > 0 => Ok(Duration::from_millis(ms)),
            _ => no("no duration"),
        }
    }

    /// Takes the first name for which `pick` has a use.
    pub(super) fn pick<T>(&mut self, pick: impl Fn(&Subject) -> Option<T>) -> Option<T> {
        let at = self.named.iter().position(|s| pick(s).is_some())?;
        let subject = self.named.remove(at)?;
        pick(&subject)
    }

    pub(super) fn subject(&mut self) -> Option<Subject> {
        self.named.pop_front()
    }

    pub(super) fn must_name(&mut self) -> Result<Subject> {
        self.subject().map_or_else(|| no("nothing named"), Ok)
    }

    pub(super) fn vessel(&mut self) -> Result<Id> {
        let vessel = self.pick(|s| match s {
            Subject::Vessel(id) => Some(id.clone()),
            _ => None,
        });
        vessel.map_or_else(|| no("no vessel"), Ok)
    }

    pub(super) fn sample(&mut self) -> Result<Id> {
        let sample = self.pick(|s| match s {
            Subject::Sample(id) => Some(id.clone()),
            _ => None,
        });
        sample.map_or_else(|| no("no sample"), Ok)
    }

    pub(super) fn place(&mut self) -> Option<Place> {
        self.pick(|s| match s {
            Subject::Place(place) => Some(*place),
            _ => None,
        })
    }

    pub(super) fn thing(&mut self) -> Option<Thing> {
        if std::mem::take(&mut self.oil) {
            return Some(Thing::Oil);
        }
        self.pick(|s| match s {
            Subject::Item(id) => Some(Thing::Item(id.clone())),
            Subject::Sample(id) => Some(Thing::Sample(id.clone())),
            _ => None,
        })
    }

    pub(super) fn item(&mut self) -> Result<Id> {
        match self.thing() {
            Some(Thing::Item(id)) => Ok(id),
            _ => no("no item"),
        }
    }

    pub(super) fn spot(&mut self) -> Result<Spot> {
        if let Ok(sample) = self.sample() {
            return Ok(Spot::Sample(sample));
        }
        match self.place() {
            Some(place) => Ok(Spot::Place {
                vessel: self.vessel().ok(),
                place,
            }),
            None => no("no spot"),
        }
    }
}
