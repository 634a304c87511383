//! What speaks for a sentence, and how much that is as a probability.

use super::utterance::Compared;
use crate::ear::net::Told;

/// Measured on the best sentence of an utterance, as one of the networks heard it.
#[derive(Debug, Clone, Copy, Default, PartialEq, serde::Serialize)]
pub struct Evidence {
    /// Log probability lost against the likeliest phones of every frame, a phone.
    pub loss: f32,
    /// The same, of the word that fits worst, over 1 + ln of the number of words: the worst
    /// of many is worse by chance.
    pub worst_word: f32,
    /// The same, of the phone that fits worst.
    pub worst_phone: f32,
    /// Lost outside the words: sound that belongs to no word, in all.
    pub outside: f32,
    /// Phones heard that the sentence does not explain and the other way round, as a
    /// share of its phones.
    pub mismatch: f32,
    /// Phones of the sentence: short ones are easily heard into anything.
    pub phones: f32,
    /// Mean probability of speech over the surer half of the utterance.
    pub speech: f32,
}

impl Evidence {
    /// As numbers of about the same size.
    pub fn figures(&self) -> [f32; 7] {
        [
            self.loss.clamp(0.0, 8.0),
            self.worst_word.clamp(0.0, 8.0),
            self.worst_phone.clamp(0.0, 12.0) / 2.0,
            self.outside.clamp(0.0, 60.0) / 5.0,
            self.mismatch.clamp(0.0, 2.0) * 4.0,
            (12.0 / self.phones.max(1.0)).min(6.0),
            self.speech.clamp(0.0, 1.0) * 2.0,
        ]
    }
}

/// Of both networks, and of the third opinion where it was asked.
#[derive(Debug, Clone, Copy, Default, PartialEq, serde::Serialize)]
pub struct Evidences {
    pub first: Evidence,
    pub second: Evidence,
    pub third: Option<Told>,
    /// Words of the sentence.
    pub words: usize,
}

impl Evidences {
    /// In the order of [`Weights::of`].
    pub fn figures(&self) -> [f32; 14] {
        let (first, second) = (self.first.figures(), self.second.figures());
        std::array::from_fn(|n| *first.iter().chain(&second).nth(n).unwrap_or(&0.0))
    }
}

/// Of the logistic function that turns evidence into the probability that the sentence
/// was said.
#[derive(Debug, Clone, Copy, PartialEq, serde::Deserialize)]
pub struct Weights {
    pub bias: f32,
    pub of: [f32; 14],
    /// What a log probability of each network counts: together less than one, for frames
    /// are not independent of each other.
    pub networks: [f32; 2],
    /// The same of a third opinion, where it was asked.
    pub third: f32,
    /// With a third opinion: a bias, what the log odds without it count, the gain a word of the
    /// sentence with the sound, and the log likelihood of the sentence after it.
    pub opinion: [f32; 4],
    /// Added to the log probability of a sentence for every word: both networks rather
    /// swallow a short word than hear one too many.
    pub word: f32,
}

/// Fitted as `scripts/fit-confidence.py` does it, on a third of the calls of the sets that
/// [`Weights::default`] names, but on all that was above 0.02 without it, asked or not.
const OPINION: [f32; 4] = [0.63, 0.79, 0.67, 0.16];

impl Default for Weights {
    /// Fitted by `scripts/fit-confidence.py` on 5,741 utterances, clean to 0 dB, of voices that
    /// the networks never heard in training (espeak's f5 and Annie, Pico's British voice,
    /// Kokoro styles) and half of the people kept out of it, words and sentences: calls, talk,
    /// noise, and calls against a grammar that has them only with another word, one less or
    /// one more. None of them is in the reported figures. `networks` and `word` by
    /// `scripts/fit-joining.py` on 510 calls of these voices and people.
    fn default() -> Self {
        Self {
            bias: -2.01,
            of: [
                0.0, -0.66, -0.19, -0.56, 0.0, -0.15, 0.0, // first
                0.0, -1.49, -0.12, -2.33, -0.73, 0.0, 3.21, // second
            ],
            networks: [0.232, 0.419],
            third: 0.8,
            opinion: OPINION,
            word: 0.212,
        }
    }
}

impl Weights {
    /// For the second network alone, where others talk: to the first that is speech without
    /// end. Fitted by the same on the same, without what the first heard.
    pub fn second_alone() -> Self {
        Self {
            bias: -3.73,
            of: [
                0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, // first
                0.0, -2.23, -0.11, -2.47, -0.63, -0.11, 3.61, // second
            ],
            networks: [0.000, 0.599],
            third: 0.8,
            opinion: OPINION,
            word: -0.495,
        }
    }

    /// Probability from 0 to 1 that some sentence of the grammar was said, the best one
    /// being as `evidence` says.
    pub fn probability(&self, evidence: &Evidences) -> f32 {
        let sum: f32 = evidence
            .figures()
            .iter()
            .zip(self.of)
            .map(|(figure, weight)| figure * weight)
            .sum();
        1.0 / (1.0 + (-(self.bias + sum)).exp())
    }

    /// The same, by these weights or by what the second network says alone, whichever is
    /// surer: where the first is lost in a noise, the second may still be clear. Then, where
    /// there is one, with the third opinion.
    pub fn sure(&self, evidence: &Evidences) -> f32 {
        let alone = Self::second_alone().probability(evidence);
        let both = self.probability(evidence).max(alone);
        let Some(told) = evidence.third else {
            return both;
        };
        let [bias, odds, gain, heard] = self.opinion;
        let both = both.clamp(1e-4, 1.0 - 1e-4);
        let a_word = told.gain() / evidence.words.max(1) as f32;
        let log_odds = odds * (both / (1.0 - both)).ln() + gain * a_word + heard * told.heard;
        1.0 / (1.0 + (-(bias + log_odds)).exp())
    }

    /// The score of a sentence of `words` words, to compare it with others.
    pub fn joint(&self, sentence: &Compared, words: usize) -> f32 {
        let [first, second] = self.networks;
        let heard = first * sentence.first + second * sentence.second;
        heard + self.third * sentence.third + self.word * words as f32
    }

    /// Shares of sentences by their log probabilities; they sum to 1.
    pub fn shares(&self, scores: &[f32]) -> Vec<f32> {
        let best = scores.iter().copied().fold(f32::NEG_INFINITY, f32::max);
        let each: Vec<f32> = scores.iter().map(|s| (s - best).exp()).collect();
        let all: f32 = each.iter().sum();
        each.iter()
            .map(|e| e / all.max(f32::MIN_POSITIVE))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_sum_to_one_in_the_order_of_scores() {
        let shares = Weights::default().shares(&[-10.0, -12.0, -900.0]);
        assert!((shares.iter().sum::<f32>() - 1.0).abs() < 1e-6);
        assert!(shares.is_sorted_by(|a, b| a >= b));
        assert!(Weights::default().shares(&[]).is_empty());
    }

    #[test]
    fn a_worse_fit_is_less_probable() {
        let weights = Weights::default();
        let good = Evidence {
            loss: 0.1,
            phones: 12.0,
            speech: 0.9,
            ..Evidence::default()
        };
        let bad = Evidence {
            loss: 4.0,
            worst_word: 4.0,
            mismatch: 0.8,
            ..good
        };
        let both = |first, second| Evidences {
            first,
            second,
            ..Evidences::default()
        };
        assert!(
            weights.probability(&both(good, good)) > weights.probability(&both(good, bad))
                && weights.probability(&both(good, good)) > weights.probability(&both(bad, good))
        );
        let (good, bad) = (both(good, good), both(bad, bad));
        assert!(weights.probability(&good) > weights.probability(&bad));
        assert!((0.0..=1.0).contains(&weights.probability(&bad)));
    }

    #[test]
    fn a_third_opinion_speaks_for_a_sentence_and_against_it() {
        let weights = Weights::default();
        let with = |third, words| {
            let fits = Evidence {
                loss: 0.6,
                worst_word: 0.8,
                phones: 9.0,
                speech: 0.9,
                ..Evidence::default()
            };
            weights.sure(&Evidences {
                first: fits,
                second: fits,
                third,
                words,
            })
        };
        let told = |heard, expected| Some(Told { heard, expected });
        let asked_nobody = with(None, 3);
        assert!(with(told(-2.0, -25.0), 3) > asked_nobody);
        assert!(with(told(-22.0, -25.0), 3) < asked_nobody);
        // The same gain is less for more words.
        assert!(with(told(-2.0, -14.0), 3) > with(told(-2.0, -14.0), 6));
        let sure = with(told(f32::MIN, 0.0), 3);
        assert!((0.0..0.01).contains(&sure));
    }
}
