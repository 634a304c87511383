//! Words about the machine itself, not the cook: the loop says these, no event does.

use crate::voice::{Urgency, Utterance};

/// The microphone is gone.
pub fn deaf() -> Utterance {
    Utterance::new(
        "I can't hear you: the microphone is gone. The clocks run on.",
        Urgency::Alarm,
    )
}

pub fn hearing_again() -> Utterance {
    Utterance::new("I hear you again.", Urgency::Alarm)
}

/// Somebody speaks and the room is as loud. Whatever else is to be said goes before it.
pub fn mostly_noise() -> Utterance {
    Utterance::new(
        "I hear mostly the noise of the room. Come closer, or say it again.",
        Urgency::Reminder,
    )
}

/// The microphone takes more than it can.
pub fn too_loud() -> Utterance {
    Utterance::new(
        "The sound is too loud for the microphone. Turn it down, or move it away.",
        Urgency::Reminder,
    )
}

/// Not even the room is heard: who calls now calls in vain.
pub fn muted() -> Utterance {
    Utterance::new(
        "I can't hear you: the microphone gives nothing at all. Is it muted?",
        Urgency::Alarm,
    )
}

/// The disk refused what was just called.
pub fn not_written_down() -> Utterance {
    Utterance::new(
        "I could not write that down: the disk is full or gone. It did not count. \
         Make room and say it again.",
        Urgency::Alarm,
    )
}

/// A spoken note was asked for and none came, or it could not be kept.
pub fn no_note() -> Utterance {
    Utterance::new("No note.", Urgency::Reply)
}

/// How the record names a note that is sound.
pub fn spoken_note(file: &str) -> String {
    format!("spoken, {file}")
}
