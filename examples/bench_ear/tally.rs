//! What came of a call, counted twice: as the ear hears it, and as the tool then decides.

use hobcall::ear::Heard;
use hobcall::ear::decide::{Decision, by_tags};
use hobcall::grammar::Grammar;

/// What the tool does about one call that was said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Done {
    /// It takes that call and nothing else.
    Took,
    /// It asks which of two, and that call is one of them.
    Asked,
    /// It takes another, or one more, or asks between two others.
    Mistook,
    Nothing,
}

/// Of all utterances found in the sound of one call.
pub fn done<T>(heard: &[(Heard, T)], grammar: &Grammar, said: &str) -> Done {
    let decisions: Vec<_> = heard
        .iter()
        .filter(|(h, _)| !h.words.is_empty())
        .map(|(h, _)| by_tags(h, grammar))
        .filter(|d| matches!(d, Decision::Take(_) | Decision::Between(..)))
        .collect();
    let right = |words: &str| same(grammar, words, said);
    match &decisions[..] {
        [] => Done::Nothing,
        [Decision::Take(choice)] if right(&choice.words) => Done::Took,
        [Decision::Between(a, b)] if right(&a.words) || right(&b.words) => Done::Asked,
        _ => Done::Mistook,
    }
}

/// The same call, or where words make none the same words.
pub fn same(grammar: &Grammar, heard: &str, said: &str) -> bool {
    if heard == said {
        return true;
    }
    let (a, b) = (grammar.tags(heard), grammar.tags(said));
    !a.is_empty() && a.iter().any(|t| !t.is_empty()) && a == b
}

#[derive(Debug, Clone, Copy, Default)]
pub struct Tally {
    /// As the ear hears it, whatever stands beside it.
    right: u32,
    wrong: u32,
    rejected: u32,
    /// As the tool decides.
    took: u32,
    asked: u32,
    mistook: u32,
}

impl Tally {
    /// `right`: one sentence was heard, the one said; `nothing`: none was.
    pub fn count(&mut self, right: bool, nothing: bool, done: Done) {
        match (right, nothing) {
            (true, _) => self.right += 1,
            (_, true) => self.rejected += 1,
            _ => self.wrong += 1,
        }
        match done {
            Done::Took => self.took += 1,
            Done::Asked => self.asked += 1,
            Done::Mistook => self.mistook += 1,
            Done::Nothing => {}
        }
    }

    pub fn all(&self) -> u32 {
        self.right + self.wrong + self.rejected
    }

    /// Percent right with the 95 percent interval after Wilson (1927), then what the tool does.
    pub fn percent(&self) -> String {
        let n = f64::from(self.all().max(1));
        let p = f64::from(self.right) / n;
        let z2 = 1.96f64.powi(2);
        let mid = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
        let half = 1.96 * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt() / (1.0 + z2 / n);
        let share = |count: u32| 100.0 * f64::from(count) / n;
        format!(
            "{:5.1} ({:.0}-{:.0}) wrong {:4.1} rejected {:4.1}; takes {:5.1} asks {:4.1} mistakes {:4.1}",
            100.0 * p,
            100.0 * (mid - half),
            100.0 * (mid + half),
            share(self.wrong),
            share(self.rejected),
            share(self.took),
            share(self.asked),
            share(self.mistook)
        )
    }
}
