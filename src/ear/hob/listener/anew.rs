//! The first network begins anew, and what came last is heard again with a fresh mind.

use super::HobListener;
use crate::ear::EarEvent;

/// After so many frames without speech the network forgets: it never heard longer
/// stretches in training, and what it heard before bends its state until the first words
/// of a call are lost (of calls from dead silence 1.5 s apart every second one, when it
/// forgot after 2.4 s; none after 0.7 s or 0.9 s).
pub(super) const FORGET: u32 = 30;
/// So much is heard again then, that no beginning is lost: half a second.
pub(super) const NO_BEGINNING_LOST: usize = 8_000;

impl HobListener {
    /// The network begins anew.
    pub(super) fn forget(&mut self, on: &mut dyn FnMut(EarEvent)) {
        // What was heard before is not listened to twice.
        self.deaf_until = self.deaf_until.max(self.stream.heard_up_to());
        self.again(NO_BEGINNING_LOST, on);
    }

    /// The last samples are heard again, by a network that knows nothing of what was before.
    pub(super) fn again(&mut self, back: usize, on: &mut dyn FnMut(EarEvent)) {
        self.ends.reset();
        self.kept.clear();
        self.quiet = 0;
        let mut fresh = std::mem::take(&mut self.fresh);
        let ok = self.stream.forget(back, &mut fresh);
        self.frames(ok, fresh, on);
    }
}
