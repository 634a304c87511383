//! What is known of every piece's place.
//!
//! Knowledge is a set of slots in one vessel that holds every slot where the piece
//! may lie, given what was told. Moves map the sets; nothing but a telling or a proof
//! by elimination makes a set smaller. So a set of one is a fact, and a place that was
//! not told and does not follow is never claimed.
//!
//! Two axioms, which a cook keeps without thinking: pieces move only as told, and as
//! long as a vessel has no more pieces than places, a place holds one piece.

mod eliminate;
mod moves;
mod order;

use crate::plan::{Layout, Place};

use super::At;
use super::places::{Frame, Slots};

pub use order::OpenMove;

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
    /// It has been turned over at least once.
    pub turned_over: bool,
    /// It lies where the plan of a step puts it, and the cook has not spoken of it.
    pub planned: bool,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stand {
    pub frame: Frame,
    /// More pieces than places have been in it since it was last empty.
    pub shared: bool,
    /// Pieces lie on one another: places mean nothing until it is empty again.
    pub stacked: bool,
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
                    turned_over: false,
                    planned: false,
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
                let open = |p: &Place| {
                    let slot = stand.frame.slots_at(*p);
                    !slot.and(lie.slots).is_empty()
                };
                let places = stand.frame.places().into_iter().filter(open).collect();
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
}
