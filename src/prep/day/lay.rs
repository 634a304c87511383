//! The day laid out: earliest, advised and latest times, or why there is none.

use std::time::Duration;

use crate::plan::{Plan, Span};
use crate::prep::bound::{self, Answer, Lag, Outcome, Problem, orders, windows};

use super::graph::{Graph, Lengthless, Most, Went, end_of, graph, start_of};

/// Nodes of the search for one day; a kitchen's plan needs a few hundred.
const MOST_NODES: u64 = 20_000;
/// A step is advised so long before its latest start, seconds, where the food allows it.
/// Our own choice.
pub const CUSHION: i64 = 15 * 60;

/// When a step begins and ends. Seconds from now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Row {
    /// Index in the plan.
    pub step: usize,
    pub earliest: i64,
    /// It may begin from here on when all else goes as advised.
    pub from: i64,
    pub advised: i64,
    pub latest: i64,
    /// The end, when it begins as advised.
    pub ends: i64,
    /// The latest end.
    pub ends_latest: i64,
    /// How long hands are needed from its beginning.
    pub hands: i64,
    /// It has none to lose when everything goes as quickly as it can: these steps decide
    /// how long the day is.
    pub critical: bool,
}

impl Row {
    /// What may be lost between the advised and the latest start.
    pub fn slack(&self) -> i64 {
        self.latest - self.advised
    }
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Day {
    /// By advised start.
    pub rows: Vec<Row>,
    /// On the table.
    pub serve: i64,
    /// The soonest that it can be on the table.
    pub soonest: i64,
    /// `soonest` cannot be beaten; else nothing is ready before `bound`.
    pub proven: bool,
    pub bound: i64,
    pub nodes: u64,
}

/// Why there is no schedule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Trouble {
    /// These steps have no length.
    Lengthless(Vec<Lengthless>),
    TooSoon(TooSoon),
    /// At no time. What would have to give way, each by itself, as far as one does.
    Impossible(Vec<Conflict>),
    /// The search was given up.
    TooMany,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TooSoon {
    /// The longest of the steps that decide, by index.
    pub step: usize,
    pub needs: i64,
    /// What is left for it when all else takes what it takes; may be below 0.
    pub there_are: i64,
    /// The soonest that it can be on the table.
    pub earliest: i64,
    /// With more hands it would do.
    pub hands: bool,
}

/// A limit without which the rest would fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Conflict {
    Length(usize),
    Rest(usize),
    Together(usize),
    Hands,
}

/// Lays the day from what has happened so far. `serve`: wanted on the table, seconds from
/// now; without it as soon as can be.
///
/// # Errors
/// [`Trouble`], when there is no schedule.
pub fn lay(plan: &Plan, went: &[Went], serve: Option<i64>) -> Result<Day, Trouble> {
    lay_by(plan, went, serve, true)
}

/// Every reason why a plan has no day: what [`lay`] tells, and what it would tell when that
/// was mended.
pub fn troubles(plan: &Plan, serve: Option<i64>) -> Vec<Trouble> {
    let mut all = Vec::new();
    let mut plan = plan.clone();
    let mut limits = true;
    loop {
        let trouble = match lay_by(&plan, &[], serve, limits) {
            Ok(_) => return all,
            Err(trouble) => trouble,
        };
        let more = match &trouble {
            Trouble::Lengthless(steps) => {
                // As if they took a second: what does not fit then fits less with them.
                for step in &mut plan.steps {
                    if steps.iter().any(|s| s.0 == step.id) {
                        step.takes = Some(Span {
                            lo: Duration::ZERO,
                            hi: Duration::from_secs(1),
                        });
                    }
                }
                !steps.is_empty()
            }
            Trouble::Impossible(_) => std::mem::replace(&mut limits, false),
            Trouble::TooSoon(_) | Trouble::TooMany => false,
        };
        all.push(trouble);
        if !more {
            return all;
        }
    }
}

/// `limits`: with the mosts that the plan sets.
fn lay_by(plan: &Plan, went: &[Went], serve: Option<i64>, limits: bool) -> Result<Day, Trouble> {
    let mut g = graph(plan, went).map_err(Trouble::Lengthless)?;
    if !limits {
        let mosts = std::mem::take(&mut g.mosts);
        g.problem
            .lags
            .retain(|lag| !mosts.iter().any(|(_, most)| most == lag));
        g.choices.clear();
    }
    let mut found = best(&g.problem, &g.choices);
    if matches!(found, Best::Impossible) && went.iter().any(|w| *w != Went::NotBegun) {
        // A limit is past keeping: that is told where it is reached, and the rest of the day
        // goes on without it.
        let mut without = g.problem.clone();
        without
            .lags
            .retain(|lag| !g.mosts.iter().any(|(_, most)| most == lag));
        found = best(&without, &[]);
    }
    let (problem, answer) = match found {
        Best::Found(problem, answer) => (*problem, answer),
        Best::Impossible => return Err(Trouble::Impossible(conflicts(&g, plan))),
        Best::GivenUp => return Err(Trouble::TooMany),
    };
    let soonest = answer.end(&problem);
    let mut lags = problem.lags.clone();
    lags.extend(orders(&problem, &answer.times));
    let tight = windows(problem.points, &lags, problem.last, soonest).ok_or(Trouble::TooMany)?;
    if let Some(serve) = serve
        && serve < soonest
    {
        return Err(Trouble::TooSoon(too_soon(plan, &g, &tight, soonest, serve)));
    }
    let serve = serve.unwrap_or(soonest);
    let wide = windows(problem.points, &lags, problem.last, serve).ok_or(Trouble::TooMany)?;
    // Times that fit may be moved together, and of two times that fit the later ones of
    // each point fit as well: so these do.
    let advised = |p: usize| {
        wide.get(p).map_or(0, |(early, late)| {
            (*early).max(late.saturating_sub(CUSHION))
        })
    };
    let from = |p: usize| {
        lags.iter()
            .filter(|lag| lag.to == p)
            .map(|lag| advised(lag.from).saturating_add(lag.least))
            .fold(0, i64::max)
            .min(advised(p))
    };
    let mut rows: Vec<Row> = g
        .lengths
        .iter()
        .enumerate()
        .filter_map(|(i, length)| {
            let (early, late) = *wide.get(start_of(i))?;
            let (a, b) = *tight.get(start_of(i))?;
            let (c, d) = *tight.get(end_of(i))?;
            Some(Row {
                step: i,
                earliest: early,
                from: from(start_of(i)),
                advised: advised(start_of(i)),
                latest: late,
                ends: advised(end_of(i)),
                ends_latest: wide.get(end_of(i))?.1,
                hands: length.hands,
                critical: a == b && c == d,
            })
        })
        .collect();
    rows.sort_by_key(|r| (r.advised, r.ends, r.step));
    Ok(Day {
        rows,
        serve,
        soonest,
        proven: answer.is_proven(&problem),
        bound: answer.bound,
        nodes: answer.nodes,
    })
}

enum Best {
    Found(Box<Problem>, Answer),
    Impossible,
    GivenUp,
}

/// The soonest end over every way to make the choices. Solved without them first: only
/// those that the schedule breaks are branched on.
fn best(problem: &Problem, choices: &[Vec<Lag>]) -> Best {
    let answer = match bound::solve(problem, MOST_NODES) {
        Outcome::Found(answer) => answer,
        Outcome::Impossible => return Best::Impossible,
        Outcome::GivenUp { .. } => return Best::GivenUp,
    };
    let at = |p: usize| answer.times.get(p).copied().unwrap_or(0);
    let kept = |lag: &Lag| at(lag.to) - at(lag.from) >= lag.least;
    // What the schedule keeps by itself is made a lag as well, since its times will move.
    let mut with = problem.clone();
    for (i, choice) in choices.iter().enumerate() {
        match choice.iter().find(|lag| kept(lag)) {
            Some(lag) => with.lags.push(*lag),
            None => {
                let rest: Vec<Vec<Lag>> = choices
                    .iter()
                    .enumerate()
                    .filter(|(j, _)| *j != i)
                    .map(|(_, c)| c.clone())
                    .collect();
                return best_of(problem, choice, &rest);
            }
        }
    }
    Best::Found(Box::new(with), answer)
}

fn best_of(problem: &Problem, choice: &[Lag], rest: &[Vec<Lag>]) -> Best {
    let mut found: Option<(Box<Problem>, Answer)> = None;
    let mut given_up = false;
    for lag in choice {
        let mut with = problem.clone();
        with.lags.push(*lag);
        match best(&with, rest) {
            Best::Found(p, answer) => {
                let end = answer.end(&p);
                if found.as_ref().is_none_or(|(q, b)| end < b.end(q)) {
                    found = Some((p, answer));
                }
            }
            Best::Impossible => {}
            Best::GivenUp => given_up = true,
        }
    }
    match found {
        Some((problem, mut answer)) => {
            // A branch that was given up may hold a better one.
            if given_up {
                answer.bound = 0;
            }
            Best::Found(problem, answer)
        }
        None if given_up => Best::GivenUp,
        None => Best::Impossible,
    }
}

fn too_soon(plan: &Plan, g: &Graph, tight: &[(i64, i64)], soonest: i64, serve: i64) -> TooSoon {
    let decides = |i: usize| {
        tight.get(start_of(i)).is_some_and(|(a, b)| a == b)
            && tight.get(end_of(i)).is_some_and(|(a, b)| a == b)
    };
    let left = |i: usize| {
        let at = |p: usize| tight.get(p).map_or(0, |(a, _)| *a);
        at(end_of(i)) - at(start_of(i))
    };
    let step = (0..g.lengths.len())
        .filter(|i| decides(*i))
        .max_by_key(|i| (left(*i), std::cmp::Reverse(*i)))
        .unwrap_or(0);
    let mut many = g.problem.clone();
    many.resources
        .retain(|r| !is_hands(r, plan.hands.max(1), g));
    let free = match bound::solve(&many, MOST_NODES) {
        Outcome::Found(answer) => answer.end(&many),
        _ => soonest,
    };
    TooSoon {
        step,
        needs: left(step),
        there_are: left(step) - (soonest - serve),
        earliest: soonest,
        hands: free <= serve,
    }
}

/// The hands are the resource whose uses are of one point.
fn is_hands(resource: &bound::Resource, hands: u32, g: &Graph) -> bool {
    resource.capacity == hands
        && !g.lengths.is_empty()
        && resource.uses.iter().all(|u| u.start == u.end)
}

/// Each limit without which everything else fits.
fn conflicts(g: &Graph, plan: &Plan) -> Vec<Conflict> {
    let fits =
        |problem: &Problem, choices: &[Vec<Lag>]| matches!(best(problem, choices), Best::Found(..));
    let mut all = Vec::new();
    let mut without = g.problem.clone();
    without
        .resources
        .retain(|r| !is_hands(r, plan.hands.max(1), g));
    if fits(&without, &g.choices) {
        all.push(Conflict::Hands);
    }
    for (most, _) in &g.mosts {
        let conflict = match *most {
            Most::Length(i) => Conflict::Length(i),
            Most::Rest(i) => Conflict::Rest(i),
            Most::Together(i) => Conflict::Together(i),
        };
        if all.contains(&conflict) {
            continue;
        }
        let dropped: Vec<Lag> = g
            .mosts
            .iter()
            .filter(|(m, _)| m == most)
            .map(|(_, lag)| *lag)
            .collect();
        let mut without = g.problem.clone();
        without.lags.retain(|lag| !dropped.contains(lag));
        if fits(&without, &g.choices) {
            all.push(conflict);
        }
    }
    all
}
