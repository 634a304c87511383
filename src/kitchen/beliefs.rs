//! What the readings of each step come to, worked out once and only when asked for.
//! It follows from the rest of the state, so it is no part of it: two states are alike
//! whether or not it has been worked out in them.

use std::sync::{Arc, OnceLock};

use crate::doneness::Belief;

use super::kit::StepIx;

#[derive(Debug, Clone)]
pub struct Beliefs(Arc<Vec<OnceLock<Option<Belief>>>>);

impl Beliefs {
    pub fn new(steps: usize) -> Beliefs {
        Beliefs(Arc::new((0..steps).map(|_| OnceLock::new()).collect()))
    }

    /// After anything that bears on it.
    pub fn forget(&mut self) {
        if self.0.iter().any(|b| b.get().is_some()) || Arc::strong_count(&self.0) > 1 {
            *self = Beliefs::new(self.0.len());
        }
    }

    pub fn of(&self, step: StepIx, work_out: impl FnOnce() -> Option<Belief>) -> Option<&Belief> {
        self.0.get(step)?.get_or_init(work_out).as_ref()
    }
}

impl PartialEq for Beliefs {
    fn eq(&self, _: &Beliefs) -> bool {
        true
    }
}
