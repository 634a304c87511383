//! Names and lines that replies are made of.

use crate::grammar::Subject;
use crate::plan::{Id, Place, Until};

use crate::kitchen::clocks::Clock;
use crate::kitchen::core::Phase;
use crate::kitchen::decide::unnamed;
use crate::kitchen::exposure;
use crate::kitchen::fold::step_of;
use crate::kitchen::reply::{ClockLine, ClockName, DueLine, Goal, Lies, Mark, PlaceIn, StepLine};
use crate::kitchen::whereabouts::{PieceIx, VesselIx, Where};
use crate::kitchen::{At, ClockKey, Due};

use super::Telling;

fn first(names: &[String], id: &str) -> String {
    names
        .first()
        .cloned()
        .unwrap_or_else(|| id.replace('_', " "))
}

impl Telling<'_> {
    pub(super) fn step_name(&self, id: &str) -> String {
        let step = self.kit().step_ix(id).and_then(|s| self.kit().step(s));
        first(step.map(|s| s.names.as_slice()).unwrap_or_default(), id)
    }

    pub(super) fn step_text(&self, id: &str) -> String {
        self.kit()
            .step_ix(id)
            .and_then(|s| self.kit().step(s))
            .map(|s| s.say.clone())
            .unwrap_or_default()
    }

    pub(super) fn vessel_name(&self, id: &str) -> String {
        let vessel = self.kit().vessel_ix(id).and_then(|s| self.kit().vessel(s));
        first(vessel.map(|s| s.names.as_slice()).unwrap_or_default(), id)
    }

    pub(super) fn vessel_name_ix(&self, ix: VesselIx) -> String {
        self.vessel_name(&self.kit().vessel_id(ix))
    }

    pub(super) fn sample_name(&self, id: &str) -> String {
        let sample = self.kit().sample(id);
        first(sample.map(|s| s.names.as_slice()).unwrap_or_default(), id)
    }

    /// "test chop" for a marked piece, "chop" for its twins.
    pub(super) fn piece_name(&self, piece: PieceIx) -> String {
        if let Some(sample) = self.kit().sample_of(piece) {
            return self.sample_name(&sample.id);
        }
        self.kit()
            .item_at(piece)
            .map(|i| first(&i.names, &i.id))
            .unwrap_or_default()
    }

    pub(super) fn subject_name(&self, subject: &Subject) -> String {
        match subject {
            Subject::Vessel(id) => self.vessel_name(id),
            Subject::Sample(id) => self.sample_name(id),
            Subject::Step(id) => self.step_name(id),
            Subject::Item(id) => self
                .kit()
                .item_ix(id)
                .and_then(|i| self.kit().plan.items.get(i))
                .map_or_else(|| id.clone(), |i| first(&i.names, id)),
            Subject::Clock(name) => name.clone(),
            Subject::Place(_) | Subject::All => String::new(),
        }
    }

    /// An option of "which?": a pan by its step's name would be a riddle, so a step
    /// with a vessel of its own goes by the step, a timer without a name by its time.
    pub(super) fn option_clock(&self, subject: &Subject) -> Option<ClockName> {
        let Subject::Clock(name) = subject else {
            return None;
        };
        self.after
            .core
            .clocks
            .iter()
            .find(|c| c.name.is_none() && unnamed(&c.key) == *name)
            .map(|c| self.clock_name(c))
    }

    pub(super) fn clock_name(&self, clock: &Clock) -> ClockName {
        match &clock.key {
            ClockKey::Wait(id) => ClockName::Wait(self.step_name(id)),
            ClockKey::Flip(id) => ClockName::Flip(
                self.kit()
                    .step_ix(id)
                    .and_then(|s| self.kit().step(s)?.vessel.as_ref())
                    .map_or_else(|| self.step_name(id), |v| self.vessel_name(v)),
            ),
            ClockKey::Rest(id) => ClockName::Rest(self.step_name(id)),
            ClockKey::Voice(_) => ClockName::Timer {
                name: clock.name.clone(),
                ms: clock.ends.since(clock.from),
            },
        }
    }

    pub(super) fn clock_line(&self, clock: &Clock, at: At) -> ClockLine {
        ClockLine {
            clock: self.clock_name(clock),
            left: clock.ends.since(at),
            most: clock.latest.map(|l| l.since(at)),
        }
    }

    pub(super) fn clock_lines_of(&self, step: &Id, at: At) -> Vec<ClockLine> {
        let mut lines: Vec<_> = self
            .after
            .core
            .clocks
            .iter()
            .filter(|c| step_of(&c.key) == Some(step))
            .map(|c| self.clock_line(c, at))
            .collect();
        lines.sort_by_key(|l| l.left);
        lines
    }

    pub(super) fn timer_lines(&self, at: At) -> Vec<ClockLine> {
        let mut lines: Vec<_> = self
            .after
            .core
            .clocks
            .iter()
            .filter(|c| matches!(c.key, ClockKey::Voice(_)))
            .map(|c| self.clock_line(c, at))
            .collect();
        lines.sort_by_key(|l| l.left);
        lines
    }

    /// A step as it stands: clocks first due first, and what else ends it.
    pub(super) fn step_line(&self, ix: usize, at: At) -> StepLine {
        let id = self.kit().step_id(ix);
        let mut until = Vec::new();
        if self.after.core.phase(ix) == Phase::Running {
            until.extend(self.goal(ix));
            let all = self.kit().step(ix).map(|s| s.until.as_slice());
            until.extend(all.unwrap_or_default().iter().filter_map(|u| match u {
                Until::Word(word) => Some(Goal::Word(word.clone())),
                _ => None,
            }));
        }
        StepLine {
            name: self.step_name(&id),
            clocks: self.clock_lines_of(&id, at),
            until,
        }
    }

    /// A step's line with the time left until its core is at the target.
    pub(super) fn with_left(&self, mut line: StepLine, ix: usize, at: At) -> StepLine {
        for goal in &mut line.until {
            if let Goal::Core {
                left, met: false, ..
            } = goal
            {
                *left = crate::kitchen::meaning::belief(self.kit(), &self.after.core, ix)
                    .map(|b| self.left(ix, b, at));
            }
        }
        line
    }

    /// Steps that run or rest, the one that is due first first.
    pub(super) fn running_lines(&self, at: At) -> Vec<StepLine> {
        self.lines_of(&[], at)
            .into_iter()
            .map(|(_, line)| line)
            .collect()
    }

    /// The same with the time left of those that end by their core.
    pub(super) fn running_lines_left(&self, at: At) -> Vec<StepLine> {
        self.lines_of(&[], at)
            .into_iter()
            .map(|(ix, line)| self.with_left(line, ix, at))
            .collect()
    }

    pub(super) fn running_lines_but(&self, but: &[usize], at: At) -> Vec<StepLine> {
        self.lines_of(but, at)
            .into_iter()
            .map(|(_, line)| line)
            .collect()
    }

    fn lines_of(&self, but: &[usize], at: At) -> Vec<(usize, StepLine)> {
        let core = &self.after.core;
        let mut lines: Vec<_> = (0..core.steps.len())
            .filter(|s| !but.contains(s))
            .filter(|s| {
                matches!(core.phase(*s), Phase::Running | Phase::Resting)
                    || core
                        .clock(&ClockKey::Rest(self.kit().step_id(*s)))
                        .is_some_and(Clock::sounds)
            })
            .map(|s| (s, self.step_line(s, at)))
            .collect();
        lines.sort_by_key(|(_, l)| l.clocks.first().map_or(i64::MAX, |c| c.left));
        lines
    }

    pub(super) fn due_lines(&self, due: &[Due], at: At) -> Vec<DueLine> {
        due.iter()
            .filter_map(|d| match d {
                Due::Up(key) => self.up(key, 1, at),
                Due::StillUp { clock, times } => self.up(clock, *times, at),
                Due::LimitNear(id) => {
                    let clock = self.limited(id)?;
                    Some(DueLine::LimitNear {
                        step: self.step_name(id),
                        left: clock.latest?.since(at),
                    })
                }
                Due::DangerZone(item) => Some(DueLine::DangerZone {
                    item: self.subject_name(&Subject::Item(item.clone())),
                    limit: exposure::limit(&self.after.core),
                }),
                Due::HoldOver(id) => Some(DueLine::HoldOver {
                    step: self.step_name(id),
                }),
                Due::CoolingNear(item) => {
                    let line = self.cooling_line(item, at)?;
                    Some(DueLine::CoolingNear(line))
                }
                Due::CoolingOver(item) => {
                    // It may be told with another thing a breath before its time.
                    let core = &self.before.core;
                    let cools = core.cooling.iter().find(|c| c.item == *item)?;
                    let over = cools.limit(core).map_or(at, |(_, limit)| limit.plus(1));
                    let line = self.cooling_line(item, at.max(over))?;
                    Some(DueLine::CoolingOver(line))
                }
                Due::LimitReached(id) => self.limited(id).map(|_| DueLine::LimitReached {
                    step: self.step_name(id),
                }),
                Due::BeginSoon(id) => {
                    let day = self.after.core.day.as_ref()?;
                    let begin = day.begins.iter().find(|b| b.step == *id)?;
                    Some(DueLine::BeginSoon {
                        step: self.step_name(id),
                        left: begin.at.since(at),
                    })
                }
                Due::AskAgain { .. } => None,
            })
            .collect()
    }

    fn limited(&self, id: &Id) -> Option<&Clock> {
        let core = &self.after.core;
        core.clock(&ClockKey::Wait(id.clone()))
            .or_else(|| core.clock(&ClockKey::Rest(id.clone())))
    }

    fn up(&self, key: &ClockKey, times: u32, at: At) -> Option<DueLine> {
        let clock = self.after.core.clock(key)?;
        let out_to = match key {
            ClockKey::Wait(id) => self
                .kit()
                .step_ix(id)
                .and_then(|s| self.kit().step(s)?.out_to.as_ref())
                .map(|v| self.vessel_name(v)),
            _ => None,
        };
        Some(DueLine::Up {
            clock: self.clock_name(clock),
            over: at.since(clock.ends).max(0),
            times,
            most: clock.latest.map(|l| l.since(at)),
            out_to,
        })
    }

    // ---- places

    pub(super) fn place_in(&self, vessel: VesselIx, place: Place) -> PlaceIn {
        let (rows, columns) = self
            .after
            .core
            .whereabouts
            .frame(vessel)
            .and_then(|f| f.seen())
            .unwrap_or((0, 0));
        PlaceIn {
            place,
            rows,
            columns,
        }
    }

    pub(super) fn places_of(&self, vessel: VesselIx) -> Vec<PlaceIn> {
        self.after
            .core
            .whereabouts
            .frame(vessel)
            .map(|f| f.places())
            .unwrap_or_default()
            .into_iter()
            .map(|p| self.place_in(vessel, p))
            .collect()
    }

    pub(super) fn lies(&self, piece: PieceIx) -> Lies {
        let stacked = |v: VesselIx| {
            self.after
                .core
                .whereabouts
                .stands
                .get(v)
                .is_some_and(|s| s.stacked)
        };
        match self.after.core.place_known(self.kit(), piece) {
            Where::NotPlaced => Lies::NotPlaced,
            Where::Known {
                vessel,
                place: None,
            } => Lies::In {
                vessel: self.vessel_name_ix(vessel),
            },
            Where::Known {
                vessel,
                place: Some(place),
            } => Lies::At {
                vessel: self.vessel_name_ix(vessel),
                place: self.place_in(vessel, place),
            },
            Where::OneOf { vessel, .. } if stacked(vessel) => Lies::Stacked {
                vessel: self.vessel_name_ix(vessel),
            },
            Where::OneOf { vessel, places } => Lies::OneOf {
                vessel: self.vessel_name_ix(vessel),
                places: places
                    .into_iter()
                    .map(|p| self.place_in(vessel, p))
                    .collect(),
            },
            Where::NotSure { vessel } => Lies::NotSure {
                vessel: self.vessel_name_ix(vessel),
            },
        }
    }

    pub(super) fn mark(&self, piece: PieceIx) -> Mark {
        Mark {
            name: self.piece_name(piece),
            lies: self.lies(piece),
        }
    }

    /// The marked pieces that were last told in a vessel.
    pub(super) fn marks_in(&self, vessel: VesselIx) -> Vec<Mark> {
        self.kit()
            .marked()
            .filter(|(_, p)| {
                let lie = self
                    .after
                    .core
                    .whereabouts
                    .pieces
                    .get(*p)
                    .and_then(|p| p.lie);
                lie.is_some_and(|l| l.vessel == vessel)
            })
            .map(|(_, p)| self.mark(p))
            .collect()
    }
}
