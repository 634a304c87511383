//! The state for those who draw it: the board, the map, the loop.

use crate::grammar::{Asked, Subject};
use crate::plan::{Id, Place};

use super::core::Phase;
use super::questions::Question;
use super::state::State;
use super::whereabouts::{Side, Where};
use super::{At, ClockKey};

/// A step as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct StepView {
    pub id: Id,
    pub phase: StepPhase,
    pub began: Option<At>,
    /// From when its wait counts, where it has one: may lie ahead.
    pub waits_from: Option<At>,
    pub ended: Option<At>,
    pub flips: u32,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StepPhase {
    Waiting,
    Ready,
    Running,
    Resting,
    Done,
}

#[derive(Debug, Clone, PartialEq)]
pub struct ClockView {
    pub key: ClockKey,
    pub name: Option<String>,
    pub from: At,
    pub ends: At,
    pub latest: Option<At>,
    /// Sounds and is not acknowledged.
    pub sounds: bool,
}

/// A vessel with its places as the cook sees them now.
#[derive(Debug, Clone, PartialEq)]
pub struct VesselView {
    pub id: Id,
    pub name: String,
    /// Rows from the back and columns from the left; none for a clock face.
    pub grid: Option<(u8, u8)>,
    /// Every place with the pieces that surely lie there.
    pub places: Vec<(Option<Place>, Vec<String>)>,
    /// Places at which a piece may lie of which that is not sure.
    pub perhaps: Vec<Place>,
    /// Pieces that are in it, not sure where.
    pub somewhere: Vec<String>,
    /// The side that is down of every piece in it, once any was turned over; none where
    /// they differ.
    pub side: Option<Side>,
    pub stacked: bool,
}

/// What the ear may listen for now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Expecting {
    Anything,
    /// A question is open; any other call is taken too.
    Answer,
    /// "hold on" was called.
    OnlyCarryOn,
}

impl State {
    pub fn steps(&self) -> Vec<StepView> {
        let ready: Vec<_> = self.core.ready(&self.kit).collect();
        self.core
            .steps
            .iter()
            .enumerate()
            .map(|(ix, s)| StepView {
                id: self.kit.step_id(ix),
                phase: match s.phase {
                    Phase::NotBegun if ready.contains(&ix) => StepPhase::Ready,
                    Phase::NotBegun => StepPhase::Waiting,
                    Phase::Running => StepPhase::Running,
                    Phase::Resting => StepPhase::Resting,
                    Phase::Done => StepPhase::Done,
                },
                began: s.began,
                waits_from: s.waits_from,
                ended: s.ended,
                flips: s.flips,
            })
            .collect()
    }

    pub fn clocks(&self) -> Vec<ClockView> {
        let mut all: Vec<_> = self
            .core
            .clocks
            .iter()
            .map(|c| ClockView {
                key: c.key.clone(),
                name: c.name.clone(),
                from: c.from,
                ends: c.ends,
                latest: c.latest,
                sounds: c.sounds(),
            })
            .collect();
        all.sort_by_key(|c| c.ends);
        all
    }

    /// Where a sample is known to be: vessel, place and whether both are sure.
    pub fn whereabouts_of(&self, sample: &str) -> Option<Where> {
        self.kit
            .sample_piece(sample)
            .map(|p| self.core.place_known(&self.kit, p))
    }

    pub fn vessels(&self) -> Vec<VesselView> {
        let name = |piece| match self.kit.sample_of(piece) {
            Some(s) => s.names.first().unwrap_or(&s.id).clone(),
            None => self
                .kit
                .item_at(piece)
                .map(|i| i.names.first().unwrap_or(&i.id).clone())
                .unwrap_or_default(),
        };
        self.kit
            .plan
            .vessels
            .iter()
            .enumerate()
            .filter_map(|(v, vessel)| {
                let w = &self.core.whereabouts;
                let stand = w.stands.get(v)?;
                let frame = stand.frame;
                let mut somewhere = Vec::new();
                let mut places: Vec<(Option<Place>, Vec<String>)> = if frame.is_heap() {
                    vec![(None, Vec::new())]
                } else {
                    frame
                        .places()
                        .into_iter()
                        .map(|p| (Some(p), Vec::new()))
                        .collect()
                };
                for piece in w.in_vessel(v) {
                    match self.core.place_known(&self.kit, piece) {
                        Where::Known { place, .. } => {
                            if let Some((_, here)) = places.iter_mut().find(|(p, _)| *p == place) {
                                here.push(name(piece));
                            }
                        }
                        _ => somewhere.push(name(piece)),
                    }
                }
                let open = |place: &Place| !w.at(v, frame.slots_at(*place)).1.is_empty();
                let perhaps = match frame.is_heap() {
                    true => Vec::new(),
                    false => frame.places().into_iter().filter(open).collect(),
                };
                let pieces = || w.in_vessel(v).filter_map(|p| w.pieces.get(p));
                let first = pieces().next().map(|p| p.side);
                let side = first
                    .filter(|side| pieces().all(|p| p.side == *side))
                    .filter(|_| pieces().any(|p| p.turned_over))
                    .filter(|_| !self.core.sides_in_question(&self.kit).contains(&v));
                Some(VesselView {
                    id: vessel.id.clone(),
                    name: vessel.names.first().unwrap_or(&vessel.id).clone(),
                    grid: frame.seen(),
                    places,
                    perhaps,
                    somewhere,
                    side,
                    stacked: stand.stacked,
                })
            })
            .collect()
    }

    /// A time is set at which it is to be on the table.
    pub fn has_serve(&self) -> bool {
        self.core.serve.is_some()
    }

    pub fn question(&self) -> Option<&Question> {
        self.core.question.as_ref().map(|q| &q.question)
    }

    /// The kinds of bare answers that the open question waits for. "Yes", "no" and
    /// "cancel" can be said at any time.
    pub fn asked(&self) -> Vec<Asked> {
        match self.question() {
            None => Vec::new(),
            Some(Question::Which { options, .. }) => {
                // Timers without a name go by their minutes.
                let unnamed = |s: &Subject| matches!(s, Subject::Clock(n) if n.starts_with('#'));
                let mut kinds = vec![Asked::Name];
                if options.iter().any(unnamed) {
                    kinds.push(Asked::Number);
                }
                kinds
            }
            Some(Question::WhichWay { .. }) => vec![Asked::Way],
            Some(
                Question::Sure { .. }
                | Question::ChangedPlaces { .. }
                | Question::OutOfHearing { .. }
                | Question::UseOffset { .. },
            ) => Vec::new(),
            Some(
                Question::Verdict { .. } | Question::PickOne { .. } | Question::HowManyTaste { .. },
            ) => vec![Asked::Number],
            Some(Question::NumberAgain { .. }) => vec![Asked::Number],
            Some(Question::CoreOrMedium { .. }) => vec![Asked::Kind],
            Some(Question::Order { .. }) => vec![Asked::Order, Asked::Name],
            Some(Question::Where { .. }) => {
                let mut kinds = vec![Asked::Name];
                if self.core.whereabouts.order_would_tell(None) {
                    kinds.push(Asked::Order);
                }
                kinds
            }
            Some(Question::WhichPlace { .. }) => vec![Asked::Name],
        }
    }

    pub fn expecting(&self) -> Expecting {
        if self.core.asleep && self.core.sounding().next().is_none() {
            Expecting::OnlyCarryOn
        } else if self.core.question.is_some() {
            Expecting::Answer
        } else {
            Expecting::Anything
        }
    }
}
