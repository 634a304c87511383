//! How long something still takes, in names and numbers.

use crate::doneness::units::reached;
use crate::grammar::Subject;
use crate::kitchen::decide::unnamed;
use crate::kitchen::reply::{Goal, Say, StepLine};
use crate::kitchen::reply_doneness::PieceAsked;
use crate::kitchen::{At, meaning};
use crate::plan::Span;

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
                    piece: None,
                    steps: Vec::new(),
                    timers,
                    cooling: Vec::new(),
                };
            }
            Some(Subject::Item(id)) if core.cooling_of(id, at).is_some() => {
                return Say::HowLong {
                    piece: None,
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
            Some(Subject::Sample(id)) => {
                if let Some(say) = self.how_long_piece(id, at) {
                    return say;
                }
                None
            }
            _ => None,
        };
        match step {
            Some(ix) => Say::HowLong {
                piece: None,
                steps: vec![self.with_left(self.step_line(ix, at), ix, at)],
                timers: Vec::new(),
                cooling: Vec::new(),
            },
            None => Say::HowLong {
                piece: None,
                steps: self.running_lines_left(at),
                timers: self.timer_lines(at),
                cooling: self.cooling_lines(at),
            },
        }
    }

    /// By the piece's own readings, else by its pan's.
    fn how_long_piece(&self, sample: &str, at: At) -> Option<Say> {
        let core = &self.after.core;
        let vessel = core.vessel_with(self.kit(), sample)?;
        let ix = core.step_in(self.kit(), vessel)?;
        let piece = self.kit().sample_piece(sample)?;
        let own = meaning::belief_of_piece(self.kit(), core, ix, piece);
        let name = self.piece_name(piece);
        let line = self.step_line(ix, at);
        let asked = PieceAsked {
            name: name.clone(),
            own: own.is_some(),
        };
        let line = match own {
            None => self.with_left(line, ix, at),
            Some(own) => {
                let coldest = own.coldest().map(|(c, _)| c);
                let until = line.until.into_iter().map(|goal| match goal {
                    Goal::Core { target, .. } => {
                        let met = coldest.is_some_and(|c| reached(c, target));
                        Goal::Core {
                            target,
                            last: coldest.map(|c| Span { lo: c, hi: c }),
                            met,
                            left: (!met).then(|| self.left(ix, &own, at)),
                        }
                    }
                    other => other,
                });
                StepLine {
                    name,
                    clocks: Vec::new(),
                    until: until.collect(),
                }
            }
        };
        Some(Say::HowLong {
            piece: Some(asked),
            steps: vec![line],
            timers: Vec::new(),
            cooling: Vec::new(),
        })
    }
}
