//! A call that was refused and is said again.

use std::ops::Range;

use crate::ear::Alternative;

/// Who is not answered says it again within so long, seconds.
const WITHIN: f64 = 15.0;
/// Both times it must have been this likely.
const LEAST: f32 = 0.1;
/// How likely it then counts as: enough for a question, while anything else is read back for
/// a "yes", and too little over our own voice, which says things twice. That talk twice
/// comes nearest to the same long sentence, out of thousands, was not seen in 556 utterances
/// of it one after the other; people's sentences refused twice, of which both were this
/// likely, were right each time (README of training).
const SAID_TWICE: f32 = 0.49;

/// The call that was refused last, and when its speech ended.
#[derive(Debug, Default)]
pub(super) struct Refused(Option<(String, f64)>);

impl Refused {
    /// Takes what is refused by itself, the likeliest first, spoken from and to these
    /// seconds. Answers whether it is taken since the same was refused just before; it is
    /// as likely then as two of a kind are.
    pub fn twice(&mut self, nearest: &mut [Alternative], spoken: Range<f64>) -> bool {
        let sure: f32 = nearest.iter().map(|a| a.confidence).sum();
        let Some(best) = nearest.first().filter(|_| sure >= LEAST) else {
            return false;
        };
        let before = self.0.replace((best.words.clone(), spoken.end));
        let same =
            before.is_some_and(|(words, end)| words == best.words && spoken.start - end < WITHIN);
        if same {
            self.0 = None;
            for alternative in nearest {
                alternative.confidence *= SAID_TWICE / sure;
            }
        }
        same
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn heard(words: &str, confidence: f32) -> Vec<Alternative> {
        vec![Alternative {
            words: words.to_owned(),
            confidence,
        }]
    }

    #[test]
    fn the_same_twice_within_a_while_is_believed() {
        let mut refused = Refused::default();
        let mut told = |words: &str, sure: f32, at: f64| {
            let mut nearest = heard(words, sure);
            let taken = refused.twice(&mut nearest, at..at + 1.0);
            let confidence = nearest.first().map_or(0.0, |n| n.confidence);
            (taken, (confidence * 1_000.0).round() / 1_000.0)
        };
        assert_eq!(told("flip the left one", 0.3, 0.0), (false, 0.3));
        // Talk between them comes near to nothing.
        assert_eq!(told("undo that again", 0.02, 2.0), (false, 0.02));
        assert_eq!(told("flip the left one", 0.2, 4.0), (true, 0.49));
        // Taken is taken; a third time is a first.
        assert!(!told("flip the left one", 0.3, 6.0).0);
        // Something else, or too late, is no second time.
        assert!(!told("flip the right one", 0.3, 8.0).0);
        assert!(!told("flip the right one", 0.3, 40.0).0);
        assert!(!told("flip the right one", 0.09, 42.0).0);
    }

    #[test]
    fn nothing_twice_is_nothing() {
        let mut refused = Refused::default();
        assert!(!refused.twice(&mut [], 0.0..1.0));
        assert!(!refused.twice(&mut [], 1.0..2.0));
    }
}
