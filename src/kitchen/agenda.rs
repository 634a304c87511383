//! What is due to be said unasked, and when the tool may speak next.
//!
//! One list serves both [`next_due`] and the tick, so that ticking only when
//! [`next_due`] says so loses nothing.

use super::core::{Core, Phase};
use super::kit::Kit;
use super::manners::{ASK_AGAIN, ASK_AGAIN_TIMES, BREATH_ALARM, BREATH_OTHER, MERGE, WASH_HANDS};
use super::questions::Question;
use super::whereabouts::Where;
use super::{At, ClockKey, Due, State, exposure, holding, meaning};

/// A thing to say.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    Due(Due),
    /// Ask where a sample lies that a step has put somewhere.
    AskWhere(Question),
    /// Lay the rest of the cook anew: something should have begun or ended by now.
    Lay,
}

struct Entry {
    at: At,
    /// Not silenced by "hold on".
    alarm: bool,
    item: Item,
}

fn entries(kit: &Kit, core: &Core) -> Vec<Entry> {
    let mut all = Vec::new();
    if core.begun.is_none() || core.ended.is_some() {
        return all;
    }
    let mut alarm = |at, due| {
        all.push(Entry {
            at,
            alarm: true,
            item: Item::Due(due),
        });
    };
    for clock in &core.clocks {
        let times = clock.ring.map_or(1, |r| r.told.saturating_add(1));
        // Food that is about to come out is not turned over any more.
        if let ClockKey::Flip(id) = &clock.key
            && kit
                .step_ix(id)
                .is_some_and(|ix| meaning::is_met(kit, core, ix))
        {
            continue;
        }
        if clock.ring.is_none() {
            alarm(clock.ends, Due::Up(clock.key.clone()));
        } else if let Some(at) = clock.again().filter(|_| is_wanted(kit, core, &clock.key)) {
            alarm(
                at,
                Due::StillUp {
                    clock: clock.key.clone(),
                    times,
                },
            );
        }
        if let ClockKey::Wait(id) | ClockKey::Rest(id) = &clock.key {
            if let Some(at) = clock.near() {
                alarm(at, Due::LimitNear(id.clone()));
            }
            if let Some(at) = clock.limit() {
                alarm(at, Due::LimitReached(id.clone()));
            }
        }
    }
    for item in exposure::watched(kit, core) {
        if let Some(at) = exposure::limit_at(kit, core, item) {
            alarm(at, Due::DangerZone(item.clone()));
        }
    }
    for ix in core.running() {
        if let Some(at) = holding::over(kit, core, ix) {
            alarm(at, Due::HoldOver(kit.step_id(ix)));
        }
    }
    for cools in &core.cooling {
        if let Some(at) = cools.near(core) {
            alarm(at, Due::CoolingNear(cools.item.clone()));
        }
        if let Some(at) = cools.over(core) {
            alarm(at, Due::CoolingOver(cools.item.clone()));
        }
    }
    for (ix, at) in core.to_call(kit) {
        alarm(at.plus(-WASH_HANDS), Due::BeginSoon(kit.step_id(ix)));
    }
    if let Some(day) = core.day.as_ref().filter(|_| !core.all_done()) {
        all.push(Entry {
            at: day.good_until,
            alarm: false,
            item: Item::Lay,
        });
    }
    if let Some(q) = &core.question {
        if q.times <= ASK_AGAIN_TIMES {
            all.push(Entry {
                at: q.asked.plus(ASK_AGAIN),
                alarm: false,
                item: Item::Due(Due::AskAgain {
                    times: q.times.saturating_add(1),
                }),
            });
        }
    } else if core.sitting.open().is_none() {
        for (ix, step) in core.steps.iter().enumerate() {
            if step.phase != Phase::Running {
                continue;
            }
            let Some(at) = step.ask_where else { continue };
            if let Some(question) = core
                .held_samples(kit, ix)
                .find_map(|p| where_is(kit, core, p))
            {
                all.push(Entry {
                    at,
                    alarm: false,
                    item: Item::AskWhere(question),
                });
                break;
            }
        }
    }
    all
}

/// Rested food is told of again only when a step waits for it and nothing else.
fn is_wanted(kit: &Kit, core: &Core, key: &ClockKey) -> bool {
    let ClockKey::Rest(id) = key else { return true };
    let Some(ix) = kit.step_ix(id) else {
        return true;
    };
    core.ready(kit)
        .any(|s| kit.before.get(s).is_some_and(|b| b.contains(&ix)))
}

/// The question where a marked piece lies, if that is not known.
pub fn where_is(kit: &Kit, core: &Core, piece: usize) -> Option<Question> {
    match core.whereabouts.place_of(piece) {
        Where::OneOf { .. } | Where::NotSure { .. } => Some(Question::Where {
            sample: kit.sample_of(piece)?.id.clone(),
        }),
        Where::Known { .. } | Where::NotPlaced => None,
    }
}

impl Entry {
    /// When it may be said, breath taken.
    fn may(&self, core: &Core) -> At {
        let breath = if self.alarm {
            BREATH_ALARM
        } else {
            BREATH_OTHER
        };
        self.at.max(core.spoke.plus(breath))
    }

    fn silenced(&self, core: &Core) -> bool {
        core.asleep && !self.alarm
    }
}

/// What a tick at `now` says; empty when nothing is due or no breath has passed.
pub fn due(state: &State, now: At) -> Vec<Item> {
    let all = entries(&state.kit, &state.core);
    let open = |e: &&Entry| !e.silenced(&state.core);
    if !all.iter().filter(open).any(|e| e.may(&state.core) <= now) {
        return Vec::new();
    }
    let mut due: Vec<&Entry> = all
        .iter()
        .filter(open)
        .filter(|e| e.at <= now.plus(MERGE))
        .collect();
    // A question is no alarm: it waits for a breath of its own.
    if due.iter().any(|e| e.alarm) {
        due.retain(|e| e.alarm);
    }
    due.sort_by_key(|e| e.at);
    due.into_iter().map(|e| e.item.clone()).collect()
}

/// The next moment at which a tick has something to say; none while nothing runs.
/// It may lie in the past, when the tick is late.
pub fn next_due(state: &State, _now: At) -> Option<At> {
    entries(&state.kit, &state.core)
        .iter()
        .filter(|e| !e.silenced(&state.core))
        .map(|e| e.may(&state.core))
        .min()
}
