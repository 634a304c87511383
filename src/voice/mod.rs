//! A reply → wording → speech. All words that the tool says live in this room.
//!
//! | file | what it holds |
//! | --- | --- |
//! | [`numbers`] | numbers, spans and clock times in a kitchen's words |
//! | [`wording`] | a kitchen's reply in words |

pub mod numbers;
pub mod wording;

/// One thing to say aloud.
#[derive(Debug, Clone, PartialEq)]
pub struct Utterance {
    /// Plain words, numbers spelled the way a cook says them.
    pub text: String,
    pub urgency: Urgency,
    /// How often this has been said already without an answer; the tone before an
    /// alarm grows with it. 0 the first time and for everything that is no alarm.
    pub unanswered: u8,
}

impl Utterance {
    pub fn new(text: impl Into<String>, urgency: Urgency) -> Utterance {
        Utterance {
            text: text.into(),
            urgency,
            unanswered: 0,
        }
    }
}

/// What may interrupt what: a higher urgency cuts a lower one short; equals queue.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize,
)]
pub enum Urgency {
    /// A reminder; dropped when "quiet".
    Reminder,
    /// The answer to a call.
    Reply,
    /// A clock has ended; a limit nears. Never silenced by "quiet".
    Alarm,
    /// Somebody could get hurt.
    Danger,
}
