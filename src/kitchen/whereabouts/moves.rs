//! Moves: each maps what is known, and forgets no more than it must.

use crate::grammar::Order;
use crate::plan::{Layout, Place};

use super::{At, Lie, OpenMove, PieceIx, Side, VesselIx, Whereabouts};
use crate::kitchen::places::{Frame, Slots};

impl Whereabouts {
    /// The cook says where a piece lies; nothing has moved, so the order of a move
    /// that is still to be told can be told afterwards.
    pub fn locate(&mut self, piece: PieceIx, vessel: VesselIx, place: Place, at: At) {
        let open = self.open_move.take();
        self.put(piece, vessel, Some(place), at);
        self.open_move = open.filter(|m| self.frame(m.to).is_some());
    }

    /// A step lays a piece in a vessel, as the plan says and nobody has told yet.
    pub fn plan(&mut self, piece: PieceIx, vessel: VesselIx, place: Option<Place>, at: At) {
        self.put(piece, vessel, place, at);
        if let Some(p) = self.pieces.get_mut(piece) {
            p.planned = true;
        }
    }

    /// The cook speaks of what is in a vessel: it lies there as planned.
    pub fn confirm(&mut self, vessel: VesselIx) {
        for p in &mut self.pieces {
            if p.lie.is_some_and(|l| l.vessel == vessel) {
                p.planned = false;
            }
        }
    }

    /// Lays a piece in a vessel: at a place, or anywhere free when none is told.
    /// Returns the pieces that were known to lie there: they must have moved untold.
    pub fn put(
        &mut self,
        piece: PieceIx,
        vessel: VesselIx,
        place: Option<Place>,
        at: At,
    ) -> Vec<PieceIx> {
        let Some(&stand) = self.stands.get(vessel) else {
            return Vec::new();
        };
        let Some(before) = self.pieces.get(piece).copied() else {
            return Vec::new();
        };
        if before.lie.is_none_or(|l| l.vessel != vessel) {
            self.lift(piece);
            if self.in_vessel(vessel).next().is_none() {
                self.reset(vessel);
            }
        }
        self.close_move(vessel);
        let one_each = self.exclusive(vessel);
        if let Some(place) = place {
            self.face(vessel, piece, place);
        }
        let frame = self.stands.get(vessel).map_or(stand.frame, |s| s.frame);
        let told = place.map(|p| frame.slots_at(p)).filter(|s| !s.is_empty());
        let slots = match (told, before.lie) {
            (Some(slots), _) => slots,
            // "It is in the left skillet", and it was there: nothing new.
            (None, Some(lie)) if lie.vessel == vessel && !lie.doubt => lie.slots,
            (None, _) => frame.all().without(self.surely_taken(vessel, piece)),
        };
        let slots = if slots.is_empty() { frame.all() } else { slots };
        if let Some(p) = self.pieces.get_mut(piece) {
            p.lie = Some(Lie {
                vessel,
                slots,
                doubt: false,
            });
            p.told = at;
            p.planned = false;
            if before.lie.is_none() {
                p.side = Side::First;
            }
        }
        let shared_before = self.stands.get(vessel).is_some_and(|s| s.shared);
        self.count(vessel);
        let mut displaced = Vec::new();
        if let (Some(slot), true) = (slots.single(), one_each) {
            let still = self.exclusive(vessel);
            for other in self.in_vessel(vessel).collect::<Vec<_>>() {
                if other == piece {
                    continue;
                }
                let Some(there) = self.pieces.get_mut(other) else {
                    continue;
                };
                if let Some(lie) = there.lie.as_mut()
                    && lie.slots.has(slot)
                {
                    let rest = lie.slots.without(Slots::one(slot));
                    if lie.slots.single().is_some() {
                        // Whether it lies under the other or was moved, nobody said.
                        lie.slots = frame.all();
                        lie.doubt = true;
                        there.planned = false;
                        displaced.push(other);
                    } else if still {
                        lie.slots = rest;
                    }
                }
            }
        }
        // Who had to make way may be elsewhere now: that it was one too many is no sign
        // that pieces share places here.
        if !displaced.is_empty()
            && let Some(stand) = self.stands.get_mut(vessel)
        {
            stand.shared = shared_before;
            self.count(vessel);
        }
        self.eliminate(vessel);
        displaced
    }

    /// A vessel that is empty, or whose pieces are all lost, is seen as the cook now
    /// names it: a place that fits it only turned by a quarter turns it.
    pub(super) fn face(&mut self, vessel: VesselIx, piece: PieceIx, place: Place) {
        let free = self
            .in_vessel(vessel)
            .filter(|p| *p != piece)
            .all(|p| self.pieces[p].lie.is_none_or(|l| l.doubt));
        if let Some(stand) = self.stands.get_mut(vessel)
            && free
            && stand.frame.slots_at(place).is_empty()
            && !stand.frame.turned(1).slots_at(place).is_empty()
        {
            stand.frame = stand.frame.turned(1);
        }
    }

    /// Takes a piece up; its old vessel may be empty then.
    pub(super) fn lift(&mut self, piece: PieceIx) {
        let Some(lie) = self.pieces.get_mut(piece).and_then(|p| p.lie.take()) else {
            return;
        };
        if self.in_vessel(lie.vessel).next().is_none() {
            self.reset(lie.vessel);
        }
    }

    /// An empty vessel has room for one piece a place again. How it stands it keeps: a
    /// rack that was turned stays turned.
    pub(super) fn reset(&mut self, vessel: VesselIx) {
        if let Some(stand) = self.stands.get_mut(vessel) {
            stand.shared = false;
            stand.stacked = false;
        }
        self.close_move(vessel);
    }

    pub(super) fn close_move(&mut self, vessel: VesselIx) {
        if self.open_move.as_ref().is_some_and(|m| m.to == vessel) {
            self.open_move = None;
        }
    }

    pub fn turn(&mut self, vessel: VesselIx, quarters: u8, at: At) {
        self.confirm(vessel);
        let Some(stand) = self.stands.get_mut(vessel) else {
            return;
        };
        stand.frame = stand.frame.turned(quarters);
        self.close_move(vessel);
        self.retell(vessel, at);
    }

    /// The pieces of a vessel change their names for a place, so the place counts as
    /// told anew.
    pub(super) fn retell(&mut self, vessel: VesselIx, at: At) {
        for piece in self.in_vessel(vessel).collect::<Vec<_>>() {
            if let Some(p) = self.pieces.get_mut(piece) {
                p.told = at;
            }
        }
    }

    /// Turns over everything in a vessel, or one piece. Places stay.
    pub fn flip(&mut self, vessel: VesselIx, piece: Option<PieceIx>) {
        self.confirm(vessel);
        for p in self.in_vessel(vessel).collect::<Vec<_>>() {
            if piece.is_none_or(|only| only == p)
                && let Some(p) = self.pieces.get_mut(p)
            {
                p.side = p.side.over();
                p.turned_over = true;
            }
        }
    }

    /// Exchanges what lies at two places, of one vessel or of two. Either place may
    /// be empty. False when a place is not one slot, and nothing is done.
    pub fn swap_places(&mut self, a: (VesselIx, Place), b: (VesselIx, Place), at: At) -> bool {
        let slot = |w: &Whereabouts, (v, p): (VesselIx, Place)| {
            w.frame(v).and_then(|f| f.slots_at(p).single())
        };
        let (Some(sa), Some(sb)) = (slot(self, a), slot(self, b)) else {
            return false;
        };
        self.confirm(a.0);
        self.confirm(b.0);
        if a.0 == b.0 {
            let transpose = |s| match s {
                s if s == sa => sb,
                s if s == sb => sa,
                s => s,
            };
            for piece in &mut self.pieces {
                if let Some(lie) = &mut piece.lie
                    && lie.vessel == a.0
                {
                    let new = lie.slots.map(transpose);
                    if new != lie.slots {
                        piece.told = at;
                    }
                    lie.slots = new;
                }
            }
        } else {
            // What was surely there goes over; what only may have been there may now
            // be in either vessel, so its vessel is not sure any more.
            for piece in &mut self.pieces {
                let Some(lie) = &mut piece.lie else { continue };
                for ((from, slot), (to, goal)) in [((a.0, sa), (b.0, sb)), ((b.0, sb), (a.0, sa))] {
                    if lie.vessel != from || !lie.slots.has(slot) {
                        continue;
                    }
                    if lie.slots.single().is_some() && !lie.doubt {
                        *lie = Lie {
                            vessel: to,
                            slots: Slots::one(goal),
                            doubt: false,
                        };
                        piece.told = at;
                    } else {
                        lie.doubt = true;
                    }
                    break;
                }
            }
        }
        for v in [a.0, b.0] {
            self.close_move(v);
            self.count(v);
            self.eliminate(v);
        }
        true
    }

    /// Exchanges two pieces, wherever they are.
    pub fn swap_pieces(&mut self, a: PieceIx, b: PieceIx, at: At) {
        let (Some(pa), Some(pb)) = (self.pieces.get(a).copied(), self.pieces.get(b).copied())
        else {
            return;
        };
        for (piece, lie) in [(a, pb.lie), (b, pa.lie)] {
            if let Some(p) = self.pieces.get_mut(piece) {
                p.lie = lie;
                p.told = at;
                p.planned = false;
            }
        }
        for lie in [pa.lie, pb.lie].into_iter().flatten() {
            self.close_move(lie.vessel);
            self.eliminate(lie.vessel);
        }
    }

    /// Everything in `from` goes to `to`. Without an order the places there are open
    /// until [`Self::tell_order`].
    pub fn move_out(&mut self, from: VesselIx, to: VesselIx, order: Option<Order>, at: At) {
        let (Some(source), Some(_)) = (self.stands.get(from).copied(), self.stands.get(to)) else {
            return;
        };
        if from == to {
            return;
        }
        let moving: Vec<(PieceIx, Slots, bool)> = self
            .in_vessel(from)
            .filter_map(|p| {
                let lie = self.pieces.get(p)?.lie?;
                let slots = if source.stacked || lie.doubt {
                    source.frame.all()
                } else {
                    lie.slots
                };
                Some((p, slots, lie.doubt))
            })
            .collect();
        if moving.is_empty() {
            return;
        }
        let was_empty = self.in_vessel(to).next().is_none();
        if was_empty {
            self.reset(to);
        }
        self.close_move(to);
        self.close_move(from);
        let frame = self.frame(to).unwrap_or(Frame::new(Layout::Heap));
        let free = frame.all().without(self.surely_taken(to, usize::MAX));
        let free = if free.is_empty() { frame.all() } else { free };
        for &(piece, _, doubt) in &moving {
            if let Some(p) = self.pieces.get_mut(piece) {
                // A doubtful piece may not have been there to be moved.
                p.lie = Some(Lie {
                    vessel: to,
                    slots: free,
                    doubt,
                });
                p.told = at;
                p.planned = false;
            }
        }
        self.reset(from);
        self.count(to);
        let sure = !moving.iter().any(|m| m.2) && !source.stacked;
        self.open_move = sure.then(|| OpenMove {
            from: source.frame,
            source: from,
            to,
            pieces: moving.iter().map(|m| (m.0, m.1)).collect(),
            free,
            was_empty,
        });
        if let Some(order) = order {
            self.tell_order(order);
        }
        self.eliminate(to);
    }

    /// The pieces lie on one another.
    pub fn stack(&mut self, vessel: VesselIx) {
        self.close_move(vessel);
        self.confirm(vessel);
        let Some(stand) = self.stands.get_mut(vessel) else {
            return;
        };
        stand.stacked = true;
        stand.shared = true;
        let all = stand.frame.all();
        for piece in self.in_vessel(vessel).collect::<Vec<_>>() {
            if let Some(lie) = self.pieces.get_mut(piece).and_then(|p| p.lie.as_mut()) {
                lie.slots = all;
            }
        }
    }

    // ---- doubt from moves of which something was not told

    /// Perhaps `change` happened to the slots of this vessel.
    pub fn perhaps(&mut self, vessel: VesselIx, change: impl Fn(Slots) -> Slots) {
        self.close_move(vessel);
        for piece in self.in_vessel(vessel).collect::<Vec<_>>() {
            if let Some(lie) = self.pieces.get_mut(piece).and_then(|p| p.lie.as_mut()) {
                lie.slots = lie.slots.or(change(lie.slots));
            }
        }
        // Elimination stays sound: the sets hold every slot that is possible.
        self.eliminate(vessel);
    }

    pub fn perhaps_flipped(&mut self, vessel: VesselIx) {
        for piece in self.in_vessel(vessel).collect::<Vec<_>>() {
            if let Some(p) = self.pieces.get_mut(piece) {
                p.side = Side::Unsure;
            }
        }
    }

    /// Nothing is sure of what is in this vessel.
    pub fn lose(&mut self, vessel: VesselIx) {
        self.close_move(vessel);
        let Some(all) = self.frame(vessel).map(Frame::all) else {
            return;
        };
        for piece in self.in_vessel(vessel).collect::<Vec<_>>() {
            if let Some(lie) = self.pieces.get_mut(piece).and_then(|p| p.lie.as_mut()) {
                lie.slots = all;
                lie.doubt = true;
            }
        }
    }
}
