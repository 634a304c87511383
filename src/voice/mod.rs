//! A reply → wording → speech. All words that the tool says live in this room.
//!
//! | file | what it holds |
//! | --- | --- |
//! | [`numbers`] | numbers, spans and clock times in a kitchen's words |
//! | [`wording`] | a kitchen's reply in words |
//! | `speakable`, `pieces` | text → what an engine says right, cut so that the first sound comes at once |
//! | [`synth`], [`flite`] | a speech engine: text → samples; the built-in one |
//! | `tone` | what sounds before an alarm |
//! | `queue`, `stage` | who speaks next and who may cut whom; one utterance → blocks |
//! | [`player`] | blocks → the device's buffer; what was really played, to the sample |
//! | `handle`, `assemble`, `run` | [`Voice`], its parts put together, and the thread behind it |
//! | `system` | the system's own speech service (feature `system-voice`) |
//! | `speaker`, `feed` | the output device: opened, watched, found again; its rate and channels |
//! | `wav` | the replies on the session's time line |
//!
//! ```text
//! say ─► queue ─► stage ─► ring ─► player ─► device | recorder
//!                   ▲                │
//!                   └──── marks ─────┘   began, ended, cut: exact to the sample
//! ```

mod assemble;
mod feed;
pub mod flite;
mod handle;
pub mod numbers;
mod pieces;
pub mod player;
mod queue;
mod run;
mod speakable;
mod speaker;
mod stage;
pub mod synth;
#[cfg(feature = "system-voice")]
mod system;
mod tone;
mod wav;
pub mod wording;

pub use flite::FliteVoice;
pub use handle::{Config, Engine, Output, Voice};
pub use player::{Played, Tap};
pub use speakable::speakable;
pub use speaker::present as speaker_present;

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

/// Names one call of [`Voice::say`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct UtteranceId(pub u64);

/// What the voice reports. Times are seconds on the voice's line: since
/// [`Config::epoch`], or what [`Voice::advance_to`] was told.
#[derive(Debug, Clone, PartialEq)]
pub enum VoiceEvent {
    /// The first sample sounds at `at`.
    Began { id: UtteranceId, at: f64 },
    /// The last sample sounded just before `at`. `cut`: before its end; `again`: it
    /// will be said from its beginning once more, under the same id.
    Ended {
        id: UtteranceId,
        at: f64,
        cut: bool,
        again: bool,
    },
    /// It was never heard.
    Dropped { id: UtteranceId, why: DropReason },
    /// No sound comes out; looked for again all the time.
    DeviceLost { why: String },
    /// Sound comes out (again); also the first time.
    DeviceBack,
    /// Something that a person should read.
    Advice(String),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DropReason {
    /// A reminder while reminders are silenced.
    Silenced,
    /// The cook said "quiet".
    Quiet,
    /// The same words wait to be said already.
    Repeated,
    /// There was no speaker for so long that nobody wants to hear it any more.
    TooLate,
    /// The voice was closed.
    Closed,
}

/// Each message says what to do.
#[derive(Debug, thiserror::Error)]
pub enum VoiceError {
    #[error("{0}")]
    Engine(String),
    #[error("{0}")]
    Device(String),
    #[error("{0}")]
    Record(String),
}
