//! Words through the graph: what a sentence means, and what may follow a beginning.

use std::collections::BTreeSet;

use super::{Arc, Automaton, Final, Mark, State};
use crate::grammar::limits;

/// A tag that a sentence passed, with the words that it covers: `words[from..to]`.
#[derive(Debug, Clone, PartialEq, Eq, Hash, serde::Serialize)]
pub struct Tag {
    pub text: String,
    pub from: usize,
    pub to: usize,
}

/// One way to read a sentence.
#[derive(Debug, Clone, PartialEq)]
pub struct Parse {
    /// In the order in which they end, inner before outer.
    pub tags: Vec<Tag>,
    /// Sum of the logarithms of the weights passed; 0 where the grammar has none.
    pub weight: f32,
}

/// What is known about the beginning of a sentence.
#[derive(Debug, Clone, PartialEq)]
pub struct Prefix<'a> {
    /// False: no sentence begins so, and the rest is false and empty.
    pub alive: bool,
    /// The sentence may end here.
    pub can_end: bool,
    /// Words that may come next, each once, in alphabetical order.
    pub next: Vec<&'a str>,
}

impl Prefix<'_> {
    /// Whether more words may follow.
    pub fn can_go_on(&self) -> bool {
        !self.next.is_empty()
    }
}

impl Automaton {
    /// Word indices of a sentence; `None` if it has a word that is not in the grammar,
    /// or too many words.
    fn indices<'w>(&self, words: impl IntoIterator<Item = &'w str>) -> Option<Vec<u32>> {
        let found: Option<Vec<u32>> = words
            .into_iter()
            .take(limits::SENTENCE_WORDS + 1)
            .map(|w| self.word_index(w))
            .collect();
        found.filter(|list| list.len() <= limits::SENTENCE_WORDS)
    }

    /// Arcs of `state` that say `word`.
    pub(crate) fn arcs_with(&self, state: State, word: u32) -> &[Arc] {
        let arcs = self.arcs(state);
        let from = arcs.partition_point(|a| a.word < word);
        let to = arcs.partition_point(|a| a.word <= word);
        arcs.get(from..to).unwrap_or(&[])
    }

    /// States that `states` can be in after `word`.
    pub(crate) fn step(&self, states: &BTreeSet<State>, word: u32) -> BTreeSet<State> {
        states
            .iter()
            .flat_map(|&s| self.arcs_with(s, word))
            .map(|a| a.target)
            .collect()
    }

    pub fn accepts<'w>(&self, words: impl IntoIterator<Item = &'w str>) -> bool {
        let Some(words) = self.indices(words) else {
            return false;
        };
        let mut states = BTreeSet::from([0]);
        for word in words {
            states = self.step(&states, word);
        }
        states.iter().any(|&s| self.is_final(s).is_some())
    }

    pub fn prefix<'w>(&self, words: impl IntoIterator<Item = &'w str>) -> Prefix<'_> {
        let mut states = BTreeSet::new();
        if let Some(words) = self.indices(words) {
            states.insert(0);
            for word in words {
                states = self.step(&states, word);
            }
        }
        let next: BTreeSet<&str> = states
            .iter()
            .flat_map(|&s| self.arcs(s))
            .map(|a| self.word(a.word))
            .collect();
        let can_end = states.iter().any(|&s| self.is_final(s).is_some());
        Prefix {
            alive: can_end || !next.is_empty(),
            can_end,
            next: next.into_iter().collect(),
        }
    }

    /// All readings of a whole sentence with different tags, likeliest first, at most
    /// [`limits::PARSES`].
    pub fn parse<'w>(&self, words: impl IntoIterator<Item = &'w str>) -> Vec<Parse> {
        let Some(words) = self.indices(words) else {
            return Vec::new();
        };
        let mut search = Search {
            graph: self,
            alive: self.alive(&words),
            words,
            path: Vec::new(),
            found: Vec::new(),
            steps: 0,
        };
        search.from(0, 0);
        let mut found = search.found;
        found.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        found
    }

    /// For each position the states from which the rest of the sentence can be said.
    fn alive(&self, words: &[u32]) -> Vec<BTreeSet<State>> {
        let mut sets = vec![BTreeSet::from([0])];
        for &word in words {
            let next = sets.last().map(|set| self.step(set, word));
            sets.push(next.unwrap_or_default());
        }
        let mut after: Option<BTreeSet<State>> = None;
        for (i, set) in sets.iter_mut().enumerate().rev() {
            match (&after, words.get(i)) {
                (Some(next), Some(&word)) => set.retain(|&s| {
                    self.arcs_with(s, word)
                        .iter()
                        .any(|a| next.contains(&a.target))
                }),
                _ => set.retain(|&s| self.is_final(s).is_some()),
            }
            after = Some(set.clone());
        }
        sets
    }
}

/// Ways can be many where readings are few; the search gives up after these.
const MOST_STEPS: usize = 50_000;

struct Search<'a> {
    graph: &'a Automaton,
    words: Vec<u32>,
    alive: Vec<BTreeSet<State>>,
    path: Vec<Arc>,
    found: Vec<Parse>,
    steps: usize,
}

impl Search<'_> {
    /// Follows every way on from `state`, with `at` words said.
    fn from(&mut self, state: State, at: usize) {
        self.steps += 1;
        if self.steps > MOST_STEPS || self.found.len() >= limits::PARSES {
            return;
        }
        if !self.alive.get(at).is_some_and(|set| set.contains(&state)) {
            return;
        }
        let graph = self.graph;
        let Some(&word) = self.words.get(at) else {
            for end in graph.finals.get(state as usize).into_iter().flatten() {
                self.reading(end);
            }
            return;
        };
        for arc in graph.arcs_with(state, word) {
            self.path.push(*arc);
            self.from(arc.target, at + 1);
            self.path.pop();
        }
    }

    fn reading(&mut self, end: &Final) {
        let mut tags = Vec::new();
        let mut begun = Vec::new();
        let mut weight = end.weight;
        for (i, arc) in self.path.iter().enumerate() {
            weight += arc.weight;
            mark(self.graph.marks(arc.before), i, &mut begun, &mut tags);
            mark(self.graph.marks(arc.after), i + 1, &mut begun, &mut tags);
        }
        mark(
            self.graph.marks(end.marks),
            self.path.len(),
            &mut begun,
            &mut tags,
        );
        match self.found.iter_mut().find(|p| p.tags == tags) {
            Some(same) => same.weight = same.weight.max(weight),
            None => self.found.push(Parse { tags, weight }),
        }
    }
}

fn mark(marks: &[Mark], at: usize, begun: &mut Vec<usize>, tags: &mut Vec<Tag>) {
    for mark in marks {
        let (text, from) = match mark {
            Mark::Open => {
                begun.push(at);
                continue;
            }
            Mark::Tag { text, back } => (text, at.saturating_sub(*back as usize)),
            Mark::Close { text } => (text, begun.pop().unwrap_or(at)),
        };
        tags.push(Tag {
            text: text.clone(),
            from,
            to: at,
        });
    }
}
