//! Where a third opinion is worth its time, and what it changes.

use std::ops::Range;

use super::{Compared, Utterance};
use crate::ear::net::Told;

/// Where another call scores no more than this below the best: of the calls that a third
/// opinion set right none lay further apart (README of training).
const CLOSE: f32 = 2.0;
/// Or where the best is neither sure nor out of the question: outside, the opinion changed
/// nothing that was decided in the fitting sets.
const DOUBTFUL: Range<f32> = 0.05..0.9;
/// On so many sentences.
pub(super) const ASKED: usize = 6;

/// A third opinion on sentences, or none.
pub type Opinion<'o> = &'o dyn Fn(&[&str]) -> Option<Vec<Told>>;

impl Utterance {
    /// Whether another opinion may change what comes of this; `sure` of the best.
    pub(super) fn are_in_doubt(
        &self,
        found: &[(Vec<u32>, Compared)],
        scores: &[f32],
        sure: f32,
    ) -> bool {
        let call = |n: usize| found.get(n).map(|(_, c)| self.call(&c.words));
        let best = scores.first().copied().unwrap_or_default();
        let close = scores.iter().take_while(|&&s| s > best - CLOSE).count();
        let first = call(0);
        DOUBTFUL.contains(&sure) || (sure >= DOUBTFUL.end && (1..close).any(|n| call(n) != first))
    }
}

/// Writes a third opinion beside the best sentences.
pub(super) fn ask(found: &mut [(Vec<u32>, Compared)], third: Opinion) {
    let sentences: Vec<&str> = (found.iter().take(ASKED))
        .map(|(_, c)| c.words.as_str())
        .collect();
    let Some(told) = third(&sentences) else {
        return;
    };
    let best = told.first().map_or(0.0, Told::gain);
    for ((_, compared), told) in found.iter_mut().zip(told) {
        compared.told = Some(told);
        compared.third = told.gain() - best;
    }
}
