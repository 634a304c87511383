//! Items that cool after the cook: the two steps of the Food Code as clocks, told by the
//! readings that are called of them.

use crate::doneness::cooling::{Cooled, Cooling, cooled};
use crate::plan::{Celsius, Id};

use super::At;
use super::core::{Core, Taken};
use super::event::Measured;
use super::kit::Kit;
use super::manners::{COOLING_AHEAD, MINUTE};
use super::meaning;

/// An item of which the cook, or the plan, has said that it cools.
#[derive(Debug, Clone, PartialEq)]
pub struct Cools {
    pub item: Id,
    pub since: At,
    /// The limit that was warned of last.
    pub near_told: Option<At>,
    /// It was told that a limit was missed.
    pub missed_told: bool,
}

impl Cools {
    pub fn new(item: Id, since: At) -> Cools {
        Cools {
            item,
            since,
            near_told: None,
            missed_told: false,
        }
    }

    fn seconds(&self, at: At) -> f64 {
        at.since(self.since) as f64 / 1000.0
    }

    /// A moment of its account.
    pub fn moment(&self, seconds: f64) -> At {
        self.since.plus((seconds * 1000.0).round() as i64)
    }

    fn readings<'a>(&'a self, core: &'a Core) -> impl Iterator<Item = &'a Taken> {
        core.readings.iter().filter(|t| {
            t.reading.kind == Measured::Cooling
                && t.reading.item.as_ref() == Some(&self.item)
                && t.at >= self.since
        })
    }

    /// The account of its readings.
    pub fn account(&self, core: &Core) -> Cooled {
        let all: Vec<(f64, Celsius)> = self
            .readings(core)
            .map(|t| (self.seconds(t.at), meaning::read(t).hi))
            .collect();
        cooled(&all)
    }

    pub fn stands(&self, core: &Core, now: At) -> Cooling {
        self.account(core).at(self.seconds(now))
    }

    /// The next limit and what it has to be at by then; none once one is missed, or both
    /// are kept.
    pub fn limit(&self, core: &Core) -> Option<(Celsius, At)> {
        let last = self.readings(core).last().map_or(self.since, |t| t.at);
        match self.stands(core, last) {
            Cooling::Under { to, left_s } => {
                Some((to, last.plus((left_s * 1000.0).round() as i64)))
            }
            Cooling::Missed { .. } | Cooling::Cold => None,
        }
    }

    /// Whether a reading of this item is a reading of its cooling: until it is cold, and
    /// for the other pieces of the round that found it so.
    pub fn is_open(&self, core: &Core, now: At) -> bool {
        self.stands(core, now) != Cooling::Cold
            || self
                .readings(core)
                .last()
                .is_some_and(|t| now.since(t.at) <= COLD_ROUND)
    }

    /// When to warn of the limit that comes next.
    pub fn near(&self, core: &Core) -> Option<At> {
        let (_, limit) = self.limit(core)?;
        (self.near_told != Some(limit)).then(|| limit.plus(-COOLING_AHEAD))
    }

    /// When to tell that a limit has passed unread: just after it.
    pub fn over(&self, core: &Core) -> Option<At> {
        let (_, limit) = self.limit(core)?;
        (!self.missed_told).then(|| limit.plus(1))
    }
}

/// Pieces of one item are read within this, as in a round of probing.
const COLD_ROUND: i64 = 3 * MINUTE;

impl Core {
    /// From now on this item cools, if it does not yet.
    pub(super) fn cool(&mut self, kit: &Kit, item: &Id, at: At) {
        if kit.item_ix(item).is_none() {
            return;
        }
        match self.cooling.iter().position(|c| c.item == *item) {
            None => self.cooling.push(Cools::new(item.clone(), at)),
            Some(i) => {
                // Cold, and cooled once more: another cook of it.
                let again = self
                    .cooling
                    .get(i)
                    .is_some_and(|c| c.stands(self, at) == Cooling::Cold);
                if let (true, Some(c)) = (again, self.cooling.get_mut(i)) {
                    *c = Cools::new(item.clone(), at);
                }
            }
        }
    }

    /// The cooling of an item that is not over.
    pub fn cooling_of(&self, item: &str, now: At) -> Option<&Cools> {
        self.cooling
            .iter()
            .find(|c| c.item == item && c.is_open(self, now))
    }

    /// A reading may tell that a limit is missed: then the clock need not.
    pub(super) fn cooling_read(&mut self, item: &Id, at: At) {
        let Some(i) = self.cooling.iter().position(|c| c.item == *item) else {
            return;
        };
        let missed = self
            .cooling
            .get(i)
            .is_some_and(|c| matches!(c.stands(self, at), Cooling::Missed { .. }));
        if let Some(c) = self.cooling.get_mut(i) {
            c.missed_told = missed;
        }
    }
}
