//! The order in which pieces went from one vessel to another.

use crate::grammar::Order;

use super::{PieceIx, VesselIx, Whereabouts};
use crate::kitchen::places::{Frame, Slots};

/// A move out that was made without saying the order, kept until the order is told.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenMove {
    pub from: Frame,
    pub source: VesselIx,
    pub to: VesselIx,
    /// The pieces with the slots they had.
    pub(super) pieces: Vec<(PieceIx, Slots)>,
    /// Slots of the goal that may have been free.
    pub(super) free: Slots,
    /// Nothing was in it before.
    pub(super) was_empty: bool,
}

impl Whereabouts {
    /// Whether the order of the last move is open, and telling it would help. `of`: only
    /// if that was the move from one to the other of these.
    pub fn order_would_tell(&self, of: Option<(VesselIx, VesselIx)>) -> bool {
        self.open_move.as_ref().is_some_and(|m| {
            !m.from.is_heap()
                && m.from.in_order().is_some()
                && of.is_none_or(|of| of == (m.source, m.to))
        })
    }

    /// The order of the last move without one. Does nothing when none is open.
    pub fn tell_order(&mut self, order: Order) {
        let Some(open) = self.open_move.take() else {
            return;
        };
        let Some(to) = self.frame(open.to) else {
            return;
        };
        let n = open.pieces.len();
        let new: Vec<(PieceIx, Slots)> = open
            .pieces
            .iter()
            .map(|&(piece, slots)| (piece, carried(&open, slots, to, n, piece, order)))
            .collect();
        for (piece, slots) in new {
            if let Some(lie) = self.pieces.get_mut(piece).and_then(|p| p.lie.as_mut())
                && lie.vessel == open.to
            {
                let both = lie.slots.and(slots);
                lie.slots = if both.is_empty() { slots } else { both };
            }
        }
        self.eliminate(open.to);
    }
}

/// Slots that a piece may have after a move in order: under the same name where both
/// vessels look alike and the goal was empty, else by its rank among those moved.
fn carried(
    open: &OpenMove,
    slots: Slots,
    to: Frame,
    n: usize,
    piece: PieceIx,
    order: Order,
) -> Slots {
    if open.from.looks_like(to) && open.was_empty {
        let kept = slots
            .iter()
            .filter_map(|s| open.from.same_place_in(s, to))
            .collect::<Slots>();
        return match order {
            Order::Kept => kept,
            // On a ring there is no first and no last to exchange.
            Order::Reversed if to.in_order().is_none() => to.all(),
            Order::Reversed => kept.map(|s| to.opposite(s)),
        };
    }
    let (Some(from_order), Some(to_order)) = (open.from.in_order(), to.in_order()) else {
        return open.free;
    };
    if open.from.is_heap() && n > 1 {
        return open.free;
    }
    let rank = |set: Slots| {
        let mut at = from_order
            .iter()
            .enumerate()
            .filter(|(_, s)| set.has(**s))
            .map(|(k, _)| k);
        let lo = at.next().unwrap_or(0);
        (lo, at.next_back().unwrap_or(lo))
    };
    let (lo, hi) = rank(slots);
    let (mut before, mut after) = (0, 0);
    for (other, set) in &open.pieces {
        if *other != piece {
            let (olo, ohi) = rank(*set);
            if ohi < lo {
                before += 1;
            } else if olo > hi {
                after += 1;
            }
        }
    }
    let (mut first, mut last) = (before, n - 1 - after);
    if order == Order::Reversed {
        (first, last) = (n - 1 - last, n - 1 - first);
    }
    let free: Vec<_> = to_order.into_iter().filter(|s| open.free.has(*s)).collect();
    // With fewer free places than pieces some place holds two: nothing follows.
    let Some(spare) = free.len().checked_sub(n) else {
        return open.free;
    };
    free.into_iter()
        .skip(first)
        .take(last - first + 1 + spare)
        .collect()
}
