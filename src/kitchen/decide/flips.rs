//! Turning over, turning round, and what is only recorded.

use crate::grammar::{Call, Subject, Turn};
use crate::kitchen::focus::Pick;
use crate::kitchen::places::quarters;
use crate::kitchen::whereabouts::VesselIx;
use crate::kitchen::{ClockKey, Deed, PieceId, Question, Refusal, What};
use crate::plan::{Id, Place};

use super::Desk;

impl Desk<'_> {
    pub(super) fn flipped(&mut self, call: &Call, what: Option<&Subject>) {
        match what {
            Some(Subject::All) => {
                let all: Vec<VesselIx> = self.frying();
                if all.is_empty() {
                    return self.refuse(call, Refusal::NothingToFlip);
                }
                for v in all {
                    self.flip(v, None);
                }
            }
            Some(Subject::Sample(id)) => {
                let Some(piece) = self.kit.sample_piece(id) else {
                    return self.refuse(call, Refusal::UnknownName);
                };
                match self.vessel_of(&Subject::Sample(id.clone())) {
                    Ok(v) => self.flip(v, self.kit.piece_id(piece)),
                    Err(why) => self.refuse(call, why),
                }
            }
            Some(Subject::Item(_)) | None => match self.pick_vessel(&self.frying(), what) {
                Pick::None => self.refuse(call, Refusal::NothingToFlip),
                Pick::One(v) => self.flip(v, None),
                Pick::Ask(several) => self.which_vessel(call, &several),
            },
            Some(Subject::Place(place)) => {
                if let Some(v) = self.named_by_side(self.frying(), *place) {
                    return self.flip(v, None);
                }
                // "flipped the left one": a piece by its place.
                match self.pick_vessel(&self.frying(), None) {
                    Pick::None => self.refuse(call, Refusal::NothingToFlip),
                    Pick::Ask(several) => self.which_vessel(call, &several),
                    Pick::One(v) => self.flip_at(call, v, *place),
                }
            }
            Some(subject) => match self.vessel_of(subject) {
                Ok(v) => self.flip(v, None),
                Err(why) => self.refuse(call, why),
            },
        }
    }

    pub(super) fn flip_at(&mut self, call: &Call, v: VesselIx, place: Place) {
        let place = self.seen(v, place);
        let Some(slots) = self.slots(call, v, place) else {
            return;
        };
        let (surely, maybe) = self.core.whereabouts.at(v, slots);
        match (surely.as_slice(), maybe.is_empty()) {
            ([one], true) => self.flip(v, self.kit.piece_id(*one)),
            ([], true) => self.refuse(
                call,
                Refusal::NothingAt {
                    vessel: self.kit.vessel_id(v),
                    place,
                },
            ),
            _ => {
                // Some piece was turned over and it is not sure which: no side is.
                self.emit(What::SidesUnsure {
                    vessel: self.kit.vessel_id(v),
                });
            }
        }
    }

    /// Vessels whose flip is due and has been called out.
    pub(super) fn flips_that_sound(&self) -> Vec<VesselIx> {
        self.core
            .sounding()
            .filter_map(|c| match &c.key {
                ClockKey::Flip(id) => self.kit.step(self.kit.step_ix(id)?),
                _ => None,
            })
            .filter_map(|s| self.kit.vessel_ix(s.vessel.as_ref()?))
            .collect()
    }

    pub(super) fn flip(&mut self, vessel: VesselIx, piece: Option<PieceId>) {
        self.emit(What::Flipped {
            vessel: self.kit.vessel_id(vessel),
            piece,
        });
    }

    /// Vessels in which something is flipped: of running steps with flips, else of
    /// running steps whose vessel holds pieces.
    pub(super) fn frying(&self) -> Vec<VesselIx> {
        let of = |flips: bool| -> Vec<VesselIx> {
            self.core
                .running()
                .filter_map(|s| self.kit.step(s))
                .filter(|s| s.flip_every.is_some() == flips)
                .filter_map(|s| s.vessel.as_ref().and_then(|v| self.kit.vessel_ix(v)))
                .filter(|v| flips || (self.is_hot(*v) && self.holds(*v)))
                .collect()
        };
        let timed = of(true);
        if timed.is_empty() { of(false) } else { timed }
    }

    pub(super) fn turned(&mut self, call: &Call, vessel: Option<&Id>, turn: Turn) {
        let v = match vessel {
            Some(id) => match self.kit.vessel_ix(id) {
                Some(v) => v,
                None => return self.refuse(call, Refusal::UnknownName),
            },
            None => match self.pick_vessel(&self.arranged(), None) {
                Pick::One(v) => v,
                Pick::Ask(several) => return self.which_vessel(call, &several),
                Pick::None => match self.core.addressed_vessel {
                    Some((v, _)) => v,
                    None => return self.refuse(call, Refusal::NothingUnderWay),
                },
            },
        };
        let id = self.kit.vessel_id(v);
        if quarters(turn) == 0 {
            return self.ask(Question::WhichWay { vessel: id });
        }
        self.emit(What::Turned { vessel: id, turn });
    }

    pub(super) fn did(&mut self, call: &Call, deed: Deed, about: Option<&Subject>) {
        let about = match about {
            Some(s @ (Subject::Sample(_) | Subject::Item(_) | Subject::All)) => Some(s.clone()),
            Some(subject) => match self.vessel_of(subject) {
                Ok(v) => Some(Subject::Vessel(self.kit.vessel_id(v))),
                Err(why) => return self.refuse(call, why),
            },
            None => {
                let vessels: Vec<VesselIx> = self
                    .core
                    .running()
                    .filter_map(|s| self.kit.step(s)?.vessel.as_ref())
                    .filter_map(|v| self.kit.vessel_ix(v))
                    .collect();
                match self.pick_vessel(&vessels, None) {
                    Pick::None => None,
                    Pick::One(v) => Some(Subject::Vessel(self.kit.vessel_id(v))),
                    Pick::Ask(several) => return self.which_vessel(call, &several),
                }
            }
        };
        self.emit(What::Did { deed, about });
    }
}
