//! The loop's hold on the voice: in real time it just speaks; on a session's time line
//! it is moved along, so that the replies lie in the WAV where they would have sounded.

use std::collections::{HashSet, VecDeque};
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

/// A call over our own voice must be this sure, unless cooks cut in with it. On
/// machines so busy that the canceller came too late, "flip in four minutes" was heard as
/// "add four minutes" with 0.59 and "end it anyway" as "eight" with 0.73; of the calls that
/// a cook made over us the surer half lay above this.
const SURE_OVER_US: f32 = 0.8;

pub struct Mouth {
    voice: Option<Voice>,
    /// The words of what was said last.
    lately: VecDeque<HashSet<String>>,
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
        self.lately.push_back(words_of(&utterance.text).collect());
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

    /// Whether what was heard over our own voice may be what is left of it: all of its words
    /// are among those of something said lately, or it is not [`SURE_OVER_US`] and nothing that
    /// cooks cut in with.
    pub fn may_have_said(&self, heard: &str, confidence: f32, cuts_in: bool) -> bool {
        let ours = |said: &HashSet<String>| words_of(heard).all(|word| said.contains(&word));
        (!cuts_in && confidence < SURE_OVER_US) || self.lately.iter().any(ours)
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

fn words_of(text: &str) -> impl Iterator<Item = String> {
    text.split(|c: char| !c.is_alphanumeric() && c != '\'')
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_left_of_our_own_words_is_no_call() {
        let mut mouth = Mouth::open(&Speaks::Nobody, None, None, None, std::time::Instant::now())
            .expect("nobody speaks");
        let said = "In, right skillet. Flip in four minutes.";
        mouth.say(0, &Utterance::new(said, crate::voice::Urgency::Reply));
        for (heard, confidence, cuts_in, ours) in [
            ("four minutes", 0.99, false, true),
            ("add four minutes", 0.59, false, true),
            ("eight", 0.73, false, true),
            ("add two minutes", 0.59, false, true),
            // The cook cuts in with words that we have just used.
            ("right skillet flipped", 0.95, false, false),
            ("add two minutes", 0.85, false, false),
            ("quiet", 0.55, true, false),
        ] {
            assert_eq!(
                mouth.may_have_said(heard, confidence, cuts_in),
                ours,
                "{heard}"
            );
        }
    }
}
