//! Clocks by voice.

use std::time::Duration;

use crate::grammar::{Call, Subject};
use crate::kitchen::clocks::Clock;
use crate::kitchen::focus::{Candidate, Pick, pick};
use crate::kitchen::fold::{ms, step_of};
use crate::kitchen::kit::StepIx;
use crate::kitchen::manners::{ABOUT_NOW, TIMER_MOST};
use crate::kitchen::{ClockKey, Question, Refusal, What};

use super::Desk;

/// Stands for a timer that the cook gave no name, in questions about it.
pub fn unnamed(key: &ClockKey) -> String {
    match key {
        ClockKey::Voice(n) => format!("#{n}"),
        ClockKey::Wait(id) | ClockKey::Flip(id) | ClockKey::Rest(id) => id.clone(),
    }
}

impl Desk<'_> {
    pub(super) fn timer(&mut self, call: &Call, duration: Duration, name: Option<&String>) {
        let ms = ms(duration);
        if ms <= 0 || ms > TIMER_MOST {
            return self.refuse(call, Refusal::TimerTooLong);
        }
        self.emit(What::TimerSet {
            name: name.cloned(),
            ms,
        });
    }

    fn voice_clock(&self, name: &str) -> Option<ClockKey> {
        self.core
            .clocks
            .iter()
            .find(|c| match &c.name {
                Some(own) => own == name,
                None => unnamed(&c.key) == name,
            })
            .map(|c| c.key.clone())
    }

    /// "two more minutes": of what sounds, else of what was spoken of.
    pub(super) fn extend(
        &mut self,
        call: &Call,
        duration: Duration,
        less: bool,
        which: Option<&Subject>,
    ) {
        let last = which.is_none().then(|| self.last_spoken_of()).flatten();
        let key = match last.map_or_else(|| self.which_clock(which, |_| true), |k| Ok(Pick::One(k)))
        {
            Ok(Pick::One(key)) => key,
            Ok(Pick::Ask(keys)) => return self.which_clock_question(call, &keys),
            Ok(Pick::None) => return self.refuse(call, Refusal::NoTimer),
            Err(why) => return self.refuse(call, why),
        };
        let Some(clock) = self.core.clock(&key) else {
            return;
        };
        let by = ms(duration).min(TIMER_MOST);
        let ends = if less {
            clock.ends.plus(-by).max(self.now)
        } else if clock.ring.is_some() {
            self.now.plus(by)
        } else {
            clock.ends.plus(by)
        };
        self.emit(What::ClockMoved { clock: key, ends });
    }

    /// The clock set or spoken of last, however long ago, while none sounds and no other
    /// is about due: to give it more time by mistake is heard in the read-back and costs
    /// little, a question costs a hand.
    fn last_spoken_of(&self) -> Option<ClockKey> {
        let (key, _) = self.core.addressed_clock.as_ref()?;
        let runs = self.core.clock(key).is_some_and(|c| c.ring.is_none());
        let other = |c: &Clock| {
            c.sounds() || (c.key != *key && c.ring.is_none() && c.ends.since(self.now) <= ABOUT_NOW)
        };
        (runs && !self.core.clocks.iter().any(other)).then(|| key.clone())
    }

    pub(super) fn stop_timer(&mut self, call: &Call, which: Option<&Subject>) {
        let voice = |c: &Clock| matches!(c.key, ClockKey::Voice(_));
        if which.is_none() {
            let sounding: Vec<ClockKey> = self.core.sounding().map(|c| c.key.clone()).collect();
            if !sounding.is_empty() {
                return self.emit(What::Acknowledged { clocks: sounding });
            }
        }
        match self.which_clock(which, voice) {
            Ok(Pick::One(key)) if matches!(key, ClockKey::Voice(_)) => {
                self.emit(What::TimerStopped { clock: key });
            }
            Ok(Pick::One(key)) => {
                let sounds = self.core.clock(&key).is_some_and(Clock::sounds);
                if sounds {
                    self.emit(What::Acknowledged { clocks: vec![key] });
                } else {
                    self.refuse(call, Refusal::OnlyStepClocks);
                }
            }
            Ok(Pick::Ask(keys)) => self.which_clock_question(call, &keys),
            Ok(Pick::None) if self.core.clocks.is_empty() => self.refuse(call, Refusal::NoTimer),
            Ok(Pick::None) => self.refuse(call, Refusal::OnlyStepClocks),
            Err(why) => self.refuse(call, why),
        }
    }

    /// The clock that a name, or none, is about.
    fn which_clock(
        &self,
        which: Option<&Subject>,
        fits: impl Fn(&Clock) -> bool,
    ) -> Result<Pick<ClockKey>, Refusal> {
        let keys: Vec<ClockKey> = match which {
            None | Some(Subject::All) => self
                .core
                .clocks
                .iter()
                .filter(|c| fits(c) && (c.ring.is_none() || c.sounds()))
                .map(|c| c.key.clone())
                .collect(),
            Some(subject) => {
                let named = self.clocks_named(subject);
                if named.is_empty() {
                    return Err(Refusal::NoSuchClock(subject.clone()));
                }
                named
            }
        };
        let all: Vec<Candidate<usize>> = keys
            .iter()
            .enumerate()
            .filter_map(|(i, k)| {
                let clock = self.core.clock(k)?;
                Some(Candidate {
                    what: i,
                    due: Some(clock.ends),
                    sounds: clock.sounds(),
                })
            })
            .collect();
        let addressed = self
            .core
            .addressed_clock
            .as_ref()
            .and_then(|(k, at)| Some((keys.iter().position(|x| x == k)?, *at)));
        // A step's end and its flip are one subject to the cook: the nearer is meant.
        let first = keys.first().and_then(step_of);
        let one_step =
            which.is_some() || (first.is_some() && keys.iter().all(|k| step_of(k) == first));
        Ok(match pick(&all, addressed, self.now, one_step) {
            Pick::None => Pick::None,
            Pick::One(i) => keys.get(i).cloned().map_or(Pick::None, Pick::One),
            Pick::Ask(several) => Pick::Ask(
                several
                    .into_iter()
                    .filter_map(|i| keys.get(i).cloned())
                    .collect(),
            ),
        })
    }

    /// The clocks that go by a name.
    pub(super) fn clocks_named(&self, subject: &Subject) -> Vec<ClockKey> {
        let step = match subject {
            Subject::Clock(name) => match self.voice_clock(name) {
                Some(key) => return vec![key],
                // "the brine timer": the clock of the step of that name, or of what runs
                // in the vessel of that name.
                None => self.step_called(name).map(|s| self.step_id(s)),
            },
            Subject::Step(id) => Some(id.clone()),
            Subject::All => return self.core.clocks.iter().map(|c| c.key.clone()).collect(),
            _ => self.running_step(subject).ok().map(|s| self.step_id(s)),
        };
        self.core
            .clocks
            .iter()
            .filter(|c| step.is_some() && step_of(&c.key) == step.as_ref())
            .map(|c| c.key.clone())
            .collect()
    }

    fn step_called(&self, name: &str) -> Option<StepIx> {
        let is = |id: &str, names: &[String]| id == name || names.iter().any(|n| n == name);
        let plan = &self.kit.plan;
        let step = plan.steps.iter().position(|s| is(&s.id, &s.names));
        step.or_else(|| {
            let vessel = plan.vessels.iter().position(|v| is(&v.id, &v.names))?;
            self.core.step_in(self.kit, vessel)
        })
    }

    fn which_clock_question(&mut self, call: &Call, keys: &[ClockKey]) {
        let mut options: Vec<Subject> = Vec::new();
        for key in keys {
            let option = match key {
                ClockKey::Wait(id) | ClockKey::Flip(id) | ClockKey::Rest(id) => {
                    Subject::Step(id.clone())
                }
                ClockKey::Voice(_) => {
                    let name = self.core.clock(key).and_then(|c| c.name.clone());
                    Subject::Clock(name.unwrap_or_else(|| unnamed(key)))
                }
            };
            if !options.contains(&option) {
                options.push(option);
            }
        }
        self.ask(Question::Which {
            of: call.clone(),
            options,
        });
    }

    pub(super) fn how_long(&mut self, call: &Call, what: Option<&Subject>) {
        if let Some(subject) = what
            && *subject != Subject::All
        {
            let known = match subject {
                Subject::Clock(_) => !self.clocks_named(subject).is_empty(),
                Subject::Step(id) => self.kit.step_ix(id).is_some(),
                Subject::Item(id) if self.core.cooling_of(id, self.now).is_some() => true,
                // By its own readings, or by those of its pan.
                Subject::Sample(id) if self.cooks_to_a_core(id) => true,
                // Chops in two pans: how long for each.
                Subject::Item(_) if self.running_step(subject).is_err() => {
                    return self.emit(What::Queried {
                        query: Call::HowLong { what: None },
                    });
                }
                _ => match self.running_step(subject) {
                    Ok(_) => true,
                    Err(why) => return self.refuse(call, why),
                },
            };
            if !known {
                return self.refuse(call, Refusal::NoSuchClock(subject.clone()));
            }
        }
        // A timer by the name of a step is asked about as the step.
        let named = match what {
            Some(Subject::Clock(name)) if self.voice_clock(name).is_none() => self
                .step_called(name)
                .map(|s| Subject::Step(self.step_id(s))),
            _ => None,
        };
        let query = match named {
            Some(step) => Call::HowLong { what: Some(step) },
            None => call.clone(),
        };
        self.emit(What::Queried { query });
    }

    /// Voice timers that sound are known; true when there were any.
    pub(super) fn acknowledge_timers(&mut self) -> bool {
        self.acknowledge_where(|k| matches!(k, ClockKey::Voice(_)))
    }

    pub(super) fn acknowledge_rests(&mut self) -> bool {
        self.acknowledge_where(|k| matches!(k, ClockKey::Rest(_)))
    }

    fn acknowledge_where(&mut self, fits: impl Fn(&ClockKey) -> bool) -> bool {
        let clocks: Vec<ClockKey> = self
            .core
            .sounding()
            .map(|c| c.key.clone())
            .filter(|k| fits(k))
            .collect();
        let any = !clocks.is_empty();
        if any {
            self.emit(What::Acknowledged { clocks });
        }
        any
    }

    /// Cuts what is being said; with an alarm, says that the cook knows; without,
    /// keeps reminders silent from now on.
    pub(super) fn quiet(&mut self) {
        if !self.acknowledge_where(|_| true) {
            self.emit(What::QuietSet { on: true });
        }
    }
}
