//! The second pass: a transformer that hears a whole utterance at once, when it is over.

use std::sync::Arc;

use serde::Deserialize;
use tract_onnx::prelude::*;

use super::acoustic::{Frame, give_back};
use super::mel::{BANDS, log_mel};
use super::unread;

/// Samples an answer.
pub const HOP: usize = 320;

/// Quiet before and after the sound, samples. In training there was some around every
/// utterance, and without it the network takes no phones so near to the edges: with a few
/// hundredths of a second before and none after, two in three are lost.
const LEAD: usize = 4_800;
const TAIL: usize = 9_600;
/// Answers kept of the quiet after it.
const BEYOND: usize = 5;
/// So much of every answer is spread over all phones.
const DOUBT: f32 = 0.1;
/// Samples of the quietest piece, of which the quiet is made.
const QUIETEST: usize = 800;

/// `models/second.json`.
#[derive(Debug, Clone, Deserialize)]
struct Card {
    phones: Vec<String>,
    /// Numbers that stand for one answer inside the network.
    width: usize,
    /// Answers that it was trained to give at a time, at most.
    longest: usize,
}

/// Clones share the weights.
#[derive(Clone)]
pub struct SecondPass {
    plan: Arc<TypedRunnableModel>,
    card: Arc<Card>,
}

impl SecondPass {
    /// `onnx`: the network; `card`: its description in JSON; `phones`: the classes that the
    /// first network answers with, which these must be.
    ///
    /// # Errors
    /// What in the two cannot be used.
    pub fn load(onnx: &'static [u8], card: &str, phones: &[String]) -> Result<Self, String> {
        let card: Card =
            serde_json::from_str(card).map_err(|e| format!("the second network's card: {e}"))?;
        if card.phones != phones {
            return Err("the second network answers with other phones than the first".to_owned());
        }
        Self::optimise(onnx, card).map_err(|e| format!("the second network: {e:#}"))
    }

    fn optimise(onnx: &'static [u8], card: Card) -> TractResult<Self> {
        let model = unread::read(onnx)?;
        let t = model.symbols.sym("T");
        let model = model
            .with_input_names(["feats", "places"])?
            .with_input_fact(
                0,
                f32::fact([1.to_dim(), BANDS.to_dim(), t.to_dim() * 2]).into(),
            )?
            .with_input_fact(
                1,
                f32::fact([1.to_dim(), t.to_dim(), card.width.to_dim()]).into(),
            )?
            .with_outputs_by_name(["logp", "speech"])?;
        let plan = model.into_optimized()?.into_runnable()?;
        give_back();
        Ok(Self {
            plan,
            card: Arc::new(card),
        })
    }

    /// Samples of the longest sound that it can hear.
    pub fn longest(&self) -> usize {
        self.card.longest * HOP - LEAD - TAIL
    }

    /// What is said in 16 kHz samples, every 20 ms, and for 100 ms more, in which their last
    /// sound may be heard; of more than [`SecondPass::longest`] only the last.
    ///
    /// # Errors
    /// The network failed, which it does not with a matching card.
    pub fn hear(&self, samples: &[i16]) -> Result<Vec<Frame>, String> {
        let from = samples.len().saturating_sub(self.longest());
        let samples = samples.get(from..).unwrap_or_default();
        let answers = samples.len() / HOP;
        if answers == 0 {
            return Ok(Vec::new());
        }
        let samples = samples.get(..answers * HOP).unwrap_or_default();
        let frames = self.answers(&in_quiet(samples))?;
        let heard = frames.into_iter().skip(LEAD / HOP).take(answers + BEYOND);
        Ok(heard.map(doubted).collect())
    }

    /// Its bare answers to whole hops of sound.
    fn answers(&self, samples: &[i16]) -> Result<Vec<Frame>, String> {
        let answers = samples.len() / HOP;
        self.run(samples, answers).map_err(|e| format!("{e:#}"))
    }

    fn run(&self, samples: &[i16], answers: usize) -> TractResult<Vec<Frame>> {
        let feats = Tensor::from_shape(&[1, BANDS, 2 * answers], &log_mel(samples))?;
        let width = self.card.width;
        let places = Tensor::from_shape(&[1, answers, width], &places(answers, width))?;
        let out = self.plan.run(tvec!(feats.into(), places.into()))?;
        let of = |n: usize| {
            out.get(n)
                .ok_or_else(|| TractError::msg("an output is missing"))
        };
        let logp = of(0)?.to_plain_array_view::<f32>()?;
        let speech = of(1)?.to_plain_array_view::<f32>()?;
        let flat: Vec<f32> = logp.iter().copied().collect();
        Ok(flat
            .chunks_exact(self.card.phones.len())
            .zip(speech.iter())
            .map(|(logp, &logit)| Frame {
                logp: logp.into(),
                speech: 1.0 / (1.0 + (-logit).exp()),
            })
            .collect())
    }
}

/// No answer is so sure that it rules a phone out: it is surer than it is right, and one
/// sound said in another way must not outweigh all the others.
fn doubted(frame: Frame) -> Frame {
    let share = DOUBT / frame.logp.len() as f32;
    let logp = frame
        .logp
        .iter()
        .map(|l| (l.exp() * (1.0 - DOUBT) + share).ln());
    Frame {
        logp: logp.collect(),
        speech: frame.speech,
    }
}

/// The sound with the room's own noise before and after it.
fn in_quiet(samples: &[i16]) -> Vec<i16> {
    let power = |piece: &[i16]| -> i64 { piece.iter().map(|&s| i64::from(s).pow(2)).sum() };
    let quietest = samples
        .windows(QUIETEST.min(samples.len()))
        .step_by(160)
        .min_by_key(|piece| power(piece))
        .unwrap_or_default();
    let noise = noise_like(quietest, LEAD + TAIL);
    let (before, after) = noise.split_at(LEAD.min(noise.len()));
    [before, samples, after].concat()
}

/// Noise that sounds like the piece and is as loud: the piece turned at random, upside down
/// or not, laid over itself in four layers. Repeated as it is, it has a pattern that is taken
/// for speech now and then.
fn noise_like(piece: &[i16], samples: usize) -> Vec<i16> {
    const LAYERS: usize = 4;
    let long = piece.len();
    let fade = |k: usize| (std::f32::consts::PI * k as f32 / long as f32).sin();
    let fades: Vec<f32> = (0..long).map(fade).collect();
    let mut sum = vec![0.0_f32; samples + 3 * long];
    // A linear congruence (Numerical Recipes, from memory): the same sound always gets the
    // same noise.
    let mut dice = 1_u32;
    for start in (0..samples + long).step_by((long / LAYERS).max(1)) {
        dice = dice.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let (first, last) = piece.split_at((dice >> 16) as usize % long.max(1));
        let side = if dice & 0x8000 == 0 { 1.0 } else { -1.0 };
        let turned = last.iter().chain(first).zip(&fades);
        for (to, (&s, fade)) in sum.iter_mut().skip(start).zip(turned) {
            *to += side * fade * f32::from(s);
        }
    }
    // Squared fades of all layers together, at any time.
    let all = (LAYERS as f32 / 2.0).sqrt();
    let whole = sum.into_iter().skip(long).take(samples);
    whole.map(|s| (s / all).round() as i16).collect()
}

/// Which answer is which, in sines and cosines of wavelengths from 2π to 20,000π answers
/// (Vaswani and others 2017).
pub(super) fn places(answers: usize, width: usize) -> Vec<f32> {
    let half = width / 2;
    let step = 10_000_f64.ln() / (half.max(2) - 1) as f64;
    let angle = |t: usize, k: usize| t as f64 * (-step * k as f64).exp();
    (0..answers)
        .flat_map(|t| {
            let sines = (0..half).map(move |k| angle(t, k).sin() as f32);
            sines.chain((0..half).map(move |k| angle(t, k).cos() as f32))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ear::hob::english;
    use crate::ear::net::check::{bytes, floats, samples};

    const CARD: &str = include_str!("../../../models/second.json");
    const ONNX: &[u8] = include_bytes!("../../../models/second.onnx");

    #[derive(serde::Deserialize)]
    struct Check {
        classes: usize,
        cases: Vec<Case>,
    }

    #[derive(serde::Deserialize)]
    struct Case {
        pcm_i16le: String,
        logp_f32le: String,
        speech_f32le: String,
    }

    /// Against the training program (PyTorch in 32-bit floats on the very weights of the
    /// file, its own short-time transform): `models/second-check.json`, written by
    /// `training/export_second.py`.
    #[test]
    fn the_embedded_network_answers_as_in_training() {
        let check: Check =
            serde_json::from_str(include_str!("../../../models/second-check.json")).unwrap();
        let net = english().unwrap().second;
        assert!(check.cases.len() >= 2);
        for case in check.cases {
            let sound = samples(&bytes(&case.pcm_i16le));
            let whole = sound.len() / HOP * HOP;
            let got = net.answers(&sound[..whole]).unwrap();
            let (logp, speech) = (floats(&case.logp_f32le), floats(&case.speech_f32le));
            assert_eq!(got.len(), speech.len());
            for (t, frame) in got.iter().enumerate() {
                for (g, w) in frame.logp.iter().zip(logp.iter().skip(t * check.classes)) {
                    assert!((g - w).abs() < 5e-3, "answer {t}: {g}, in training {w}");
                }
                let want = 1.0 / (1.0 + (-speech[t]).exp());
                assert!((frame.speech - want).abs() < 1e-3);
            }
        }
    }

    #[test]
    fn sound_of_any_length_is_heard() {
        let net = english().unwrap().second;
        let sound: Vec<i16> = (0..net.longest() as i64 + 40_000)
            .map(|n| ((n * n) % 4_001 - 2_000) as i16)
            .collect();
        for (samples, answers) in [(0, 0), (HOP - 1, 0), (HOP, 6), (16_000, 55), (16_319, 55)] {
            assert_eq!(net.hear(&sound[..samples]).unwrap().len(), answers);
        }
        // Of what is too long the last is heard.
        let last = &sound[40_000..];
        assert_eq!(net.hear(&sound).unwrap(), net.hear(last).unwrap());
    }

    #[test]
    fn quiet_is_made_of_the_quietest_piece() {
        let mut sound = vec![1_000_i16; 8_000];
        let room = |n: i64| (n * n % 41 - 20) as i16;
        (0..800).for_each(|n| sound[3_200 + n] = room(n as i64));
        let all = in_quiet(&sound);
        assert_eq!(all.len(), LEAD + 8_000 + TAIL);
        assert_eq!(all[LEAD..LEAD + 8_000], sound[..]);
        let rms = |part: &[i16]| {
            let power: f32 = part.iter().map(|&s| f32::from(s).powi(2)).sum();
            (power / part.len() as f32).sqrt()
        };
        let quiet = rms(&sound[3_200..4_000]);
        for around in [&all[..LEAD], &all[LEAD + 8_000..]] {
            assert!((rms(around) / quiet - 1.0).abs() < 0.2, "{}", rms(around));
        }
        // Shorter than a piece: all of it is the piece.
        assert!(in_quiet(&[5; 320]).iter().all(|s| s.abs() <= 10));
        assert_eq!(noise_like(&[], 4), [0; 4]);
    }

    #[test]
    fn no_phone_is_ruled_out_and_the_likeliest_stays_so() {
        let frame = Frame {
            logp: [0.999_9_f32.ln(), -60.0, 0.000_1_f32.ln(), -60.0].into(),
            speech: 0.7,
        };
        let doubted = doubted(frame);
        let sum: f32 = doubted.logp.iter().map(|l| l.exp()).sum();
        assert!((sum - 1.0).abs() < 1e-3 && doubted.speech == 0.7);
        assert!(doubted.logp.iter().all(|&l| l >= (DOUBT / 4.0).ln() - 1e-3));
        assert!(doubted.logp[0] > -0.1);
    }

    #[test]
    fn a_card_that_does_not_fit_is_refused() {
        let phones = english().unwrap().first.card().phones.clone();
        assert!(SecondPass::load(ONNX, CARD, &phones).is_ok());
        assert!(SecondPass::load(ONNX, CARD, &phones[1..]).is_err());
        let other = CARD.replace("width", "girth");
        assert!(SecondPass::load(ONNX, &other, &phones).is_err());
        assert!(SecondPass::load(b"not a network", CARD, &phones).is_err());
    }
}
