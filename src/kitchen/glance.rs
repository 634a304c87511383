//! What a glance at the stove would see: the marked pieces with the side that is down,
//! heat and lids, and what the readings come to.

use crate::doneness::Oddity;
use crate::grammar::Heat;
use crate::plan::{Celsius, Id, Place};

use super::At;
use super::state::State;
use super::whereabouts::{Side, Where};
use super::{exposure, meaning};

/// A marked piece as far as is known.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkView {
    pub sample: Id,
    pub name: String,
    /// The vessel it is in, surely or by what was told last.
    pub vessel: Option<Id>,
    /// Its place, where one is sure.
    pub place: Option<Place>,
    /// Places it may be at, where it is not sure.
    pub perhaps: Vec<Place>,
    /// Neither vessel nor place is in doubt.
    pub sure: bool,
    pub side: Side,
    /// It has been turned over at least once.
    pub turned_over: bool,
    /// It lies where the plan puts it; the cook has not spoken of it.
    pub by_plan: bool,
    /// When it was last told of.
    pub told: At,
}

/// A vessel on the heat.
#[derive(Debug, Clone, PartialEq)]
pub struct StoveView {
    pub vessel: Id,
    pub heat: Option<Heat>,
    pub lid: bool,
    pub oil_in: Option<At>,
}

/// What the readings of a step come to.
#[derive(Debug, Clone, PartialEq)]
pub struct BeliefView {
    /// The lowest credible reading of the last round that has one.
    pub core: Option<Celsius>,
    /// Where the coldest piece lay then, four times of five.
    pub between: Option<(Celsius, Celsius)>,
    /// When the coldest piece will be at its target, four times of five between these; none
    /// before anything was read.
    pub ready: Option<(At, At)>,
    /// The readings that are not believed, by number.
    pub odd: Vec<(u32, Oddity)>,
}

/// An item that cools after the cook.
#[derive(Debug, Clone, PartialEq)]
pub struct CoolingView {
    pub item: Id,
    /// Since when the time counts.
    pub from: At,
    pub legs: [LegView; 2],
    /// It was heated up once after a missed first limit.
    pub reheated: bool,
}

/// One of the two steps of its cooling.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LegView {
    pub to: Celsius,
    pub by: At,
    /// When it was read there, and not above it since.
    pub there: Option<At>,
}

impl State {
    /// All that cools or has cooled.
    pub fn cooling(&self) -> Vec<CoolingView> {
        self.core
            .cooling
            .iter()
            .map(|c| {
                let account = c.account(&self.core);
                CoolingView {
                    item: c.item.clone(),
                    from: c.moment(account.from_s),
                    legs: account.legs.map(|leg| LegView {
                        to: leg.to,
                        by: c.moment(leg.by_s),
                        there: leg.there_s.map(|s| c.moment(s)),
                    }),
                    reheated: account.reheated,
                }
            })
            .collect()
    }

    /// What is believed of a step that ends by its core; none before it was read.
    pub fn belief_of(&self, step: &str) -> Option<BeliefView> {
        let ix = self.kit.step_ix(step)?;
        // Without a reading there is nothing to believe, and the fit is not for nothing.
        meaning::core_readings(&self.kit, &self.core, ix).next()?;
        let belief = meaning::belief(&self.kit, &self.core, ix)?;
        let coldest = belief.coldest();
        let zero = (self.core.steps.get(ix)).and_then(|s| s.food_in.or(s.began))?;
        let at = |seconds: f64| zero.plus((seconds * 1000.0) as i64);
        let left = belief.time_left(0.0);
        let odd = meaning::core_readings(&self.kit, &self.core, ix)
            .zip(&belief.oddities)
            .filter_map(|(taken, odd)| Some((taken.reading.number, (*odd)?)))
            .collect();
        Some(BeliefView {
            core: coldest.map(|(c, _)| c),
            between: coldest.map(|(_, at_s)| {
                let (low, _, high) = belief.coldest_between(at_s);
                (low, high)
            }),
            ready: (!left.guess).then(|| (at(left.low_s), at(left.high_s))),
            odd,
        })
    }

    /// How long an item has been in the danger zone until `now`, milliseconds, as far as the
    /// plan and the calls tell.
    pub fn danger_zone_ms(&self, item: &Id, now: At) -> i64 {
        exposure::total(&self.kit, &self.core, item, now)
    }

    /// The published limit of the danger zone in this kitchen, milliseconds.
    pub fn danger_zone_limit_ms(&self) -> i64 {
        exposure::limit(&self.core)
    }

    /// Degrees Celsius that are added to what the probe reads.
    pub fn probe_offset(&self) -> f64 {
        self.core.offset
    }

    /// Every marked piece, in the plan's order.
    pub fn marks(&self) -> Vec<MarkView> {
        self.kit
            .marked()
            .filter_map(|(sample, ix)| {
                let piece = self.core.whereabouts.pieces.get(ix)?;
                let known = self.core.place_known(&self.kit, ix);
                let id = |v| Some(self.kit.vessel_id(v));
                let (vessel, place, perhaps, sure) = match known {
                    Where::NotPlaced => (None, None, Vec::new(), false),
                    Where::Known { vessel, place } => (id(vessel), place, Vec::new(), true),
                    Where::OneOf { vessel, places } => (id(vessel), None, places, false),
                    Where::NotSure { vessel } => (id(vessel), None, Vec::new(), false),
                };
                Some(MarkView {
                    sample: sample.id.clone(),
                    name: sample.names.first().unwrap_or(&sample.id).clone(),
                    vessel,
                    place,
                    perhaps,
                    sure,
                    side: piece.side,
                    turned_over: piece.turned_over,
                    by_plan: piece.planned,
                    told: piece.told,
                })
            })
            .collect()
    }

    /// Heat, lid and oil of every vessel, in the plan's order.
    pub fn stove(&self) -> Vec<StoveView> {
        self.kit
            .plan
            .vessels
            .iter()
            .zip(&self.core.vessels)
            .map(|(vessel, now)| StoveView {
                vessel: vessel.id.clone(),
                heat: now.heat,
                lid: now.lid,
                oil_in: now.oil_in,
            })
            .collect()
    }
}
