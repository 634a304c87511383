//! Sentences that can be read in more than one way.
//!
//! Walks the graph with two markers at once over the same words. Wherever the two can
//! stand apart and still both reach an end, the shortest such sentence is a witness.

use std::collections::{HashMap, VecDeque};

use super::{Automaton, State};

/// Two states reached by the same words, the smaller first, and whether the ways to
/// them have differed.
type Pair = (State, State, bool);

/// Pairs looked at before giving up on the rest.
const MOST_PAIRS: usize = 400_000;

impl Automaton {
    /// One shortest witness for each place where two ways through the same words
    /// differ, at most `limit`. Whether they mean different things is for the caller
    /// to see: two ways may carry equal tags.
    pub(crate) fn double_ways(&self, limit: usize) -> Vec<String> {
        let mut lead: HashMap<Pair, Option<(Pair, u32)>> = HashMap::new();
        let mut order: Vec<Pair> = Vec::new();
        let mut queue = VecDeque::from([(0, 0, false)]);
        lead.insert((0, 0, false), None);
        // Arcs of the pair graph, backwards, for the way to the end.
        let mut back: HashMap<Pair, Vec<(Pair, u32)>> = HashMap::new();
        while let Some(pair) = queue.pop_front() {
            order.push(pair);
            for (next, word) in self.steps(pair) {
                back.entry(next).or_default().push((pair, word));
                if !lead.contains_key(&next) && lead.len() < MOST_PAIRS {
                    lead.insert(next, Some((pair, word)));
                    queue.push_back(next);
                }
            }
        }
        let rest = self.ways_to_end(&order, &back);
        let mut found = Vec::new();
        for &pair in &order {
            if found.len() >= limit {
                break;
            }
            let two_ends = |s: State| self.finals.get(s as usize).is_some_and(|f| f.len() > 1);
            if self.both_end(pair) && (pair.2 || two_ends(pair.0)) {
                found.push(self.sentence(&lead, &rest, pair, None));
            }
            for (next, word) in self.steps(pair) {
                // A pair that has just come apart, or goes on apart.
                if next.2 && rest.contains_key(&next) && found.len() < limit {
                    found.push(self.sentence(&lead, &rest, pair, Some((next, word))));
                }
            }
        }
        found.sort();
        found.dedup();
        found
    }

    fn both_end(&self, (p, q, _): Pair) -> bool {
        let ends = |s: State| {
            self.finals
                .get(s as usize)
                .is_some_and(|list| !list.is_empty())
        };
        ends(p) && ends(q)
    }

    fn steps(&self, (p, q, apart): Pair) -> Vec<(Pair, u32)> {
        let mut steps = Vec::new();
        for a in self.arcs(p) {
            for b in self.arcs_with(q, a.word) {
                let apart = apart || (a.before, a.after, a.target) != (b.before, b.after, b.target);
                let pair = (a.target.min(b.target), a.target.max(b.target), apart);
                steps.push((pair, a.word));
            }
        }
        steps.sort_unstable();
        steps.dedup();
        steps
    }

    /// For each pair from which both markers can reach an end: the next step of a
    /// shortest way there.
    fn ways_to_end(
        &self,
        order: &[Pair],
        back: &HashMap<Pair, Vec<(Pair, u32)>>,
    ) -> HashMap<Pair, Option<(Pair, u32)>> {
        let mut rest: HashMap<Pair, Option<(Pair, u32)>> = HashMap::new();
        let mut queue = VecDeque::new();
        for &pair in order.iter().filter(|&&p| self.both_end(p)) {
            rest.insert(pair, None);
            queue.push_back(pair);
        }
        while let Some(pair) = queue.pop_front() {
            for &(from, word) in back.get(&pair).into_iter().flatten() {
                rest.entry(from).or_insert_with(|| {
                    queue.push_back(from);
                    Some((pair, word))
                });
            }
        }
        rest
    }

    fn sentence(
        &self,
        lead: &HashMap<Pair, Option<(Pair, u32)>>,
        rest: &HashMap<Pair, Option<(Pair, u32)>>,
        pair: Pair,
        step: Option<(Pair, u32)>,
    ) -> String {
        let mut words = Vec::new();
        let mut at = pair;
        while let Some(Some((from, word))) = lead.get(&at) {
            words.push(*word);
            at = *from;
        }
        words.reverse();
        if let Some((next, word)) = step {
            words.push(word);
            let mut at = next;
            while let Some(Some((next, word))) = rest.get(&at) {
                words.push(*word);
                at = *next;
            }
        }
        let words: Vec<&str> = words.iter().map(|&w| self.word(w)).collect();
        words.join(" ")
    }
}
