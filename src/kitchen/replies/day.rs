//! What is said about the day: late or not, when to eat, when to begin.

use crate::grammar::Subject;
use crate::kitchen::core::Phase;
use crate::kitchen::day::{self, Laid, NoDay};
use crate::kitchen::reply::{DaySay, Reply, Say};
use crate::kitchen::{At, Event};

use super::{Telling, reply};

impl Telling<'_> {
    /// Once, when it has become later or is no longer late.
    pub(super) fn day_laid(&self, event: &Event) -> Vec<Reply> {
        let (before, after) = (self.before.core.late_told, self.after.core.late_told);
        if before == after {
            return Vec::new();
        }
        let Some(day) = &self.after.core.day else {
            return Vec::new();
        };
        vec![reply(Say::Day(DaySay::Moved {
            eat: day.eat,
            in_ms: day.eat.since(event.at),
            late: after,
        }))]
    }

    fn laid(&self, at: At) -> Result<Laid, DaySay> {
        let core = &self.after.core;
        day::lay(self.kit(), core, at, core.serve).map_err(|why| match why {
            NoDay::Lengthless(steps) => DaySay::Lengthless {
                steps: steps.iter().map(|id| self.step_name(id)).collect(),
            },
            NoDay::Broken => DaySay::Broken,
        })
    }

    pub(super) fn late(&self, at: At) -> Say {
        Say::Day(match self.laid(at) {
            Err(why) => why,
            Ok(laid) => DaySay::Late {
                late: self.after.core.serve.map(|serve| laid.eat.since(serve)),
                eat: laid.eat,
                in_ms: laid.eat.since(at),
            },
        })
    }

    pub(super) fn when_eat(&self, at: At) -> Say {
        Say::Day(match self.laid(at) {
            Err(why) => why,
            Ok(laid) => DaySay::Eat {
                eat: laid.eat,
                in_ms: laid.eat.since(at),
            },
        })
    }

    pub(super) fn when_start(&self, what: Option<&Subject>, at: At) -> Say {
        let core = &self.after.core;
        let step = match what {
            Some(Subject::Step(id)) => Some(id),
            _ => None,
        };
        if let Some(id) = step {
            let phase = self.kit().step_ix(id).map(|ix| core.phase(ix));
            if let Some(phase @ (Phase::Running | Phase::Resting | Phase::Done)) = phase {
                return Say::Day(DaySay::Begun {
                    step: self.step_name(id),
                    over: phase != Phase::Running,
                });
            }
        }
        let laid = match self.laid(at) {
            Ok(laid) => laid,
            Err(why) => return Say::Day(why),
        };
        let begin = laid
            .begins
            .iter()
            .filter(|b| step.is_none_or(|id| *id == b.step))
            .min_by_key(|b| b.at);
        Say::Day(match begin {
            Some(b) => DaySay::Begin {
                step: self.step_name(&b.step),
                at: b.at,
                in_ms: b.at.since(at),
                latest: (b.latest > b.at).then_some(b.latest),
                latest_in: b.latest.since(at),
            },
            None => DaySay::NothingToBegin,
        })
    }
}
