//! A plan with its names looked up: what the fold needs at every event.

use std::collections::HashMap;
use std::sync::Arc;

use crate::plan::{Id, Item, Plan, Sample, Span, Step, Until, Vessel};

use super::PieceId;
use super::whereabouts::{PieceIx, VesselIx};

pub type StepIx = usize;

/// More pieces of one item than this are not told apart.
const PIECES_MOST: u32 = 500;

#[derive(Debug)]
pub struct Kit {
    pub plan: Arc<Plan>,
    steps: HashMap<Id, StepIx>,
    vessels: HashMap<Id, VesselIx>,
    items: HashMap<Id, usize>,
    samples: HashMap<Id, usize>,
    /// Steps that each step waits for.
    pub before: Vec<Vec<StepIx>>,
    /// First piece of each item, and one past the last of all.
    base: Vec<PieceIx>,
    /// The piece that each sample is.
    sample_piece: Vec<Option<PieceIx>>,
}

impl PartialEq for Kit {
    fn eq(&self, other: &Kit) -> bool {
        self.plan == other.plan
    }
}

fn by_id<'a>(ids: impl Iterator<Item = &'a Id>) -> HashMap<Id, usize> {
    ids.enumerate().map(|(i, id)| (id.clone(), i)).collect()
}

impl Kit {
    pub fn new(plan: Arc<Plan>) -> Kit {
        let steps = by_id(plan.steps.iter().map(|s| &s.id));
        let items = by_id(plan.items.iter().map(|s| &s.id));
        let before = plan
            .steps
            .iter()
            .map(|s| {
                s.after
                    .iter()
                    .filter_map(|id| steps.get(id).copied())
                    .collect()
            })
            .collect();
        let mut base = vec![0];
        let mut sample_piece = vec![None; plan.samples.len()];
        for (i, item) in plan.items.iter().enumerate() {
            let start = base[i];
            let mut marked = 0;
            for (s, sample) in plan.samples.iter().enumerate() {
                if sample.of == item.id && marked < PIECES_MOST {
                    sample_piece[s] = Some(start + marked as usize);
                    marked += 1;
                }
            }
            base.push(start + item.pieces.min(PIECES_MOST).max(marked) as usize);
        }
        Kit {
            vessels: by_id(plan.vessels.iter().map(|v| &v.id)),
            samples: by_id(plan.samples.iter().map(|v| &v.id)),
            steps,
            items,
            before,
            base,
            sample_piece,
            plan,
        }
    }

    pub fn step_ix(&self, id: &str) -> Option<StepIx> {
        self.steps.get(id).copied()
    }

    pub fn vessel_ix(&self, id: &str) -> Option<VesselIx> {
        self.vessels.get(id).copied()
    }

    pub fn item_ix(&self, id: &str) -> Option<usize> {
        self.items.get(id).copied()
    }

    pub fn step(&self, ix: StepIx) -> Option<&Step> {
        self.plan.steps.get(ix)
    }

    pub fn vessel(&self, ix: VesselIx) -> Option<&Vessel> {
        self.plan.vessels.get(ix)
    }

    pub fn step_id(&self, ix: StepIx) -> Id {
        self.step(ix).map(|s| s.id.clone()).unwrap_or_default()
    }

    pub fn vessel_id(&self, ix: VesselIx) -> Id {
        self.vessel(ix).map(|v| v.id.clone()).unwrap_or_default()
    }

    /// The items that a step holds, each once.
    pub fn items_of<'a>(&'a self, step: &'a Step) -> Vec<&'a Id> {
        let mut all: Vec<&Id> = Vec::new();
        for holding in &step.holds {
            let item = match &holding.what {
                crate::plan::What::Pieces { item, .. } => Some(item),
                crate::plan::What::Sample(id) => self.sample(id).map(|s| &s.of),
            };
            all.extend(item.filter(|i| !all.contains(i)));
        }
        all
    }

    pub fn sample(&self, id: &str) -> Option<&Sample> {
        self.samples.get(id).and_then(|i| self.plan.samples.get(*i))
    }

    /// Number of pieces of all items.
    pub fn pieces(&self) -> usize {
        self.base.last().copied().unwrap_or(0)
    }

    pub fn pieces_of(&self, item: usize) -> std::ops::Range<PieceIx> {
        match (self.base.get(item), self.base.get(item + 1)) {
            (Some(a), Some(b)) => *a..*b,
            _ => 0..0,
        }
    }

    pub fn sample_piece(&self, id: &str) -> Option<PieceIx> {
        self.samples
            .get(id)
            .and_then(|i| self.sample_piece.get(*i).copied().flatten())
    }

    /// The sample that a piece is, if it is marked.
    pub fn sample_of(&self, piece: PieceIx) -> Option<&Sample> {
        let s = self.sample_piece.iter().position(|p| *p == Some(piece))?;
        self.plan.samples.get(s)
    }

    /// The marked pieces, in the plan's order of samples.
    pub fn marked(&self) -> impl Iterator<Item = (&Sample, PieceIx)> {
        self.plan
            .samples
            .iter()
            .zip(&self.sample_piece)
            .filter_map(|(s, p)| p.map(|p| (s, p)))
    }

    fn item_of(&self, piece: PieceIx) -> Option<usize> {
        (piece < self.pieces()).then(|| self.base.partition_point(|b| *b <= piece) - 1)
    }

    pub fn item_at(&self, piece: PieceIx) -> Option<&Item> {
        self.item_of(piece).and_then(|i| self.plan.items.get(i))
    }

    pub fn piece_id(&self, piece: PieceIx) -> Option<PieceId> {
        let item = self.item_of(piece)?;
        Some(PieceId {
            item: self.plan.items.get(item)?.id.clone(),
            index: u32::try_from(piece - self.base.get(item)?).ok()?,
        })
    }

    pub fn piece_ix(&self, id: &PieceId) -> Option<PieceIx> {
        let range = self.pieces_of(self.item_ix(&id.item)?);
        let ix = range.start.checked_add(id.index as usize)?;
        range.contains(&ix).then_some(ix)
    }
}

/// The time of a step that has one: its wait, or the first time that ends it.
pub fn span_of(step: &Step) -> Option<Span<std::time::Duration>> {
    step.wait.or_else(|| {
        step.until.iter().find_map(|u| match u {
            Until::Time(span) => Some(*span),
            _ => None,
        })
    })
}

/// Milliseconds of hands-on work that a step's wait comes after; none for a step without
/// a wait, whose hands-on time runs beside its clock.
pub fn work_before_wait(step: &Step) -> i64 {
    match (step.wait, step.hands_on) {
        (Some(_), Some(hands)) => super::fold::ms(hands),
        _ => 0,
    }
}

/// Whether a step runs beside the cook (a pan, a fridge) rather than in their hands.
pub fn tends_itself(step: &Step) -> bool {
    let only_word = step.until.iter().all(|u| matches!(u, Until::Word(_)));
    if step.wait.is_some() || step.flip_every.is_some() || !only_word {
        return true;
    }
    !step.until.is_empty() && step.vessel.is_some() && step.hands_on.is_none()
}
