//! Makes states one that cannot be told apart, going by what can follow them and by
//! what can lead to them, until neither finds any more.

use std::collections::HashMap;

use super::{Arc, Automaton};
use crate::grammar::limits;

/// Word, marks, weight and the class of the other end.
type Signature = (u32, u32, u32, u32, u32);

impl Automaton {
    pub(super) fn merge(&mut self) {
        let mut steps = 0;
        loop {
            let before = self.arcs.len();
            self.merge_futures(&mut steps);
            self.merge_pasts(&mut steps);
            if self.arcs.len() == before || steps > limits::MERGE_STEPS {
                return;
            }
        }
    }

    pub(super) fn merge_futures(&mut self, steps: &mut usize) {
        let kinds: Vec<Vec<(u32, u32)>> = self
            .finals
            .iter()
            .map(|list| list.iter().map(|f| (f.marks, f.weight.to_bits())).collect())
            .collect();
        let first = classes(kinds.iter());
        let ways: Vec<Vec<(Arc, u32)>> = self
            .arcs
            .iter()
            .map(|list| list.iter().map(|a| (*a, a.target)).collect())
            .collect();
        self.refine(first, &ways, steps);
    }

    fn merge_pasts(&mut self, steps: &mut usize) {
        // The start is the one state whose past is empty.
        let first = classes((0..self.arcs.len()).map(|s| s == 0));
        let mut ways: Vec<Vec<(Arc, u32)>> = vec![Vec::new(); self.arcs.len()];
        for (s, list) in self.arcs.iter().enumerate() {
            for arc in list {
                ways[arc.target as usize].push((*arc, s as u32));
            }
        }
        self.refine(first, &ways, steps);
    }

    /// Splits the classes until all states of a class have the same ways to the same
    /// classes, then makes each class one state.
    fn refine(&mut self, first: (Vec<u32>, usize), ways: &[Vec<(Arc, u32)>], steps: &mut usize) {
        let (mut class, mut count) = first;
        let size: usize = ways.iter().map(Vec::len).sum::<usize>() + ways.len();
        loop {
            *steps += size;
            if *steps > limits::MERGE_STEPS {
                return;
            }
            let signatures: Vec<(u32, Vec<Signature>)> = ways
                .iter()
                .enumerate()
                .map(|(s, list)| {
                    let mut all: Vec<Signature> = list
                        .iter()
                        .map(|(a, other)| {
                            let c = class[*other as usize];
                            (a.word, a.before, a.after, a.weight.to_bits(), c)
                        })
                        .collect();
                    all.sort_unstable();
                    all.dedup();
                    (class[s], all)
                })
                .collect();
            let (finer, finer_count) = classes(signatures.iter());
            class = finer;
            if finer_count == count {
                break;
            }
            count = finer_count;
        }
        if count < self.arcs.len() {
            let class: Vec<Option<u32>> = class.into_iter().map(Some).collect();
            self.quotient(&class, count);
        }
    }
}

/// Numbers equal keys alike, in the order in which they first come: the start keeps 0.
fn classes<K: std::hash::Hash + Eq>(keys: impl Iterator<Item = K>) -> (Vec<u32>, usize) {
    let mut known: HashMap<K, u32> = HashMap::new();
    let class = keys
        .map(|k| {
            let next = known.len() as u32;
            *known.entry(k).or_insert(next)
        })
        .collect();
    (class, known.len())
}
