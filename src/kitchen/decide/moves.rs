//! Pieces that change their place: what the cook did has happened, so a call of
//! which something is missing is asked about and leaves doubt until answered.

use crate::grammar::{Call, Spot};
use crate::kitchen::focus::Pick;
use crate::kitchen::whereabouts::{PieceIx, VesselIx, Where};
use crate::kitchen::{Question, Refusal, What};
use crate::plan::{Id, Place};

use super::Desk;

impl Desk<'_> {
    pub(super) fn put(
        &mut self,
        call: &Call,
        sample: &Id,
        vessel: Option<&Id>,
        place: Option<Place>,
    ) {
        let Some(piece) = self.kit.sample_piece(sample) else {
            return self.refuse(call, Refusal::UnknownName);
        };
        let now_in = self
            .core
            .whereabouts
            .pieces
            .get(piece)
            .and_then(|p| p.lie)
            .map(|l| l.vessel);
        let v = match vessel {
            Some(id) => match self.kit.vessel_ix(id) {
                Some(v) => v,
                None => return self.refuse(call, Refusal::UnknownName),
            },
            None => match now_in.or(self.core.addressed_vessel.map(|a| a.0)) {
                Some(v) => v,
                None => return self.refuse(call, Refusal::PieceNotPlaced(sample.clone())),
            },
        };
        let emptied = now_in.filter(|from| *from != v);
        self.lay(call, piece, v, place);
        if let Some(from) = emptied {
            self.end_if_emptied(from);
        }
    }

    /// The last piece was taken out by itself: a step that only kept it there ends.
    fn end_if_emptied(&mut self, from: VesselIx) {
        if self.core.whereabouts.in_vessel(from).next().is_some() {
            return;
        }
        let Some(ix) = self.core.step_in(self.kit, from) else {
            return;
        };
        if self.why_not_yet(ix).is_some() {
            return;
        }
        self.end_step(ix, false, false);
        if !self.start_ready(Some(ix)) {
            self.emit(What::NothingToBegin);
        }
    }

    /// Lays a piece down: at a place that is one slot, or asks.
    pub(super) fn lay(&mut self, call: &Call, piece: PieceIx, v: VesselIx, place: Option<Place>) {
        let Some(id) = self.kit.piece_id(piece) else {
            return;
        };
        let place = place.map(|p| self.seen(v, p));
        let before = self.core.whereabouts.place_of(piece);
        // A word that fits several places narrows it; the question comes afterwards.
        if let Some(place) = place
            && self.slots(call, v, place).is_none()
        {
            return;
        }
        let displaced = {
            let mut try_out = self.core.whereabouts.clone();
            try_out.put(piece, v, place, self.now)
        };
        self.emit(What::Put {
            piece: id.clone(),
            vessel: self.kit.vessel_id(v),
            place,
        });
        if let (
            [other],
            Where::Known {
                vessel,
                place: Some(was),
            },
        ) = (displaced.as_slice(), before)
            && let Some(other) = self.kit.piece_id(*other)
        {
            self.to_ask = Some(Question::ChangedPlaces {
                moved: id,
                other,
                vessel: self.kit.vessel_id(v),
                vessel_before: self.kit.vessel_id(vessel),
                place_before: was,
            });
        }
    }

    pub(super) fn swap(&mut self, call: &Call, a: &Spot, b: &Spot) {
        match (a, b) {
            (Spot::Sample(a), Spot::Sample(b)) => {
                let (Some(pa), Some(pb)) = (self.kit.sample_piece(a), self.kit.sample_piece(b))
                else {
                    return self.refuse(call, Refusal::UnknownName);
                };
                if pa == pb {
                    return self.refuse(call, Refusal::SameThing);
                }
                for (sample, piece) in [(a, pa), (b, pb)] {
                    if self.core.whereabouts.place_of(piece) == Where::NotPlaced {
                        return self.refuse(call, Refusal::PieceNotPlaced(sample.clone()));
                    }
                }
                if let (Some(a), Some(b)) = (self.kit.piece_id(pa), self.kit.piece_id(pb)) {
                    self.emit(What::SwappedPieces { a, b });
                }
            }
            (Spot::Place { .. }, Spot::Place { .. }) => self.swap_places(call, a, b),
            (Spot::Sample(s), Spot::Place { vessel, place })
            | (Spot::Place { vessel, place }, Spot::Sample(s)) => {
                self.swap_with_place(call, s, vessel.as_ref(), *place);
            }
        }
    }

    /// "swap the test chop and the left one": two places, when it is known where the
    /// sample lies.
    pub(super) fn swap_with_place(
        &mut self,
        call: &Call,
        s: &Id,
        vessel: Option<&Id>,
        place: Place,
    ) {
        let Some(piece) = self.kit.sample_piece(s) else {
            return self.refuse(call, Refusal::UnknownName);
        };
        let (own, at) = match self.core.whereabouts.place_of(piece) {
            Where::NotPlaced => return self.refuse(call, Refusal::PieceNotPlaced(s.clone())),
            Where::Known {
                vessel,
                place: Some(at),
            } => (vessel, at),
            // It is not known where it was, but it is now where the other was.
            _ => return self.put(call, s, vessel, Some(place)),
        };
        let other = match vessel {
            Some(id) => match self.kit.vessel_ix(id) {
                Some(v) => v,
                None => return self.refuse(call, Refusal::UnknownName),
            },
            None => own,
        };
        let a = (own, at);
        let b = (other, self.seen(other, place));
        self.exchange(call, a, b);
    }

    pub(super) fn swap_places(&mut self, call: &Call, a: &Spot, b: &Spot) {
        let (
            Spot::Place {
                vessel: va,
                place: a,
            },
            Spot::Place {
                vessel: vb,
                place: b,
            },
        ) = (a, b)
        else {
            return;
        };
        // "swap left and right": both in the vessel that is meant.
        let named = va.as_ref().or(vb.as_ref());
        let common = match named {
            Some(id) => match self.kit.vessel_ix(id) {
                Some(v) => v,
                None => return self.refuse(call, Refusal::UnknownName),
            },
            None => {
                let fit: Vec<VesselIx> = self
                    .arranged()
                    .into_iter()
                    .filter(|v| {
                        self.core.whereabouts.frame(*v).is_some_and(|f| {
                            !f.slots_at(*a).is_empty() && !f.slots_at(*b).is_empty()
                        })
                    })
                    .collect();
                match self.pick_vessel(&fit, None) {
                    Pick::One(v) => v,
                    Pick::Ask(several) => return self.which_vessel(call, &several),
                    Pick::None => match self.core.addressed_vessel {
                        Some((v, _)) => v,
                        None => return self.refuse(call, Refusal::NothingUnderWay),
                    },
                }
            }
        };
        let of = |id: &Option<Id>| id.as_ref().and_then(|v| self.kit.vessel_ix(v));
        let (va, vb) = (of(va).unwrap_or(common), of(vb).unwrap_or(common));
        let (a, b) = (self.seen(va, *a), self.seen(vb, *b));
        self.exchange(call, (va, a), (vb, b));
    }

    /// Exchanges two places, as they are seen, of one vessel or of two.
    pub(super) fn exchange(&mut self, call: &Call, a: (VesselIx, Place), b: (VesselIx, Place)) {
        let mut single = Vec::new();
        for (v, place) in [a, b] {
            let Some(slots) = self.slots(call, v, place) else {
                return;
            };
            let Some(slot) = slots.single() else {
                let places = self.names_of(v, slots);
                let spot = |(v, place): (VesselIx, Place)| Spot::Place {
                    vessel: Some(self.kit.vessel_id(v)),
                    place,
                };
                return self.ask(Question::WhichPlace {
                    of: Call::Swap {
                        a: spot(a),
                        b: spot(b),
                    },
                    vessel: self.kit.vessel_id(v),
                    places,
                });
            };
            single.push((v, slot));
        }
        if single.first() == single.last() {
            return self.refuse(call, Refusal::SameThing);
        }
        self.emit(What::SwappedPlaces {
            vessel_a: self.kit.vessel_id(a.0),
            a: a.1,
            vessel_b: self.kit.vessel_id(b.0),
            b: b.1,
        });
    }

    pub(super) fn stacked(&mut self, call: &Call, vessel: Option<&Id>) {
        let v = match vessel {
            Some(id) => match self.kit.vessel_ix(id) {
                Some(v) => v,
                None => return self.refuse(call, Refusal::UnknownName),
            },
            None => match self.pick_vessel(&self.arranged(), None) {
                Pick::One(v) => v,
                Pick::Ask(several) => return self.which_vessel(call, &several),
                Pick::None => return self.refuse(call, Refusal::NothingUnderWay),
            },
        };
        self.emit(What::Stacked {
            vessel: self.kit.vessel_id(v),
        });
    }
}
