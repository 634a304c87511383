//! Words and the order in which they may come: what the phone graph is made of.

use crate::grammar::Automaton;

/// A word that leaves a state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WordArc {
    /// Number of the word.
    pub word: u32,
    pub to: u32,
    /// Natural logarithm of its weight against the likeliest alternative, 0 or less.
    pub weight: f32,
}

/// States are numbered from 0; sentences begin at `start`.
#[derive(Debug, Clone, Default)]
pub struct WordGraph {
    pub start: u32,
    /// Spelling by word number.
    pub words: Vec<String>,
    pub arcs: Vec<Vec<WordArc>>,
    pub ends: Vec<bool>,
}

impl WordGraph {
    /// The sentences of a grammar, best from its graph without tags, in which the same
    /// words do not compete with themselves.
    pub fn of(grammar: &Automaton) -> Self {
        let states = 0..grammar.states();
        Self {
            start: grammar.start(),
            words: grammar.words().to_vec(),
            arcs: states
                .clone()
                .map(|s| {
                    let leaving = grammar.arcs(s).iter();
                    leaving
                        .map(|a| WordArc {
                            word: a.word,
                            to: a.target,
                            weight: a.weight,
                        })
                        .collect()
                })
                .collect(),
            ends: states.map(|s| grammar.is_final(s).is_some()).collect(),
        }
    }

    /// One sentence of words by number.
    pub fn line(words: &[String], sentence: &[u32]) -> Self {
        let arcs = sentence.iter().zip(1..).map(|(&word, to)| {
            vec![WordArc {
                word,
                to,
                weight: 0.0,
            }]
        });
        let mut ends = vec![false; sentence.len()];
        ends.push(true);
        Self {
            start: 0,
            words: words.to_vec(),
            arcs: arcs.chain([Vec::new()]).collect(),
            ends,
        }
    }
}
