//! A grammar as a graph that a recogniser can walk: states, and arcs that each say
//! one word. There are no silent arcs.
//!
//! | file | does |
//! | --- | --- |
//! | `build` | rule tree → net with silent arcs, rules expanded in place |
//! | `silent` | removes the silent arcs; their tags move onto the words |
//! | `merge` | makes states one that have the same future or the same past |
//! | `determine` | forgets the tags: for each state and word one arc |
//! | `double` | sentences that can be read in two ways |
//! | `walk` | words → readings; a beginning of a sentence → what may follow |
//! | `speak` | sentences out of the graph: all, random, covering |

mod build;
mod determine;
mod double;
mod merge;
mod silent;
mod speak;
mod walk;

use std::collections::HashMap;

pub use walk::{Parse, Prefix, Tag};

use super::error::Result;
use super::jsgf::Source;

/// Index of a state; 0 is where sentences begin.
pub type State = u32;

/// What happens beside the words on the way through the graph.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) enum Mark {
    /// The tag covers the last `back` words.
    Tag { text: String, back: u32 },
    /// A tag begins whose number of words is not the same on every way.
    Open,
    /// The tag that began last ends.
    Close { text: String },
}

/// One word from one state to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    /// Index into [`Automaton::words`].
    pub word: u32,
    /// Natural logarithm of the weight relative to the likeliest alternative: 0 or less.
    pub weight: f32,
    pub target: State,
    before: u32,
    after: u32,
}

/// A way for a sentence to end in a state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Final {
    /// As [`Arc::weight`].
    pub weight: f32,
    marks: u32,
}

#[derive(Debug, Clone, Default)]
pub struct Automaton {
    words: Vec<String>,
    /// Lower-case word → index.
    lookup: HashMap<String, u32>,
    /// Lists of marks; 0 is the empty list.
    marks: Vec<Vec<Mark>>,
    /// Sorted by word.
    arcs: Vec<Vec<Arc>>,
    finals: Vec<Vec<Final>>,
}

impl Automaton {
    /// Compiles everything that the rules named in `start` can say.
    ///
    /// # Errors
    /// A rule that calls itself where no graph can follow, or a grammar beyond the
    /// limits, with the place of the reference that went too far.
    pub(crate) fn compile(source: &Source, start: &[String]) -> Result<Automaton> {
        let net = build::net(source, start)?;
        let mut automaton = silent::remove(source, net)?;
        automaton.trim();
        automaton.merge();
        Ok(automaton)
    }

    /// Number of states; they are `0..states()`.
    pub fn states(&self) -> u32 {
        self.arcs.len() as u32
    }

    pub fn start(&self) -> State {
        0
    }

    /// Arcs that leave `state`, by ascending word index; none for a state that is not there.
    pub fn arcs(&self, state: State) -> &[Arc] {
        self.arcs.get(state as usize).map_or(&[], Vec::as_slice)
    }

    pub fn arc_count(&self) -> usize {
        self.arcs.iter().map(Vec::len).sum()
    }

    /// The weight with which a sentence may end in `state`, if it may.
    pub fn is_final(&self, state: State) -> Option<f32> {
        let finals = self.finals.get(state as usize)?;
        finals.iter().map(|f| f.weight).reduce(f32::max)
    }

    /// Every word of the grammar once, spelled as first written.
    pub fn words(&self) -> &[String] {
        &self.words
    }

    pub fn word(&self, index: u32) -> &str {
        self.words.get(index as usize).map_or("", String::as_str)
    }

    /// Index of a word, whatever its case.
    pub fn word_index(&self, word: &str) -> Option<u32> {
        match self.lookup.get(word) {
            Some(&i) => Some(i),
            None => self.lookup.get(&word.to_lowercase()).copied(),
        }
    }

    /// True when nothing at all can be said.
    pub fn is_empty(&self) -> bool {
        self.arcs.is_empty() || (self.arc_count() == 0 && self.is_final(0).is_none())
    }

    fn marks(&self, list: u32) -> &[Mark] {
        self.marks.get(list as usize).map_or(&[], Vec::as_slice)
    }

    /// Drops what no sentence passes through, and words that are then never said.
    fn trim(&mut self) {
        let n = self.arcs.len();
        let mut reached = vec![false; n];
        let mut open = Vec::new();
        if n > 0 {
            reached[0] = true;
            open.push(0);
        }
        while let Some(s) = open.pop() {
            for arc in &self.arcs[s] {
                let t = arc.target as usize;
                if !reached[t] {
                    reached[t] = true;
                    open.push(t);
                }
            }
        }
        let mut back: Vec<Vec<u32>> = vec![Vec::new(); n];
        for (s, arcs) in self.arcs.iter().enumerate() {
            for arc in arcs {
                back[arc.target as usize].push(s as u32);
            }
        }
        let mut ends: Vec<bool> = self.finals.iter().map(|f| !f.is_empty()).collect();
        let mut open: Vec<usize> = (0..n).filter(|&s| ends[s]).collect();
        while let Some(s) = open.pop() {
            for &p in &back[s] {
                if !ends[p as usize] {
                    ends[p as usize] = true;
                    open.push(p as usize);
                }
            }
        }
        let mut class: Vec<Option<u32>> = vec![None; n];
        let mut count = 0;
        for s in 0..n {
            // The start stays even when nothing can be said.
            if s == 0 || (reached[s] && ends[s]) {
                class[s] = Some(count);
                count += 1;
            }
        }
        self.quotient(&class, count as usize);
    }

    /// Replaces every state by its class; states without one vanish with their arcs.
    fn quotient(&mut self, class: &[Option<u32>], count: usize) {
        let mut arcs: Vec<Vec<Arc>> = vec![Vec::new(); count];
        let mut finals: Vec<Vec<Final>> = vec![Vec::new(); count];
        for (s, c) in class.iter().enumerate() {
            let Some(c) = *c else { continue };
            for arc in &self.arcs[s] {
                if let Some(target) = class[arc.target as usize] {
                    arcs[c as usize].push(Arc { target, ..*arc });
                }
            }
            finals[c as usize].extend(self.finals[s].iter().copied());
        }
        for list in &mut arcs {
            list.sort_by(|a, b| {
                arc_key(a)
                    .cmp(&arc_key(b))
                    .then(b.weight.total_cmp(&a.weight))
            });
            list.dedup_by_key(|a| arc_key(a));
        }
        for list in &mut finals {
            list.sort_by(|a, b| a.marks.cmp(&b.marks).then(b.weight.total_cmp(&a.weight)));
            list.dedup_by_key(|f| f.marks);
        }
        self.arcs = arcs;
        self.finals = finals;
        self.drop_unsaid_words();
    }

    fn drop_unsaid_words(&mut self) {
        let mut new = vec![None; self.words.len()];
        for arc in self.arcs.iter().flatten() {
            new[arc.word as usize] = Some(0u32);
        }
        let mut kept = Vec::new();
        for (slot, word) in new.iter_mut().zip(&self.words) {
            if let Some(index) = slot {
                *index = kept.len() as u32;
                kept.push(word.clone());
            }
        }
        if kept.len() == self.words.len() {
            return;
        }
        for arc in self.arcs.iter_mut().flatten() {
            if let Some(index) = new[arc.word as usize] {
                arc.word = index;
            }
        }
        self.words = kept;
        self.index_words();
    }

    fn index_words(&mut self) {
        self.lookup = self
            .words
            .iter()
            .enumerate()
            .map(|(i, w)| (w.to_lowercase(), i as u32))
            .collect();
    }
}

/// Everything that tells two arcs of one state apart but their weight.
fn arc_key(arc: &Arc) -> (u32, u32, u32, u32) {
    (arc.word, arc.target, arc.before, arc.after)
}
