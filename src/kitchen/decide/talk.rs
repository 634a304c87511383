//! How the tool talks, and when it listens.

use crate::grammar::Call;
use crate::kitchen::{Refusal, What};

use super::Desk;

/// Steps of volume and of speed that can be called either way.
const STEPS: i8 = 4;

impl Desk<'_> {
    pub(super) fn voice(&mut self, call: &Call) {
        let (mut volume, mut speed) = (self.core.volume, self.core.speed);
        match call {
            Call::Louder => volume += 1,
            Call::Softer => volume -= 1,
            Call::Faster => speed += 1,
            _ => speed -= 1,
        }
        self.emit(What::VoiceSet {
            volume: volume.clamp(-STEPS, STEPS),
            speed: speed.clamp(-STEPS, STEPS),
        });
    }

    /// Asleep it waits for "carry on", before the cook and after.
    pub(super) fn called(&mut self) {
        if self.core.begun.is_some() && !self.core.asleep {
            self.emit(What::Called);
        }
    }

    pub(super) fn carry_on(&mut self, call: &Call) {
        if self.core.asleep {
            self.emit(What::AsleepSet { on: false });
        } else {
            self.refuse(call, Refusal::NotAsleep);
        }
    }
}
