//! Runs the network over a stream, piece by piece.

use std::sync::Arc;

use tract_onnx::prelude::*;

use super::card::Card;
use super::features::{BANDS, Bands, Features};

/// What the network says about 30 ms.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// Natural logarithm of each class's probability; class 0 is the blank.
    pub logp: Box<[f32]>,
    /// Probability from 0 to 1 that somebody speaks.
    pub speech: f32,
}

impl Frame {
    /// Of `classes`: nothing is said.
    pub fn silence(classes: usize) -> Self {
        let mut logp = vec![-20.0; classes];
        logp.iter_mut().take(1).for_each(|blank| *blank = 0.0);
        Self {
            logp: logp.into(),
            speech: 0.0,
        }
    }
}

/// The network with its memory of one stream. Clones share the weights.
#[derive(Clone)]
pub struct Model {
    plan: Arc<TypedRunnableModel>,
    card: Arc<Card>,
    /// Which output is which.
    logp: usize,
    speech: usize,
    caches: Vec<usize>,
}

pub struct Acoustic {
    model: Model,
    features: Features,
    /// Feature frames that do not fill a piece yet.
    waiting: Vec<Bands>,
    last: Option<Bands>,
    /// The network's memory.
    memory: Vec<Tensor>,
    /// Answers still to come that belong to before the stream began.
    early: usize,
}

impl Model {
    /// `onnx`: the network; `card`: its description in JSON.
    ///
    /// # Errors
    /// What in the two cannot be used.
    pub fn load(onnx: &[u8], card: &str) -> Result<Self, String> {
        let card = Card::read(card).map_err(|e| format!("the network's card: {e}"))?;
        Self::optimise(onnx, card).map_err(|e| format!("the network: {e:#}"))
    }

    fn optimise(onnx: &[u8], card: Card) -> TractResult<Self> {
        let mut model = tract_onnx::onnx().model_for_read(&mut &*onnx)?;
        let named = |side: &str| -> Vec<String> {
            card.caches
                .keys()
                .map(|name| format!("{side}_{name}"))
                .collect()
        };
        let mut inputs = vec!["feats".to_owned()];
        inputs.extend(named("in"));
        model = model.with_input_names(inputs)?;
        model.set_input_fact(0, f32::fact([1, card.chunk_frames, BANDS]).into())?;
        for (n, shape) in card.caches.values().enumerate() {
            model.set_input_fact(n + 1, f32::fact(shape.as_slice()).into())?;
        }
        let mut outputs = vec!["logp".to_owned(), "speech".to_owned()];
        outputs.extend(named("out"));
        model = model.with_outputs_by_name(outputs)?;
        let plan = model.into_optimized()?.into_runnable()?;
        give_back();
        Ok(Self {
            plan,
            logp: 0,
            speech: 1,
            caches: (0..card.caches.len()).map(|n| n + 2).collect(),
            card: Arc::new(card),
        })
    }

    pub fn card(&self) -> &Card {
        &self.card
    }
}

/// What reading the network left over: the allocator would keep 40 MB of it, more than the
/// network itself takes.
pub(super) fn give_back() {
    #[cfg(all(target_os = "linux", target_env = "gnu"))]
    // SAFETY: it takes no pointer, and glibc allows it in any thread at any time.
    unsafe {
        libc::malloc_trim(0);
    }
}

impl Acoustic {
    pub fn new(model: Model) -> Self {
        let card = model.card();
        let of = |v: &[f32]| std::array::from_fn(|n| v.get(n).copied().unwrap_or(0.0));
        let features = Features::new(of(&card.mean), of(&card.std));
        let mut new = Self {
            features,
            waiting: Vec::new(),
            last: None,
            memory: Vec::new(),
            early: 0,
            model,
        };
        new.reset();
        new
    }

    /// Another stream begins.
    pub fn reset(&mut self) {
        let card = self.model.card();
        self.memory = card
            .caches
            .values()
            .map(|shape| Tensor::zero::<f32>(shape).unwrap_or_default())
            .collect();
        self.early = card.lookahead_frames / card.stride;
        self.waiting.clear();
        self.last = None;
        self.features.reset();
    }

    /// Takes 16 kHz samples; answers are appended to `out` as they become due, later
    /// than the sound by the look-ahead and what fills a piece.
    ///
    /// # Errors
    /// The network failed, which it does not with a matching card.
    pub fn push(&mut self, samples: &[i16], out: &mut Vec<Frame>) -> Result<(), String> {
        self.features.push(samples, &mut self.waiting);
        self.last = self.waiting.last().copied().or(self.last);
        let chunk = self.model.card().chunk_frames;
        while self.waiting.len() >= chunk {
            if let Err(e) = self.piece(out) {
                self.reset();
                return Err(format!("{e:#}"));
            }
        }
        Ok(())
    }

    /// The stream is over: answers for all of its sound, as if the last 10 ms went on.
    pub fn flush(&mut self, out: &mut Vec<Frame>) -> Result<(), String> {
        let Some(last) = self.last else {
            return Ok(());
        };
        let card = self.model.card();
        let due = (self.waiting.len() + card.lookahead_frames).next_multiple_of(card.stride);
        let want = due.next_multiple_of(card.chunk_frames);
        let surplus = (want - due) / card.stride;
        self.waiting.resize(want, last);
        let mut fresh = Vec::new();
        self.push(&[], &mut fresh)?;
        fresh.truncate(fresh.len().saturating_sub(surplus));
        out.append(&mut fresh);
        Ok(())
    }

    fn piece(&mut self, out: &mut Vec<Frame>) -> TractResult<()> {
        let chunk = self.model.card().chunk_frames;
        let flat: Vec<f32> = self.waiting.drain(..chunk).flatten().collect();
        let feats = Tensor::from_shape(&[1, chunk, BANDS], &flat)?;
        let mut inputs: TVec<TValue> = tvec!(feats.into());
        inputs.extend(self.memory.drain(..).map(TValue::from));
        let answers = self.model.plan.run(inputs)?;
        let of = |n: usize| {
            answers
                .get(n)
                .ok_or_else(|| TractError::msg("an output is missing"))
        };
        self.memory = self
            .model
            .caches
            .iter()
            .map(|&n| of(n).map(|v| v.clone().into_tensor()))
            .collect::<TractResult<_>>()?;
        let logp = of(self.model.logp)?.to_plain_array_view::<f32>()?;
        let speech = of(self.model.speech)?.to_plain_array_view::<f32>()?;
        let classes = self.model.card().phones.len();
        let flat: Vec<f32> = logp.iter().copied().collect();
        for (logp, &logit) in flat.chunks_exact(classes).zip(speech.iter()) {
            if self.early > 0 {
                self.early -= 1;
                continue;
            }
            out.push(Frame {
                logp: logp.into(),
                speech: 1.0 / (1.0 + (-logit).exp()),
            });
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ear::net::check::{bytes, floats, samples};

    #[derive(serde::Deserialize)]
    struct Tiny {
        card: serde_json::Value,
        feats: Vec<Vec<f32>>,
        logp: Vec<Vec<f32>>,
        speech: Vec<f32>,
    }

    fn tiny() -> (Tiny, Acoustic) {
        let tiny: Tiny =
            serde_json::from_str(include_str!("../../../tests/data/tiny.json")).unwrap();
        let onnx = include_bytes!("../../../tests/data/tiny.onnx");
        let model = Model::load(onnx, &tiny.card.to_string()).unwrap();
        (tiny, Acoustic::new(model))
    }

    /// Against onnxruntime, which ran the same network over the same features
    /// (`scripts/make-tiny-network.py`).
    #[test]
    fn memory_goes_from_piece_to_piece_as_in_onnxruntime() {
        let (tiny, mut acoustic) = tiny();
        let mut got = Vec::new();
        for frame in &tiny.feats {
            acoustic.waiting.push(std::array::from_fn(|n| frame[n]));
            acoustic.push(&[], &mut got).unwrap();
        }
        // Two answers belong to before the stream: the look-ahead of six frames.
        assert_eq!(got.len() + 2, tiny.logp.len());
        for (t, frame) in got.iter().enumerate() {
            for (g, w) in frame.logp.iter().zip(&tiny.logp[t + 2]) {
                assert!((g - w).abs() < 1e-3, "answer {t}: {g}, onnxruntime {w}");
            }
            let want = 1.0 / (1.0 + (-tiny.speech[t + 2]).exp());
            assert!((frame.speech - want).abs() < 1e-3);
        }
    }

    #[test]
    fn a_stream_can_be_heard_again() {
        let (_, mut acoustic) = tiny();
        let sound: Vec<i16> = (0..16_000)
            .map(|n| ((n * n) % 4_001 - 2_000) as i16)
            .collect();
        let mut first = Vec::new();
        acoustic.push(&sound, &mut first).unwrap();
        acoustic.flush(&mut first).unwrap();
        acoustic.reset();
        let mut again = Vec::new();
        for piece in sound.chunks(333) {
            acoustic.push(piece, &mut again).unwrap();
        }
        acoustic.flush(&mut again).unwrap();
        assert_eq!(first, again);
        // 98 feature frames of a second make 33 answers.
        assert_eq!(first.len(), 33);
    }

    #[test]
    fn a_card_that_does_not_fit_is_refused() {
        let (tiny, _) = tiny();
        let onnx = include_bytes!("../../../tests/data/tiny.onnx");
        for (key, value) in [
            ("mean", serde_json::json!([0.0])),
            ("chunk_frames", serde_json::json!(7)),
            ("lookahead_frames", serde_json::json!(4)),
            ("phones", serde_json::json!([])),
            ("caches", serde_json::json!({"no_such": [1]})),
        ] {
            let mut card = tiny.card.clone();
            card[key] = value;
            assert!(Model::load(onnx, &card.to_string()).is_err(), "{key}");
        }
        assert!(Model::load(b"not a network", &tiny.card.to_string()).is_err());
    }

    #[derive(serde::Deserialize)]
    struct Check {
        classes: usize,
        cases: Vec<Case>,
    }

    #[derive(serde::Deserialize)]
    struct Case {
        pcm_i16le: String,
        feats_f32le: String,
        logp_f32le: String,
        speech_f32le: String,
    }

    /// Against the training program (PyTorch, the network offline, in 32-bit floats on
    /// the very weights of the file): `models/check.json`, written by
    /// `training/export.py`.
    #[test]
    fn the_embedded_network_answers_as_in_training() {
        let check: Check =
            serde_json::from_str(include_str!("../../../models/check.json")).unwrap();
        let model = crate::ear::hob::english().unwrap().first;
        let mut acoustic = Acoustic::new(model);
        assert!(check.cases.len() >= 3);
        for case in check.cases {
            let pcm = samples(&bytes(&case.pcm_i16le));
            let mut feats = Vec::new();
            acoustic.features.push(&pcm, &mut feats);
            for (g, w) in feats.iter().flatten().zip(floats(&case.feats_f32le)) {
                assert!((g - w).abs() < 1e-3, "feature {g}, in training {w}");
            }
            acoustic.reset();
            let mut got = Vec::new();
            for piece in pcm.chunks(700) {
                acoustic.push(piece, &mut got).unwrap();
            }
            acoustic.flush(&mut got).unwrap();
            acoustic.reset();
            let logp = floats(&case.logp_f32le);
            let speech = floats(&case.speech_f32le);
            assert!(
                got.len() >= speech.len(),
                "{} of {}",
                got.len(),
                speech.len()
            );
            // The last answers see sound that the check file repeats differently.
            let sure = speech.len() - 6;
            for (t, frame) in got.iter().take(sure).enumerate() {
                let want = logp.iter().skip(t * check.classes);
                for (g, w) in frame.logp.iter().zip(want) {
                    assert!((g - w).abs() < 2e-3, "answer {t}: {g}, in training {w}");
                }
                let want = 1.0 / (1.0 + (-speech[t]).exp());
                assert!((frame.speech - want).abs() < 1e-3);
            }
        }
    }
}
