//! How likely a call is here and now, for the ear that cannot tell two apart.

use crate::grammar::Call;

use super::manners::{AWAITED, FAR_READING_C, UNLIKELY, UNLIKELY_TALK};
use super::{At, Input, NumberDoubt, Question, Reading, Refusal, State, What, decide};

/// 1 for a call that makes sense now, less for one that would be refused or asked about,
/// more for the answer to an open question. A bare "no" with nothing asked is somebody
/// else's talk.
pub fn likelihood(state: &State, call: &Call, now: At) -> f32 {
    let awaited = state.core.question.is_some()
        && matches!(
            call,
            Call::Yes | Call::No { .. } | Call::Answer { .. } | Call::InOrder { .. }
        );
    let input = Input::Call {
        call: call.clone(),
        heard: String::new(),
        confidence: 1.0,
    };
    decide(state, &input, now)
        .iter()
        .map(|event| match &event.what {
            What::Refused { why, .. } => match why {
                Refusal::NoQuestion | Refusal::NotAsleep => UNLIKELY_TALK,
                _ => UNLIKELY,
            },
            What::Asked {
                question:
                    Question::NumberAgain {
                        why: NumberDoubt::OutOfSense,
                        ..
                    },
            } => UNLIKELY,
            What::Reading(reading) if is_far(state, reading) => UNLIKELY,
            _ => f32::INFINITY,
        })
        .fold(if awaited { AWAITED } else { 1.0 }, f32::min)
}

/// A reading that is far from the last one of the same thing.
fn is_far(state: &State, reading: &Reading) -> bool {
    let last = state
        .core
        .readings
        .iter()
        .rev()
        .find(|t| t.reading.kind == reading.kind && t.reading.vessel == reading.vessel);
    last.is_some_and(|t| (t.reading.celsius.lo.0 - reading.celsius.lo.0).abs() > FAR_READING_C)
}
