//! "scratch that": the last call that changed something never happened. Said again it
//! goes further back.

use crate::grammar::Call;
use crate::kitchen::manners::SCRATCH_ASKS;
use crate::kitchen::{Doubt, Refusal, What};

use super::Desk;

impl Desk<'_> {
    pub(super) fn scratch(&mut self, call: &Call, sure: bool) {
        if let Some(why) = self.verdict_since(self.state.undoable.last().map(|(c, _)| *c)) {
            return self.refuse(call, why);
        }
        let Some(&(last, index)) = self.state.undoable.last() else {
            return self.refuse(call, Refusal::NothingToScratch);
        };
        let Some(event) = self.state.log.get(index) else {
            return self.refuse(call, Refusal::NothingToScratch);
        };
        let age = self.now.since(event.at);
        if age > SCRATCH_ASKS && !sure {
            return self.sure(call, Doubt::LongAgo { ms: age });
        }
        // The answer to a question takes the call with it that raised the question.
        let mut of = vec![last];
        let mut next = Some(last);
        while let Some(number) = next {
            next = self
                .state
                .events_of(number)
                .find_map(|e| match &e.what {
                    What::Settled { of, .. } => *of,
                    _ => None,
                })
                .filter(|n| !of.contains(n));
            of.extend(next);
        }
        self.emit(What::Undone { of });
    }
}
