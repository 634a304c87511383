//! The grammar in phones. For each state of the word graph a prefix tree of the sounds
//! of the words that leave it; the last phone of a word carries the word and leads to
//! the tree of the next state. Trees with the same endings share them.

use std::collections::{BTreeMap, HashMap};

use super::words::WordGraph;
use crate::ear::lexicon::Sounds;

/// No word is complete yet.
pub const NO_WORD: u32 = u32::MAX;

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PhoneArc {
    /// The word's weight, on its last phone.
    pub weight: f32,
    pub phone: u8,
    pub target: u32,
    /// Number of the word that this phone completes, or [`NO_WORD`].
    pub word: u32,
}

#[derive(Debug, Clone, Default)]
pub struct PhoneGraph {
    pub words: Vec<String>,
    pub start: u32,
    arcs: Vec<PhoneArc>,
    /// Of each node, its first arc; one more at the end.
    first: Vec<u32>,
    /// Whether a sentence may end in the node.
    ends: Vec<bool>,
    /// Whether the node stands between two words.
    between: Vec<bool>,
}

/// What is still to be heard before a word is complete, the word, and where it leads.
type Rest<'a> = (&'a [u8], u32, u32, Grain);

/// Weight in thousandths of a natural logarithm, so that rests can be compared.
type Grain = i32;

struct Builder<'a> {
    nodes: Vec<Vec<PhoneArc>>,
    shared: HashMap<Vec<Rest<'a>>, u32>,
}

impl PhoneGraph {
    /// `sounds`: every way to say each word. Words without any are left out, with the
    /// sentences that need them.
    pub fn new(graph: &WordGraph, sounds: &BTreeMap<&str, Vec<Sounds>>) -> Self {
        let states = graph.arcs.len();
        let mut builder = Builder {
            nodes: vec![Vec::new(); states],
            shared: HashMap::new(),
        };
        for (state, arcs) in graph.arcs.iter().enumerate() {
            let mut rest: Vec<Rest> = Vec::new();
            for arc in arcs {
                let spelling = graph
                    .words
                    .get(arc.word as usize)
                    .map_or("", String::as_str);
                let weight = (arc.weight * 1e3) as Grain;
                for way in sounds.get(spelling).into_iter().flatten() {
                    rest.push((way, arc.word, arc.to, weight));
                }
            }
            rest.sort_unstable();
            rest.dedup();
            builder.fill(state, rest);
        }
        let mut out = Self {
            words: graph.words.clone(),
            start: graph.start,
            ends: graph.ends.clone(),
            between: vec![true; states],
            ..Self::default()
        };
        out.ends.resize(builder.nodes.len(), false);
        out.between.resize(builder.nodes.len(), false);
        for arcs in builder.nodes {
            out.first.push(out.arcs.len() as u32);
            out.arcs.extend(arcs);
        }
        out.first.push(out.arcs.len() as u32);
        out
    }

    /// Numbers of the arcs that leave a node.
    pub fn leaving(&self, node: u32) -> std::ops::Range<u32> {
        let at = |n: usize| self.first.get(n).copied().unwrap_or(0);
        at(node as usize)..at(node as usize + 1)
    }

    pub fn arc(&self, number: u32) -> Option<&PhoneArc> {
        self.arcs.get(number as usize)
    }

    pub fn can_end(&self, node: u32) -> bool {
        self.ends.get(node as usize).copied().unwrap_or(false)
    }

    /// In how many ways, by the next phone, a sentence may go on from the node.
    pub fn ways_on(&self, node: u32) -> usize {
        self.leaving(node).len()
    }

    /// Whether the node stands between two words (or before the first).
    pub fn is_between(&self, node: u32) -> bool {
        self.between.get(node as usize).copied().unwrap_or(false)
    }

    pub fn size(&self) -> (usize, usize) {
        (self.ends.len(), self.arcs.len())
    }
}

impl<'a> Builder<'a> {
    /// Gives `node` the arcs of a sorted list of rests.
    fn fill(&mut self, node: usize, rest: Vec<Rest<'a>>) {
        let mut arcs = Vec::new();
        let mut deeper: BTreeMap<u8, Vec<Rest<'a>>> = BTreeMap::new();
        for (sounds, word, to, weight) in rest {
            match sounds.split_first() {
                None => {}
                Some((&phone, [])) => arcs.push(PhoneArc {
                    phone,
                    target: to,
                    word,
                    weight: weight as f32 * 1e-3,
                }),
                Some((&phone, after)) => deeper
                    .entry(phone)
                    .or_default()
                    .push((after, word, to, weight)),
            }
        }
        for (phone, rest) in deeper {
            let target = match self.shared.get(&rest) {
                Some(&n) => n,
                None => {
                    let n = self.nodes.len() as u32;
                    self.nodes.push(Vec::new());
                    self.shared.insert(rest.clone(), n);
                    self.fill(n as usize, rest);
                    n
                }
            };
            arcs.push(PhoneArc {
                phone,
                target,
                word: NO_WORD,
                weight: 0.0,
            });
        }
        if let Some(slot) = self.nodes.get_mut(node) {
            *slot = arcs;
        }
    }
}
