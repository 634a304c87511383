//! Sentences out of the graph: all of them, some at random, few that cover it.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::{Automaton, State};
use crate::grammar::number::{Step, Sum};

impl Automaton {
    /// Fewest words from each state to the end of a sentence.
    fn distances(&self) -> Vec<Option<u32>> {
        let mut back: Vec<Vec<u32>> = vec![Vec::new(); self.arcs.len()];
        for (s, arcs) in self.arcs.iter().enumerate() {
            for arc in arcs {
                back[arc.target as usize].push(s as u32);
            }
        }
        let mut far: Vec<Option<u32>> = vec![None; self.arcs.len()];
        let mut queue: VecDeque<usize> = VecDeque::new();
        for (s, finals) in self.finals.iter().enumerate() {
            if !finals.is_empty() {
                far[s] = Some(0);
                queue.push_back(s);
            }
        }
        while let Some(s) = queue.pop_front() {
            let next = far[s].unwrap_or(0) + 1;
            for &p in &back[s] {
                let slot = &mut far[p as usize];
                if slot.is_none() {
                    *slot = Some(next);
                    queue.push_back(p as usize);
                }
            }
        }
        far
    }

    /// One sentence, the same for the same seed. Every word that may come next is as
    /// likely as every other; after `long` words the shortest way to an end is taken.
    pub(crate) fn random_sentence(&self, seed: u64, long: usize) -> Vec<&str> {
        let far = self.distances();
        let mut dice = seed;
        let mut state: State = 0;
        let mut words = Vec::new();
        loop {
            let end = self.is_final(state).is_some();
            let arcs = self.arcs(state);
            let mut choices: Vec<u32> = arcs.iter().map(|a| a.word).collect();
            choices.dedup();
            let ways = choices.len() + usize::from(end);
            if ways == 0 || (end && words.len() >= long) {
                return words;
            }
            let pick = (next_random(&mut dice) % ways as u64) as usize;
            let Some(&word) = choices.get(pick) else {
                return words;
            };
            let same = self.arcs_with(state, word);
            let arc = if words.len() < long {
                same.get((next_random(&mut dice) % same.len().max(1) as u64) as usize)
            } else {
                arcs.iter()
                    .min_by_key(|a| far[a.target as usize].unwrap_or(u32::MAX))
            };
            let Some(arc) = arc else { return words };
            words.push(self.word(arc.word));
            state = arc.target;
        }
    }

    /// The first `limit` different sentences of at most `long` words, in alphabetical
    /// order of their words' first appearance in the grammar. Wants a graph without
    /// tags, in which no two ways say the same.
    pub(crate) fn all_sentences(&self, limit: usize, long: usize) -> Vec<String> {
        let mut found = Vec::new();
        let mut path: Vec<(State, usize)> = vec![(0, 0)];
        let mut words: Vec<&str> = Vec::new();
        let far = self.distances();
        if self.is_final(0).is_some() && limit > 0 {
            found.push(String::new());
        }
        while let Some((state, next)) = path.last_mut() {
            if found.len() >= limit {
                break;
            }
            let arc = self.arcs(*state).get(*next).copied();
            *next += 1;
            match arc {
                Some(arc) => {
                    let room = long.saturating_sub(words.len() + 1);
                    let need = far[arc.target as usize].map_or(usize::MAX, |d| d as usize);
                    if words.len() < long && need <= room {
                        words.push(self.word(arc.word));
                        path.push((arc.target, 0));
                        if self.is_final(arc.target).is_some() {
                            found.push(words.join(" "));
                        }
                    }
                }
                None => {
                    path.pop();
                    words.pop();
                }
            }
        }
        found
    }

    /// Every sentence whose number tags (`+v`, `*m`) make exactly `value` thousandths,
    /// likeliest first, then shortest. Sums only grow, so ways that are past the value
    /// are left early.
    pub(crate) fn sentences_worth(&self, value: i64) -> Vec<String> {
        let steps: Vec<Vec<Step>> = self.marks.iter().map(|m| Step::all(m)).collect();
        let mut search = Worth {
            graph: self,
            steps: &steps,
            value,
            words: Vec::new(),
            found: BTreeMap::new(),
        };
        search.from(0, Sum::default(), 0.0);
        let found = search.found;
        let mut list: Vec<(String, f32)> = found.into_iter().collect();
        list.sort_by(|(a, wa), (b, wb)| {
            let length = |s: &str| s.split(' ').count();
            wb.total_cmp(wa).then(length(a).cmp(&length(b)))
        });
        list.into_iter().map(|(s, _)| s).collect()
    }

    /// Few sentences in which every pair of neighbouring words of the grammar occurs
    /// (and every first and last word): what an n-gram recogniser needs to be told.
    /// `None` if there would be more than `limit`. Wants a graph without tags.
    pub(crate) fn covering(&self, limit: usize) -> Option<Vec<String>> {
        let far = self.distances();
        let mut covered: BTreeSet<(u32, u32)> = BTreeSet::new();
        let mut found = Vec::new();
        let mut say = |words: Vec<u32>, covered: &mut BTreeSet<(u32, u32)>| {
            covered.extend(pairs_of(&words));
            let text: Vec<&str> = words.iter().map(|&w| self.word(w)).collect();
            found.push(text.join(" "));
            found.len() <= limit
        };
        for (s, leads) in self.leads().iter().enumerate() {
            for (lead, words) in leads {
                let ends = self.is_final(s as u32).is_some() && !words.is_empty();
                if ends && !covered.contains(&(*lead, EDGE)) && !say(words.clone(), &mut covered) {
                    return None;
                }
                for arc in self.arcs(s as u32) {
                    if covered.contains(&(*lead, arc.word)) {
                        continue;
                    }
                    let mut words = words.clone();
                    words.push(arc.word);
                    self.finish(arc.target, &far, &mut words);
                    if !say(words, &mut covered) {
                        return None;
                    }
                }
            }
        }
        Some(found)
    }

    /// Adds the shortest way from `state` to the end of a sentence.
    fn finish(&self, mut state: State, far: &[Option<u32>], words: &mut Vec<u32>) {
        while self.is_final(state).is_none() {
            let nearest = self
                .arcs(state)
                .iter()
                .min_by_key(|a| far[a.target as usize].unwrap_or(u32::MAX));
            let Some(arc) = nearest else { return };
            words.push(arc.word);
            state = arc.target;
        }
    }

    /// For each state and each word that can lead to it, one short beginning that ends
    /// with this word; for the start the empty beginning.
    fn leads(&self) -> Vec<BTreeMap<u32, Vec<u32>>> {
        let way = self.first_ways();
        let mut leads: Vec<BTreeMap<u32, Vec<u32>>> = vec![BTreeMap::new(); self.arcs.len()];
        if let Some(start) = leads.first_mut() {
            start.insert(EDGE, Vec::new());
        }
        for (s, arcs) in self.arcs.iter().enumerate() {
            let before = beginning(s as u32, &way);
            for arc in arcs {
                let mut words = before.clone();
                words.push(arc.word);
                let slot = leads[arc.target as usize]
                    .entry(arc.word)
                    .or_insert_with(|| words.clone());
                if words.len() < slot.len() {
                    *slot = words;
                }
            }
        }
        leads
    }

    /// For each state the state and word of the last step of a shortest way to it.
    fn first_ways(&self) -> Vec<Option<(u32, u32)>> {
        let mut way = vec![None; self.arcs.len()];
        let mut seen = vec![false; self.arcs.len()];
        let mut queue = VecDeque::from([0u32]);
        if let Some(s) = seen.first_mut() {
            *s = true;
        }
        while let Some(s) = queue.pop_front() {
            for arc in self.arcs(s) {
                let t = arc.target as usize;
                if !seen[t] {
                    seen[t] = true;
                    way[t] = Some((s, arc.word));
                    queue.push_back(arc.target);
                }
            }
        }
        way
    }
}

/// The search for the sentences that are worth a number.
struct Worth<'a> {
    graph: &'a Automaton,
    /// By number of the list of marks.
    steps: &'a [Vec<Step>],
    value: i64,
    words: Vec<u32>,
    found: BTreeMap<String, f32>,
}

impl Worth<'_> {
    fn from(&mut self, state: State, sum: Sum, weight: f32) {
        // Longer than any number is said; ends loops of words that add nothing.
        const LONG: usize = 16;
        if sum.value().unwrap_or(0) > self.value || self.words.len() > LONG {
            return;
        }
        let graph = self.graph;
        for end in graph.finals.get(state as usize).into_iter().flatten() {
            let mut sum = sum;
            self.take(&mut sum, end.marks);
            if sum.value() == Some(self.value) {
                let words: Vec<&str> = self.words.iter().map(|&w| graph.word(w)).collect();
                let weight = weight + end.weight;
                let slot = self.found.entry(words.join(" ")).or_insert(weight);
                *slot = slot.max(weight);
            }
        }
        for arc in graph.arcs(state) {
            let mut sum = sum;
            self.take(&mut sum, arc.before);
            self.take(&mut sum, arc.after);
            self.words.push(arc.word);
            self.from(arc.target, sum, weight + arc.weight);
            self.words.pop();
        }
    }

    fn take(&self, sum: &mut Sum, marks: u32) {
        for &step in self.steps.get(marks as usize).into_iter().flatten() {
            sum.step(step);
        }
    }
}

/// Stands for the edge of a sentence in a pair of words.
const EDGE: u32 = u32::MAX;

fn beginning(state: u32, before: &[Option<(u32, u32)>]) -> Vec<u32> {
    let mut words = Vec::new();
    let mut at = state;
    while let Some(Some((from, word))) = before.get(at as usize) {
        words.push(*word);
        at = *from;
    }
    words.reverse();
    words
}

fn pairs_of(words: &[u32]) -> Vec<(u32, u32)> {
    let ends = std::iter::once(EDGE).chain(words.iter().copied());
    let nexts = words.iter().copied().chain(std::iter::once(EDGE));
    ends.zip(nexts).collect()
}

/// SplitMix64 (Steele, Lea and Flood, 2014): enough to choose sentences by.
fn next_random(seed: &mut u64) -> u64 {
    *seed = seed.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *seed;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}
