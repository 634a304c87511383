//! How long something still takes, in names and numbers.

use crate::grammar::Subject;
use crate::kitchen::At;
use crate::kitchen::decide::unnamed;
use crate::kitchen::reply::Say;

use super::Telling;

impl Telling<'_> {
    pub(super) fn how_long(&self, what: Option<&Subject>, at: At) -> Say {
        let core = &self.after.core;
        let step = match what {
            Some(Subject::Clock(name)) => {
                let timers = core
                    .clocks
                    .iter()
                    .filter(|c| match &c.name {
                        Some(own) => own == name,
                        None => unnamed(&c.key) == *name,
                    })
                    .map(|c| self.clock_line(c, at))
                    .collect();
                return Say::HowLong {
                    steps: Vec::new(),
                    timers,
                    cooling: Vec::new(),
                };
            }
            Some(Subject::Item(id)) if core.cooling_of(id, at).is_some() => {
                return Say::HowLong {
                    steps: Vec::new(),
                    timers: Vec::new(),
                    cooling: self.cooling_line(id, at).into_iter().collect(),
                };
            }
            Some(Subject::Step(id)) => self.kit().step_ix(id),
            Some(Subject::Vessel(id)) => self
                .kit()
                .vessel_ix(id)
                .and_then(|v| core.step_in(self.kit(), v)),
            Some(Subject::Sample(id)) => self
                .kit()
                .sample_piece(id)
                .and_then(|p| core.whereabouts.pieces.get(p)?.lie)
                .and_then(|l| core.step_in(self.kit(), l.vessel)),
            _ => None,
        };
        match step {
            Some(ix) => Say::HowLong {
                steps: vec![self.with_left(self.step_line(ix, at), ix, at)],
                timers: Vec::new(),
                cooling: Vec::new(),
            },
            None => Say::HowLong {
                steps: self.running_lines_left(at),
                timers: self.timer_lines(at),
                cooling: self.cooling_lines(at),
            },
        }
    }
}
