//! Makes states one that cannot be told apart, going by what can follow them and by
//! what can lead to them, until neither finds any more.

use std::collections::HashMap;

use super::{Arc, Automaton};
use crate::grammar::limits;

/// Word, marks, weight and the class of the other end.
type Signature = (u32, u32, u32, u32, u32);

/// For each state its arcs in one direction, with the state at their other end.
type Ways = Vec<Vec<(Arc, u32)>>;

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
        let ends: Vec<Vec<(u32, u32)>> = self
            .finals
            .iter()
            .map(|list| list.iter().map(|f| (f.marks, f.weight.to_bits())).collect())
            .collect();
        let kinds = classes(ends.iter());
        let ways = self.forward();
        let order = self.order();
        let order = order.as_ref().map(|o| o.iter().rev());
        self.unite(kinds, &ways, order, steps);
    }

    fn merge_pasts(&mut self, steps: &mut usize) {
        // The start is the one state whose past is empty.
        let kinds = classes((0..self.arcs.len()).map(|s| s == 0));
        let mut ways: Ways = vec![Vec::new(); self.arcs.len()];
        for (s, list) in self.arcs.iter().enumerate() {
            for arc in list {
                ways[arc.target as usize].push((*arc, s as u32));
            }
        }
        let order = self.order();
        self.unite(kinds, &ways, order.as_ref().map(|o| o.iter()), steps);
    }

    fn forward(&self) -> Ways {
        self.arcs
            .iter()
            .map(|list| list.iter().map(|a| (*a, a.target)).collect())
            .collect()
    }

    /// States so that every arc goes forward; `None` if the graph has a loop.
    fn order(&self) -> Option<Vec<u32>> {
        let mut waits = vec![0u32; self.arcs.len()];
        for arc in self.arcs.iter().flatten() {
            waits[arc.target as usize] += 1;
        }
        let mut order: Vec<u32> = (0..self.states())
            .filter(|&s| waits[s as usize] == 0)
            .collect();
        let mut next = 0;
        while let Some(&s) = order.get(next) {
            next += 1;
            for arc in self.arcs(s) {
                let w = &mut waits[arc.target as usize];
                *w -= 1;
                if *w == 0 {
                    order.push(arc.target);
                }
            }
        }
        (order.len() == self.arcs.len()).then_some(order)
    }

    /// Makes states of one kind one that have the same ways to the same states. Without
    /// loops one pass does, from the ends of the ways on; else classes are split until
    /// they hold.
    fn unite<'o>(
        &mut self,
        kinds: (Vec<u32>, usize),
        ways: &Ways,
        order: Option<impl Iterator<Item = &'o u32>>,
        steps: &mut usize,
    ) {
        let class = match order {
            Some(order) => {
                *steps += ways.iter().map(Vec::len).sum::<usize>() + ways.len();
                Some(one_pass(&kinds.0, ways, order))
            }
            None => refined(kinds, ways, steps),
        };
        let Some((class, count)) = class else { return };
        if count < self.arcs.len() {
            let class: Vec<Option<u32>> = class.into_iter().map(Some).collect();
            self.quotient(&class, count);
        }
    }
}

fn signature(list: &[(Arc, u32)], class: &[u32]) -> Vec<Signature> {
    let mut all: Vec<Signature> = list
        .iter()
        .map(|(a, other)| {
            let c = class[*other as usize];
            (a.word, a.before, a.after, a.weight.to_bits(), c)
        })
        .collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// `order` comes to the other ends of a state's ways before the state.
fn one_pass<'o>(
    kinds: &[u32],
    ways: &Ways,
    order: impl Iterator<Item = &'o u32>,
) -> (Vec<u32>, usize) {
    let mut class = vec![0u32; ways.len()];
    let mut known: HashMap<(u32, Vec<Signature>), u32> = HashMap::new();
    for &s in order {
        let s = s as usize;
        let next = known.len() as u32;
        class[s] = *known
            .entry((kinds[s], signature(&ways[s], &class)))
            .or_insert(next);
    }
    classes(class.iter())
}

/// Splits the kinds until all states of a class have the same ways to the same
/// classes; `None` if that takes too long.
fn refined(kinds: (Vec<u32>, usize), ways: &Ways, steps: &mut usize) -> Option<(Vec<u32>, usize)> {
    let (mut class, mut count) = kinds;
    let size: usize = ways.iter().map(Vec::len).sum::<usize>() + ways.len();
    loop {
        *steps += size;
        if *steps > limits::MERGE_STEPS {
            return None;
        }
        let signatures: Vec<(u32, Vec<Signature>)> = ways
            .iter()
            .enumerate()
            .map(|(s, list)| (class[s], signature(list, &class)))
            .collect();
        let (finer, finer_count) = classes(signatures.iter());
        class = finer;
        if finer_count == count {
            return Some((class, count));
        }
        count = finer_count;
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
