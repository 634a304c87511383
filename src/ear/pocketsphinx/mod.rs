//! PocketSphinx as a [`Recogniser`]: the embedded default for English.
//!
//! While speech comes in, a decoder follows it for partial words. At a pause the whole
//! utterance is decoded again, with the cepstral mean taken over all of it: a live mean
//! begins with a guess and remembers the last speaker, so that the same words would be
//! heard differently each time.
//!
//! The grammar's search forces whatever it hears onto a sentence and offers no
//! confidence. So a second decoder hears bare phones; how well the sounds of the
//! sentence agree with them tells a call from talk (see [`evidence`]).

mod evidence;
mod ffi;
mod fsg;

use std::collections::HashMap;

use super::recogniser::{Hypothesis, Recogniser};
use super::spelling;
use crate::grammar::Grammar;

pub use evidence::Evidence;
pub use ffi::{available, model_dir};

/// The live decoder takes steps of this many samples; it hears a little differently with
/// others.
const LIVE_PIECE: usize = 1_600;
/// Alternatives asked of the decoder; half of them are no whole sentences.
const N_BEST: usize = 10;
/// Less likely to be a call than this is taken for talk.
const LEAST: f32 = 0.5;
/// Difference of path scores, in the decoder's units, that makes a sentence e times less
/// likely: wrong teens and tens win by up to 200.
const SPREAD: f32 = 90.0;

pub struct PocketSphinx {
    calls: ffi::Decoder,
    phones: ffi::Decoder,
    /// The grammar's spelling of each word in the decoder's dictionary.
    spelled: HashMap<String, String>,
    grammar: Option<Grammar>,
    /// The utterance so far.
    sound: Vec<i16>,
    /// The live decoder has been fed up to here; behind `sound` after a pause.
    live: Option<usize>,
    /// What the whole sound was found to be.
    decided: Option<Vec<Hypothesis>>,
}

impl PocketSphinx {
    /// Loads the library and its English model, about 0.15 s.
    ///
    /// # Errors
    /// A sentence that says what is missing and what to install.
    pub fn load() -> Result<Self, String> {
        let dir = ffi::model_dir()?;
        let hmm = dir.join("en-us");
        let dict = dir.join("cmudict-en-us.dict");
        let (hmm, dict) = (hmm.to_string_lossy(), dict.to_string_lossy());
        let calls = ffi::Decoder::new(&[("-hmm", &hmm), ("-dict", &dict), ("-samprate", "16000")])?;
        let mut phones = ffi::Decoder::new(&[
            ("-hmm", &hmm),
            ("-samprate", "16000"),
            ("-allphone_ci", "yes"),
        ])?;
        phones.set_phone_loop("phones", &dir.join("en-us-phone.lm.bin"))?;
        Ok(Self {
            calls,
            phones,
            spelled: HashMap::new(),
            grammar: None,
            sound: Vec::new(),
            live: None,
            decided: None,
        })
    }

    /// The dictionary's name of a word, added by its spelling if it is not there.
    fn name_of(&mut self, word: &str) -> Result<String, String> {
        let name = word.to_lowercase();
        if self.calls.phones(&name).is_none() {
            let phones = spelling::phones(&name)?;
            self.calls.add_word(&name, &phones)?;
        }
        Ok(name)
    }

    /// Words of the decoder as the grammar spells them.
    fn as_spelled(&self, words: &str) -> String {
        let words: Vec<&str> = words
            .split_whitespace()
            .map(|w| self.spelled.get(w).map_or(w, String::as_str))
            .collect();
        words.join(" ")
    }

    /// Sounds of the best sentence against the phones heard.
    fn evidence(&mut self) -> Evidence {
        let mut wanted = Vec::new();
        let segments = self.calls.segments();
        for s in &segments {
            if let Some(phones) = self.calls.phones(&s.word)
                && !is_filler(&s.word)
            {
                wanted.extend(phones.split_whitespace().map(str::to_owned));
            }
        }
        let heard = self.phones.segments();
        Evidence::weigh(&wanted, &segments, &heard)
    }
}

fn is_filler(word: &str) -> bool {
    word.starts_with(['<', '[', '+', '(']) || word == "SIL"
}

impl Recogniser for PocketSphinx {
    fn name(&self) -> &'static str {
        "pocketsphinx"
    }

    fn set_grammar(&mut self, grammar: &Grammar) -> Result<Vec<String>, String> {
        self.grammar = None;
        self.spelled.clear();
        let mut names = HashMap::new();
        let mut unheard = Vec::new();
        let mut why = String::new();
        let graph = grammar.acceptor();
        for word in graph.words() {
            match self.name_of(word) {
                Ok(name) => {
                    self.spelled.insert(name.clone(), word.clone());
                    names.insert(word.clone(), name);
                }
                Err(e) => {
                    unheard.push(word.clone());
                    why = e;
                }
            }
        }
        if names.is_empty() {
            return Err(format!("no word of the grammar can be heard: {why}"));
        }
        self.calls.set_network("calls", &fsg::text(graph, &names))?;
        self.grammar = Some(grammar.clone());
        Ok(unheard)
    }

    fn start(&mut self) -> Result<(), String> {
        if self.grammar.is_none() {
            return Err("no grammar is set".to_owned());
        }
        self.sound.clear();
        self.decided = None;
        self.live = Some(0);
        self.calls.start()
    }

    fn feed(&mut self, samples: &[i16]) -> Result<(), String> {
        if samples.is_empty() {
            return Ok(());
        }
        self.decided = None;
        self.sound.extend_from_slice(samples);
        let from = match self.live {
            Some(from) => from,
            None => {
                // Speech goes on after a pause: the live decoder starts over.
                self.calls.start()?;
                0
            }
        };
        self.live = Some(self.sound.len());
        let fresh = self.sound.get(from..).unwrap_or_default();
        fresh
            .chunks(LIVE_PIECE)
            .try_for_each(|piece| self.calls.feed(piece, false))
    }

    fn partial(&mut self) -> Option<String> {
        if let Some(decided) = &self.decided {
            return decided
                .iter()
                .map(|h| h.words.clone())
                .find(|w| !w.is_empty());
        }
        let (words, _) = self.calls.best()?;
        Some(self.as_spelled(&words))
    }

    fn pause(&mut self) -> Result<Option<String>, String> {
        if self.decided.is_none() {
            self.decided = Some(self.decide()?);
        }
        let (words, _) = match self.calls.best() {
            Some(best) => best,
            None => return Ok(None),
        };
        Ok(Some(self.as_spelled(&words)))
    }

    fn finish(&mut self) -> Result<Vec<Hypothesis>, String> {
        let found = match self.decided.take() {
            Some(found) => found,
            None => self.decide()?,
        };
        self.sound.clear();
        Ok(found)
    }
}

impl PocketSphinx {
    /// Decodes the whole utterance, by the grammar and by phones.
    fn decide(&mut self) -> Result<Vec<Hypothesis>, String> {
        self.live = None;
        for decoder in [&mut self.calls, &mut self.phones] {
            decoder.start()?;
            decoder.feed(&self.sound, true)?;
            decoder.close();
        }
        let Some((best, score)) = self.calls.best() else {
            return Ok(Vec::new());
        };
        let best = self.as_spelled(&best);
        // The list scores sentences by another sum than the best path: the best stays
        // first, and is not counted twice.
        let mut found = vec![(best.clone(), score)];
        for (words, score) in self.calls.n_best(N_BEST) {
            let words = self.as_spelled(&words);
            match found.first_mut() {
                Some(first) if first.0 == words => first.1 = score,
                _ => found.push((words, score)),
            }
        }
        // Unfinished paths come as if they were sentences.
        found.retain(|(words, _)| self.grammar.as_ref().is_some_and(|g| g.accepts(words)));
        let evidence = self.evidence();
        let call = evidence.is_a_call();
        let unfinished = found.first().is_none_or(|(words, _)| *words != best);
        let mut out = share(found, call);
        if unfinished || call < LEAST {
            out.insert(
                0,
                Hypothesis {
                    words: String::new(),
                    confidence: 1.0 - call,
                },
            );
        }
        Ok(out)
    }
}

/// Divides the probability that it was a call among the sentences it can have been.
fn share(found: Vec<(String, i32)>, call: f32) -> Vec<Hypothesis> {
    let top = found.iter().map(|(_, s)| *s).max().unwrap_or(0);
    let weight = |score: i32| (((score - top) as f32) / SPREAD).exp();
    let sum: f32 = found.iter().map(|(_, s)| weight(*s)).sum();
    found
        .into_iter()
        .map(|(words, score)| Hypothesis {
            words,
            confidence: call * weight(score) / sum,
        })
        .collect()
}
