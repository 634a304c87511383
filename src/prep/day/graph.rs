//! A plan and what has happened of it as points in time.

use std::time::Duration;

use crate::plan::{Id, Plan, Step, Until, VesselKind, What};
use crate::prep::bound::{Lag, Point, Problem, Resource, Use};

/// Two steps end together when they end within this of each other, in seconds: one pair of
/// hands cannot lift two pans at once. Our own choice.
pub const TOGETHER: i64 = 5 * 60;

/// A step that nothing gives a length is said and done in this, in seconds. Our own choice.
const SAID_AND_DONE: i64 = 60;

/// What has happened to a step, in seconds from now (at most 0).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Went {
    #[default]
    NotBegun,
    /// `least` and `most`: what its clocks say is left of it, where they say so; `hands`: when
    /// the hands are or were free of it, where that is known better than from the plan.
    Running {
        began: i64,
        least: Option<i64>,
        most: Option<i64>,
        hands: Option<i64>,
    },
    Ended {
        began: i64,
        ended: i64,
    },
}

impl Went {
    /// Under way, and it ends now at the latest, as far as anyone can plan: it takes no time.
    fn is_over(self, length: Length) -> bool {
        match self {
            Went::Running {
                began, least, most, ..
            } => {
                least.unwrap_or(began + length.least) <= 0
                    && most.unwrap_or(began + length.most) <= 0
            }
            _ => false,
        }
    }
}

/// By step, in the plan's order; what is missing has not begun.
pub type Progress = Vec<Went>;

/// A step whose length nobody knows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lengthless(pub Id);

/// How long a step takes with its hands-on time, seconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Length {
    pub hands: i64,
    pub least: i64,
    /// The cook may let it go on until here; equal to `least` where the food decides.
    pub most: i64,
}

pub fn secs(duration: Duration) -> i64 {
    i64::try_from(duration.as_secs() + u64::from(duration.subsec_nanos() > 0))
        .unwrap_or(i64::MAX / 8)
}

/// The length of a step for the schedule; none where only a thermometer or the cook can
/// tell and the plan has no `takes`.
pub fn length(step: &Step, plan: &Plan) -> Option<Length> {
    let hands = step.hands_on.map_or(0, secs);
    let time = step.until.iter().find_map(|u| match u {
        Until::Time(span) => Some(*span),
        _ => None,
    });
    let other = step.until.iter().any(|u| !matches!(u, Until::Time(_)));
    let fixed = |s: i64| Length {
        hands,
        least: s,
        most: s,
    };
    Some(if let Some(wait) = step.wait {
        Length {
            hands,
            least: (hands + secs(wait.lo)).max(1),
            most: (hands + secs(wait.hi)).max(1),
        }
    } else if let Some(time) = time {
        let (lo, hi) = (
            hands.max(secs(time.lo)).max(1),
            hands.max(secs(time.hi)).max(1),
        );
        if other {
            // Something else may end it sooner; the day is laid for the longest.
            fixed(hi)
        } else {
            Length {
                hands,
                least: lo,
                most: hi,
            }
        }
    } else if let Some(takes) = step.takes {
        fixed(hands.max(secs(takes.hi)))
    } else if other {
        let only_word = step.until.iter().all(|u| matches!(u, Until::Word(_)));
        let waited_for = plan.steps.iter().any(|s| s.after.contains(&step.id));
        // What comes last and ends by the cook's word is the table itself.
        if only_word && !waited_for && !plan.steps.is_empty() && plan.steps.len() > 1 {
            fixed(hands)
        } else if only_word && hands > 0 {
            // The hands are the work, and the word says that it is done.
            fixed(hands)
        } else {
            return None;
        }
    } else if hands > 0 {
        fixed(hands)
    } else {
        fixed(SAID_AND_DONE)
    })
}

pub fn start_of(step: usize) -> Point {
    1 + 2 * step
}

pub fn end_of(step: usize) -> Point {
    2 + 2 * step
}

/// The day as a problem for the solver, and the choices left open: after a rest that may
/// not last, one of several steps has to begin in time.
#[derive(Debug, Clone, PartialEq)]
pub struct Graph {
    pub problem: Problem,
    pub lengths: Vec<Length>,
    /// Any one of the lags of each.
    pub choices: Vec<Vec<Lag>>,
    /// Where each most comes from, to name it when nothing fits.
    pub mosts: Vec<(Most, Lag)>,
}

/// A limit that the plan sets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Most {
    /// `wait` or `until: {time}` of a step at most.
    Length(usize),
    /// `rest` of a step at most.
    Rest(usize),
    /// Two steps end together.
    Together(usize),
}

/// # Errors
/// Every step that has no length.
pub fn graph(plan: &Plan, went: &[Went]) -> Result<Graph, Vec<Lengthless>> {
    let all: Vec<Option<Length>> = plan.steps.iter().map(|s| length(s, plan)).collect();
    let without: Vec<Lengthless> = plan
        .steps
        .iter()
        .zip(&all)
        .filter(|(_, l)| l.is_none())
        .map(|(s, _)| Lengthless(s.id.clone()))
        .collect();
    if !without.is_empty() {
        return Err(without);
    }
    let lengths: Vec<Length> = all.into_iter().flatten().collect();
    let n = plan.steps.len();
    let last = 1 + 2 * n;
    let mut g = Graph {
        problem: Problem {
            points: last + 1,
            last,
            ..Problem::default()
        },
        lengths,
        choices: Vec::new(),
        mosts: Vec::new(),
    };
    let state = |i: usize| went.get(i).copied().unwrap_or_default();
    let index = |id: &Id| plan.steps.iter().position(|s| s.id == *id);
    for (i, length) in g.lengths.clone().iter().enumerate() {
        one_step(&mut g, i, *length, state(i));
    }
    for (i, step) in plan.steps.iter().enumerate() {
        let open = |p: usize| state(p) == Went::NotBegun;
        let rest = step.rest.map(|r| (secs(r.lo), secs(r.hi)));
        // Of a rest that has begun, what is left of it.
        let least = match state(i) {
            Went::Ended { ended, .. } => rest.map_or(0, |(lo, _)| (ended + lo).max(0)),
            _ => rest.map_or(0, |(lo, _)| lo),
        };
        let followers: Vec<usize> = (0..n)
            .filter(|j| {
                plan.steps
                    .get(*j)
                    .is_some_and(|s| s.after.contains(&step.id))
            })
            .collect();
        for j in &followers {
            if state(*j) == Went::NotBegun {
                g.problem.lags.push(Lag {
                    from: end_of(i),
                    to: start_of(*j),
                    least,
                });
            }
        }
        g.problem.lags.push(Lag {
            from: end_of(i),
            to: last,
            least,
        });
        if let Some((_, hi)) = rest {
            rest_at_most(&mut g, i, hi, &followers, &state);
        }
        for other in step.finish_with.iter().filter_map(index) {
            // Pans that are on already end when they end.
            if open(i) && open(other) {
                for (a, b) in [(i, other), (other, i)] {
                    let lag = Lag {
                        from: end_of(a),
                        to: end_of(b),
                        least: -TOGETHER,
                    };
                    g.problem.lags.push(lag);
                    g.mosts.push((Most::Together(i), lag));
                }
            }
        }
    }
    resources(&mut g, plan, &state);
    // What is under way at once is, whatever there should be room for: the later begun go
    // on, and what was begun before them is out of their way.
    for resource in &mut g.problem.resources {
        let began = |u: &Use| match state((u.start - 1) / 2) {
            Went::Running { began, .. } => Some(began),
            _ => None,
        };
        let mut running: Vec<Use> = resource
            .uses
            .iter()
            .filter(|u| began(u).is_some())
            .copied()
            .collect();
        running.sort_by_key(|u| std::cmp::Reverse(began(u)));
        let over: Vec<Use> = running
            .into_iter()
            .skip(resource.capacity as usize)
            .collect();
        resource.uses.retain(|u| !over.contains(u));
    }
    Ok(g)
}

/// The times of one step by itself: what has happened is where it is.
fn one_step(g: &mut Graph, i: usize, length: Length, went: Went) {
    let (s, e) = (start_of(i), end_of(i));
    // What lies in the past is put at the beginning; only what comes matters.
    let mut lag = |from, to, least| g.problem.lags.push(Lag { from, to, least });
    match went {
        Went::NotBegun => {
            lag(s, e, length.least);
            let most = Lag {
                from: e,
                to: s,
                least: -length.most,
            };
            g.problem.lags.push(most);
            if length.most > length.least {
                g.mosts.push((Most::Length(i), most));
            }
        }
        Went::Running {
            began, least, most, ..
        } => {
            lag(s, 0, 0);
            let left = least.unwrap_or(began + length.least).max(0);
            lag(0, e, left);
            let most = most.unwrap_or(began + length.most);
            // Past its limit it ends now, as far as anyone can plan.
            lag(e, 0, -most.max(left));
        }
        Went::Ended { .. } => {
            lag(s, 0, 0);
            lag(e, 0, 0);
        }
    }
}

fn rest_at_most(
    g: &mut Graph,
    i: usize,
    hi: i64,
    followers: &[usize],
    state: &impl Fn(usize) -> Went,
) {
    // Somebody has taken it already.
    if followers.iter().any(|j| state(*j) != Went::NotBegun) {
        return;
    }
    // A rest that began in the past and is over already is not held against the rest of
    // the day: it is told when it is reached.
    let hi = match state(i) {
        Went::Ended { ended, .. } if ended + hi <= 0 => return,
        Went::Ended { ended, .. } => ended + hi,
        _ => hi,
    };
    let lag = |to: Point| Lag {
        from: to,
        to: end_of(i),
        least: -hi,
    };
    match followers {
        [] => {
            let lag = lag(g.problem.last);
            g.problem.lags.push(lag);
            g.mosts.push((Most::Rest(i), lag));
        }
        [one] => {
            let lag = lag(start_of(*one));
            g.problem.lags.push(lag);
            g.mosts.push((Most::Rest(i), lag));
        }
        several => g
            .choices
            .push(several.iter().map(|j| lag(start_of(*j))).collect()),
    }
}

fn resources(g: &mut Graph, plan: &Plan, state: &impl Fn(usize) -> Went) {
    let lengths = g.lengths.clone();
    let over = |i: usize| lengths.get(i).is_some_and(|l| state(i).is_over(*l));
    let busy = |i: usize| !matches!(state(i), Went::Ended { .. }) && !over(i);
    let mut hands = Resource {
        capacity: plan.hands.max(1),
        uses: Vec::new(),
    };
    let mut burners = Resource {
        capacity: plan.burners.unwrap_or(0),
        uses: Vec::new(),
    };
    for (i, step) in plan.steps.iter().enumerate() {
        let Some(length) = g.lengths.get(i) else {
            continue;
        };
        let left = match state(i) {
            Went::NotBegun => length.hands,
            Went::Running { began, hands, .. } => hands.unwrap_or(began + length.hands).max(0),
            Went::Ended { .. } => 0,
        };
        if left > 0 {
            hands.uses.push(Use {
                start: start_of(i),
                end: start_of(i),
                length: left,
                amount: 1,
            });
        }
        let on_fire = vessel_kind(plan, step)
            .is_some_and(|k| matches!(k, VesselKind::Skillet | VesselKind::Pot));
        if plan.burners.is_some() && on_fire && busy(i) {
            burners.uses.push(Use {
                start: start_of(i),
                end: end_of(i),
                length: 0,
                amount: 1,
            });
        }
    }
    if hands.uses.len() > 1 {
        g.problem.resources.push(hands);
    }
    if burners.uses.len() > burners.capacity as usize {
        g.problem.resources.push(burners);
    }
    for vessel in &plan.vessels {
        if !is_for_one(vessel.kind) {
            continue;
        }
        let uses: Vec<Use> = plan
            .steps
            .iter()
            .enumerate()
            .filter(|(i, s)| s.vessel.as_ref() == Some(&vessel.id) && (busy(*i) || over(*i)))
            .map(|(i, s)| Use {
                start: if over(i) { end_of(i) } else { start_of(i) },
                end: end_of(i),
                // Food that rests where it is keeps the vessel, unless the next step
                // goes on with it there.
                length: match (&s.out_to, s.rest, goes_on(plan, s)) {
                    (None, Some(rest), false) => secs(rest.lo),
                    _ => 0,
                },
                amount: 1,
            })
            .filter(|u| u.start != u.end || u.length > 0)
            .collect();
        if uses.len() > 1 {
            g.problem.resources.push(Resource { capacity: 1, uses });
        }
    }
}

/// A step that waits for this one works in the same vessel.
fn goes_on(plan: &Plan, step: &Step) -> bool {
    plan.steps
        .iter()
        .any(|s| s.after.contains(&step.id) && s.vessel == step.vessel)
}

fn vessel_kind(plan: &Plan, step: &Step) -> Option<VesselKind> {
    let id = step.vessel.as_ref()?;
    plan.vessels.iter().find(|v| v.id == *id).map(|v| v.kind)
}

/// Racks, boards, ovens and fridges serve several steps at once.
fn is_for_one(kind: VesselKind) -> bool {
    !matches!(
        kind,
        VesselKind::Fridge | VesselKind::Oven | VesselKind::Rack | VesselKind::Board
    )
}

/// Whether a step handles marked food, for the chart.
pub fn is_marked(step: &Step) -> bool {
    step.holds.iter().any(|h| matches!(h.what, What::Sample(_)))
}
