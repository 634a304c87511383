//! What a network might say of given words: for tests of everything behind it.

use std::sync::Arc;

use super::utterance::Search;
use crate::ear::lexicon::Lexicon;
use crate::ear::net::Frame;
use crate::grammar::Grammar;

/// The foreign grammar given, or our own when the text is empty.
pub fn search(jsgf: &str) -> (Arc<Search>, Lexicon) {
    let grammar = if jsgf.is_empty() {
        Grammar::of_language("en").unwrap()
    } else {
        Grammar::from_jsgf(jsgf, "test").unwrap()
    };
    let mut lexicon = Lexicon::english().unwrap();
    let (search, mute) = Search::new(&grammar, &mut lexicon).unwrap();
    assert!(mute.is_empty(), "{mute:?}");
    (Arc::new(search), lexicon)
}

pub struct Voice {
    /// Standard deviation added to every class's logarithm.
    pub noise: f32,
    /// So many last phones are as likely as any other.
    pub swallow: usize,
}

impl Default for Voice {
    fn default() -> Self {
        Self {
            noise: 0.5,
            swallow: 0,
        }
    }
}

const CLASSES: usize = 40;

impl Voice {
    /// A phone every other frame, blanks between, silence around.
    pub fn say(&self, words: &str, lexicon: &mut Lexicon) -> Vec<Frame> {
        let words: Vec<&str> = words.split_whitespace().collect();
        let sounds = lexicon.sounds(words.iter().copied());
        let phones: Vec<u8> = words
            .iter()
            .flat_map(|w| sounds[w].first().unwrap().iter().copied())
            .collect();
        let mut classes = vec![0; 5];
        for phone in &phones {
            classes.extend([*phone, 0]);
        }
        classes.extend([0; 5]);
        let dim = classes.len() - 5 - 2 * self.swallow;
        let mut seed = phones.len() as u32;
        let count = classes.len();
        classes
            .into_iter()
            .enumerate()
            .map(|(t, class)| {
                let unclear = class != 0 && t >= dim;
                let speech = if (5..count - 5).contains(&t) {
                    0.95
                } else {
                    0.02
                };
                self.frame(class, unclear, speech, &mut seed)
            })
            .collect()
    }

    pub fn silence(&self, frames: usize) -> Vec<Frame> {
        let mut seed = 1;
        (0..frames)
            .map(|_| self.frame(0, false, 0.02, &mut seed))
            .collect()
    }

    fn frame(&self, class: u8, unclear: bool, speech: f32, seed: &mut u32) -> Frame {
        let mut logits: Vec<f32> = (0..CLASSES)
            .map(|c| {
                // A sum of uniform numbers is near enough to a normal one.
                let noise: f32 = (0..4)
                    .map(|_| {
                        *seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                        (*seed >> 8) as f32 / (1 << 24) as f32 - 0.5
                    })
                    .sum();
                let said = if c == usize::from(class) && !unclear {
                    8.0
                } else {
                    0.0
                };
                said + noise * self.noise * 1.73
            })
            .collect();
        let sum: f32 = logits.iter().map(|l| l.exp()).sum();
        logits.iter_mut().for_each(|l| *l -= sum.ln());
        Frame {
            logp: logits.into(),
            speech,
        }
    }
}
