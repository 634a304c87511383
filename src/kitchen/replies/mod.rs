//! An event → what to say about it: first the read-back, then the one thing that
//! changed.

mod asking;
mod cooling;
mod day;
mod doneness;
mod how_long;
mod lines;
mod medium;
mod moves;
mod sums;
mod talk;
mod tasting;

use crate::plan::What as Held;
use crate::voice::Urgency;

use crate::grammar::Subject;

use super::exposure;
use super::fold::ms;
use super::kit::{Kit, span_of, work_before_wait};
use super::meaning::{self, Standing};
use super::reply::{DueLine, Goal, Reply, Say};
use super::{ClockKey, Due, Event, State, What};

/// What to say about an event, in order. `before` and `after` are the states on its
/// either side. Pure.
pub fn replies(before: &State, event: &Event, after: &State) -> Vec<Reply> {
    let voice = Telling { before, after };
    voice.keep_blind(event.at, voice.tell(event))
}

/// The two states that an event lies between.
struct Telling<'a> {
    before: &'a State,
    after: &'a State,
}

fn reply(say: Say) -> Reply {
    Reply {
        urgency: Urgency::Reply,
        say,
    }
}

fn alarm(say: Say) -> Reply {
    Reply {
        urgency: Urgency::Alarm,
        say,
    }
}

impl Telling<'_> {
    fn kit(&self) -> &Kit {
        &self.after.kit
    }

    fn tell(&self, event: &Event) -> Vec<Reply> {
        let at = event.at;
        let one = |say| vec![reply(say)];
        match &event.what {
            What::Begun if self.after.goes_by_name() => one(Say::ByName {
                name: self.after.name().to_owned(),
                on: true,
            }),
            What::Acknowledged { .. } if event.call.is_none() => Vec::new(),
            What::Begun => Vec::new(),
            What::Called => one(Say::Called),
            What::ByNameSet { on } => one(Say::ByName {
                name: self.after.name().to_owned(),
                on: *on,
            }),
            What::StepStarted { step, .. } => self.step_begins(step, at),
            What::StepEnded { step, .. } => one(Say::StepEnds {
                name: self.step_name(step),
                rest: self
                    .kit()
                    .step_ix(step)
                    .and_then(|s| self.kit().step(s)?.rest)
                    .map(|r| span_ms(r.lo, r.hi)),
                last: self.after.core.all_done(),
            }),
            What::SteppedBack { reopened, .. } => one(Say::SteppedBack {
                name: self.step_name(reopened),
                say: self.step_text(reopened),
            }),
            What::HandsFree { step } => one(Say::WaitBegins {
                name: self.step_name(step),
                time: self
                    .kit()
                    .step_ix(step)
                    .and_then(|s| self.kit().step(s)?.wait)
                    .map(|w| span_ms(w.lo, w.hi)),
            }),
            What::FoodIn { step } => one(Say::FoodIn {
                vessel: self
                    .kit()
                    .step_ix(step)
                    .and_then(|s| self.kit().step(s)?.vessel.as_ref())
                    .map(|v| self.vessel_name(v)),
                clocks: self.clock_lines_of(step, at),
            }),
            What::OilIn { vessel } => one(Say::OilIn {
                vessel: vessel.as_ref().map(|v| self.vessel_name(v)),
            }),
            What::Did { deed, about } => one(Say::Did {
                deed: *deed,
                about: about.as_ref().map(|s| self.subject_name(s)),
            }),
            What::Flipped { vessel, piece } => self.flipped(vessel, piece.as_ref(), at),
            What::SidesUnsure { vessel } => one(Say::SidesUnsure {
                vessel: self.vessel_name(vessel),
            }),
            What::Turned { vessel, turn } => self.turned(vessel, *turn),
            What::Put { piece, .. } | What::Located { piece, .. } => self
                .kit()
                .piece_ix(piece)
                .map(|p| Say::Lies(self.mark(p)))
                .map(reply)
                .into_iter()
                .collect(),
            What::SwappedPlaces {
                vessel_a,
                a,
                vessel_b,
                b,
            } => self.swapped_places(vessel_a, *a, vessel_b, *b),
            What::SwappedPieces { a, b } => self.swapped_pieces(a, b),
            What::MovedOut { from, to, order } => self.moved_out(from, to, *order),
            What::OrderTold { order } => self.order_told(*order),
            What::Stacked { vessel } => one(Say::Stacked {
                vessel: self.vessel_name(vessel),
            }),
            What::Reading(reading) => self.reading(reading, false, at),
            What::Corrected { of, .. } => {
                let taken = self
                    .after
                    .core
                    .readings
                    .iter()
                    .rev()
                    .find(|t| t.reading.number == *of);
                taken.map_or_else(Vec::new, |t| self.reading(&t.reading, true, at))
            }
            What::TimerSet { name, ms } => one(Say::TimerSet {
                name: name.clone(),
                ms: *ms,
            }),
            What::ClockMoved { clock, ends } => self
                .after
                .core
                .clock(clock)
                .map(|c| Say::ClockMoved {
                    clock: self.clock_name(c),
                    left: ends.since(at),
                })
                .map(reply)
                .into_iter()
                .collect(),
            What::TimerStopped { clock } => self
                .before
                .core
                .clock(clock)
                .map(|c| Say::TimerStopped {
                    clock: self.clock_name(c),
                })
                .map(reply)
                .into_iter()
                .collect(),
            What::Acknowledged { clocks } => self.acknowledged(event, clocks),
            What::Due { due } => self.due(due, event),
            What::Tasting(fact) => self.tasting(fact),
            What::Plate { taster } => self.plate(*taster),
            What::Card { taster } => self.card(*taster),
            What::Asked { question } => vec![reply(Say::Ask {
                asking: self.asking(question, event.heard.as_deref(), at),
                times: 1,
            })],
            What::Settled { how, .. } => self.settled(*how),
            What::NothingToBegin => one(self.due_first(at)),
            What::Queried { query } => self.queried(query, at),
            What::Refused { refused, why } => one(Say::Refused(self.refusal(refused, why, at))),
            What::NotUnderstood { .. } => self.not_understood(at),
            What::QuietSet { on } => one(if *on { Say::Quiet } else { Say::SpeakUp }),
            What::AsleepSet { on } => one(if *on { Say::Asleep } else { Say::Awake }),
            What::VoiceSet { volume, speed } => {
                let before = (self.before.core.volume, self.before.core.speed);
                one(Say::VoiceSet {
                    volume: volume.saturating_sub(before.0),
                    speed: speed.saturating_sub(before.1),
                    at_end: before == (*volume, *speed),
                })
            }
            What::Fridge { item, out } => one(Say::Fridge {
                item: self.subject_name(&Subject::Item(item.clone())),
                out: *out,
                so_far: exposure::total(self.kit(), &self.after.core, item, at),
                limit: exposure::limit(&self.after.core),
            }),
            What::Room {
                called,
                units,
                celsius,
            } => one(Say::Room {
                called: *called,
                units: *units,
                celsius: *celsius,
                limit: exposure::limit(&self.after.core),
            }),
            What::Cooling { item } => self
                .cooling_line(item, at)
                .map(|line| reply(Say::Cooling(line)))
                .into_iter()
                .collect(),
            What::OffsetUsed { celsius } => one(Say::OffsetUsed { celsius: *celsius }),
            What::UnitsSet { units } => one(Say::UnitsSet(*units)),
            What::Noted { text } => one(Say::Noted {
                text: text.is_some(),
            }),
            What::Weighed { item, grams } => self.weighed(item, *grams),
            What::Counted { item, pieces } => self.counted(item, *pieces),
            What::Portions { portions } => self.portions(*portions),
            What::DayLaid { .. } => self.day_laid(event),
            What::ServeAt { .. } | What::DayLost => Vec::new(),
            What::Undone { of } => one(Say::TakenBack {
                what: self.taken_back(of),
                marks: self.changed(self.kit().marked().map(|(_, p)| self.mark(p)).collect()),
            }),
            What::Resumed { away_ms, due } => self.resumed(*away_ms, due, at),
            What::Ended => one(Say::Ended),
        }
    }

    fn step_begins(&self, id: &str, at: super::At) -> Vec<Reply> {
        let Some(ix) = self.kit().step_ix(id) else {
            return Vec::new();
        };
        let Some(step) = self.kit().step(ix) else {
            return Vec::new();
        };
        let first = self.before.core.finished.is_empty() && self.before.core.running().count() == 0;
        let mut all = vec![reply(Say::StepBegins {
            title: first.then(|| self.kit().plan.title.clone()),
            name: self.step_name(id),
            say: step.say.clone(),
            work: Some(work_before_wait(step)).filter(|ms| *ms > 0),
            time: span_of(step).map(|s| span_ms(s.lo, s.hi)),
            flip_every: step.flip_every.map(ms),
            cautions: step.cautions.clone(),
        })];
        all.extend(self.aims_below(ix));
        if step.cools {
            let lines = self.kit().items_of(step);
            let lines = lines.into_iter().filter_map(|i| self.cooling_line(i, at));
            all.extend(lines.map(|line| reply(Say::Cooling(line))));
        }
        all.extend(self.sums_at(ix));
        all.extend(self.remind_at_step(ix));
        all
    }

    fn flipped(&self, vessel: &str, piece: Option<&super::PieceId>, at: super::At) -> Vec<Reply> {
        let Some(v) = self.kit().vessel_ix(vessel) else {
            return Vec::new();
        };
        let pieces: Vec<usize> = match piece.map(|p| self.kit().piece_ix(p)) {
            Some(Some(p)) => vec![p],
            Some(None) => return Vec::new(),
            None => self.after.core.whereabouts.in_vessel(v).collect(),
        };
        let mut sides: Vec<_> = pieces
            .iter()
            .filter_map(|p| self.after.core.whereabouts.pieces.get(*p))
            .map(|p| p.side)
            .collect();
        sides.dedup();
        let side = match sides.as_slice() {
            [one] => *one,
            _ => super::whereabouts::Side::Unsure,
        };
        let next = self
            .after
            .core
            .step_in(self.kit(), v)
            .map(|s| ClockKey::Flip(self.kit().step_id(s)))
            .and_then(|k| self.after.core.clock(&k))
            .filter(|_| piece.is_none())
            .map(|c| c.ends.since(at));
        vec![reply(Say::Flipped {
            what: match piece {
                Some(_) => pieces
                    .first()
                    .map(|p| self.piece_name(*p))
                    .unwrap_or_default(),
                None => String::new(),
            },
            vessel: self.vessel_name(vessel),
            side,
            next_in: next,
        })]
    }

    /// What ends a step by a temperature, with its last reading.
    fn goal(&self, ix: usize) -> Option<Goal> {
        match meaning::standing(self.kit(), &self.after.core, ix) {
            Standing::NoTarget => None,
            Standing::Core {
                target, last, met, ..
            } => Some(Goal::Core {
                target,
                last: last.map(|l| l.0),
                met,
                left: None,
            }),
            Standing::Medium { window, last, met } => Some(Goal::Medium {
                window,
                last: last.map(|l| l.0),
                met,
            }),
        }
    }

    fn due(&self, due: &[Due], event: &Event) -> Vec<Reply> {
        let at = event.at;
        let lines: Vec<DueLine> = self.due_lines(due, at);
        let mut all = Vec::new();
        if !lines.is_empty() {
            all.push(alarm(Say::Due(lines)));
        }
        for d in due {
            if let Due::Up(key) = d {
                match key {
                    ClockKey::Wait(id) => {
                        if let Some(ix) = self.kit().step_ix(id) {
                            all.extend(self.remind_before_transfer(ix));
                        }
                    }
                    ClockKey::Flip(id) => all.extend(self.remind_at_flip(id)),
                    ClockKey::Rest(_) | ClockKey::Voice(_) => {}
                }
            }
            if let Due::AskAgain { times } = d
                && let Some(q) = &self.after.core.question
            {
                all.push(reply(Say::Ask {
                    asking: self.asking(&q.question, None, at),
                    times: *times,
                }));
            }
        }
        all
    }

    /// Samples that a step holds or moves, for its reminder.
    fn samples_of_step(&self, ix: usize) -> Vec<usize> {
        let Some(step) = self.kit().step(ix) else {
            return Vec::new();
        };
        step.holds
            .iter()
            .filter_map(|h| match &h.what {
                Held::Sample(id) => self.kit().sample_piece(id),
                Held::Pieces { .. } => None,
            })
            .collect()
    }
}

fn span_ms(lo: std::time::Duration, hi: std::time::Duration) -> crate::plan::Span<i64> {
    crate::plan::Span {
        lo: ms(lo),
        hi: ms(hi),
    }
}
