//! Points in time joined by least and most distances, resources that hold only so much,
//! and the earliest end of it all: exact, with a proof or the bound that was reached.
//!
//! Branch and bound over orders of tasks that compete for a resource. A node is a table of
//! longest distances between all points (so every consequence of an order is in it). Where
//! the earliest times overfill a resource, a smallest set of tasks that cannot be at once
//! is taken, and one of them goes before another: one branch for each ordered pair, each
//! with the pairs before it ruled out, so that no schedule is met twice.
//!
//! Why not a library: the constraint solver that is well kept in pure Rust
//! (pumpkin-solver 0.5) brings 36 further crates and 63 000 lines, which is more than the
//! rest of the pure rooms together, for plans of up to 30 steps.

mod net;
mod orders;

use net::{FREE, Net};

pub use net::windows;
pub use orders::orders;

/// A point in time, by index; 0 is the beginning of all.
pub type Point = usize;

/// `to` is at least `least` after `from`. A most is a least the other way round, below 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Lag {
    pub from: Point,
    pub to: Point,
    pub least: i64,
}

/// Takes `amount` of a resource from `start` until `length` after `end`. With `start ==
/// end` the length is fixed; with another point it ends when that does, and takes at least 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Use {
    pub start: Point,
    pub end: Point,
    pub length: i64,
    pub amount: u32,
}

#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Resource {
    pub capacity: u32,
    pub uses: Vec<Use>,
}

#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Problem {
    /// Number of points, the beginning with them.
    pub points: usize,
    pub lags: Vec<Lag>,
    pub resources: Vec<Resource>,
    /// The point that is to be as early as can be; every use is over by then.
    pub last: Point,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// The best times found, one a point.
    pub times: Vec<i64>,
    /// Nothing ends before this.
    pub bound: i64,
    pub nodes: u64,
}

impl Answer {
    pub fn end(&self, problem: &Problem) -> i64 {
        self.times.get(problem.last).copied().unwrap_or(0)
    }

    pub fn is_proven(&self, problem: &Problem) -> bool {
        self.bound >= self.end(problem)
    }
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    Found(Answer),
    /// No times fit, whatever the order. Proven.
    Impossible,
    /// The search was given up before it found any.
    GivenUp {
        bound: i64,
    },
}

struct Search<'p> {
    problem: &'p Problem,
    best: Option<(i64, Vec<i64>)>,
    nodes: u64,
    most_nodes: u64,
    out: bool,
}

/// The earliest end. `most_nodes` bounds the work; 200 000 is a second or two.
pub fn solve(problem: &Problem, most_nodes: u64) -> Outcome {
    let Some(mut net) = Net::new(problem.points, &problem.lags) else {
        return Outcome::Impossible;
    };
    for resource in &problem.resources {
        for u in &resource.uses {
            let over = Lag {
                from: u.end,
                to: problem.last,
                least: u.length,
            };
            // A stretch of no length could lie within another: it takes some time.
            let some = Lag {
                from: u.start,
                to: u.end,
                least: 1 - u.length,
            };
            let stretches = u.start != u.end && u.amount > 0;
            if u.amount > resource.capacity || !net.add(over) || (stretches && !net.add(some)) {
                return Outcome::Impossible;
            }
        }
    }
    let mut search = Search {
        problem,
        best: None,
        nodes: 0,
        most_nodes,
        out: false,
    };
    let root = net.clone();
    let bound = match search.raise(&mut net) {
        true => net.earliest(problem.last).max(energy(problem, &net)),
        false => return Outcome::Impossible,
    };
    search.dive(root.clone());
    search.visit(net);
    let nodes = search.nodes;
    match search.best {
        Some((end, times)) => Outcome::Found(Answer {
            times,
            bound: if search.out { bound.min(end) } else { end },
            nodes,
        }),
        None if search.out => Outcome::GivenUp { bound },
        None => Outcome::Impossible,
    }
}

/// A resource cannot give more than it has: the least end by the sum of its uses.
fn energy(problem: &Problem, net: &Net) -> i64 {
    let mut most = 0;
    for resource in &problem.resources {
        let mut work = 0i64;
        let (mut head, mut tail) = (i64::MAX, i64::MAX);
        for u in &resource.uses {
            let length = net.get(u.start, u.end).max(0) + u.length;
            if length <= 0 || u.amount == 0 {
                continue;
            }
            work += length * i64::from(u.amount);
            head = head.min(net.earliest(u.start));
            tail = tail.min((net.get(u.end, problem.last) - u.length).max(0));
        }
        if head < i64::MAX && resource.capacity > 0 {
            let capacity = i64::from(resource.capacity);
            most = most.max(head + (work + capacity - 1) / capacity + tail);
        }
    }
    most
}

impl Search<'_> {
    /// The latest that the end may be to be worth anything.
    fn horizon(&self) -> Option<i64> {
        self.best.as_ref().map(|(end, ..)| end - 1)
    }

    /// A first schedule, quickly: conflicts are resolved one after the other, the task
    /// that has to go on soonest first, without turning back.
    fn dive(&mut self, mut net: Net) {
        loop {
            let Some(pairs) = self.conflict(&net) else {
                self.keep(&net);
                return;
            };
            let fitting = pairs.into_iter().find_map(|order| {
                let mut tried = net.clone();
                tried.add(order).then_some(tried)
            });
            match fitting {
                Some(tried) => net = tried,
                None => return,
            }
        }
    }

    /// The earliest times of a net without conflicts, if they end sooner than the best.
    fn keep(&mut self, net: &Net) {
        let end = net.earliest(self.problem.last);
        if self.best.as_ref().is_none_or(|(best, _)| end < *best) {
            let times = (0..net.n).map(|p| net.earliest(p)).collect();
            self.best = Some((end, times));
        }
    }

    fn visit(&mut self, mut net: Net) {
        self.nodes += 1;
        if self.nodes > self.most_nodes {
            self.out = true;
            return;
        }
        if !self.raise(&mut net) {
            return;
        }
        if self
            .horizon()
            .is_some_and(|h| net.earliest(self.problem.last) > h || energy(self.problem, &net) > h)
        {
            return;
        }
        let Some(pairs) = self.conflict(&net) else {
            self.keep(&net);
            return;
        };
        for order in pairs {
            let mut with = net.clone();
            if with.add(order) {
                self.visit(with);
            }
            if self.out {
                return;
            }
            // From here on it is the other way: `to` is before `from` plus the lag.
            let against = Lag {
                from: order.to,
                to: order.from,
                least: 1 - order.least,
            };
            if !net.add(against) {
                return;
            }
        }
    }

    /// Orders that must be, until none is left: of two tasks that cannot be at once, when
    /// only one order fits below the best end; and times at which a resource is full for
    /// sure. False when nothing fits.
    fn raise(&mut self, net: &mut Net) -> bool {
        let last = self.problem.last;
        if let Some(h) = self.horizon()
            && !net.add(Lag {
                from: last,
                to: 0,
                least: -h,
            })
        {
            return false;
        }
        loop {
            let mut changed = false;
            for resource in &self.problem.resources {
                for (i, a) in resource.uses.iter().enumerate() {
                    for b in resource.uses.iter().skip(i + 1) {
                        if a.amount + b.amount <= resource.capacity {
                            continue;
                        }
                        match between(net, a, b) {
                            Between::Settled => {}
                            Between::Neither => return false,
                            Between::Must(order) => {
                                if !net.add(order) {
                                    return false;
                                }
                                changed = true;
                            }
                            Between::Open => {}
                        }
                    }
                }
                if self.horizon().is_some() && resource.capacity > 1 {
                    match full(net, resource) {
                        None => return false,
                        Some(raised) => changed |= raised,
                    }
                }
            }
            if !changed {
                return true;
            }
        }
    }

    /// The ways to resolve the first overfull moment of the earliest times, the most
    /// promising first; none when there is no such moment.
    fn conflict(&self, net: &Net) -> Option<Vec<Lag>> {
        let mut first: Option<(i64, Vec<&Use>, u32)> = None;
        for resource in &self.problem.resources {
            let spans: Vec<(i64, i64, &Use)> = resource
                .uses
                .iter()
                .map(|u| (net.earliest(u.start), net.earliest(u.end) + u.length, u))
                .filter(|(from, to, u)| to > from && u.amount > 0)
                .collect();
            for (moment, _, _) in &spans {
                if first.as_ref().is_some_and(|(t, ..)| t <= moment) {
                    continue;
                }
                let here: Vec<&Use> = spans
                    .iter()
                    .filter(|(from, to, _)| from <= moment && moment < to)
                    .map(|(.., u)| *u)
                    .collect();
                let sum: u32 = here.iter().map(|u| u.amount).sum();
                if sum > resource.capacity {
                    first = Some((*moment, here, resource.capacity));
                }
            }
        }
        let (_, mut set, capacity) = first?;
        // The largest first, as many as are too many; then without those that need not be.
        set.sort_by_key(|u| std::cmp::Reverse(u.amount));
        let mut sum = 0;
        let mut few = Vec::new();
        for u in set {
            sum += u.amount;
            few.push(u);
            if sum > capacity {
                break;
            }
        }
        let mut i = 0;
        while i < few.len() {
            let without = sum - few.get(i).map_or(0, |u| u.amount);
            if without > capacity {
                few.remove(i);
                sum = without;
            } else {
                i += 1;
            }
        }
        let mut pairs = Vec::new();
        for a in &few {
            for b in &few {
                if std::ptr::eq(*a, *b) {
                    continue;
                }
                let order = after(a, b);
                let end = net.earliest(order.from) + order.least;
                let bound = end + net.get(b.start, self.problem.last).max(0);
                // Of equal bounds, the one that keeps the most room.
                pairs.push((bound, end, order));
            }
        }
        pairs.sort_by_key(|(bound, end, _)| (*bound, *end));
        Some(pairs.into_iter().map(|(.., order)| order).collect())
    }
}

/// `b` begins when `a` is over.
fn after(a: &Use, b: &Use) -> Lag {
    Lag {
        from: a.end,
        to: b.start,
        least: a.length,
    }
}

enum Between {
    Settled,
    Open,
    Must(Lag),
    Neither,
}

/// How two tasks that cannot be at once stand to one another. A task of no length is in
/// nobody's way.
fn between(net: &Net, a: &Use, b: &Use) -> Between {
    let length = |u: &Use| net.get(u.start, u.end) + u.length;
    let (ab, ba) = (after(a, b), after(b, a));
    let settled = |order: &Lag| net.get(order.from, order.to) >= order.least;
    if length(a) <= 0 || length(b) <= 0 || settled(&ab) || settled(&ba) {
        return Between::Settled;
    }
    let fits = |order: &Lag| {
        let back = net.get(order.to, order.from);
        back == FREE || back + order.least <= 0
    };
    match (fits(&ab), fits(&ba)) {
        (true, true) => Between::Open,
        (true, false) => Between::Must(ab),
        (false, true) => Between::Must(ba),
        (false, false) => Between::Neither,
    }
}

/// Moments at which tasks are under way whatever their times, and what does not fit
/// beside them: its start is raised. None when they alone are too many; else whether
/// anything was raised.
fn full(net: &mut Net, resource: &Resource) -> Option<bool> {
    // From the latest start to the earliest end.
    let mut sure: Vec<(i64, i64, usize, u32)> = Vec::new();
    for (i, u) in resource.uses.iter().enumerate() {
        let back = net.get(u.start, 0);
        if back == FREE {
            continue;
        }
        let (from, to) = (-back, net.earliest(u.end) + u.length);
        if from < to && u.amount > 0 {
            sure.push((from, to, i, u.amount));
        }
    }
    let mut raised = false;
    let level = |moment: i64, but: usize| -> u32 {
        sure.iter()
            .filter(|(from, to, i, _)| *from <= moment && moment < *to && *i != but)
            .map(|(.., amount)| amount)
            .sum()
    };
    for (from, ..) in &sure {
        if level(*from, usize::MAX) > resource.capacity {
            return None;
        }
    }
    for (i, u) in resource.uses.iter().enumerate() {
        if u.amount == 0 {
            continue;
        }
        let least = net.get(u.start, u.end) + u.length;
        if least <= 0 {
            continue;
        }
        // Past every sure stretch that it would run into.
        let mut start = net.earliest(u.start);
        loop {
            let clash = sure
                .iter()
                .map(|(from, ..)| *from)
                .filter(|from| *from > start && *from < start + least)
                .chain(std::iter::once(start))
                .filter(|moment| level(*moment, i) + u.amount > resource.capacity)
                .min();
            let Some(moment) = clash else { break };
            // The first of them that is over may make room enough.
            let next = sure
                .iter()
                .filter(|(from, to, j, _)| *j != i && *from <= moment && moment < *to)
                .map(|(_, to, ..)| *to)
                .min();
            match next {
                Some(next) => start = next,
                None => break,
            }
        }
        if start > net.earliest(u.start) {
            if !net.add(Lag {
                from: 0,
                to: u.start,
                least: start,
            }) {
                return None;
            }
            raised = true;
        }
    }
    Some(raised)
}
