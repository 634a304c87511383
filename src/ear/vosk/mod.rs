//! Vosk as a [`Recogniser`]: for people and languages that have a model.
//!
//! With a restricted grammar Vosk forces whatever it hears onto a phrase and is sure
//! of it (1.0). Two ways out: if the model has a symbol for unknown words, that competes
//! inside the grammar; and a second decoding hears freely. Where the free hearing fits
//! the sound clearly better than the phrase, or hears nothing at all, the phrase was not
//! what was said. (The words of the two are compared only where the library tells no scores:
//! on a foreign accent, or a synthesiser, the free hearing writes other words for the same
//! sounds.)

mod answer;
mod ffi;

use std::collections::HashSet;
use std::ffi::CString;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::recogniser::{Hypothesis, Recogniser};
use super::source::RATE;
use crate::grammar::Grammar;
use answer::Answer;

pub use ffi::available;

/// Vosk's word for anything that is not of the grammar.
const UNKNOWN: &str = "[unk]";
/// Phrases given to the library at most; with more the grammar is given by word pairs.
const PHRASES: usize = 4_000;
const ALTERNATIVES: u16 = 8;
/// Difference in score (roughly a log-likelihood) that makes a sentence e times less
/// likely.
const SPREAD: f32 = 4.0;
/// Less likely to be a call than this is taken for talk.
const LEAST: f32 = 0.7;
/// Nothing is surer than this: the figures were fitted to 124 sentences.
const SUREST: f32 = 0.97;
/// Probability of a call where there are no scores and the free hearing has the same words.
const AGREED: f32 = 0.85;

pub struct Vosk {
    model: Arc<ffi::Model>,
    has_unknown: bool,
    /// The phrase list that is set, and the grammar it came from.
    grammar: Option<(CString, Grammar)>,
    open: Option<Open>,
}

/// The utterance under way: by the grammar, and freely.
struct Open {
    calls: ffi::Decoding,
    free: ffi::Decoding,
    calls_so_far: Answer,
    free_so_far: Answer,
    samples: usize,
}

impl Vosk {
    /// Opens the library and the model of a language, up to two seconds.
    ///
    /// # Errors
    /// A sentence that says what is missing and what to do.
    pub fn load(lang: &str) -> Result<Self, String> {
        Self::open(&model_dir(lang)?)
    }

    /// Opens the library and the model in a folder.
    ///
    /// # Errors
    /// As [`Vosk::load`].
    pub fn open(dir: &Path) -> Result<Self, String> {
        let model = ffi::Model::load(dir)?;
        Ok(Self {
            has_unknown: model.knows(UNKNOWN),
            model,
            grammar: None,
            open: None,
        })
    }
}

/// Where the model of a language is: `$HOBCALL_MODELS/<lang>`, else the data folder
/// `$XDG_DATA_HOME/hobcall/models/<lang>`, else what was put beside the program.
///
/// # Errors
/// Where it was looked for, and how to get one.
pub fn model_dir(lang: &str) -> Result<PathBuf, String> {
    let is_model =
        |dir: &PathBuf| dir.join("am/final.mdl").is_file() || dir.join("final.mdl").is_file();
    let own = models_dir().join(lang);
    [
        Some(own.clone()),
        beside_us(&format!("vendor/vosk-model-{lang}")),
    ]
    .into_iter()
    .flatten()
    .find(is_model)
    .ok_or_else(|| {
        let how = if lang == "en" {
            "run `hobcall doctor --fetch-model`, or put one there"
        } else {
            "put one there"
        };
        format!(
            "there is no Vosk model for the language {lang:?} in {}; {how}",
            own.display()
        )
    })
}

/// The folder that holds a model for each language.
pub fn models_dir() -> PathBuf {
    if let Some(dir) = std::env::var_os("HOBCALL_MODELS") {
        return dir.into();
    }
    let home = |name| {
        std::env::var_os(name)
            .filter(|v| !v.is_empty())
            .map(PathBuf::from)
    };
    home("XDG_DATA_HOME")
        .or_else(|| home("HOME").map(|h| h.join(".local/share")))
        .unwrap_or_else(|| PathBuf::from("."))
        .join("hobcall/models")
}

/// A folder of the source tree that this program was built in, if it runs from there.
fn beside_us(inside: &str) -> Option<PathBuf> {
    let program = std::env::current_exe().ok()?;
    program
        .ancestors()
        .skip(1)
        .take(5)
        .map(|dir| dir.join(inside))
        .find(|dir| dir.is_dir())
}

/// The JSON list of phrases. The library reads phrases unescaped: a quotation mark
/// inside one, or an empty list, crashes it.
fn phrase_list(phrases: &[String]) -> Result<CString, String> {
    let safe = |p: &&String| {
        !p.trim().is_empty() && !p.contains(['"', '\\']) && !p.chars().any(char::is_control)
    };
    let phrases: Vec<&String> = phrases.iter().filter(safe).collect();
    if phrases.iter().all(|p| p.as_str() == UNKNOWN) {
        return Err("no sentence of the grammar can be heard with this model".to_owned());
    }
    let list = serde_json::to_string(&phrases).map_err(|e| e.to_string())?;
    CString::new(list).map_err(|e| e.to_string())
}

impl Recogniser for Vosk {
    fn name(&self) -> &'static str {
        "vosk"
    }

    fn set_grammar(&mut self, grammar: &Grammar) -> Result<Vec<String>, String> {
        self.grammar = None;
        self.open = None;
        let unheard: Vec<String> = grammar
            .vocabulary()
            .into_iter()
            .filter(|w| !self.model.knows(w))
            .map(str::to_owned)
            .collect();
        let mut phrases = grammar.phrases(PHRASES).map_err(|e| e.to_string())?;
        if !unheard.is_empty() {
            let unheard: HashSet<&str> = unheard.iter().map(String::as_str).collect();
            phrases.retain(|p| !p.split(' ').any(|w| unheard.contains(w)));
        }
        if self.has_unknown {
            phrases.push(UNKNOWN.to_owned());
        }
        self.grammar = Some((phrase_list(&phrases)?, grammar.clone()));
        Ok(unheard)
    }

    fn start(&mut self) -> Result<(), String> {
        let Some((list, _)) = &self.grammar else {
            return Err("no grammar is set".to_owned());
        };
        self.open = Some(Open {
            calls: ffi::Decoding::start(&self.model, Some(list), ALTERNATIVES)?,
            // One alternative, because only then does the library tell the score.
            free: ffi::Decoding::start(&self.model, None, 1)?,
            calls_so_far: Answer::default(),
            free_so_far: Answer::default(),
            samples: 0,
        });
        Ok(())
    }

    fn feed(&mut self, samples: &[i16]) -> Result<(), String> {
        let Some(open) = &mut self.open else {
            return Ok(());
        };
        open.samples += samples.len();
        for (decoding, so_far) in [
            (&mut open.calls, &mut open.calls_so_far),
            (&mut open.free, &mut open.free_so_far),
        ] {
            if let Some(json) = decoding.feed(samples)? {
                *so_far = std::mem::take(so_far).then(Answer::read(&json));
            }
        }
        Ok(())
    }

    fn partial(&mut self) -> Option<String> {
        let open = self.open.as_mut()?;
        let now = Answer::read(&open.calls.partial());
        let all = open.calls_so_far.clone().then(now);
        Some(all.best().to_owned()).filter(|w| !w.is_empty())
    }

    fn finish(&mut self) -> Result<Vec<Hypothesis>, String> {
        let (Some(open), Some((_, grammar))) = (self.open.take(), &self.grammar) else {
            return Ok(Vec::new());
        };
        let heard = open.calls_so_far.then(Answer::read(&open.calls.finish()));
        if heard.found.is_empty() {
            return Ok(Vec::new());
        }
        let call = if heard.best().contains(UNKNOWN) {
            0.0
        } else {
            let free = open.free_so_far.then(Answer::read(&open.free.finish()));
            probability(&heard, &free, open.samples)
        };
        Ok(judge(heard, call, grammar))
    }
}

/// Shares the probability `call` that it was a call at all among the whole sentences
/// heard; a rejection comes first where it was not.
fn judge(heard: Answer, call: f32, grammar: &Grammar) -> Vec<Hypothesis> {
    let best = heard.best().to_owned();
    let found: Vec<(String, f32)> = heard
        .found
        .into_iter()
        .filter(|(words, _)| grammar.accepts(words))
        .collect();
    let top = found.iter().map(|(_, s)| *s).fold(f32::MIN, f32::max);
    let weight = |score: f32| ((score - top) / SPREAD).exp();
    let sum: f32 = found.iter().map(|(_, s)| weight(*s)).sum();
    let rejected = call < LEAST || found.first().is_none_or(|(words, _)| *words != best);
    let mut out: Vec<Hypothesis> = found
        .into_iter()
        .map(|(words, score)| Hypothesis {
            words,
            confidence: call * weight(score) / sum,
        })
        .collect();
    if rejected {
        out.insert(
            0,
            Hypothesis {
                words: String::new(),
                confidence: 1.0 - call,
            },
        );
    }
    out
}

/// Probability from 0 to 1 that a call was said: the free hearing has a say whether the
/// model has a symbol for other words or not. Where it hears nothing the phrase was forced
/// onto noise; where the library tells no scores it must have the same words.
fn probability(heard: &Answer, free: &Answer, samples: usize) -> f32 {
    if free.found.is_empty() {
        return 0.0;
    }
    if heard.scored && free.scored {
        return is_a_call(free.score() - heard.score(), samples).min(SUREST);
    }
    let words =
        |answer: &Answer| -> Vec<String> { answer.best().split(' ').map(str::to_owned).collect() };
    let (ours, theirs) = (words(heard), words(free));
    let apart = strsim::generic_levenshtein(&ours, &theirs) as f32;
    AGREED * (1.0 - 2.0 * apart / ours.len() as f32).max(0.0)
}

/// Probability from 0 to 1 that a call was said, by how much better (in log-likelihood)
/// the free hearing fits: a logistic function of that difference for each 10 ms, fitted
/// to 76 calls and 48 other sentences of four synthetic Korean voices.
fn is_a_call(better: f32, samples: usize) -> f32 {
    let frames = (samples as f32 / (RATE as f32 / 100.0)).max(1.0);
    let x = 3.2 - 40.0 * better / frames;
    1.0 / (1.0 + (-x).exp())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_that_would_crash_the_library_are_never_made() {
        assert!(phrase_list(&[]).is_err());
        assert!(phrase_list(&["[unk]".into()]).is_err());
        assert!(phrase_list(&["\"".into(), " ".into(), "a\nb".into(), "\\".into()]).is_err());
        let list = phrase_list(&["left".into(), "say \"no\"".into(), UNKNOWN.into()]).unwrap();
        assert_eq!(list.to_str().unwrap(), r#"["left","[unk]"]"#);
    }

    #[test]
    fn a_free_hearing_that_fits_better_speaks_against_a_call() {
        let second = RATE as usize;
        assert!(is_a_call(-2.0, second) > 0.95);
        assert!(is_a_call(2.0, second) > LEAST);
        assert!(is_a_call(15.0, second) < 0.1);
        assert!(is_a_call(0.0, 0).is_finite());
    }

    fn answer(found: &[(&str, f32)]) -> Answer {
        Answer {
            found: found.iter().map(|&(w, s)| (w.to_owned(), s)).collect(),
            scored: true,
        }
    }

    #[test]
    fn nothing_is_believed_on_the_phrase_alone() {
        let second = RATE as usize;
        let heard = answer(&[("left right", 200.0)]);
        // However well it fits, and whatever the library is sure of.
        let sure = probability(&heard, &answer(&[("lift ride", -900.0)]), second);
        assert!((LEAST..=SUREST).contains(&sure), "{sure}");
        assert_eq!(probability(&heard, &Answer::default(), second), 0.0);
        // Without scores, its bare 1.0, the words decide.
        let bare = |text: &str| Answer::read(&format!(r#"{{"text": "{text}"}}"#));
        let same = probability(&bare("left right"), &bare("left right"), second);
        assert!((LEAST..=SUREST).contains(&same), "{same}");
        for other in ["left", "light", "let us write to them", "right left"] {
            let p = probability(&bare("left right"), &bare(other), second);
            assert!(p < LEAST, "{other}: {p}");
        }
    }

    #[test]
    fn alternatives_share_what_is_sure_and_unfinished_ones_are_left_out() {
        let grammar = Grammar::from_jsgf(
            "#JSGF V1.0;\ngrammar t;\npublic <a> = left | left right;",
            "t.jsgf",
        )
        .unwrap();
        let heard = answer(&[
            ("left", 200.0),
            ("left right", 200.0 - SPREAD),
            ("right", 190.0),
        ]);
        let out = judge(heard.clone(), 0.9, &grammar);
        let words: Vec<&str> = out.iter().map(|h| h.words.as_str()).collect();
        assert_eq!(words, ["left", "left right"]);
        // Shares of e to 1 of 0.9.
        let e = std::f32::consts::E;
        assert!((out[0].confidence - 0.9 * e / (1.0 + e)).abs() < 1e-5);
        assert!((out[0].confidence + out[1].confidence - 0.9).abs() < 1e-5);
        assert_eq!(judge(heard, 0.2, &grammar)[0].words, "");
        let unfinished = answer(&[("right", 9.0), ("left", 8.0)]);
        assert_eq!(judge(unfinished, 1.0, &grammar)[0].words, "");
    }
}
