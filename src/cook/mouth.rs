//! The loop's hold on the voice: in real time it just speaks; on a session's time line
//! it is moved along, so that the replies lie in the WAV where they would have sounded.

use std::collections::VecDeque;
use std::path::PathBuf;
use std::time::Duration;

use crossbeam_channel::Receiver;

use crate::voice::{
    Config, Engine, FliteVoice, Output, Tap, Utterance, Voice, VoiceError, VoiceEvent,
};

/// How long the last reply may take to be said when the program ends.
const LAST_WORDS: Duration = Duration::from_secs(20);
/// What one step of "louder" or "slower" is worth.
const VOLUME_STEP: f32 = 1.4;
const SPEED_STEP: f32 = 1.15;

/// Utterances that may still be in the room when something is heard.
const LATELY: usize = 3;

pub struct Mouth {
    voice: Option<Voice>,
    /// What was said last.
    lately: VecDeque<String>,
    /// Zero of the voice's time line in cook time, when the loop moves it.
    stepped_from: Option<i64>,
}

/// Who speaks, and where to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Speaks {
    Speaker,
    System,
    /// Only into the WAV file, if there is one.
    Nobody,
}

impl Mouth {
    /// # Errors
    /// When the speech library is missing or the WAV file cannot be written.
    pub fn open(
        speaks: &Speaks,
        replies: Option<PathBuf>,
        session_from_ms: Option<i64>,
        tap: Option<Tap>,
        epoch: std::time::Instant,
    ) -> Result<Self, VoiceError> {
        if *speaks == Speaks::Nobody && replies.is_none() {
            return Ok(Mouth {
                voice: None,
                lately: VecDeque::new(),
                stepped_from: None,
            });
        }
        let output = match (speaks, session_from_ms) {
            (_, Some(_)) => Output::Stepped,
            (Speaks::Nobody, None) => Output::Paced,
            (Speaks::Speaker | Speaks::System, None) => Output::Speaker { device: None },
        };
        let engine = match speaks {
            #[cfg(feature = "system-voice")]
            Speaks::System => Engine::System,
            #[cfg(not(feature = "system-voice"))]
            Speaks::System => {
                return Err(VoiceError::Engine(
                    "this build has no system voice: build with `cargo build --release --features \
                     system-voice`, or leave --voice out"
                        .into(),
                ));
            }
            _ => Engine::BuiltIn(FliteVoice::default()),
        };
        let voice = Voice::start(Config {
            engine,
            output,
            record: replies,
            tap,
            epoch,
            ..Config::default()
        })?;
        Ok(Mouth {
            voice: Some(voice),
            lately: VecDeque::new(),
            stepped_from: session_from_ms,
        })
    }

    pub fn say(&mut self, now_ms: i64, utterance: &Utterance) {
        if self.lately.len() == LATELY {
            self.lately.pop_front();
        }
        self.lately.push_back(utterance.text.clone());
        if let Some(voice) = &self.voice {
            self.step_to(now_ms);
            voice.say(utterance.clone());
        }
    }

    /// Cuts what sounds now; a danger is said to its end.
    pub fn hush(&self) {
        if let Some(voice) = &self.voice {
            voice.quiet_now();
        }
    }

    /// What may still be in the room.
    pub fn said_lately(&self) -> impl Iterator<Item = &str> {
        self.lately.iter().map(String::as_str)
    }

    /// The cook has spoken over it: nobody talks on against that.
    pub fn give_way(&self) {
        if let Some(voice) = self.voice.as_ref().filter(|v| v.is_speaking())
            && self.stepped_from.is_none()
        {
            voice.quiet_now();
        }
    }

    pub fn silence(&self, on: bool) {
        if let Some(voice) = &self.voice {
            voice.set_silenced(on);
        }
    }

    /// Steps up or down from the voice's own volume and speed.
    pub fn set(&self, volume: i8, speed: i8) {
        if let Some(voice) = &self.voice {
            voice.set_volume(VOLUME_STEP.powi(volume.into()));
            voice.set_speed(SPEED_STEP.powi(speed.into()));
        }
    }

    /// What the voice reports, for the ear that must not hear it.
    pub fn events(&self) -> Option<Receiver<VoiceEvent>> {
        self.voice.as_ref().map(|voice| voice.events().clone())
    }

    /// Says what is left to say and puts the WAV file right.
    pub fn close(self, now_ms: i64) {
        self.step_to(now_ms);
        if let Some(voice) = self.voice {
            voice.close(LAST_WORDS);
        }
    }

    fn step_to(&self, now_ms: i64) {
        if let (Some(voice), Some(from)) = (&self.voice, self.stepped_from) {
            voice.advance_to((now_ms - from) as f64 / 1000.0);
        }
    }
}
