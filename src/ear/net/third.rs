//! The third opinion: a small speech-to-text model, asked which of a few sentences was said.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use serde::Deserialize;
use tract_onnx::prelude::tract_ndarray::ArrayView2;
use tract_onnx::prelude::{Tensor, TractResult, TypedRunnableModel, tvec};
use tract_onnx::tract_hir::internal::*;

use super::acoustic::give_back;
use super::eight_bit::EightBit;
use super::mel::{BANDS, log_mel};
use super::second::{HOP, places};
use super::tokens::{Tokens, Tree};
use super::unread;

/// Samples of nothing after the sound: the model was trained on sound that ends in it.
const AFTER: usize = 8_000;
/// Tells one token nothing of another.
const HIDDEN: f32 = -1e9;

/// `models/third.json`.
#[derive(Debug, Deserialize)]
struct Card {
    width: usize,
    /// States of the longest sound, and tokens of the longest sentence.
    longest: usize,
    deepest: usize,
    tokens: Vec<String>,
}

/// The files of the model.
pub struct Files {
    /// Hears.
    pub third: &'static [u8],
    /// Reads a sentence beside what was heard.
    pub reader: &'static [u8],
    /// A column for each token, and the places.
    pub words: &'static [u8],
    pub card: &'static str,
}

/// So many sentences are remembered with what is expected of them: a plan's calls come again.
const REMEMBERED: usize = 4_096;

/// Of one sentence.
#[derive(Debug, Clone, Copy, Default, PartialEq, serde::Serialize)]
pub struct Told {
    /// Log likelihood after the sound, natural.
    pub heard: f32,
    /// The same after nothing: the model's taste for what people say is no evidence of what
    /// a cook said.
    pub expected: f32,
}

impl Told {
    /// How much likelier the sentence is with the sound than without any.
    pub fn gain(&self) -> f32 {
        self.heard - self.expected
    }
}

/// Clones share the weights.
#[derive(Clone)]
pub struct ThirdOpinion(Arc<Model>);

struct Model {
    third: Arc<TypedRunnableModel>,
    reader: Arc<TypedRunnableModel>,
    numbers: &'static [u8],
    steps: Vec<f32>,
    places: Vec<f32>,
    logits: EightBit,
    tokens: Tokens,
    width: usize,
    known: usize,
    longest: usize,
    deepest: usize,
    /// What it hears where nobody speaks, and makes of sentences then.
    nobody: Tensor,
    expected: Mutex<HashMap<String, f32>>,
}

impl ThirdOpinion {
    /// # Errors
    /// What in the files cannot be used.
    pub fn load(files: &Files) -> Result<Self, String> {
        let card: Card = serde_json::from_str(files.card)
            .map_err(|e| format!("the third network's card: {e}"))?;
        let model = Model::new(files, card).map_err(|e| format!("the third network: {e:#}"))?;
        give_back();
        Ok(Self(Arc::new(model)))
    }

    /// What it makes of each sentence, of 16 kHz samples.
    ///
    /// # Errors
    /// The network failed, which it does not with matching files.
    pub fn of(&self, samples: &[i16], sentences: &[&str]) -> Result<Vec<Told>, String> {
        let both = || {
            let model = &*self.0;
            let heard = model.likelihoods(&model.hear(samples)?, sentences)?;
            let expected = model.expected(sentences)?;
            let both = heard.into_iter().zip(expected);
            TractResult::Ok(both.map(|(heard, expected)| Told { heard, expected }))
        };
        Ok(both().map_err(|e| format!("{e:#}"))?.collect())
    }
}

impl Model {
    fn new(files: &Files, card: Card) -> TractResult<Self> {
        let (width, known) = (card.width, card.tokens.len());
        // After the tokens two that tell the model what to do.
        let columns = known + 2;
        let (numbers, floats) = (files.words)
            .split_at_checked(width * columns)
            .context("the tokens are cut off")?;
        let floats = floats.as_chunks().0.iter();
        let mut floats = floats.map(|b| f32::from_le_bytes(*b));
        let steps: Vec<f32> = floats.by_ref().take(columns).collect();
        let places: Vec<f32> = floats.collect();
        ensure!(places.len() == card.deepest * width, "places are missing");
        let mut model = Self {
            third: third(files.third, width)?,
            reader: reader(files.reader, width)?,
            logits: EightBit::new(numbers, width, Tensor::from_shape(&[1, columns], &steps)?)?,
            numbers,
            steps,
            places,
            tokens: Tokens::new(&card.tokens),
            width,
            known,
            longest: card.longest * HOP - AFTER,
            deepest: card.deepest,
            nobody: Tensor::default(),
            expected: Mutex::default(),
        };
        model.nobody = model.hear(&room(32_000))?;
        Ok(model)
    }

    /// What is heard in 16 kHz samples; of too many, in the last.
    fn hear(&self, samples: &[i16]) -> TractResult<Tensor> {
        let from = samples.len().saturating_sub(self.longest);
        let heard = samples.get(from..).unwrap_or_default();
        let mut sound = [heard, &[0; AFTER]].concat();
        let states = sound.len() / HOP;
        sound.truncate(states * HOP);
        let feats = Tensor::from_shape(&[1, BANDS, 2 * states], &log_mel(&sound))?;
        let places = Tensor::from_shape(&[1, states, self.width], &places(states, self.width))?;
        let out = self.third.run(tvec!(feats.into(), places.into()))?;
        Ok(out.into_iter().next().context("no states")?.into_tensor())
    }

    /// Log likelihood of each sentence where nobody speaks.
    fn expected(&self, sentences: &[&str]) -> TractResult<Vec<f32>> {
        let mut known = self.expected.lock().unwrap_or_else(PoisonError::into_inner);
        if known.len() > REMEMBERED {
            known.clear();
        }
        let new = sentences.iter().filter(|&&s| !known.contains_key(s));
        let new: Vec<&str> = new.copied().collect();
        if !new.is_empty() {
            let likelihoods = self.likelihoods(&self.nobody, &new)?;
            known.extend(new.iter().map(|&s| s.to_owned()).zip(likelihoods));
        }
        let expected = sentences.iter().map(|&s| known.get(s).copied());
        Ok(expected.map(Option::unwrap_or_default).collect())
    }

    /// Log likelihood of each sentence.
    fn likelihoods(&self, states: &Tensor, sentences: &[&str]) -> TractResult<Vec<f32>> {
        let tokens = sentences.iter().map(|sentence| {
            let mut tokens = self.tokens.of(sentence);
            tokens.truncate(self.deepest - 2);
            tokens
        });
        let told = [self.known as u32, self.known as u32 + 1];
        let tree = Tree::new(&told, &tokens.collect::<Vec<_>>());
        let (nodes, width) = (tree.nodes.len(), self.width);
        let mut words = Vec::with_capacity(nodes * width);
        for node in &tree.nodes {
            let place = self.places.iter().skip(node.depth * width);
            words.extend(
                self.word(node.token as usize)
                    .zip(place)
                    .map(|(w, p)| w + p),
            );
        }
        let words = Tensor::from_shape(&[1, nodes, width], &words)?;
        let mask = Tensor::from_shape(&[1, 1, nodes, nodes], &tree.mask(HIDDEN))?;
        let given = tvec!(states.clone().into(), words.into(), mask.into());
        let out = self.reader.run(given)?;
        let out = out.first().context("no answer")?;
        let out = out.to_plain_array_view::<f32>()?;
        let out = out.into_shape_with_order((nodes, width))?;
        self.sums(out, &tree)
    }

    fn sums(&self, out: ArrayView2<f32>, tree: &Tree) -> TractResult<Vec<f32>> {
        let logits = self.logits.product(out)?;
        let all: Vec<f32> = (logits.outer_iter())
            .map(|row| {
                let row = row.iter().take(self.known);
                let most = row.clone().copied().fold(f32::NEG_INFINITY, f32::max);
                most + row.map(|l| (l - most).exp()).sum::<f32>().ln()
            })
            .collect();
        let one = |&(node, token): &(usize, u32)| {
            let logit = logits.get((node, token as usize)).copied();
            logit.zip(all.get(node)).map_or(0.0, |(l, all)| l - all)
        };
        let sentences = tree.sentences.iter();
        Ok(sentences.map(|s| s.iter().map(one).sum()).collect())
    }

    /// What stands for a token inside the network.
    fn word(&self, token: usize) -> impl Iterator<Item = f32> {
        let step = self.steps.get(token).copied().unwrap_or_default();
        let column = self.numbers.iter().skip(token).step_by(self.steps.len());
        column.map(move |n| f32::from(n.cast_signed()) * step)
    }
}

fn third(file: &'static [u8], width: usize) -> TractResult<Arc<TypedRunnableModel>> {
    let model = unread::read(file)?;
    let t = model.symbols.sym("T");
    let feats = f32::fact([1.to_dim(), BANDS.to_dim(), t.to_dim() * 2]);
    let places = f32::fact([1.to_dim(), t.to_dim(), width.to_dim()]);
    model
        .with_input_names(["feats", "places"])?
        .with_input_fact(0, feats.into())?
        .with_input_fact(1, places.into())?
        .with_outputs_by_name(["states"])?
        .into_optimized()?
        .into_runnable()
}

fn reader(file: &'static [u8], width: usize) -> TractResult<Arc<TypedRunnableModel>> {
    let model = unread::read(file)?;
    let (t, l) = (model.symbols.sym("T"), model.symbols.sym("L"));
    let states = f32::fact([1.to_dim(), t.to_dim(), width.to_dim()]);
    let words = f32::fact([1.to_dim(), l.to_dim(), width.to_dim()]);
    let mask = f32::fact([1.to_dim(), 1.to_dim(), l.to_dim(), l.to_dim()]);
    model
        .with_input_names(["states", "words", "mask"])?
        .with_input_fact(0, states.into())?
        .with_input_fact(1, words.into())?
        .with_input_fact(2, mask.into())?
        .with_outputs_by_name(["out"])?
        .into_optimized()?
        .into_runnable()
}

/// A quiet room: faint noise (a linear congruence, Numerical Recipes, from memory).
fn room(samples: usize) -> Vec<i16> {
    let mut dice = 1_u32;
    let faint = |_| {
        dice = dice.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (dice >> 16) as i16 / 2_048
    };
    (0..samples).map(faint).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ear::hob::{THIRD, english};
    use crate::ear::net::check::{bytes, samples};

    #[derive(serde::Deserialize)]
    struct Check {
        pcm_i16le: String,
        sentences: Vec<String>,
        likelihoods: Vec<f32>,
        tokens: Vec<Vec<u32>>,
    }

    fn check() -> Check {
        serde_json::from_str(include_str!("../../../models/third-check.json")).unwrap()
    }

    /// Against PyTorch in 32-bit floats on the very weights of the files, each sentence by
    /// itself: `models/third-check.json`, written by `training/export_third.py`.
    #[test]
    fn the_embedded_model_answers_as_the_one_it_was_made_from() {
        let (model, check) = (english().unwrap().third, check());
        let sentences: Vec<&str> = check.sentences.iter().map(String::as_str).collect();
        for (sentence, tokens) in sentences.iter().zip(&check.tokens) {
            assert_eq!(model.0.tokens.of(sentence), *tokens, "{sentence}");
        }
        let sound = samples(&bytes(&check.pcm_i16le));
        let feats = log_mel(&sound);
        let (states, width) = (sound.len() / HOP, model.0.width);
        let feats = Tensor::from_shape(&[1, BANDS, 2 * states], &feats).unwrap();
        let places = Tensor::from_shape(&[1, states, width], &places(states, width)).unwrap();
        let out = (model.0.third.run(tvec!(feats.into(), places.into()))).unwrap();
        let states = out.into_iter().next().unwrap().into_tensor();
        let got = model.0.likelihoods(&states, &sentences).unwrap();
        assert!(got.len() >= 4);
        for (got, want) in got.iter().zip(&check.likelihoods) {
            assert!((got - want).abs() < 0.02, "{got}, made from {want}");
        }
    }

    #[test]
    fn sound_and_sentences_of_any_length_are_weighed() {
        let model = english().unwrap().third;
        let long = "reading one fifteen ".repeat(40);
        for length in [0, 100, 16_000, 400_000] {
            let sound: Vec<i16> = (0..length).map(|n| (n % 401 * 7) as i16).collect();
            let opinion = model.of(&sound, &["next", &long, ""]).unwrap();
            assert_eq!(opinion.len(), 3);
            assert!(opinion.iter().all(|o| o.gain().is_finite()));
        }
        assert!(model.of(&[], &[]).unwrap().is_empty());
    }

    #[test]
    fn files_that_do_not_fit_are_refused() {
        let cut = |from: &'static [u8]| &from[..from.len() / 2];
        for files in [
            Files {
                words: cut(THIRD.words),
                ..THIRD
            },
            Files {
                reader: cut(THIRD.reader),
                ..THIRD
            },
            Files {
                third: THIRD.reader,
                ..THIRD
            },
            Files {
                card: "{}",
                ..THIRD
            },
        ] {
            assert!(ThirdOpinion::load(&files).is_err());
        }
    }
}
