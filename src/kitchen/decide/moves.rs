//! Food that goes in, is turned over, is moved: what the cook did has happened, so a
//! call of which something is missing is asked about and leaves doubt until answered.

use crate::grammar::{Call, Order, Spot, Subject, Thing, Turn};
use crate::kitchen::agenda;
use crate::kitchen::core::Phase;
use crate::kitchen::focus::{Candidate, Pick, pick};
use crate::kitchen::kit::StepIx;
use crate::kitchen::places::{Slots, quarters};
use crate::kitchen::whereabouts::{PieceIx, VesselIx, Where};
use crate::kitchen::{ClockKey, Deed, PieceId, Question, Refusal, What};
use crate::plan::{Id, Place, VesselKind};

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

    fn flip_at(&mut self, call: &Call, v: VesselIx, place: Place) {
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

    fn flip(&mut self, vessel: VesselIx, piece: Option<PieceId>) {
        self.emit(What::Flipped {
            vessel: self.kit.vessel_id(vessel),
            piece,
        });
    }

    /// Vessels in which something is flipped: of running steps with flips, else of
    /// running steps whose vessel holds pieces.
    fn frying(&self) -> Vec<VesselIx> {
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

    /// A vessel that cooks what is in it.
    pub(super) fn is_hot(&self, v: VesselIx) -> bool {
        self.kit.vessel(v).is_some_and(|v| {
            matches!(
                v.kind,
                VesselKind::Skillet | VesselKind::Pot | VesselKind::Oven
            )
        })
    }

    fn holds(&self, v: VesselIx) -> bool {
        self.core.whereabouts.in_vessel(v).next().is_some()
    }

    /// Which of these vessels a bare call means. A thing that is in only one of them
    /// decides.
    fn pick_vessel(&self, vessels: &[VesselIx], about: Option<&Subject>) -> Pick<VesselIx> {
        let holding: Vec<VesselIx> = match about {
            Some(Subject::Item(id)) => vessels
                .iter()
                .copied()
                .filter(|v| {
                    self.core
                        .whereabouts
                        .in_vessel(*v)
                        .any(|p| self.kit.item_at(p).is_some_and(|i| i.id == *id))
                })
                .collect(),
            _ => vessels.to_vec(),
        };
        let all: Vec<_> = holding
            .iter()
            .map(|v| {
                let clock = self
                    .core
                    .step_in(self.kit, *v)
                    .and_then(|s| self.core.clock(&ClockKey::Flip(self.step_id(s))));
                Candidate {
                    what: *v,
                    due: clock
                        .filter(|c| c.ring.is_none_or(|r| !r.known))
                        .map(|c| c.ends),
                    sounds: clock.is_some_and(|c| c.sounds()),
                }
            })
            .collect();
        pick(&all, self.core.addressed_vessel, self.now, false)
    }

    fn which_vessel(&mut self, call: &Call, vessels: &[VesselIx]) {
        let options = vessels
            .iter()
            .map(|v| Subject::Vessel(self.kit.vessel_id(*v)))
            .collect();
        self.ask(Question::Which {
            of: call.clone(),
            options,
        });
    }

    /// Vessels with something in them whose places can be told apart, those of running
    /// steps before others.
    fn arranged(&self) -> Vec<VesselIx> {
        let held: Vec<VesselIx> = (0..self.kit.plan.vessels.len())
            .filter(|v| {
                self.core
                    .whereabouts
                    .frame(*v)
                    .is_some_and(|f| !f.is_heap())
            })
            .filter(|v| self.core.whereabouts.in_vessel(*v).next().is_some())
            .collect();
        let active: Vec<VesselIx> = held
            .iter()
            .copied()
            .filter(|v| self.core.step_in(self.kit, *v).is_some())
            .collect();
        if active.is_empty() { held } else { active }
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

    pub(super) fn came_in(
        &mut self,
        call: &Call,
        what: Option<&Thing>,
        vessel: Option<&Id>,
        place: Option<Place>,
    ) {
        match what {
            Some(Thing::Sample(id)) => self.put(call, id, vessel, place),
            Some(Thing::Oil) => {
                let vessel = match vessel {
                    Some(v) => Some(v.clone()),
                    None => {
                        let hot: Vec<VesselIx> = self
                            .core
                            .running()
                            .filter_map(|s| self.kit.step(s)?.vessel.as_ref())
                            .filter_map(|v| self.kit.vessel_ix(v))
                            .collect();
                        match self.pick_vessel(&hot, None) {
                            Pick::None => None,
                            Pick::One(v) => Some(self.kit.vessel_id(v)),
                            Pick::Ask(several) => return self.which_vessel(call, &several),
                        }
                    }
                };
                self.emit(What::OilIn { vessel });
            }
            Some(Thing::Item(_)) | None => self.food_in(call, what, vessel),
        }
    }

    /// "chops in": the food of a step is in. A step that is next and waits for this is
    /// begun by it.
    fn food_in(&mut self, call: &Call, what: Option<&Thing>, vessel: Option<&Id>) {
        let fits = |s: &StepIx| {
            self.kit.step(*s).is_some_and(|step| {
                let right_vessel = vessel.is_none() || step.vessel.as_ref() == vessel;
                let right_food = match what {
                    Some(Thing::Item(id)) => step.holds.iter().any(|h| match &h.what {
                        crate::plan::What::Pieces { item, .. } => item == id,
                        crate::plan::What::Sample(s) => {
                            self.kit.sample(s).is_some_and(|s| s.of == *id)
                        }
                    }),
                    _ => step.vessel.is_some(),
                };
                right_vessel && right_food
            })
        };
        let running: Vec<StepIx> = self
            .core
            .running()
            .filter(fits)
            .filter(|s| {
                self.core
                    .steps
                    .get(*s)
                    .is_some_and(|s| s.flips == 0 && s.food_in.is_none())
                    // Food whose time is up has long been in.
                    && self
                        .core
                        .clock_of_step(&self.step_id(*s))
                        .is_none_or(|c| c.ring.is_none())
            })
            .collect();
        let ready: Vec<StepIx> = self.core.ready(self.kit).filter(fits).collect();
        let (ix, begin) = match (self.pick_step(&running, false), ready.as_slice()) {
            (Pick::One(ix), _) => (ix, false),
            (Pick::Ask(several), _) => return self.which_step_vessel(call, &several),
            (Pick::None, [one]) => (*one, true),
            (Pick::None, []) => {
                let again: Vec<StepIx> = self.core.running().filter(fits).collect();
                if let Some(ix) = again.first() {
                    return self.refuse(call, Refusal::AlreadyUnderWay(self.step_id(*ix)));
                }
                let why = match (vessel, what) {
                    (Some(v), _) => Refusal::NoStepFor(Subject::Vessel(v.clone())),
                    (None, Some(Thing::Item(id))) => Refusal::WhichPieces(id.clone()),
                    _ => Refusal::NothingUnderWay,
                };
                return self.refuse(call, why);
            }
            (Pick::None, several) => {
                let several = several.to_vec();
                return self.which_step_vessel(call, &several);
            }
        };
        let step = self.step_id(ix);
        if begin {
            self.emit(What::StepStarted {
                step: step.clone(),
                early: false,
            });
        }
        self.emit(What::FoodIn { step });
        let unknown = self
            .core
            .held_samples(self.kit, ix)
            .find_map(|p| agenda::where_is(self.kit, &self.core, p));
        self.to_ask = self.to_ask.take().or(unknown);
    }

    fn which_step_vessel(&mut self, call: &Call, steps: &[StepIx]) {
        let vessels: Vec<VesselIx> = steps
            .iter()
            .filter_map(|s| self.kit.step(*s)?.vessel.as_ref())
            .filter_map(|v| self.kit.vessel_ix(v))
            .collect();
        self.which_vessel(call, &vessels);
    }

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
        self.lay(call, piece, v, place);
    }

    /// Lays a piece down: at a place that is one slot, or asks.
    pub(super) fn lay(&mut self, call: &Call, piece: PieceIx, v: VesselIx, place: Option<Place>) {
        let Some(id) = self.kit.piece_id(piece) else {
            return;
        };
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

    /// The slots of a place, or a refusal when the vessel has no such place.
    fn slots(&mut self, call: &Call, v: VesselIx, place: Place) -> Option<Slots> {
        let frame = self.core.whereabouts.frame(v)?;
        let mut slots = frame.slots_at(place);
        if slots.is_empty() && self.may_face(v) {
            slots = frame.turned(1).slots_at(place);
        }
        if slots.is_empty() {
            self.refuse(
                call,
                Refusal::NoSuchPlace {
                    vessel: self.kit.vessel_id(v),
                    place,
                },
            );
            return None;
        }
        Some(slots)
    }

    /// Nothing sure is in it, so the cook's words say how it stands.
    fn may_face(&self, v: VesselIx) -> bool {
        self.core.whereabouts.in_vessel(v).all(|p| {
            let lie = self.core.whereabouts.pieces.get(p).and_then(|p| p.lie);
            lie.is_none_or(|l| l.doubt)
        })
    }

    fn names_of(&self, v: VesselIx, slots: Slots) -> Vec<Place> {
        let frame = self.core.whereabouts.frame(v);
        slots
            .iter()
            .filter_map(|s| frame.and_then(|f| f.place(s)))
            .collect()
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
    fn swap_with_place(&mut self, call: &Call, s: &Id, vessel: Option<&Id>, place: Place) {
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
        let b = (other, place);
        self.exchange(call, a, b);
    }

    fn swap_places(&mut self, call: &Call, a: &Spot, b: &Spot) {
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
        self.exchange(call, (va, *a), (vb, *b));
    }

    fn exchange(&mut self, call: &Call, a: (VesselIx, Place), b: (VesselIx, Place)) {
        let mut single = Vec::new();
        for (v, place) in [a, b] {
            let Some(slots) = self.slots(call, v, place) else {
                return;
            };
            let Some(slot) = slots.single() else {
                let places = self.names_of(v, slots);
                return self.ask(Question::WhichPlace {
                    of: call.clone(),
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

    pub(super) fn out_to(
        &mut self,
        call: &Call,
        from: Option<&Id>,
        to: &Id,
        order: Option<Order>,
        sure: bool,
    ) {
        let Some(to_ix) = self.kit.vessel_ix(to) else {
            return self.refuse(call, Refusal::UnknownName);
        };
        let from_ix = match from {
            Some(id) => match self.kit.vessel_ix(id) {
                Some(v) => v,
                None => return self.refuse(call, Refusal::UnknownName),
            },
            None => {
                // Vessels whose step goes there come first, then all that hold food.
                let active: Vec<VesselIx> = self
                    .core
                    .running()
                    .filter_map(|s| self.kit.step(s))
                    .filter(|s| s.out_to.as_ref() == Some(to))
                    .filter_map(|s| s.vessel.as_ref().and_then(|v| self.kit.vessel_ix(v)))
                    .collect();
                let holding: Vec<VesselIx> = (0..self.kit.plan.vessels.len())
                    .filter(|v| *v != to_ix)
                    .filter(|v| self.core.whereabouts.in_vessel(*v).next().is_some())
                    .collect();
                let running: Vec<VesselIx> = holding
                    .iter()
                    .copied()
                    .filter(|v| self.core.step_in(self.kit, *v).is_some())
                    .collect();
                let set = [active, running, holding]
                    .into_iter()
                    .find(|s| !s.is_empty())
                    .unwrap_or_default();
                match self.pick_vessel_to_empty(&set) {
                    Pick::One(v) => v,
                    Pick::Ask(several) => return self.which_vessel(call, &several),
                    Pick::None => return self.refuse(call, Refusal::NothingUnderWay),
                }
            }
        };
        if from_ix == to_ix {
            return self.refuse(call, Refusal::SameThing);
        }
        let step = self.core.step_in(self.kit, from_ix);
        let holds = self.core.whereabouts.in_vessel(from_ix).next().is_some();
        if !holds && step.is_none() {
            return self.refuse(call, Refusal::VesselEmpty(self.kit.vessel_id(from_ix)));
        }
        if let Some(ix) = step
            && !sure
            && let Some(why) = self.why_not_yet(ix)
        {
            let of = Call::OutTo {
                from: Some(self.kit.vessel_id(from_ix)),
                to: to.clone(),
                order,
            };
            return self.sure(&of, why);
        }
        if let Some(ix) = step {
            self.end_step(ix, sure, false);
        }
        if holds {
            self.move_out(from_ix, to_ix, order);
        }
        if step.is_some() && !self.start_ready(step) {
            self.emit(What::NothingToBegin);
        }
    }

    fn pick_vessel_to_empty(&self, vessels: &[VesselIx]) -> Pick<VesselIx> {
        let all: Vec<_> = vessels
            .iter()
            .map(|v| {
                let clock = self
                    .core
                    .step_in(self.kit, *v)
                    .and_then(|s| self.core.clock_of_step(&self.step_id(s)));
                Candidate {
                    what: *v,
                    due: clock.map(|c| c.ends),
                    sounds: clock.is_some_and(|c| c.sounds()),
                }
            })
            .collect();
        pick(&all, self.core.addressed_vessel, self.now, false)
    }

    /// The move itself, and the question about its order where samples are in it.
    pub(super) fn move_out(&mut self, from: VesselIx, to: VesselIx, order: Option<Order>) {
        let marked: Vec<Id> = self
            .kit
            .marked()
            .filter(|(_, p)| {
                let lie = self.core.whereabouts.pieces.get(*p).and_then(|p| p.lie);
                lie.is_some_and(|l| l.vessel == from)
            })
            .map(|(s, _)| s.id.clone())
            .collect();
        self.emit(What::MovedOut {
            from: self.kit.vessel_id(from),
            to: self.kit.vessel_id(to),
            order,
        });
        let unknown: Vec<Id> = marked
            .into_iter()
            .filter(|s| {
                self.kit.sample_piece(s).is_some_and(|p| {
                    !matches!(self.core.whereabouts.place_of(p), Where::Known { .. })
                })
            })
            .collect();
        if unknown.is_empty() {
            return;
        }
        // The order helps only where there was one to keep.
        if order.is_none() && self.core.whereabouts.order_would_tell() {
            self.to_ask = Some(Question::Order {
                from: self.kit.vessel_id(from),
                to: self.kit.vessel_id(to),
                samples: unknown,
            });
        }
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

    // ---- questions that remain

    /// After a call: when it left a sample unsure, asks one question.
    pub(super) fn ask_what_is_left(&mut self) {
        if self.core.question.is_some() || self.core.ended.is_some() {
            return;
        }
        let waiting: Vec<PieceIx> = (0..self.core.steps.len())
            .filter(|s| {
                self.core.phase(*s) == Phase::Running
                    && self
                        .core
                        .steps
                        .get(*s)
                        .is_some_and(|s| s.ask_where.is_some())
            })
            .flat_map(|s| self.core.held_samples(self.kit, s).collect::<Vec<_>>())
            .collect();
        if let Some(question) = self.to_ask.take()
            && self.still_open(&question)
        {
            return self.ask(question);
        }
        let became = self
            .kit
            .marked()
            .filter(|(_, p)| !waiting.contains(p))
            .filter(|(_, p)| {
                let before = self.state.core.whereabouts.place_of(*p);
                let after = self.core.whereabouts.place_of(*p);
                before != after && !matches!(after, Where::Known { .. } | Where::NotPlaced)
            })
            .find_map(|(_, p)| agenda::where_is(self.kit, &self.core, p));
        if let Some(question) = became {
            self.ask(question);
        }
    }

    /// A later event of the same call may have answered it.
    fn still_open(&self, question: &Question) -> bool {
        match question {
            Question::Order { .. } => self.core.whereabouts.order_would_tell(),
            Question::Where { sample, .. } => self
                .kit
                .sample_piece(sample)
                .and_then(|p| agenda::where_is(self.kit, &self.core, p))
                .is_some(),
            _ => true,
        }
    }

    pub(super) fn where_is(&mut self, call: &Call, sample: &Id) {
        if self.kit.sample_piece(sample).is_none() {
            return self.refuse(call, Refusal::UnknownName);
        }
        self.emit(What::Queried {
            query: call.clone(),
        });
        // Asking for it is a good moment to tell it, when it is not known.
        let unknown = self
            .kit
            .sample_piece(sample)
            .and_then(|p| agenda::where_is(self.kit, &self.core, p));
        self.to_ask = unknown;
    }

    pub(super) fn what_is_at(&mut self, call: &Call, vessel: Option<&Id>, place: Place) {
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
        if self.slots(call, v, place).is_none() {
            return;
        }
        self.emit(What::Queried {
            query: Call::WhatIsAt {
                vessel: Some(self.kit.vessel_id(v)),
                place,
            },
        });
    }
}
