//! Where the marked pieces are, and the one question that a call may end with.

use crate::grammar::Call;
use crate::kitchen::agenda;
use crate::kitchen::core::Phase;
use crate::kitchen::focus::Pick;
use crate::kitchen::whereabouts::{PieceIx, Where};
use crate::kitchen::{Question, Refusal, What};
use crate::plan::{Id, Place};

use super::Desk;

impl Desk<'_> {
    /// After a call: when it left a sample unsure, asks one question.
    pub(super) fn ask_what_is_left(&mut self) {
        if self.core.question.is_some() || self.core.ended.is_some() {
            return;
        }
        // Asking where the marked piece lies would tell tasters where to look.
        if self.core.sitting.is_blind(self.now) {
            return;
        }
        if let Some(question) = self.to_ask.take()
            && self.still_open(&question)
        {
            return self.ask(question);
        }
        let waiting = self.not_yet_asked();
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

    /// Samples of steps that have just begun: their places are asked for when the food
    /// is in.
    fn not_yet_asked(&self) -> Vec<PieceIx> {
        (0..self.core.steps.len())
            .filter(|s| {
                self.core.phase(*s) == Phase::Running
                    && self
                        .core
                        .steps
                        .get(*s)
                        .is_some_and(|s| s.ask_where.is_some())
            })
            .flat_map(|s| self.core.held_samples(self.kit, s).collect::<Vec<_>>())
            .collect()
    }

    /// The first sample that is not known where, to be asked about.
    pub(super) fn unknown_sample(&self) -> Option<Question> {
        let waiting = self.not_yet_asked();
        self.kit
            .marked()
            .filter(|(_, p)| !waiting.contains(p))
            .find_map(|(_, p)| agenda::where_is(self.kit, &self.core, p))
    }

    /// A later event of the same call may have answered it.
    pub(super) fn still_open(&self, question: &Question) -> bool {
        match question {
            Question::Order { from, to, .. } => {
                let of = self.kit.vessel_ix(from).zip(self.kit.vessel_ix(to));
                of.is_some() && self.core.whereabouts.order_would_tell(of)
            }
            Question::ChangedPlaces { other, .. } => self
                .kit
                .piece_ix(other)
                .is_some_and(|p| !matches!(self.core.whereabouts.place_of(p), Where::Known { .. })),
            Question::Where { sample } => self
                .kit
                .sample_piece(sample)
                .and_then(|p| agenda::where_is(self.kit, &self.core, p))
                .is_some(),
            Question::PickOne { taster } => self
                .core
                .sitting
                .open()
                .is_some_and(|o| o.owes_a_guess(*taster)),
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
        let place = self.seen(v, place);
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
