//! A call, a tick or a return → events.

mod answer_places;
mod answers;
mod clocks;
mod cooling;
mod day;
mod flips;
mod food;
mod moves;
mod names;
mod out;
mod readings;
mod samples;
mod steps;
mod talk;
mod tasting;
mod time;
mod undo;
mod vessels;
mod which_step;

use crate::grammar::{Call, Subject, TastingCall};
use crate::plan::Id;

pub use clocks::unnamed;

use super::blur::moves_food;
use super::core::Core;
use super::kit::Kit;
use super::manners::{SURE_COURSE, SURE_FLOOR, SURE_RECORD};
use super::questions::{Doubt, NumberDoubt, Question};
use super::{At, Event, Input, Refusal, Settled, State, What};

/// What happens on this input. Pure; the events are not applied to `state`.
pub fn decide(state: &State, input: &Input, now: At) -> Vec<Event> {
    let mut desk = Desk {
        kit: &state.kit,
        state,
        core: state.core.clone(),
        now,
        call: None,
        heard: None,
        out: Vec::new(),
        to_ask: None,
        places_seen: false,
    };
    match input {
        Input::Begin => desk.begin(),
        Input::Call {
            call,
            heard,
            confidence,
        } => {
            desk.call = Some(state.next_call());
            desk.heard = Some(heard.clone());
            desk.hear(call, *confidence);
            desk.ask_what_is_left();
        }
        Input::Either {
            calls,
            heard,
            confidence,
        } => {
            desk.call = Some(state.next_call());
            desk.heard = Some(heard.clone());
            desk.either(calls, *confidence);
            desk.ask_what_is_left();
        }
        Input::NotUnderstood { heard } => {
            if !desk.core.asleep && desk.core.begun.is_some() {
                desk.not_understood(heard);
            }
        }
        Input::Called => desk.called(),
        Input::Tick => desk.tick(),
        Input::Serve { at } => desk.serve_at(*at),
        Input::Resumed { away_ms } => desk.resumed(*away_ms),
    }
    desk.lay_if_moved();
    desk.out
}

/// A decision in the making: events already decided are applied to `core`, so that
/// the next thought sees them.
struct Desk<'a> {
    kit: &'a Kit,
    state: &'a State,
    core: Core,
    now: At,
    call: Option<u32>,
    heard: Option<String>,
    out: Vec<Event>,
    /// One question to end with.
    to_ask: Option<Question>,
    /// The places of the call being done are already as they are seen.
    places_seen: bool,
}

/// Whether a call changes nothing in the cook, at most how the tool talks.
fn asks(call: &Call) -> bool {
    matches!(
        call,
        Call::WhatsNext
            | Call::SayAgain
            | Call::Status
            | Call::IsItDone { .. }
            | Call::Believe { .. }
            | Call::HowLong { .. }
            | Call::Late
            | Call::HowMuch { .. }
            | Call::WhenDoWeEat
            | Call::WhenStart { .. }
            | Call::Timers
            | Call::WhatTime
            | Call::WhereIs { .. }
            | Call::WhatIsAt { .. }
            | Call::Map
            | Call::Help
            | Call::CarryOn
            | Call::ByName { .. }
            | Call::Cancel
    ) || mends_talk(call)
}

/// Whether a call mends how the tool talks, or stops it.
pub(super) fn mends_talk(call: &Call) -> bool {
    matches!(
        call,
        Call::Quiet
            | Call::SpeakUp
            | Call::Louder
            | Call::Softer
            | Call::Slower
            | Call::Faster
            | Call::HoldOn
    )
}

/// How much a call changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Weight {
    Question,
    Record,
    Course,
}

impl Desk<'_> {
    fn emit(&mut self, what: What) {
        let event = Event {
            at: self.now,
            call: self.call,
            heard: self.heard.clone(),
            what,
        };
        self.core.apply(self.kit, &event);
        self.out.push(event);
    }

    fn refuse(&mut self, call: &Call, why: Refusal) {
        self.emit(What::Refused {
            refused: call.clone(),
            why,
        });
    }

    fn ask(&mut self, question: Question) {
        self.emit(What::Asked { question });
    }

    fn sure(&mut self, of: &Call, why: Doubt) {
        self.ask(Question::Sure {
            of: of.clone(),
            why,
        });
    }

    fn hear(&mut self, call: &Call, confidence: f32) {
        if self.core.begun.is_none() {
            self.refuse(call, Refusal::NotBegun);
            return;
        }
        if self.core.asleep && !self.heeds_asleep(call) {
            return;
        }
        // A number that is none is nothing heard; in an event it could not be read back.
        if !is_finite(call) {
            let heard: Vec<_> = self.heard.clone().into_iter().collect();
            return self.not_understood(&heard);
        }
        let weight = self.weight(call);
        let need = match weight {
            Weight::Question => SURE_FLOOR,
            Weight::Record => SURE_RECORD,
            Weight::Course => SURE_COURSE,
        };
        if confidence.is_nan() || confidence < SURE_FLOOR {
            self.not_understood(&self.heard.clone().into_iter().collect::<Vec<_>>());
            return;
        }
        if confidence < need {
            match call {
                // An answer that was not heard well is asked for again.
                Call::Yes
                | Call::No { value: None }
                | Call::Answer { .. }
                | Call::InOrder { .. }
                    if self.core.question.is_some() =>
                {
                    self.not_understood(&self.heard.clone().into_iter().collect::<Vec<_>>());
                }
                _ => {
                    self.overtake();
                    self.sure(call, Doubt::HeardBadly);
                }
            }
            return;
        }
        if self.core.question.is_some() && self.answer(call) {
            return;
        }
        if weight > Weight::Question && *call != Call::ScratchThat {
            self.overtake_if(call);
        }
        self.act(call, false);
        self.refresh_question();
    }

    /// Two readings that differ in the number are asked apart; of others the likelier one
    /// is heard, with the little confidence that it has.
    fn either(&mut self, calls: &[Call; 2], confidence: f32) {
        let [of, other] = calls;
        match (of, other) {
            (
                Call::Reading {
                    about,
                    kind,
                    value,
                    unit,
                },
                Call::Reading {
                    about: other_about,
                    kind: other_kind,
                    value: other,
                    unit: other_unit,
                },
            ) if about == other_about
                && kind == other_kind
                && unit == other_unit
                && value != other
                && !self.core.asleep
                && self.core.begun.is_some()
                && self.core.ended.is_none() =>
            {
                self.overtake();
                self.ask(Question::NumberAgain {
                    of: of.clone(),
                    why: NumberDoubt::Either { other: *other },
                });
            }
            _ => self.hear(of, confidence),
        }
    }

    /// What a call does. `sure`: the cook has said yes to it.
    fn act(&mut self, call: &Call, sure: bool) {
        if self.core.ended.is_some()
            && self.weight(call) > Weight::Question
            && !matches!(call, Call::ScratchThat)
        {
            self.refuse(call, Refusal::CookEnded);
            return;
        }
        match call {
            Call::Next => self.next(call, sure),
            Call::Done { what } => self.done(call, what.as_ref(), sure),
            Call::Start { what } => self.start(call, what, sure),
            Call::BackOne => self.back_one(call),
            Call::Flipped { what } => self.flipped(call, what.as_ref()),
            Call::Turned { vessel, turn } => self.turned(call, vessel.as_ref(), *turn),
            Call::Basted { what } => self.did(call, super::Deed::Basted, what.as_ref()),
            Call::Stirred { what } => self.did(call, super::Deed::Stirred, what.as_ref()),
            Call::Heat { vessel, level } => {
                let about = vessel.clone().map(Subject::Vessel);
                self.did(call, super::Deed::Heat(*level), about.as_ref());
            }
            Call::Lid { vessel, on } => {
                let about = vessel.clone().map(Subject::Vessel);
                let deed = if *on {
                    super::Deed::LidOn
                } else {
                    super::Deed::LidOff
                };
                self.did(call, deed, about.as_ref());
            }
            Call::In {
                what,
                vessel,
                place,
            } => self.came_in(call, what.as_ref(), vessel.as_ref(), *place),
            Call::Put {
                piece,
                vessel,
                place,
            } => self.put(call, piece, vessel.as_ref(), *place),
            Call::Swap { a, b } => self.swap(call, a, b),
            Call::OutTo { from, to, order } => self.out_to(call, from.as_ref(), to, *order, sure),
            Call::Stacked { vessel } => self.stacked(call, vessel.as_ref()),
            Call::Reading {
                about,
                kind,
                value,
                unit,
            } => self.reading(call, about.as_ref(), *kind, *value, *unit),
            Call::Fridge { item, out } => self.emit(What::Fridge {
                item: item.clone(),
                out: *out,
            }),
            Call::Room { value, unit } => self.room(call, *value, *unit),
            Call::Cooling { item } => self.cooling(call, item),
            Call::Units { celsius } => self.units(*celsius),
            Call::UseOffset => self.use_offset(call),
            Call::Believe { what } => self.is_it_done(call, what.as_ref()),
            Call::Timer { duration, name } => self.timer(call, *duration, name.as_ref()),
            Call::Extend {
                duration,
                less,
                which,
            } => self.extend(call, *duration, *less, which.as_ref()),
            Call::StopTimer { which } => self.stop_timer(call, which.as_ref()),
            Call::ScratchThat => self.scratch(call, sure),
            Call::No { value } => self.no(call, *value),
            Call::Quiet => self.quiet(),
            Call::SpeakUp => self.emit(What::QuietSet { on: false }),
            Call::Louder | Call::Softer | Call::Slower | Call::Faster => self.voice(call),
            Call::HoldOn => self.emit(What::AsleepSet { on: true }),
            Call::CarryOn => self.carry_on(call),
            Call::ByName { on } => self.emit(What::ByNameSet { on: *on }),
            Call::Note { text } => self.emit(What::Noted { text: text.clone() }),
            Call::EndCook => self.end_cook(call, sure),
            Call::HowLong { what } => self.how_long(call, what.as_ref()),
            Call::Weighs { item, grams } => self.weighs(call, item, *grams),
            Call::ThereAre { item, pieces } => self.there_are(call, item, *pieces),
            Call::CookingFor { portions } => self.cooking_for(call, *portions),
            Call::WhenStart { what, oil } => self.when_start(call, what.as_ref(), *oil),
            Call::WhereIs { .. } | Call::WhatIsAt { .. } | Call::Map if self.would_tell(call) => {}
            Call::Tasting { what } => self.tasting(call, what),
            Call::WhatIsAt { vessel, place } => self.what_is_at(call, vessel.as_ref(), *place),
            Call::IsItDone { what } => self.is_it_done(call, what.as_ref()),
            Call::WhereIs { piece } => self.where_is(call, piece),
            Call::WhatsNext
            | Call::SayAgain
            | Call::Status
            | Call::Timers
            | Call::WhatTime
            | Call::Late
            | Call::HowMuch { .. }
            | Call::WhenDoWeEat
            | Call::Map
            | Call::Help => self.emit(What::Queried {
                query: call.clone(),
            }),
            Call::Yes
            | Call::Cancel
            | Call::Answer { .. }
            | Call::Number { .. }
            | Call::InOrder { .. }
            | Call::Way { .. }
            | Call::Kind { .. } => self.stray_answer(call),
        }
    }

    fn weight(&self, call: &Call) -> Weight {
        match call {
            _ if asks(call) => Weight::Question,
            // An answer is read back for a yes whatever the ear thought of it.
            Call::Tasting { what } => match what {
                TastingCall::Open { .. } | TastingCall::CantTell { .. } | TastingCall::Result => {
                    Weight::Record
                }
                _ => Weight::Question,
            },
            Call::EndCook | Call::ScratchThat | Call::BackOne => Weight::Course,
            Call::OutTo { from, .. } => {
                let from = from.as_ref().and_then(|v| self.kit.vessel_ix(v));
                let marked = self.kit.marked().any(|(_, p)| {
                    let lie = self.core.whereabouts.pieces.get(p).and_then(|p| p.lie);
                    lie.is_some_and(|l| from.is_none_or(|f| f == l.vessel))
                });
                if marked {
                    Weight::Course
                } else {
                    Weight::Record
                }
            }
            _ => Weight::Record,
        }
    }

    /// Asleep, only "carry on" is heeded, and what answers an alarm that sounds.
    fn heeds_asleep(&self, call: &Call) -> bool {
        *call == Call::CarryOn
            || answers_alarm(call)
                && (self.core.sounding().next().is_some() || self.core.question.is_some())
    }

    /// Drops the open question because something else is asked or done.
    fn overtake(&mut self) {
        if let Some(q) = self.core.question.clone() {
            self.emit(What::Settled {
                how: Settled::Overtaken,
                of: q.question.holds_a_call().then_some(q.call).flatten(),
            });
        }
    }

    /// A call that changes something drops a held call that has not happened. A held
    /// move has, and stays asked, until another move would have to build on it: then
    /// what it may have done is no longer sure.
    fn overtake_if(&mut self, call: &Call) {
        let Some(q) = &self.core.question else { return };
        if !q.question.holds_a_call() {
            return;
        }
        let open = !self.core.in_question(self.kit).is_empty();
        let side_only = self.core.places_in_question(self.kit).is_empty();
        let builds_on_it = match call {
            Call::Turned { .. } | Call::Swap { .. } => !side_only,
            Call::Next
            | Call::Done { .. }
            | Call::Start { .. }
            | Call::BackOne
            | Call::In { .. }
            | Call::EndCook => true,
            call => moves_food(call),
        };
        if !open || builds_on_it {
            self.overtake();
        }
    }

    /// What a question was about may have been told otherwise.
    fn refresh_question(&mut self) {
        let Some(q) = self.core.question.clone() else {
            return;
        };
        if !q.question.holds_a_call() && !self.still_open(&q.question) {
            self.emit(What::Settled {
                how: Settled::Answered,
                of: None,
            });
            let unknown = self.unknown_sample();
            self.to_ask = self.to_ask.take().or(unknown);
        }
    }

    fn not_understood(&mut self, alternatives: &[String]) {
        self.emit(What::NotUnderstood {
            alternatives: alternatives.to_vec(),
        });
    }

    /// A step by its index, where the kit has it.
    fn step_id(&self, ix: usize) -> Id {
        self.kit.step_id(ix)
    }
}

/// What a cook calls when an alarm sounds.
pub(super) fn answers_alarm(call: &Call) -> bool {
    matches!(
        call,
        Call::Done { .. }
            | Call::Next
            | Call::Flipped { .. }
            | Call::StopTimer { .. }
            | Call::Extend { .. }
            | Call::Quiet
            | Call::Yes
            | Call::No { value: None }
    )
}

fn is_finite(call: &Call) -> bool {
    match call {
        Call::Reading { value, .. }
        | Call::Room { value, .. }
        | Call::Number { value }
        | Call::No { value: Some(value) } => value.lo.is_finite() && value.hi.is_finite(),
        Call::Weighs { grams, .. } => grams.is_finite(),
        _ => true,
    }
}
