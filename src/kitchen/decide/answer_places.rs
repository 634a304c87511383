//! Places and orders told in answer to a question.

use crate::grammar::{Call, Order};
use crate::kitchen::{PieceId, Refusal, Settled, What};
use crate::plan::{Id, Place};

use super::Desk;

impl Desk<'_> {
    /// A place told in answer: narrows what is known; asks on while it fits several.
    pub(super) fn locate(&mut self, call: &Call, sample: &Id, vessel: &Id, called: Place) -> bool {
        let (Some(piece), Some(v)) = (self.kit.sample_piece(sample), self.kit.vessel_ix(vessel))
        else {
            return false;
        };
        let place = self.seen(v, called);
        let fits = self.core.whereabouts.frame(v).is_some_and(|f| {
            !f.slots_at(place).is_empty() || !f.turned(1).slots_at(place).is_empty()
        });
        if !fits {
            self.refuse(
                call,
                Refusal::NoSuchPlace {
                    vessel: vessel.clone(),
                    place,
                },
            );
            return true;
        }
        let Some(id) = self.kit.piece_id(piece) else {
            return false;
        };
        self.settle(Settled::Answered, false, None);
        self.emit(What::Located {
            piece: id,
            vessel: vessel.clone(),
            place,
        });
        self.ask_next_unknown();
        true
    }

    pub(super) fn tell_order(&mut self, order: Order) {
        self.emit(What::OrderTold { order });
        self.ask_next_unknown();
    }

    /// One question was answered; another sample may still be unsure.
    pub(super) fn ask_next_unknown(&mut self) {
        let next = self.unknown_sample();
        self.to_ask = self.to_ask.take().or(next);
    }

    pub(super) fn ask_where_piece(&mut self, piece: &PieceId) {
        let next = self
            .kit
            .piece_ix(piece)
            .and_then(|p| crate::kitchen::agenda::where_is(self.kit, &self.core, p));
        self.to_ask = self.to_ask.take().or(next);
    }

    pub(super) fn answer_place(
        &mut self,
        call: &Call,
        of: &Call,
        vessel: &Id,
        places: &[Place],
        place: Place,
        held: Option<u32>,
    ) -> bool {
        let Some(frame) = self
            .kit
            .vessel_ix(vessel)
            .and_then(|v| self.core.whereabouts.frame(v))
        else {
            return false;
        };
        let slots = frame.slots_at(frame.as_seen(place));
        let fit: Vec<Place> = places
            .iter()
            .copied()
            .filter(|p| !frame.slots_at(*p).and(slots).is_empty())
            .collect();
        let [one] = fit.as_slice() else {
            if fit.is_empty() {
                self.refuse(
                    call,
                    Refusal::NoSuchPlace {
                        vessel: vessel.clone(),
                        place,
                    },
                );
                return true;
            }
            return false;
        };
        self.settle(Settled::Answered, true, held);
        let mut again = of.clone();
        if let Call::Swap { a, b } = &mut again {
            for spot in [a, b] {
                if let crate::grammar::Spot::Place { vessel: v, place } = spot
                    && frame.slots_at(*place).single().is_none()
                    && v.as_ref().is_none_or(|v| v == vessel)
                {
                    *v = Some(vessel.clone());
                    *place = *one;
                    break;
                }
            }
        }
        self.places_seen = true;
        self.act(&again, false);
        true
    }
}
