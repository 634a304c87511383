//! A graph without tags in which each word leaves a state at most once: what a
//! decoder walks, since two ways through the same words would only compete.

use std::collections::{BTreeMap, HashMap};

use super::{Arc, Automaton, Final};
use crate::grammar::limits;

/// States of the tagged graph that a beginning can have led to, each with how much
/// less likely it is than the likeliest of them (in units of `GRAIN`).
type Subset = Vec<(u32, i32)>;

/// Weights are told apart down to this much of a natural logarithm.
const GRAIN: f32 = 1e-3;

impl Automaton {
    /// The same sentences with their best weights, without tags. Weights are dropped
    /// when keeping them would need a graph without end (a loop that weighs two ways
    /// differently); `None` when even that does not fit the limits.
    pub(crate) fn determined(&self) -> Option<Automaton> {
        self.subsets(true).or_else(|| self.subsets(false))
    }

    fn subsets(&self, weighted: bool) -> Option<Automaton> {
        let limit = self.arcs.len().saturating_mul(8).saturating_add(10_000);
        let mut known: HashMap<Subset, u32> = HashMap::new();
        let mut queue: Vec<Subset> = vec![vec![(0, 0)]];
        known.insert(vec![(0, 0)], 0);
        let mut out = Automaton {
            words: self.words.clone(),
            marks: vec![Vec::new()],
            ..Automaton::default()
        };
        let mut done = 0;
        let mut arc_count = 0;
        while let Some(subset) = queue.get(done).cloned() {
            done += 1;
            let mut by_word: BTreeMap<u32, BTreeMap<u32, f32>> = BTreeMap::new();
            let mut end: Option<f32> = None;
            for &(state, less) in &subset {
                let less = less as f32 * GRAIN;
                for arc in self.arcs(state) {
                    let weight = if weighted { less + arc.weight } else { 0.0 };
                    let best = by_word.entry(arc.word).or_default();
                    let slot = best.entry(arc.target).or_insert(weight);
                    *slot = slot.max(weight);
                }
                if let Some(w) = self.is_final(state) {
                    let w = if weighted { less + w } else { 0.0 };
                    end = Some(end.map_or(w, |e: f32| e.max(w)));
                }
            }
            let mut arcs = Vec::with_capacity(by_word.len());
            for (word, targets) in by_word {
                let best = targets.values().copied().fold(f32::MIN, f32::max);
                let next: Subset = targets
                    .into_iter()
                    .map(|(state, w)| (state, ((w - best) / GRAIN).round() as i32))
                    .collect();
                let target = match known.get(&next) {
                    Some(&t) => t,
                    None => {
                        let t = known.len() as u32;
                        known.insert(next.clone(), t);
                        queue.push(next);
                        t
                    }
                };
                arcs.push(Arc {
                    word,
                    weight: (best / GRAIN).round() * GRAIN,
                    target,
                    before: 0,
                    after: 0,
                });
            }
            arc_count += arcs.len();
            if known.len() > limit || arc_count > limits::ARCS {
                return None;
            }
            out.arcs.push(arcs);
            out.finals.push(
                end.map(|weight| Final { weight, marks: 0 })
                    .into_iter()
                    .collect(),
            );
        }
        out.index_words();
        let mut steps = 0;
        out.merge_futures(&mut steps);
        Some(out)
    }
}
