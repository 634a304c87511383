//! Microphone, sound file or typed lines → [`Heard`].

/// One utterance, decoded. Times are seconds of the sound stream since it began
/// (for a file: its own time line, whatever the speed it is read at).
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Heard {
    /// Best whole sentence of the active grammar; empty when rejected.
    pub words: String,
    /// Probability from 0 to 1 that `words` is what was said (1.0 for typed lines).
    pub confidence: f32,
    /// Best first, the first repeats `words`; only whole sentences of the grammar.
    pub alternatives: Vec<Alternative>,
    /// Start and end of speech, seconds.
    pub from: f64,
    pub to: f64,
    /// How long after `to` the decision was made, seconds of stream and computing time.
    pub decided_after: f64,
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
    /// Something a cook should know ("the sound is clipping").
    Advice(String),
    /// The file has ended or the typed input was closed.
    End,
}
