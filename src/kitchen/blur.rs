//! A move was made and never fully told: what is no longer sure.

use crate::grammar::{Call, Spot, Subject, Turn};

use super::core::Core;
use super::kit::Kit;
use super::places::quarters;
use super::questions::Question;
use super::whereabouts::{PieceIx, VesselIx, Where};

impl Core {
    /// The vessels whose pieces an open question leaves in doubt: the move has been
    /// made in one of them, and it is not told in which or how.
    pub fn in_question(&self, kit: &Kit) -> Vec<VesselIx> {
        self.question
            .as_ref()
            .map(|p| vessels_of(kit, &p.question))
            .unwrap_or_default()
    }

    /// Of [`Self::in_question`], those where not only the side but the place is open.
    pub fn places_in_question(&self, kit: &Kit) -> Vec<VesselIx> {
        let flip = matches!(
            self.question.as_ref().map(|p| &p.question),
            Some(Question::Which {
                of: Call::Flipped { .. },
                ..
            })
        );
        if flip {
            Vec::new()
        } else {
            self.in_question(kit)
        }
    }

    /// Where a piece is: what is known, unless an open question is about a move that
    /// may have taken it elsewhere.
    pub fn place_known(&self, kit: &Kit, piece: PieceIx) -> Where {
        let known = self.whereabouts.place_of(piece);
        let lie = self.whereabouts.pieces.get(piece).and_then(|p| p.lie);
        match lie {
            Some(l) if self.places_in_question(kit).contains(&l.vessel) => {
                Where::NotSure { vessel: l.vessel }
            }
            _ => known,
        }
    }

    pub fn sides_in_question(&self, kit: &Kit) -> Vec<VesselIx> {
        match self.question.as_ref().map(|p| &p.question) {
            Some(Question::Which {
                of: Call::Flipped { .. },
                ..
            }) => self.in_question(kit),
            _ => Vec::new(),
        }
    }

    /// The question goes away unanswered, and what it was about did happen.
    pub fn blur(&mut self, kit: &Kit, question: &Question) {
        let of = match question {
            Question::WhichWay { vessel } => {
                if let Some(v) = kit.vessel_ix(vessel) {
                    // One way or the other: they differ by a half turn.
                    let frame = self.whereabouts.frame(v);
                    self.whereabouts.turn(v, 1, self.spoke);
                    self.half_turned(v, frame.map(|f| f.turned(1)));
                }
                return;
            }
            Question::Which { of, .. } | Question::WhichPlace { of, .. } => of,
            _ => return,
        };
        for v in vessels_of(kit, question) {
            let frame = self.whereabouts.frame(v);
            match of {
                Call::Flipped { .. } => self.whereabouts.perhaps_flipped(v),
                Call::Turned {
                    turn: Turn::Half, ..
                } => self.half_turned(v, frame),
                Call::Turned { .. }
                | Call::Swap { .. }
                | Call::OutTo { .. }
                | Call::Put { .. }
                | Call::In { .. }
                | Call::Stacked { .. } => self.whereabouts.lose(v),
                _ => {}
            }
        }
    }

    fn half_turned(&mut self, v: VesselIx, frame: Option<super::places::Frame>) {
        if let Some(frame) = frame {
            self.whereabouts
                .perhaps(v, |slots| slots.map(|s| frame.opposite(s)));
        }
    }
}

/// Whether the call moves food, so that it has happened whether or not it was understood.
pub fn moves_food(call: &Call) -> bool {
    match call {
        Call::Turned { turn, .. } => quarters(*turn) != 0,
        Call::Flipped { .. }
        | Call::Swap { .. }
        | Call::OutTo { .. }
        | Call::Put { .. }
        | Call::Stacked { .. } => true,
        _ => false,
    }
}

fn vessels_of(kit: &Kit, question: &Question) -> Vec<VesselIx> {
    match question {
        Question::WhichWay { vessel } => kit.vessel_ix(vessel).into_iter().collect(),
        Question::Which { of, options } if moves_food(of) => options
            .iter()
            .filter_map(|o| match o {
                Subject::Vessel(v) => kit.vessel_ix(v),
                _ => None,
            })
            .collect(),
        Question::WhichPlace { of, vessel, .. } if moves_food(of) => {
            let mut all: Vec<VesselIx> = kit.vessel_ix(vessel).into_iter().collect();
            if let Call::Swap { a, b } = of {
                for spot in [a, b] {
                    if let Spot::Place {
                        vessel: Some(v), ..
                    } = spot
                        && let Some(v) = kit.vessel_ix(v)
                    {
                        all.push(v);
                    }
                }
            }
            all
        }
        _ => Vec::new(),
    }
}
