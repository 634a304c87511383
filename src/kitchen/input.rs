//! What the loop hands to [`super::decide`].

use crate::grammar::Call;

#[derive(Debug, Clone, PartialEq)]
pub enum Input {
    /// The cook begins: once, before anything else.
    Begin,
    Call {
        call: Call,
        /// The words that were heard.
        heard: String,
        /// Probability from 0 to 1 that they are right (1.0 for typed lines).
        confidence: f32,
    },
    /// Two calls that the ear cannot tell apart, the likelier first.
    Either {
        calls: [Call; 2],
        heard: String,
        /// Of the first.
        confidence: f32,
    },
    /// Speech that was for us and made no call: the best words, best first.
    NotUnderstood { heard: Vec<String> },
    /// When it is to be on the table, in cook time: the loop knows the wall clock.
    Serve { at: super::At },
    /// The name that the tool is called by, alone.
    Called,
    /// Time has passed; see [`super::next_due`].
    Tick,
    /// The program is back after `away_ms` in which it could not speak; the state
    /// has been folded from the journal.
    Resumed { away_ms: i64 },
}
