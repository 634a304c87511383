//! Replies to questions, refusals, undo, and the summary after a restart.

use crate::grammar::{Call, Subject};
use crate::kitchen::core::Phase;
use crate::kitchen::reply::{Reply, Say};
use crate::kitchen::reply_asking::{Hint, No};
use crate::kitchen::reply_tasting::TastingSay;
use crate::kitchen::whereabouts::{Lie, VesselIx};
use crate::kitchen::{At, ClockKey, Due, Event, Question, Refusal, State, What};
use crate::voice::Urgency;

use super::{Telling, replies, reply};

impl Telling<'_> {
    pub(super) fn queried(&self, query: &Call, at: At) -> Vec<Reply> {
        let say = match query {
            Call::WhatsNext => self.coming_up(at),
            Call::SayAgain => return self.again(at),
            Call::Status => Say::Status {
                running: self.running_lines(at),
                timers: self.timer_lines(at),
                cooling: self.cooling_lines(at),
                ready: self.ready_names(),
                all_done: self.after.core.all_done(),
            },
            Call::HowLong { what } => self.how_long(what.as_ref(), at),
            Call::Timers => Say::HowLong {
                piece: None,
                steps: Vec::new(),
                timers: {
                    let mut lines: Vec<_> = self
                        .after
                        .core
                        .clocks
                        .iter()
                        .map(|c| self.clock_line(c, at))
                        .collect();
                    lines.sort_by_key(|l| l.left);
                    lines
                },
                cooling: self.cooling_lines(at),
            },
            Call::WhatTime => Say::Time { at },
            Call::Late => self.late(at),
            Call::HowMuch { oil } => self.how_much(*oil),
            Call::WhenDoWeEat => self.when_eat(at),
            Call::WhenStart { what, .. } => self.when_start(what.as_ref(), at),
            Call::Map => Say::Map {
                marks: self.kit().marked().map(|(_, p)| self.mark(p)).collect(),
            },
            Call::WhereIs { piece } => {
                let Some(p) = self.kit().sample_piece(piece) else {
                    return Vec::new();
                };
                let piece = self.after.core.whereabouts.pieces.get(p);
                Say::WhereIs {
                    mark: self.mark(p),
                    side: piece
                        .filter(|p| p.turned_over || self.is_flipped_now(p.lie))
                        .filter(|p| {
                            let open = self.after.core.sides_in_question(self.kit());
                            p.lie.is_some_and(|l| !open.contains(&l.vessel))
                        })
                        .map_or(crate::kitchen::whereabouts::Side::Unsure, |p| p.side),
                    told: piece.filter(|p| p.lie.is_some()).map(|p| at.since(p.told)),
                    by_plan: piece.is_some_and(|p| p.planned),
                    in_question: piece
                        .and_then(|p| p.lie)
                        .is_some_and(|l| self.is_in_question(l.vessel)),
                }
            }
            Call::WhatIsAt { vessel, place } => {
                let Some(v) = vessel.as_ref().and_then(|v| self.kit().vessel_ix(v)) else {
                    return Vec::new();
                };
                let frame = self.after.core.whereabouts.frame(v);
                let slots = frame.map(|f| f.slots_at(*place)).unwrap_or_default();
                let (surely, maybe) = self.after.core.whereabouts.at(v, slots);
                Say::WhatIsAt {
                    vessel: self.vessel_name_ix(v),
                    place: self.place_in(v, *place),
                    surely: surely.iter().map(|p| self.piece_name(*p)).collect(),
                    maybe: maybe.iter().map(|p| self.piece_name(*p)).collect(),
                    in_question: self.is_in_question(v),
                }
            }
            Call::IsItDone { what } => {
                let Some(say) = self.is_it_done(what.as_ref(), at) else {
                    return Vec::new();
                };
                say
            }
            Call::Believe { what } => {
                let Some(v) = (match what {
                    Some(Subject::Vessel(v)) => self.kit().vessel_ix(v),
                    _ => None,
                }) else {
                    return Vec::new();
                };
                Say::Believed {
                    about: self.vessel_name_ix(v),
                    line: self
                        .after
                        .core
                        .step_in(self.kit(), v)
                        .and_then(|ix| self.believed(ix)),
                }
            }
            Call::Cooling { item } => {
                let line = self.cooling_line(item, at);
                return line
                    .map(|line| reply(Say::Cooling(line)))
                    .into_iter()
                    .collect();
            }
            Call::Tasting { what } => return self.tasting_queried(what),
            Call::Help => Say::Help {
                asking: self
                    .after
                    .core
                    .question
                    .as_ref()
                    .map(|q| self.asking(&q.question, None, at)),
                hints: self.hints(),
            },
            _ => return Vec::new(),
        };
        vec![reply(say)]
    }

    /// A side is worth a word where pieces are turned over.
    fn is_flipped_now(&self, lie: Option<Lie>) -> bool {
        lie.and_then(|l| self.after.core.step_in(self.kit(), l.vessel))
            .and_then(|s| self.kit().step(s))
            .is_some_and(|s| s.flip_every.is_some())
    }

    fn is_in_question(&self, v: VesselIx) -> bool {
        self.after.core.places_in_question(self.kit()).contains(&v)
    }

    fn ready_names(&self) -> Vec<String> {
        self.after
            .core
            .ready(self.kit())
            .map(|s| self.step_name(&self.kit().step_id(s)))
            .collect()
    }

    /// What runs and what comes after it.
    fn coming_up(&self, at: At) -> Say {
        let core = &self.after.core;
        // What can begin now, else the first step that waits, with what it waits for.
        let next = core
            .ready(self.kit())
            .next()
            .or_else(|| (0..core.steps.len()).find(|s| core.phase(*s) == Phase::NotBegun))
            .map(|s| {
                let waits = self
                    .kit()
                    .before
                    .get(s)
                    .into_iter()
                    .flatten()
                    .filter(|b| core.phase(**b) != Phase::Done)
                    .map(|b| self.step_name(&self.kit().step_id(*b)))
                    .collect();
                (self.step_name(&self.kit().step_id(s)), waits)
            });
        Say::ComingUp {
            running: self.running_lines(at),
            next,
            all_done: core.all_done(),
        }
    }

    /// What is due first, alone; what comes next when nothing runs.
    pub(super) fn due_first(&self, at: At) -> Say {
        // A rest that began with this call has just been told.
        let fresh: Vec<usize> = (0..self.after.core.steps.len())
            .filter(|s| {
                let step = self.after.core.steps.get(*s);
                step.is_some_and(|s| s.phase == Phase::Resting && s.ended == Some(at))
            })
            .collect();
        let mut running = self.running_lines_but(&fresh, at);
        running.truncate(1);
        if running.is_empty() {
            return self.coming_up(at);
        }
        Say::ComingUp {
            running,
            next: None,
            all_done: false,
        }
    }

    /// The last thing that was said, said again: worded anew from the states that lay
    /// around its events, so it survives a restart.
    fn again(&self, at: At) -> Vec<Reply> {
        let log = &self.before.log;
        let mut end = log.len();
        while end > 0 {
            let Some(last) = log.get(end - 1) else { break };
            let call = last.call;
            let mut start = end - 1;
            while start > 0 && call.is_some() && log.get(start - 1).is_some_and(|e| e.call == call)
            {
                start -= 1;
            }
            let again = matches!(
                &last.what,
                What::Queried {
                    query: Call::SayAgain
                } | What::VoiceSet { .. }
                    | What::QuietSet { .. }
                    | What::ByNameSet { .. }
                    | What::Called
                    | What::NotUnderstood { .. }
            );
            if !again && !self.not_for_tasters(&last.what, at) {
                let mut all = Vec::new();
                for i in start..end {
                    let Some(event) = log.get(i) else { continue };
                    // What is asked again now would be asked for the first time.
                    if let What::Undone { .. } = event.what {
                        continue;
                    }
                    let (before, after) = self.before.around(i);
                    all.extend(replies(&before, event, &after));
                }
                if !all.is_empty() {
                    for r in &mut all {
                        r.urgency = Urgency::Reply;
                    }
                    return all;
                }
            }
            end = start;
        }
        vec![reply(self.coming_up(at))]
    }

    /// The read-backs of what was taken back, as it was when it was said.
    pub(super) fn taken_back(&self, of: &[u32]) -> Vec<Say> {
        let mut all = Vec::new();
        for call in of {
            let Some(start) = self.before.undoable.iter().find(|(c, _)| c == call) else {
                continue;
            };
            for i in start.1..self.before.log.len() {
                let Some(event) = self.before.log.get(i) else {
                    break;
                };
                if event.call != Some(*call) {
                    if event.call.is_some() {
                        break;
                    }
                    continue;
                }
                if !event.what.is_undoable() {
                    continue;
                }
                let (before, after) = self.before.around(i);
                let said = replies(&before, event, &after);
                all.extend(said.into_iter().next().map(|r| r.say));
            }
        }
        all
    }

    fn hints(&self) -> Vec<Hint> {
        let core = &self.after.core;
        let mut all = Vec::new();
        if core.asleep {
            return vec![Hint::CarryOn];
        }
        if core.sounding().any(|c| matches!(c.key, ClockKey::Voice(_))) {
            all.push(Hint::StopTimer);
        }
        if core.sitting.open().is_some() {
            all.extend([Hint::NextTaster, Hint::Pick, Hint::CantTell, Hint::Result]);
        }
        let flips = core
            .clocks
            .iter()
            .any(|c| matches!(c.key, ClockKey::Flip(_)));
        if flips {
            all.push(Hint::Flipped);
        }
        let temperature = core.running().any(|s| self.goal(s).is_some());
        if temperature {
            all.push(Hint::Reading);
        }
        if core.running().next().is_some() {
            all.extend([Hint::Next, Hint::Done]);
        }
        if !core.clocks.is_empty() {
            all.push(Hint::HowLong);
        }
        let placed = self.kit().marked().any(|(_, p)| {
            core.whereabouts
                .pieces
                .get(p)
                .is_some_and(|p| p.lie.is_some())
        });
        if placed {
            all.push(Hint::WhereIs);
        }
        if core.all_done() {
            all.push(Hint::EndCook);
        }
        all.extend([Hint::Timer, Hint::Status, Hint::SayAgain, Hint::ScratchThat]);
        all.truncate(5);
        all
    }

    pub(super) fn refusal(&self, _refused: &Call, why: &Refusal, at: At) -> No {
        let step = |id: &String| self.step_name(id);
        let vessel = |id: &String| self.vessel_name(id);
        let subject = |s: &Subject| Some(self.subject_name(s)).filter(|n| !n.is_empty());
        match why {
            Refusal::NotBegun => No::NotBegun,
            Refusal::CookEnded => No::CookEnded,
            Refusal::NothingUnderWay => No::NothingUnderWay,
            Refusal::AlreadyUnderWay(s) => No::AlreadyUnderWay(step(s)),
            Refusal::AlreadyDone(s) => No::AlreadyDone {
                step: step(s),
                ago: self
                    .kit()
                    .step_ix(s)
                    .and_then(|ix| self.after.core.steps.get(ix)?.ended)
                    .map_or(0, |ended| at.since(ended)),
            },
            Refusal::NotUnderWay(s) => No::NotUnderWay(step(s)),
            Refusal::VesselBusy(s) => No::VesselBusy(step(s)),
            Refusal::VesselIdle(v) => No::VesselIdle(vessel(v)),
            Refusal::NoStepFor(s) => No::NoStepFor(subject(s)),
            Refusal::NoTimer => No::NoTimer,
            Refusal::NoSuchClock(s) => No::NoSuchClock(subject(s)),
            Refusal::OnlyStepClocks => No::OnlyStepClocks,
            Refusal::NothingToScratch => No::NothingToScratch,
            Refusal::NoQuestion => No::NoQuestion,
            Refusal::NoProbeCheck => No::NoProbeCheck,
            Refusal::NothingToCorrect => No::NothingToCorrect,
            Refusal::NoSuchPlace { vessel: v, .. } => No::NoSuchPlace {
                vessel: vessel(v),
                places: self
                    .kit()
                    .vessel_ix(v)
                    .map(|v| self.places_of(v))
                    .unwrap_or_default(),
            },
            Refusal::PieceNotPlaced(s) => No::PieceNotPlaced(self.sample_name(s)),
            Refusal::VesselEmpty(v) => No::VesselEmpty(vessel(v)),
            Refusal::NothingAt { vessel: v, place } => No::NothingAt {
                vessel: vessel(v),
                place: self.place_in(self.kit().vessel_ix(v).unwrap_or(usize::MAX), *place),
            },
            Refusal::WhichPieces(item) => {
                No::WhichPieces(self.subject_name(&Subject::Item(item.clone())))
            }
            Refusal::NothingToFlip => No::NothingToFlip,
            Refusal::NotBack => No::NotBack,
            Refusal::TimerTooLong => No::TimerTooLong,
            Refusal::UnknownName => No::UnknownName,
            Refusal::NoPortions => No::NoPortions,
            Refusal::HowMany(most) => No::HowMany(*most),
            Refusal::OneOfSeveral { sample, vessel: v } => No::OneOfSeveral {
                sample: self.sample_name(sample),
                vessel: vessel(v),
            },
            Refusal::SameThing => No::SameThing,
            Refusal::NotAsleep => No::NotAsleep,
            Refusal::Tasting(why) => No::Tasting(why.clone()),
            Refusal::WouldTell { waiting } => No::WouldTell {
                waiting: waiting.clone(),
            },
            Refusal::NothingToCompare => No::NothingToCompare,
            Refusal::VerdictStands { taster } => No::VerdictStands { taster: *taster },
            Refusal::NoTasting => No::NoTasting,
        }
    }

    /// An alarm was answered by a call that does nothing else: a word of thanks is
    /// enough for a step's, which goes on; a timer is over, so it is named. With another
    /// event of the same call that event speaks.
    pub(super) fn acknowledged(&self, event: &Event, clocks: &[ClockKey]) -> Vec<Reply> {
        if event.call.is_none() {
            return Vec::new();
        }
        let timers = clocks
            .iter()
            .filter(|k| matches!(k, ClockKey::Voice(_)))
            .filter_map(|k| self.before.core.clock(k))
            .map(|c| self.clock_name(c))
            .collect();
        vec![reply(Say::Acknowledged { timers })]
    }

    pub(super) fn resumed(&self, away: i64, due: &[Due], at: At) -> Vec<Reply> {
        let ended = self.due_lines(due, at);
        let told: Vec<usize> = due
            .iter()
            .filter_map(|d| match d {
                Due::Up(ClockKey::Wait(id) | ClockKey::Rest(id)) => self.kit().step_ix(id),
                _ => None,
            })
            .collect();
        let mut all = vec![Reply {
            urgency: if ended.is_empty() {
                Urgency::Reply
            } else {
                Urgency::Alarm
            },
            say: Say::Resumed {
                away,
                ended,
                running: self.running_lines_but(&told, at),
                timers: self.timer_lines(at),
                next: self.ready_names().into_iter().next(),
            },
        }];
        if self.after.core.sitting.open().is_some() {
            all.push(reply(Say::Tasting(Box::new(TastingSay::StillOpen {
                waiting: self.waiting(),
            }))));
        }
        if let Some(q) = &self.after.core.question {
            let mark = matches!(q.question, Question::Where { .. } | Question::Order { .. });
            all.push(reply(Say::Ask {
                asking: self.asking(&q.question, None, at),
                times: if mark { 2 } else { q.times },
            }));
        }
        all
    }
}

impl State {
    /// The states before and after event `index` of the log.
    fn around(&self, index: usize) -> (State, State) {
        let before = self.at_event(index);
        let mut after = before.clone();
        if let Some(event) = self.log.get(index) {
            after.core.apply(&after.kit, event);
        }
        (before, after)
    }
}
