//! What a called name stands for here.

use crate::grammar::{Call, ReadingKind, Subject, TastingCall};
use crate::kitchen::Refusal;
use crate::kitchen::whereabouts::VesselIx;
use crate::plan::Place;

use super::Desk;

/// Words for a side by which a vessel may be named ("left skillet"), by language.
fn side_words(language: &str, place: Place) -> &'static [&'static str] {
    match (language, place) {
        ("ko", Place::Left) => &["왼쪽"],
        ("ko", Place::Right) => &["오른쪽"],
        ("ko", Place::Front) => &["앞", "앞쪽"],
        ("ko", Place::Back) => &["뒤", "뒤쪽"],
        ("ko", Place::Middle) => &["가운데"],
        (_, Place::Left) => &["left"],
        (_, Place::Right) => &["right"],
        (_, Place::Front) => &["front"],
        (_, Place::Back) => &["back", "rear"],
        (_, Place::Middle) => &["middle"],
        (_, Place::Cell { .. } | Place::Hour(_)) => &[],
    }
}

impl Desk<'_> {
    /// The vessel that a name stands for: itself, that of the step, where the sample is.
    pub(super) fn vessel_of(&self, subject: &Subject) -> Result<VesselIx, Refusal> {
        match subject {
            Subject::Vessel(id) => self.kit.vessel_ix(id).ok_or(Refusal::UnknownName),
            Subject::Step(id) => {
                let ix = self.kit.step_ix(id).ok_or(Refusal::UnknownName)?;
                self.kit
                    .step(ix)
                    .and_then(|s| s.vessel.as_ref())
                    .and_then(|v| self.kit.vessel_ix(v))
                    .ok_or_else(|| Refusal::NoStepFor(subject.clone()))
            }
            Subject::Sample(id) => {
                let piece = self.kit.sample_piece(id).ok_or(Refusal::UnknownName)?;
                self.core
                    .whereabouts
                    .pieces
                    .get(piece)
                    .and_then(|p| p.lie)
                    .map(|l| l.vessel)
                    .ok_or_else(|| Refusal::PieceNotPlaced(id.clone()))
            }
            Subject::Place(place) => {
                let all = 0..self.kit.plan.vessels.len();
                self.named_by_side(all, *place)
                    .ok_or_else(|| Refusal::NoStepFor(subject.clone()))
            }
            Subject::Item(_) | Subject::Clock(_) | Subject::All => {
                Err(Refusal::NoStepFor(subject.clone()))
            }
        }
    }

    /// The only one of these vessels with the side in its name.
    pub(super) fn named_by_side(
        &self,
        vessels: impl IntoIterator<Item = VesselIx>,
        place: Place,
    ) -> Option<VesselIx> {
        let words = side_words(&self.kit.plan.language, place);
        let mut fit = vessels.into_iter().filter(|v| {
            self.kit.vessel(*v).is_some_and(|v| {
                v.names
                    .iter()
                    .any(|n| n.split_whitespace().any(|w| words.contains(&w)))
            })
        });
        match (fit.next(), fit.next()) {
            (Some(one), None) => Some(one),
            _ => None,
        }
    }

    /// The vessels among options of a question.
    pub(super) fn vessel_of_option(&self, option: &Subject) -> Option<VesselIx> {
        match option {
            Subject::Vessel(_) | Subject::Step(_) => self.vessel_of(option).ok(),
            _ => None,
        }
    }
}

/// The call with its open name filled in.
pub fn completed(call: &Call, subject: &Subject) -> Call {
    let mut call = call.clone();
    let vessel_id = match subject {
        Subject::Vessel(v) => Some(v.clone()),
        _ => None,
    };
    match &mut call {
        Call::Next => {
            return Call::Done {
                what: Some(subject.clone()),
            };
        }
        Call::Done { what }
        | Call::Flipped { what }
        | Call::Basted { what }
        | Call::Stirred { what }
        | Call::IsItDone { what }
        | Call::Believe { what }
        | Call::HowLong { what }
        | Call::WhenStart { what, .. } => *what = Some(subject.clone()),
        Call::Start { what } => *what = subject.clone(),
        Call::Reading { about, kind, .. } => {
            *about = Some(subject.clone());
            // An item is an option only where it cools.
            if let Subject::Item(_) = subject {
                *kind = ReadingKind::Cooling;
            }
        }
        Call::Extend { which, .. } | Call::StopTimer { which } => *which = Some(subject.clone()),
        Call::Turned { vessel, .. }
        | Call::Stacked { vessel }
        | Call::Heat { vessel, .. }
        | Call::Lid { vessel, .. }
        | Call::In { vessel, .. }
        | Call::Put { vessel, .. }
        | Call::WhatIsAt { vessel, .. } => *vessel = vessel_id,
        Call::Tasting {
            what: TastingCall::Open { samples, .. },
        } => {
            if let Subject::Sample(id) = subject {
                *samples = vec![id.clone()];
            }
        }
        Call::OutTo { from, .. } => *from = vessel_id,
        Call::Swap { a, b } => {
            for spot in [a, b] {
                if let crate::grammar::Spot::Place { vessel, .. } = spot
                    && vessel.is_none()
                {
                    vessel.clone_from(&vessel_id);
                }
            }
        }
        _ => {}
    }
    call
}
