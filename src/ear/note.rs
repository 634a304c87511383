//! A spoken note: the sound of what the cook says after "note", kept as it was, and not
//! taken for calls meanwhile. There is no free dictation offline that is worth keeping;
//! a recording is.

use super::activity::{ActivityMeter, Earshot, FRAME, FRAME_S};
use super::listening::Listening;
use super::{EarEvent, source::RATE};
use crate::grammar::Grammar;
use crate::plan::Pronounced;

/// Our own "Go ahead" and the breath after it are no part of the note. (Seconds, here
/// and below; our own choices.)
const LEAD_IN: f64 = 1.2;
/// So much speech makes a note; less is a clink.
const LEAST: f64 = 0.4;
/// A pause this long ends it: longer than between two sentences.
const PAUSE: f64 = 1.6;
/// Nobody speaks for so long: there is no note.
const PATIENCE: f64 = 8.0;
const MOST: f64 = 30.0;

/// An ear that can take a note: while it does, what is behind it hears silence.
pub struct NoteTaker {
    ear: Box<dyn Listening>,
    taking: Option<Taking>,
    silence: Vec<i16>,
}

struct Taking {
    meter: ActivityMeter,
    sound: Vec<i16>,
    /// Samples of `sound` that the detector has seen.
    seen: usize,
    speech: f64,
    quiet: f64,
}

impl NoteTaker {
    pub fn new(ear: Box<dyn Listening>) -> Self {
        Self {
            ear,
            taking: None,
            silence: Vec::new(),
        }
    }
}

impl Taking {
    /// Whether the note is over.
    fn take(&mut self, samples: &[i16]) -> bool {
        self.sound.extend_from_slice(samples);
        while let Some(frame) = self
            .sound
            .get(self.seen..)
            .and_then(|s| s.first_chunk::<FRAME>())
        {
            let now = self.meter.push(frame);
            self.seen += FRAME;
            if (self.seen as f64) < LEAD_IN * f64::from(RATE) {
                continue;
            }
            if now.is_speech(self.quiet == 0.0 && self.speech > 0.0) {
                self.speech += FRAME_S;
                self.quiet = 0.0;
            } else {
                self.quiet += FRAME_S;
            }
        }
        let took = self.seen as f64 / f64::from(RATE);
        let spoken = self.speech >= LEAST;
        took >= MOST || (spoken && self.quiet >= PAUSE) || (!spoken && took >= PATIENCE)
    }

    fn note(self, at: f64) -> EarEvent {
        EarEvent::Note {
            at,
            samples: if self.speech >= LEAST {
                self.sound
            } else {
                Vec::new()
            },
        }
    }
}

impl Listening for NoteTaker {
    fn engine(&self) -> &'static str {
        self.ear.engine()
    }

    fn position(&self) -> f64 {
        self.ear.position()
    }

    fn pronounce(&mut self, said: &[Pronounced]) -> Result<(), String> {
        self.ear.pronounce(said)
    }

    fn set_grammar(&mut self, grammar: Grammar) -> Result<Vec<String>, String> {
        self.ear.set_grammar(grammar)
    }

    fn feed(&mut self, samples: &[i16], deaf: bool, on: &mut dyn FnMut(EarEvent)) {
        let Some(taking) = &mut self.taking else {
            return self.ear.feed(samples, deaf, on);
        };
        // Its line of time goes on.
        self.silence.resize(samples.len(), 0);
        self.ear.feed(&self.silence, deaf, on);
        if !deaf
            && taking.take(samples)
            && let Some(taking) = self.taking.take()
        {
            on(taking.note(self.ear.position()));
        }
    }

    fn our_voice_until(&mut self, at: f64) {
        self.ear.our_voice_until(at);
    }

    fn said_in(&mut self, words: &str, sound: &[i16]) -> Option<f32> {
        self.ear.said_in(words, sound)
    }

    fn end(&mut self, on: &mut dyn FnMut(EarEvent)) {
        if let Some(taking) = self.taking.take() {
            on(taking.note(self.ear.position()));
        }
        self.ear.end(on);
    }

    fn reset(&mut self, on: &mut dyn FnMut(EarEvent)) {
        if let Some(taking) = self.taking.take() {
            on(taking.note(self.ear.position()));
        }
        self.ear.reset(on);
    }

    fn take_note(&mut self) {
        self.taking = Some(Taking {
            meter: ActivityMeter::new(Box::new(Earshot::default())),
            sound: Vec::new(),
            seen: 0,
            speech: 0.0,
            quiet: 0.0,
        });
    }
}
