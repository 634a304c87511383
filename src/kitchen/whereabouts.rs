//! What is known of every piece's place.
//!
//! Knowledge is a set of slots in one vessel that holds every slot where the piece
//! may lie, given what was told. Moves map the sets; nothing but a telling or a proof
//! by elimination makes a set smaller. So a set of one is a fact, and a place that was
//! not told and does not follow is never claimed.
//!
//! Two axioms, which a cook keeps without thinking: pieces move only as told, and as
//! long as a vessel has no more pieces than places, a place holds one piece.

use crate::grammar::Order;
use crate::plan::{Layout, Place};

use super::At;
use super::places::{Frame, Slots};

/// Index of a piece, and of a vessel, in the order of the plan.
pub type PieceIx = usize;
pub type VesselIx = usize;

/// Which side is down, counted from the one that was laid down first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    First,
    Second,
    Unsure,
}

impl Side {
    pub fn over(self) -> Side {
        match self {
            Side::First => Side::Second,
            Side::Second => Side::First,
            Side::Unsure => Side::Unsure,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lie {
    pub vessel: VesselIx,
    pub slots: Slots,
    /// It is not even sure that it is still in the vessel.
    pub doubt: bool,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    pub lie: Option<Lie>,
    pub side: Side,
    /// When its place was last told or moved by a telling.
    pub told: At,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stand {
    pub frame: Frame,
    /// More pieces than places have been in it since it was last empty.
    pub shared: bool,
    /// Pieces lie on one another: places mean nothing until it is empty again.
    pub stacked: bool,
}

/// A move out that was made without saying the order, kept until the order is told.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenMove {
    pub from: Frame,
    pub to: VesselIx,
    /// The pieces with the slots they had.
    pieces: Vec<(PieceIx, Slots)>,
    /// Slots of the goal that may have been free.
    free: Slots,
}

/// Where a piece is, as far as it is known.
#[derive(Debug, Clone, PartialEq)]
pub enum Where {
    NotPlaced,
    /// `place` is none where a vessel has no places to tell apart.
    Known {
        vessel: VesselIx,
        place: Option<Place>,
    },
    OneOf {
        vessel: VesselIx,
        places: Vec<Place>,
    },
    /// Told last in `vessel`; not sure that it is there.
    NotSure {
        vessel: VesselIx,
    },
}

#[derive(Debug, Clone, PartialEq)]
pub struct Whereabouts {
    pub pieces: Vec<Piece>,
    pub stands: Vec<Stand>,
    pub open_move: Option<OpenMove>,
}

impl Whereabouts {
    pub fn new(pieces: usize, layouts: impl IntoIterator<Item = Layout>) -> Whereabouts {
        Whereabouts {
            pieces: vec![
                Piece {
                    lie: None,
                    side: Side::First,
                    told: At(0),
                };
                pieces
            ],
            stands: layouts
                .into_iter()
                .map(|layout| Stand {
                    frame: Frame::new(layout),
                    shared: false,
                    stacked: false,
                })
                .collect(),
            open_move: None,
        }
    }

    pub fn frame(&self, vessel: VesselIx) -> Option<Frame> {
        self.stands.get(vessel).map(|s| s.frame)
    }

    /// Pieces last told in a vessel, doubtful ones too.
    pub fn in_vessel(&self, vessel: VesselIx) -> impl Iterator<Item = PieceIx> + '_ {
        self.pieces
            .iter()
            .enumerate()
            .filter(move |(_, p)| p.lie.is_some_and(|l| l.vessel == vessel))
            .map(|(i, _)| i)
    }

    pub fn place_of(&self, piece: PieceIx) -> Where {
        let Some(lie) = self.pieces.get(piece).and_then(|p| p.lie) else {
            return Where::NotPlaced;
        };
        let Some(stand) = self.stands.get(lie.vessel) else {
            return Where::NotPlaced;
        };
        let vessel = lie.vessel;
        if lie.doubt {
            return Where::NotSure { vessel };
        }
        if stand.frame.is_heap() {
            return Where::Known {
                vessel,
                place: None,
            };
        }
        match lie.slots.single() {
            Some(slot) if !stand.stacked => Where::Known {
                vessel,
                place: stand.frame.place(slot),
            },
            _ => {
                let mut places: Vec<Place> = lie
                    .slots
                    .iter()
                    .filter_map(|s| stand.frame.place(s))
                    .collect();
                places.sort();
                Where::OneOf { vessel, places }
            }
        }
    }

    /// The pieces that are surely at one of `slots`, and those that may be.
    pub fn at(&self, vessel: VesselIx, slots: Slots) -> (Vec<PieceIx>, Vec<PieceIx>) {
        let stacked = self.stands.get(vessel).is_some_and(|s| s.stacked);
        let mut surely = Vec::new();
        let mut maybe = Vec::new();
        for piece in self.in_vessel(vessel) {
            let Some(lie) = self.pieces.get(piece).and_then(|p| p.lie) else {
                continue;
            };
            if lie.slots.and(slots).is_empty() {
                if lie.doubt {
                    maybe.push(piece);
                }
            } else if lie.doubt || stacked || !lie.slots.without(slots).is_empty() {
                maybe.push(piece);
            } else {
                surely.push(piece);
            }
        }
        (surely, maybe)
    }

    // ---- moves

    /// Lays a piece in a vessel: at one of `slots`, or anywhere free when none is told.
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
            if before.lie.is_none() {
                p.side = Side::First;
            }
        }
        self.count(vessel);
        let mut displaced = Vec::new();
        if let (Some(slot), true) = (slots.single(), self.exclusive(vessel)) {
            for other in self.in_vessel(vessel).collect::<Vec<_>>() {
                if other == piece {
                    continue;
                }
                if let Some(lie) = self.pieces.get_mut(other).and_then(|p| p.lie.as_mut())
                    && lie.slots.has(slot)
                {
                    let rest = lie.slots.without(Slots::one(slot));
                    if rest.is_empty() {
                        lie.slots = frame.all().without(Slots::one(slot));
                        lie.doubt = true;
                        displaced.push(other);
                    } else {
                        lie.slots = rest;
                    }
                }
            }
        }
        self.eliminate(vessel);
        displaced
    }

    /// A vessel that is empty, or whose pieces are all lost, is seen as the cook now
    /// names it: a place that fits it only turned by a quarter turns it.
    fn face(&mut self, vessel: VesselIx, piece: PieceIx, place: Place) {
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
    fn lift(&mut self, piece: PieceIx) {
        let Some(lie) = self.pieces.get_mut(piece).and_then(|p| p.lie.take()) else {
            return;
        };
        if self.in_vessel(lie.vessel).next().is_none() {
            self.reset(lie.vessel);
        }
    }

    /// An empty vessel has no memory.
    fn reset(&mut self, vessel: VesselIx) {
        if let Some(stand) = self.stands.get_mut(vessel) {
            stand.frame.quarters = 0;
            stand.shared = false;
            stand.stacked = false;
        }
        self.close_move(vessel);
    }

    fn close_move(&mut self, vessel: VesselIx) {
        if self.open_move.as_ref().is_some_and(|m| m.to == vessel) {
            self.open_move = None;
        }
    }

    pub fn turn(&mut self, vessel: VesselIx, quarters: u8, at: At) {
        let Some(stand) = self.stands.get_mut(vessel) else {
            return;
        };
        stand.frame = stand.frame.turned(quarters);
        self.close_move(vessel);
        self.retell(vessel, at);
    }

    /// The pieces of a vessel change their names for a place, so the place counts as
    /// told anew.
    fn retell(&mut self, vessel: VesselIx, at: At) {
        for piece in self.in_vessel(vessel).collect::<Vec<_>>() {
            if let Some(p) = self.pieces.get_mut(piece) {
                p.told = at;
            }
        }
    }

    /// Turns over everything in a vessel, or one piece. Places stay.
    pub fn flip(&mut self, vessel: VesselIx, piece: Option<PieceIx>) {
        for p in self.in_vessel(vessel).collect::<Vec<_>>() {
            if piece.is_none_or(|only| only == p)
                && let Some(p) = self.pieces.get_mut(p)
            {
                p.side = p.side.over();
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
        if self.in_vessel(to).next().is_none() {
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
            }
        }
        self.reset(from);
        self.count(to);
        let sure = !moving.iter().any(|m| m.2) && !source.stacked;
        if sure {
            self.open_move = Some(OpenMove {
                from: source.frame,
                to,
                pieces: moving.iter().map(|m| (m.0, m.1)).collect(),
                free,
            });
        }
        if let Some(order) = order {
            self.tell_order(order);
        }
        self.eliminate(to);
    }

    /// Whether the order of the last move is open, and telling it would help.
    pub fn order_would_tell(&self) -> bool {
        self.open_move
            .as_ref()
            .is_some_and(|m| !m.from.is_heap() && m.from.in_order().is_some())
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

    /// The pieces lie on one another.
    pub fn stack(&mut self, vessel: VesselIx) {
        self.close_move(vessel);
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

    // ---- what follows

    /// Whether a place of this vessel holds at most one piece.
    fn exclusive(&self, vessel: VesselIx) -> bool {
        self.stands
            .get(vessel)
            .is_some_and(|s| !s.shared && !s.stacked && !s.frame.is_heap())
    }

    fn count(&mut self, vessel: VesselIx) {
        let n = self.in_vessel(vessel).count();
        if let Some(stand) = self.stands.get_mut(vessel)
            && n > usize::from(stand.frame.count())
        {
            stand.shared = true;
        }
    }

    fn surely_taken(&self, vessel: VesselIx, but: PieceIx) -> Slots {
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
    fn eliminate(&mut self, vessel: VesselIx) {
        if !self.exclusive(vessel) {
            return;
        }
        let Some(frame) = self.frame(vessel) else {
            return;
        };
        let here: Vec<PieceIx> = self.in_vessel(vessel).collect();
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
    if open.from.looks_like(to) && open.free == to.all() {
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
