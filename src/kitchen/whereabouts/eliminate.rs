//! What follows from what is known: one place, one piece.

use super::{PieceIx, VesselIx, Whereabouts};
use crate::kitchen::places::Slots;

impl Whereabouts {
    /// Whether a place of this vessel holds at most one piece.
    pub(super) fn exclusive(&self, vessel: VesselIx) -> bool {
        self.stands
            .get(vessel)
            .is_some_and(|s| !s.shared && !s.stacked && !s.frame.is_heap())
    }

    pub(super) fn count(&mut self, vessel: VesselIx) {
        let sure = |p: &PieceIx| {
            let lie = self.pieces.get(*p).and_then(|p| p.lie);
            lie.is_some_and(|l| !l.doubt)
        };
        let n = self.in_vessel(vessel).filter(sure).count();
        if let Some(stand) = self.stands.get_mut(vessel)
            && n > usize::from(stand.frame.count())
        {
            stand.shared = true;
        }
    }

    pub(super) fn surely_taken(&self, vessel: VesselIx, but: PieceIx) -> Slots {
        if !self.exclusive(vessel) {
            return Slots::NONE;
        }
        self.in_vessel(vessel)
            .filter(|p| *p != but)
            .filter_map(|p| self.pieces.get(p)?.lie)
            .filter(|l| !l.doubt)
            .filter_map(|l| l.slots.single())
            .collect()
    }

    /// Removes what cannot be: a place that one piece surely has is no other's, and
    /// when every place is taken the only piece that can have a place has it.
    pub(super) fn eliminate(&mut self, vessel: VesselIx) {
        if !self.exclusive(vessel) {
            return;
        }
        let Some(frame) = self.frame(vessel) else {
            return;
        };
        let here: Vec<PieceIx> = self.in_vessel(vessel).collect();
        // With the doubtful ones there may be more pieces than places.
        if here.len() > usize::from(frame.count()) {
            return;
        }
        let mut sets: Vec<(PieceIx, Slots)> = Vec::new();
        for &p in &here {
            match self.pieces.get(p).and_then(|p| p.lie) {
                Some(l) if !l.doubt => sets.push((p, l.slots)),
                // A doubtful piece may take any place, so nothing follows from full
                // and empty; sure places still exclude.
                _ => {}
            }
        }
        let all_here = sets.len() == here.len();
        let full = all_here && here.len() == usize::from(frame.count());
        loop {
            let mut changed = false;
            for i in 0..sets.len() {
                let (_, set) = sets[i];
                let Some(slot) = set.single() else { continue };
                for (k, (_, other)) in sets.iter_mut().enumerate() {
                    if k != i && other.has(slot) && other.len() > 1 {
                        *other = other.without(Slots::one(slot));
                        changed = true;
                    }
                }
            }
            if full {
                for slot in frame.all().iter() {
                    let mut can = sets.iter().enumerate().filter(|(_, (_, s))| s.has(slot));
                    if let (Some((k, (_, set))), None) = (can.next(), can.next())
                        && set.len() > 1
                    {
                        sets[k].1 = Slots::one(slot);
                        changed = true;
                    }
                }
            }
            if !changed {
                break;
            }
        }
        for (piece, slots) in sets {
            if let Some(lie) = self.pieces.get_mut(piece).and_then(|p| p.lie.as_mut()) {
                lie.slots = slots;
            }
        }
    }
}
