//! Microphone, sound file or typed lines → [`Heard`].
//!
//! Our own recogniser (`hob`) listens all the time and finds the ends itself; another
//! (`vosk`) is given utterances by a gate:
//!
//! ```text
//! source ─► gate ─► recogniser ─► whole-sentence check ─► EarEvent
//! 16 kHz    speech   words of      against the grammar
//! mono      or not   the grammar
//! ```
//!
//! | file | what |
//! | --- | --- |
//! | `source/` | microphone and sound files, any rate and channels, as 16 kHz mono |
//! | `activity` | speech or not, and the room's noise, every 16 ms |
//! | `gate` | where an utterance begins and ends |
//! | `recogniser` | what every recogniser can do |
//! | `vosk/` | the one for people and languages that have a model |
//! | `listener` | all of the above joined, without thread or clock |
//! | `hob/` | our own recogniser: `net/` (phones), `lexicon/` (words), `search/` (sentences) |
//! | `listening` | what every ear does |
//! | `note` | keeps the sound of a spoken note |
//! | `decide` | from alternatives to one call, a question, or nothing |
//! | `engine` | which recogniser listens |
//! | `hear` | the command that runs sound files through the ear |
//! | `start` | the listener on a thread, with a handle |
//! | `echo/` | our own voice taken out of a live microphone's sound |
//! | `levels` | what is wrong with the sound itself |

mod activity;
pub mod decide;
pub mod echo;
mod engine;
mod gate;
pub mod hear;
pub mod hob;
mod levels;
pub mod lexicon;
mod listener;
mod listening;
pub mod net;
mod note;
mod recogniser;
pub mod search;
pub mod source;
mod start;
pub mod vosk;

pub use activity::{Earshot, FRAME, SpeechDetector};
pub use engine::{Engine, NAMES as ENGINES};
pub use gate::{Extent, Patience};
pub use levels::Trouble;
pub use listener::Listener;
pub use listening::Listening;
pub use note::NoteTaker;
pub use recogniser::{Hypothesis, Recogniser};
pub use start::{Config, Deafness, EarHandle, Input, start};

/// One utterance, decoded. Times are seconds of the sound stream since it began
/// (for a file: its own time line, whatever the speed it is read at).
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Heard {
    /// Best whole sentence of the active grammar; empty when rejected.
    pub words: String,
    /// Probability from 0 to 1 that `words` is what was said (1.0 for typed lines).
    pub confidence: f32,
    /// Best first, the first repeats `words`; only whole sentences of the grammar. When
    /// `words` is empty these are what it came nearest to.
    pub alternatives: Vec<Alternative>,
    /// Start and end of speech, seconds.
    pub from: f64,
    pub to: f64,
    /// How long after `to` the decision was made, seconds of stream and computing time.
    pub decided_after: f64,
    /// Time spent recognising, seconds.
    #[serde(default)]
    pub compute_s: f64,
    /// It began while our own voice sounded: what is left of that may be taken for words.
    #[serde(default)]
    pub over_us: bool,
    /// Then, and where the recogniser can tell: the share of its sounds, from 0 to 1, that
    /// we said just then, in the same order.
    #[serde(default)]
    pub ours: Option<f32>,
}

impl Heard {
    /// A typed line: certain, at a moment.
    pub fn typed(words: &str, at: f64) -> Self {
        Self {
            words: words.to_owned(),
            confidence: 1.0,
            alternatives: vec![Alternative {
                words: words.to_owned(),
                confidence: 1.0,
            }],
            ..Self::nothing(at, at)
        }
    }

    /// Speech or a knock that was not for us.
    pub fn nothing(from: f64, to: f64) -> Self {
        Self {
            words: String::new(),
            confidence: 0.0,
            alternatives: Vec::new(),
            from,
            to,
            decided_after: 0.0,
            compute_s: 0.0,
            over_us: false,
            ours: None,
        }
    }
}

#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Alternative {
    pub words: String,
    pub confidence: f32,
}

/// What the ear tells the cook loop, over a bounded channel.
#[derive(Debug, Clone, PartialEq)]
pub enum EarEvent {
    SpeechBegan {
        at: f64,
    },
    Partial {
        words: String,
        at: f64,
    },
    /// A decoded utterance; `words` is empty when speech was heard but was not for us.
    Heard(Heard),
    /// The microphone went away, or has been silent at the driver for too long.
    DeviceLost {
        why: String,
    },
    DeviceBack,
    /// The sound of a spoken note, 16 kHz mono, and when it ended; nothing if nobody spoke.
    Note {
        at: f64,
        samples: Vec<i16>,
    },
    /// Something is wrong with the sound that the cook can mend.
    Sound(Trouble),
    /// Something about the machine that a person should read.
    Advice(String),
    /// The file has ended or the typed input was closed.
    End,
}
