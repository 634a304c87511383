//! The engine beside the world: told moves go to both.

use std::sync::Arc;

use super::world::World;
use super::{Draw, SAMPLES, plan};
use hobcall::grammar::Call;
use hobcall::kitchen::whereabouts::Where;
use hobcall::kitchen::{At, Input, Reply, Say, State, decide, replies};
use hobcall::plan::Plan;
use proptest::prelude::*;

pub struct Both {
    pub plan: Arc<Plan>,
    pub state: State,
    pub world: World,
    pub now: At,
    pub log: Vec<String>,
    /// The way of the last quarter turn that was not told.
    pub clockwise: bool,
}

impl Both {
    pub fn new() -> Both {
        let plan = plan();
        let mut both = Both {
            world: World::new(&plan),
            state: State::new(plan.clone()),
            plan,
            now: At(0),
            log: Vec::new(),
            clockwise: true,
        };
        both.give(&Input::Begin);
        both
    }

    pub fn give(&mut self, input: &Input) -> Vec<Reply> {
        let mut all = Vec::new();
        for event in decide(&self.state, input, self.now) {
            let before = self.state.clone();
            self.state.apply(&event);
            all.extend(replies(&before, &event, &self.state));
        }
        all
    }

    pub fn call(&mut self, call: Call) -> Vec<Reply> {
        self.now = self.now.plus(2_000);
        self.log.push(format!("{call:?}"));
        if self.log.len() > 60 {
            self.log.drain(..30);
        }
        let replies = self.give(&Input::Call {
            call,
            heard: String::new(),
            confidence: 1.0,
        });
        for r in &replies {
            self.log.push(format!("      {:?}", r.say));
        }
        replies
    }

    pub fn id(&self, vessel: usize) -> String {
        self.plan.vessels[vessel].id.clone()
    }

    pub fn where_is(&self, piece: usize) -> Where {
        self.state
            .whereabouts_of(SAMPLES[piece])
            .expect("a sample of the plan")
    }

    /// The engine says exactly what is so.
    pub fn agree(&mut self) -> Result<(), TestCaseError> {
        for (piece, sample) in SAMPLES.iter().enumerate() {
            let so = match self.world.vessel_of(piece) {
                None => Where::NotPlaced,
                Some(vessel) => Where::Known {
                    vessel,
                    place: self.world.tables[vessel].place_of(piece),
                },
            };
            prop_assert_eq!(self.where_is(piece), so, "{}: {:#?}", sample, self.log);
            let Some(vessel) = self.world.vessel_of(piece) else {
                continue;
            };
            // And says the side, and the other way round.
            let call = Call::WhereIs {
                piece: (*sample).into(),
            };
            let side = self.call(call).into_iter().find_map(|r| match r.say {
                Say::WhereIs { side, .. } => Some(format!("{side:?}")),
                _ => None,
            });
            // Of a piece that was never turned over no side is said.
            let down = match self.world.flips[piece] {
                0 => "Unsure",
                n => ["First", "Second"][n as usize % 2],
            };
            prop_assert_eq!(side.as_deref(), Some(down));
            let table = &self.world.tables[vessel];
            if let Some(place) = table.place_of(piece).and_then(|p| table.words(p)) {
                let call = Call::WhatIsAt {
                    vessel: Some(self.id(vessel)),
                    place,
                };
                let at = self.call(call).into_iter().find_map(|r| match r.say {
                    Say::WhatIsAt { surely, maybe, .. } => Some((surely, maybe)),
                    _ => None,
                });
                let name = sample.replace('_', " ");
                prop_assert_eq!(at, Some((vec![name], vec![])), "{:#?}", self.log);
            }
        }
        Ok(())
    }

    /// What the engine says may be less than what is so, never against it.
    pub fn sound(&self) -> Result<(), TestCaseError> {
        for (piece, sample) in SAMPLES.iter().enumerate() {
            let vessel = self.world.vessel_of(piece);
            let place = vessel.and_then(|v| self.world.tables[v].place_of(piece));
            let fine = match self.where_is(piece) {
                Where::NotPlaced => vessel.is_none(),
                Where::Known {
                    vessel: v,
                    place: p,
                } => Some(v) == vessel && p == place,
                Where::OneOf { vessel: v, places } => {
                    Some(v) == vessel && place.is_some_and(|p| places.contains(&p))
                }
                Where::NotSure { .. } => true,
            };
            prop_assert!(
                fine,
                "{sample} is said {:?}, is {vessel:?} {place:?}: {:#?}",
                self.where_is(piece),
                self.log
            );
        }
        Ok(())
    }

    pub fn known(&self, piece: usize) -> bool {
        matches!(self.where_is(piece), Where::Known { .. } | Where::NotPlaced)
    }

    /// A vessel with something in it.
    pub fn filled(&self, draw: &mut Draw) -> Option<usize> {
        let all: Vec<usize> = (0..self.world.tables.len())
            .filter(|v| !self.world.tables[*v].is_empty())
            .collect();
        draw.of(&all)
    }
}
