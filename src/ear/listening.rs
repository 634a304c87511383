//! What every ear does, whichever recogniser is behind it.

use super::EarEvent;
use crate::grammar::Grammar;
use crate::plan::Pronounced;

/// Samples in, events out; no thread and no clock of its own, so that a file is heard
/// exactly as a microphone is.
pub trait Listening: Send {
    /// Name of the recogniser.
    fn engine(&self) -> &'static str;

    /// Seconds of sound taken so far.
    fn position(&self) -> f64;

    /// How words of the plan are said; counts from the next grammar on. An ear with a
    /// dictionary of its own goes by that.
    ///
    /// # Errors
    /// A word that cannot be said so.
    fn pronounce(&mut self, _said: &[Pronounced]) -> Result<(), String> {
        Ok(())
    }

    /// What may be said from the next utterance on. Answers the words that cannot be
    /// heard; sentences with them are left out.
    ///
    /// # Errors
    /// Nothing of the grammar can be heard.
    fn set_grammar(&mut self, grammar: Grammar) -> Result<Vec<String>, String>;

    /// Takes samples at 16 kHz; `deaf` while we are speaking ourselves.
    fn feed(&mut self, samples: &[i16], deaf: bool, on: &mut dyn FnMut(EarEvent));

    /// From now on what is said is kept as a note and not heard as a call, up to a pause;
    /// then [`EarEvent::Note`] comes. An ear that cannot does nothing.
    fn take_note(&mut self) {}

    /// Our own voice sounds up to `at`, a time on [`Listening::position`]'s line, and was taken
    /// out of what is fed, but for what is left of it.
    fn our_voice_until(&mut self, at: f64);

    /// The share of the sounds of `words`, the call heard last, or of what was heard in their
    /// place, from 0 to 1, that are heard in `sound` in their order. Nothing where the
    /// recogniser does not know how words sound.
    fn said_in(&mut self, _words: &str, _sound: &[i16]) -> Option<f32> {
        None
    }

    /// The stream is over: decides what is under way.
    fn end(&mut self, on: &mut dyn FnMut(EarEvent));

    /// The sound breaks off and another stream follows.
    fn reset(&mut self, on: &mut dyn FnMut(EarEvent));
}
