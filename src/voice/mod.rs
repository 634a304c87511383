//! A reply → wording → speech. All words that the tool says live in this room.

/// One thing to say aloud.
#[derive(Debug, Clone, PartialEq)]
pub struct Utterance {
    /// Plain words, numbers spelled the way a cook says them.
    pub text: String,
    pub urgency: Urgency,
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
