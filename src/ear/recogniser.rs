//! What every recogniser can do that is given utterances.

use crate::grammar::Grammar;

/// One reading of an utterance.
#[derive(Debug, Clone, PartialEq)]
pub struct Hypothesis {
    /// Words separated by single spaces; empty for "this was not for us".
    pub words: String,
    /// Probability from 0 to 1 that this is what was said.
    pub confidence: f32,
}

/// Speech at 16 kHz mono → words of a grammar.
///
/// An utterance is `start`, any number of `feed`s, `finish`. Between utterances the
/// grammar may be changed; during one it may not.
pub trait Recogniser: Send {
    /// A short name for messages and for `--engine`.
    fn name(&self) -> &'static str;

    /// From the next utterance on, what may be said. Answers the words that this
    /// recogniser cannot hear (their sentences are left out), best an empty list.
    ///
    /// # Errors
    /// Nothing of the grammar can be heard, or the engine failed; the old grammar is
    /// gone then.
    fn set_grammar(&mut self, grammar: &Grammar) -> Result<Vec<String>, String>;

    /// Begins an utterance; one that is still open is forgotten.
    fn start(&mut self) -> Result<(), String>;

    /// More of the utterance, in pieces of any size.
    fn feed(&mut self, samples: &[i16]) -> Result<(), String>;

    /// Best words so far, which later sound may still change.
    fn partial(&mut self) -> Option<String>;

    /// Ends the utterance. Best first; a rejection is a [`Hypothesis`] without words.
    /// An empty list means that nothing was heard at all.
    fn finish(&mut self) -> Result<Vec<Hypothesis>, String>;
}
