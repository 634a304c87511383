//! The steps as a graph: what waits for what, and what may be under way at once.

use std::collections::BTreeMap;

use super::model::Id;

/// Reachability over at most 64 steps, which is all that the reader lets through.
#[derive(Debug)]
pub(super) struct Order {
    /// For each step, the steps that must have ended before it begins.
    before: Vec<u64>,
    /// Indices so that every step comes after those it waits for, otherwise as written.
    pub(super) sorted: Vec<usize>,
}

/// Steps that wait for one another in a ring, by index, in the order of waiting.
pub(super) type Ring = Vec<usize>;

impl Order {
    /// `after[i]` are the identifiers that step `ids[i]` waits for; unknown ones
    /// (reported elsewhere) are passed over. On rings the order of what remains is
    /// still given, so that other checks can go on.
    pub(super) fn of(ids: &[&Id], after: &[&[Id]]) -> (Order, Vec<Ring>) {
        let index: BTreeMap<&Id, usize> = ids.iter().enumerate().map(|(i, id)| (*id, i)).collect();
        let waits: Vec<Vec<usize>> = after
            .iter()
            .map(|ids| ids.iter().filter_map(|id| index.get(id).copied()).collect())
            .collect();
        let rings = rings(&waits);
        let mut before = vec![0u64; waits.len()];
        let mut sorted = Vec::new();
        let mut done = vec![false; waits.len()];
        // Each round takes the first written step that waits for nothing undone.
        while let Some(step) = (0..waits.len()).find(|&i| {
            !done.get(i).copied().unwrap_or(true)
                && waits_of(&waits, i)
                    .iter()
                    .all(|&w| done.get(w).copied().unwrap_or(true))
        }) {
            let mask = waits_of(&waits, step).iter().fold(0u64, |mask, &w| {
                mask | bit(w) | before.get(w).copied().unwrap_or(0)
            });
            if let (Some(b), Some(d)) = (before.get_mut(step), done.get_mut(step)) {
                *b = mask;
                *d = true;
            }
            sorted.push(step);
        }
        (Order { before, sorted }, rings)
    }

    /// Step `a` has ended before step `b` begins.
    pub(super) fn precedes(&self, a: usize, b: usize) -> bool {
        self.before.get(b).is_some_and(|mask| mask & bit(a) != 0)
    }

    /// Both may be under way at one time. Steps in or behind a ring never begin, so
    /// nothing is said of them.
    pub(super) fn at_once(&self, a: usize, b: usize) -> bool {
        let begins = |i: usize| self.sorted.contains(&i);
        a != b && begins(a) && begins(b) && !self.precedes(a, b) && !self.precedes(b, a)
    }

    /// The heaviest set of steps that may all be under way at once, by weight, and
    /// its members. Exact: by Dilworth's theorem it equals the least number of
    /// chains covering every step `weight` times, found as a maximum flow.
    pub(super) fn heaviest_at_once(&self, weight: &[u32]) -> (u32, Vec<usize>) {
        let n = weight.len();
        let mut flow = vec![vec![0u32; n]; n];
        let given = |flow: &Vec<Vec<u32>>, a: usize| -> u32 {
            flow.get(a).map_or(0, |row| row.iter().sum())
        };
        let taken = |flow: &Vec<Vec<u32>>, b: usize| -> u32 {
            flow.iter().filter_map(|row| row.get(b)).sum()
        };
        let of = |i: usize| weight.get(i).copied().unwrap_or(0);
        loop {
            // Breadth first from every step with weight left to give; odd entries of
            // the trail are the receiving side.
            let mut came: BTreeMap<(bool, usize), (bool, usize)> = BTreeMap::new();
            let mut queue: std::collections::VecDeque<(bool, usize)> = (0..n)
                .filter(|&a| of(a) > given(&flow, a))
                .map(|a| (false, a))
                .collect();
            let sources: Vec<usize> = queue.iter().map(|&(_, a)| a).collect();
            let mut end = None;
            while let Some((receiving, i)) = queue.pop_front() {
                if receiving && of(i) > taken(&flow, i) {
                    end = Some(i);
                    break;
                }
                for j in 0..n {
                    let next = (!receiving, j);
                    let open = if receiving {
                        flow.get(j)
                            .and_then(|row| row.get(i))
                            .is_some_and(|f| *f > 0)
                    } else {
                        self.precedes(i, j)
                    };
                    let seen = came.contains_key(&next) || (!next.0 && sources.contains(&j));
                    if open && !seen {
                        came.insert(next, (receiving, i));
                        queue.push_back(next);
                    }
                }
            }
            let Some(end) = end else {
                // König: givers reached and receivers not reached form the antichain.
                let reached = |side: bool, i: usize| {
                    came.contains_key(&(side, i)) || (!side && sources.contains(&i))
                };
                let members: Vec<usize> = (0..n)
                    .filter(|&i| of(i) > 0 && reached(false, i) && !reached(true, i))
                    .collect();
                return (members.iter().map(|&i| of(i)).sum(), members);
            };
            let mut trail = vec![(true, end)];
            while let Some(&node) = trail.last()
                && let Some(&back) = came.get(&node)
            {
                trail.push(back);
            }
            // As much as the narrowest part of the trail lets through.
            let start = trail.last().map_or(end, |&(_, i)| i);
            let mut most = (of(start) - given(&flow, start)).min(of(end) - taken(&flow, end));
            for pair in trail.windows(2) {
                if let [(false, to), (true, from)] = *pair
                    && let Some(f) = flow.get(to).and_then(|row| row.get(from))
                {
                    most = most.min(*f);
                }
            }
            for pair in trail.windows(2) {
                let [to, from] = *pair else { continue };
                let (a, b, add) = if to.0 {
                    (from.1, to.1, true)
                } else {
                    (to.1, from.1, false)
                };
                if let Some(f) = flow.get_mut(a).and_then(|row| row.get_mut(b)) {
                    *f = if add {
                        *f + most
                    } else {
                        f.saturating_sub(most)
                    };
                }
            }
        }
    }
}

fn bit(i: usize) -> u64 {
    1u64.checked_shl(u32::try_from(i).unwrap_or(u32::MAX))
        .unwrap_or(0)
}

fn waits_of(waits: &[Vec<usize>], i: usize) -> &[usize] {
    waits.get(i).map(Vec::as_slice).unwrap_or_default()
}

/// One shortest ring through each group of steps that wait for one another.
fn rings(waits: &[Vec<usize>]) -> Vec<Ring> {
    let mut rings: Vec<Ring> = Vec::new();
    for start in 0..waits.len() {
        if rings.iter().any(|ring| ring.contains(&start)) {
            continue;
        }
        let mut came: BTreeMap<usize, usize> = BTreeMap::new();
        let mut queue = std::collections::VecDeque::from([start]);
        'search: while let Some(step) = queue.pop_front() {
            for &next in waits_of(waits, step) {
                if next == start {
                    let mut ring = vec![step];
                    while let Some(last) = ring.last()
                        && let Some(&back) = came.get(last)
                    {
                        ring.push(back);
                    }
                    ring.reverse();
                    // Another start may run into a ring that is told already.
                    if !ring.iter().any(|s| rings.iter().any(|r| r.contains(s))) {
                        rings.push(ring);
                    }
                    break 'search;
                }
                if next != start && !came.contains_key(&next) {
                    came.insert(next, step);
                    queue.push_back(next);
                }
            }
        }
    }
    rings
}
