//! The seam to [`crate::prep::day`]: when the rest of the cook happens, by what has
//! really happened of it.

use serde::{Deserialize, Serialize};

use crate::plan::{Id, Until};
use crate::prep::day::{self, Day, Trouble, Went};

use super::core::{Core, Phase};
use super::kit::{Kit, StepIx};
use super::manners::{LATE_AGAIN, LATE_WORTH, LAY_AGAIN};
use super::{At, ClockKey};

/// When a step that has not begun is to begin.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Begin {
    pub step: Id,
    pub at: At,
    pub latest: At,
}

/// The rest of the cook, laid at one moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    pub at: At,
    pub eat: At,
    pub begins: Vec<Begin>,
    /// Until then nothing is late that is not late already.
    pub good_until: At,
}

/// Why the rest of the cook cannot be laid.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoDay {
    /// Nobody has said how long these take.
    Lengthless(Vec<Id>),
    /// Its limits cannot all be kept any more.
    Broken,
}

fn went(kit: &Kit, core: &Core, now: At) -> Vec<Went> {
    let secs = |at: At| at.since(now).div_euclid(1000);
    core.steps
        .iter()
        .enumerate()
        .map(|(ix, s)| match (s.phase, s.began) {
            (Phase::Running, Some(began)) => {
                let clock = core.clock(&ClockKey::Wait(kit.step_id(ix)));
                // Where something else ends it too, it is laid for the longest.
                let open = kit
                    .step(ix)
                    .is_some_and(|s| s.until.iter().any(|u| !matches!(u, Until::Time(_))));
                let least = clock.map(|c| match (open, c.latest) {
                    (true, Some(latest)) => latest,
                    _ => c.ends,
                });
                Went::Running {
                    began: secs(began),
                    least: least.map(secs),
                    most: clock.map(|c| secs(c.latest.unwrap_or(c.ends))),
                    hands: s.waits_from.map(secs),
                }
            }
            (Phase::Resting, Some(began)) => Went::Ended {
                began: secs(began),
                ended: secs(s.ended.unwrap_or(now)),
            },
            // Rested as long as it had to.
            (Phase::Done, Some(began)) => Went::Ended {
                began: secs(began),
                ended: i64::MIN / 8,
            },
            _ => Went::NotBegun,
        })
        .collect()
}

/// Lays what is left of the cook; to be served at `serve`, or as soon as can be when that
/// is too soon or nobody has said.
///
/// # Errors
/// [`NoDay`], when there is no schedule.
pub fn lay(kit: &Kit, core: &Core, now: At, serve: Option<At>) -> Result<Laid, NoDay> {
    let went = went(kit, core, now);
    // Up: else what is wanted at 19:00 is told for 18:59.
    let wanted = serve.map(|at| -now.since(at).div_euclid(1000));
    let plan = &kit.plan;
    let day = match day::lay(plan, &went, wanted) {
        Err(Trouble::TooSoon(_)) => day::lay(plan, &went, None),
        other => other,
    };
    match day {
        Ok(day) => Ok(laid(kit, core, now, &day)),
        Err(Trouble::Lengthless(steps)) => {
            Err(NoDay::Lengthless(steps.into_iter().map(|s| s.0).collect()))
        }
        Err(_) => Err(NoDay::Broken),
    }
}

fn laid(kit: &Kit, core: &Core, now: At, day: &Day) -> Laid {
    let at = |secs: i64| now.plus(secs.saturating_mul(1000));
    let mut begins = Vec::new();
    let mut soonest = i64::MAX;
    for row in &day.rows {
        match core.phase(row.step) {
            Phase::NotBegun => {
                begins.push(Begin {
                    step: kit.step_id(row.step),
                    at: at(row.advised),
                    latest: at(row.latest),
                });
                soonest = soonest.min(row.latest);
            }
            Phase::Running => soonest = soonest.min(row.ends_latest),
            Phase::Resting | Phase::Done => {}
        }
    }
    Laid {
        at: now,
        eat: at(day.serve),
        begins,
        good_until: at(soonest.min(30 * 86_400))
            .plus(LAY_AGAIN)
            .max(now.plus(LAY_AGAIN)),
    }
}

/// How late it will be, as it is to be told: a change that is worth no word is none.
pub fn to_tell(told: i64, late: i64) -> i64 {
    let late = late.max(0);
    // Later and later is not told every time.
    let worth = LATE_WORTH.max((told as f64 * LATE_AGAIN) as i64);
    if (late - told).abs() >= worth || (late < LATE_WORTH && told > 0) {
        if late < LATE_WORTH { 0 } else { late }
    } else {
        told
    }
}

impl Core {
    /// How late it is by the day as last laid, milliseconds; none when nobody has said
    /// when it is to be served.
    pub fn late(&self) -> Option<i64> {
        Some(self.day.as_ref()?.eat.since(self.serve?))
    }

    /// The steps that are to begin at a time to come, and have not been called.
    pub fn to_call(&self, kit: &Kit) -> Vec<(StepIx, At)> {
        let Some(day) = &self.day else {
            return Vec::new();
        };
        day.begins
            .iter()
            .filter_map(|b| Some((kit.step_ix(&b.step)?, b)))
            .filter(|(ix, _)| self.phase(*ix) == Phase::NotBegun && !self.called.contains(ix))
            // What it waits for is at least under way.
            .filter(|(ix, _)| {
                kit.before
                    .get(*ix)
                    .is_some_and(|all| all.iter().all(|b| self.phase(*b) != Phase::NotBegun))
            })
            // What was to begin at once when the day was laid has been told by that.
            .filter(|(_, b)| b.at.since(day.at) > super::manners::WASH_HANDS)
            .map(|(ix, b)| (ix, b.at))
            .collect()
    }
}
