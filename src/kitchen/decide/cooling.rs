//! Food that cools after the cook: the call, and which readings are of it.

use crate::doneness::cooling::Cooling;
use crate::grammar::{Call, ReadingKind, Subject};
use crate::kitchen::kit::StepIx;
use crate::kitchen::whereabouts::{PieceIx, VesselIx};
use crate::kitchen::{Question, What, meaning};
use crate::plan::{Id, Until};

use super::Desk;

impl Desk<'_> {
    /// "cooling the stock". Said again, it tells how it stands: a limit is not moved by
    /// saying so.
    pub(super) fn cooling(&mut self, call: &Call, item: &Id) {
        if self.core.cooling_of(item, self.now).is_some() {
            return self.emit(What::Queried {
                query: call.clone(),
            });
        }
        self.emit(What::Cooling { item: item.clone() });
    }

    /// Something that cools and whose limits can still be kept.
    pub(super) fn still_cooling(&self) -> Option<Id> {
        let core = &self.core;
        core.cooling
            .iter()
            .find(|c| matches!(c.stands(core, self.now), Cooling::Under { .. }))
            .map(|c| c.item.clone())
    }

    /// The item, and the piece where one was named, if a reading is of food that cools; a
    /// question where it could as well be of food on the fire.
    #[allow(clippy::type_complexity)]
    pub(super) fn cooling_read(
        &self,
        call: &Call,
        about: Option<&Subject>,
        kind: ReadingKind,
    ) -> Result<Option<(Id, Option<PieceIx>)>, Question> {
        if !matches!(
            kind,
            ReadingKind::Unstated | ReadingKind::Core | ReadingKind::Cooling
        ) {
            return Ok(None);
        }
        let open = |id: &Id| self.core.cooling_of(id, self.now).is_some();
        let ask = |options: Vec<Subject>| {
            Err(Question::Which {
                of: call.clone(),
                options,
            })
        };
        match about {
            Some(Subject::Item(id)) if open(id) => {
                let fires: Vec<Subject> = match kind {
                    ReadingKind::Cooling => Vec::new(),
                    _ => self.fires_with(id),
                };
                if fires.is_empty() {
                    return Ok(Some((id.clone(), None)));
                }
                let cools = std::iter::once(Subject::Item(id.clone()));
                ask(fires.into_iter().chain(cools).collect())
            }
            Some(Subject::Sample(id)) => {
                let of = self.kit.sample(id).map(|s| s.of.clone());
                let Some(item) = of.filter(open) else {
                    return Ok(None);
                };
                Ok((!self.cooks_to_a_core(id)).then(|| (item, self.kit.sample_piece(id))))
            }
            Some(Subject::Vessel(_) | Subject::Step(_)) => {
                let Some(v) = about.and_then(|s| self.vessel_of(s).ok()) else {
                    return Ok(None);
                };
                Ok(self.cools_in(v).map(|item| (item, None)))
            }
            None | Some(Subject::Place(_) | Subject::All)
                if self
                    .core
                    .running()
                    .all(|s| !self.reads(s) || self.out_to_cool(s)) =>
            {
                let all: Vec<&Id> = self
                    .core
                    .cooling
                    .iter()
                    .filter(|c| c.is_open(&self.core, self.now))
                    .map(|c| &c.item)
                    .collect();
                match all.as_slice() {
                    [] => Ok(None),
                    [one] => Ok(Some(((*one).clone(), None))),
                    several => ask(several
                        .iter()
                        .map(|i| Subject::Item((*i).clone()))
                        .collect()),
                }
            }
            _ => Ok(None),
        }
    }

    /// The only item in a vessel that cools there, where nothing is cooked in it.
    fn cools_in(&self, v: VesselIx) -> Option<Id> {
        let step = self.core.step_in(self.kit, v);
        if step.is_some_and(|s| self.reads(s)) {
            return None;
        }
        let mut items: Vec<Id> = self
            .core
            .whereabouts
            .in_vessel(v)
            .filter_map(|p| self.kit.item_at(p))
            .map(|i| i.id.clone())
            .filter(|i| self.core.cooling_of(i, self.now).is_some())
            .collect();
        items.dedup();
        match items.as_slice() {
            [one] => Some(one.clone()),
            _ => None,
        }
    }

    /// Vessels in which this item cooks to a core now.
    fn fires_with(&self, item: &Id) -> Vec<Subject> {
        self.core
            .running()
            .filter(|s| self.ends_by_core(*s) && !self.out_to_cool(*s))
            .filter_map(|s| self.kit.step(s))
            .filter(|s| self.kit.items_of(s).contains(&item))
            .filter_map(|s| s.vessel.clone())
            .map(Subject::Vessel)
            .collect()
    }

    /// A step that has reached its core and all of whose food was said to cool: nobody
    /// called the step done, but a lower reading is of the cooling, not of the fire.
    fn out_to_cool(&self, ix: StepIx) -> bool {
        let items = self.kit.step(ix).map(|s| self.kit.items_of(s));
        self.ends_by_core(ix)
            && meaning::is_done(self.kit, &self.core, ix)
            && items.is_some_and(|all| {
                !all.is_empty()
                    && all
                        .iter()
                        .all(|i| self.core.cooling_of(i, self.now).is_some())
            })
    }

    /// Whether a marked piece is in a vessel whose step ends by the core.
    pub(super) fn cooks_to_a_core(&self, sample: &Id) -> bool {
        self.core
            .vessel_with(self.kit, sample)
            .and_then(|v| self.core.step_in(self.kit, v))
            .is_some_and(|s| self.ends_by_core(s))
    }

    fn ends_by_core(&self, ix: StepIx) -> bool {
        let until = self.kit.step(ix).map(|s| s.until.as_slice());
        until
            .unwrap_or_default()
            .iter()
            .any(|u| matches!(u, Until::Core(_)))
    }

    /// A step that ends by a temperature.
    fn reads(&self, ix: StepIx) -> bool {
        let until = self.kit.step(ix).map(|s| s.until.as_slice());
        until
            .unwrap_or_default()
            .iter()
            .any(|u| matches!(u, Until::Core(_) | Until::Medium(_)))
    }
}
