//! The one seam between called readings and what they mean. The kitchen keeps readings
//! raw; everything it concludes from them goes through here.

use crate::doneness::check::{Bath, offset};
use crate::doneness::units::reached;
use crate::doneness::{Batch, Belief, Heating, Oddity, Probe, Verdict, believe};
use crate::plan::{Celsius, Item, Shape, Span, Step, Until, VesselKind, What};

use super::At;
use super::core::{Core, Taken};
use super::event::{Measured, PieceId};
use super::kit::{Kit, StepIx};
use super::manners::{CORE_SENSE_C, MEDIUM_SENSE_C, MINUTE};
use super::whereabouts::PieceIx;

/// What an unqualified reading in a step's vessel was taken of, by the plan and by what can
/// be; none when both can be.
pub fn kind_of(kit: &Kit, step: Option<&Step>, value: Span<Celsius>) -> Option<Measured> {
    let Some(step) = step else {
        return Some(Measured::Core);
    };
    // Above boiling water it cannot be a core.
    if value.lo.0 > CORE_SENSE_C.1 {
        return Some(Measured::Medium);
    }
    let target = step.until.iter().find_map(|u| match u {
        Until::Core(target) => Some(*target),
        _ => None,
    });
    let ends_by_medium = step.until.iter().any(|u| matches!(u, Until::Medium(_)));
    let Some(target) = target else {
        return Some(match ends_by_medium {
            true => Measured::Medium,
            false => Measured::Core,
        });
    };
    let in_window = window_of(kit, step).is_some_and(|w| {
        value.hi.0 >= w.lo.0 - NEAR_WINDOW_C && value.lo.0 <= w.hi.0 + NEAR_WINDOW_C
    });
    let near_done = value.lo.0 <= target.0 + PAST_TARGET_C;
    match (in_window, ends_by_medium) {
        // Water just above the target, or food that has been in it for too long.
        (true, false) => None,
        (true, true) => (!near_done).then_some(Measured::Medium),
        (false, true) => near_done.then_some(Measured::Core),
        // Probes meet bone and pockets of oil: it is a core, and an odd one.
        (false, false) => Some(Measured::Core),
    }
}

/// A medium is read this near to its window while it is held there, °C; our own figure.
const NEAR_WINDOW_C: f64 = 3.0;
/// And a core is seldom read so far past its target, °C; our own figure.
const PAST_TARGET_C: f64 = 8.0;

/// Whether such a temperature can be.
pub fn makes_sense(kind: Measured, value: Span<Celsius>) -> bool {
    let (lo, hi) = match kind {
        Measured::Core | Measured::Cooling => CORE_SENSE_C,
        Measured::Medium => MEDIUM_SENSE_C,
        // A probe may be off by a few degrees, not by more than this.
        Measured::Ice => (-10.0, 10.0),
        Measured::Boil => (80.0, 110.0),
    };
    value.lo.0 >= lo && value.hi.0 <= hi && value.lo.0 <= value.hi.0
}

/// What the readings of a step come to; none for a step that does not end by its core.
pub fn belief<'a>(kit: &Kit, core: &'a Core, ix: StepIx) -> Option<&'a Belief> {
    core.beliefs.of(ix, || work_out(kit, core, ix, None))
}

/// What the readings of one named piece come to, of those that it has in a step; none where
/// it has none. Worked out each time: it is asked for by the cook only.
pub fn belief_of_piece(kit: &Kit, core: &Core, ix: StepIx, piece: PieceIx) -> Option<Belief> {
    let id = kit.piece_id(piece)?;
    core_readings(kit, core, ix).find(|t| t.reading.piece.as_ref() == Some(&id))?;
    work_out(kit, core, ix, Some(&id))
}

/// Of all readings of a step, or of those of one piece.
fn work_out(kit: &Kit, core: &Core, ix: StepIx, only: Option<&PieceId>) -> Option<Belief> {
    let step = kit.step(ix)?;
    let target = step.until.iter().find_map(|u| match u {
        Until::Core(t) => Some(*t),
        _ => None,
    })?;
    let state = core.steps.get(ix)?;
    let began = state.began?;
    let zero = state.food_in.unwrap_or(began);
    let seconds = |at: At| at.since(zero) as f64 / 1000.0;
    let vessel = step.vessel.as_ref();
    let here = |t: &&Taken| t.reading.vessel.as_ref() == vessel;
    let probes: Vec<Probe> = core_readings(kit, core, ix)
        .filter(|t| only.is_none() || t.reading.piece.as_ref() == only)
        .map(|t| Probe {
            at_s: seconds(t.at),
            value: read(t),
            piece: t
                .reading
                .piece
                .as_ref()
                .and_then(|p| kit.piece_ix(p))
                .and_then(|p| u32::try_from(p).ok()),
        })
        .collect();
    let mediums: Vec<&Taken> = core
        .readings
        .iter()
        .filter(here)
        .filter(|t| t.reading.kind == Measured::Medium)
        .collect();
    let mut changes: Vec<f64> = mediums
        .windows(2)
        .filter(|w| (read(w[1]).lo.0 - read(w[0]).lo.0).abs() > MEDIUM_MOVED_C)
        .map(|w| seconds(w[1].at))
        .collect();
    changes.extend(
        vessel
            .and_then(|v| kit.vessel_ix(v))
            .and_then(|v| core.vessels.get(v)?.changed)
            .map(seconds),
    );
    // Before the food was in there was nothing to change.
    changes.retain(|c| *c > 0.0);
    let medium = mediums
        .last()
        .map(|t| middle(read(t)))
        .or_else(|| window_of(kit, step).map(middle));
    let mut batch = batch(kit, step, target, medium);
    if only.is_some() {
        batch.pieces = 1;
    }
    Some(believe(&batch, &probes, &changes))
}

/// A medium that reads so differently from before has been changed, °C.
const MEDIUM_MOVED_C: f64 = 8.0;

fn middle(span: Span<Celsius>) -> Celsius {
    Celsius(0.5 * (span.lo.0 + span.hi.0))
}

/// A reading with the probe's offset added.
pub fn read(taken: &Taken) -> Span<Celsius> {
    let c = taken.reading.celsius;
    Span {
        lo: Celsius(c.lo.0 + taken.offset),
        hi: Celsius(c.hi.0 + taken.offset),
    }
}

/// The window of a step's medium: its own, or that of a step before it in the vessel.
pub fn window_of(kit: &Kit, step: &Step) -> Option<Span<Celsius>> {
    let of = |s: &Step| {
        s.until.iter().find_map(|u| match u {
            Until::Medium(window) => Some(*window),
            _ => None,
        })
    };
    of(step).or_else(|| {
        let steps = kit.plan.steps.iter();
        steps
            .filter(|s| s.vessel.is_some() && s.vessel == step.vessel)
            .find_map(of)
    })
}

/// How many pieces a step holds.
pub fn pieces(step: &Step) -> u32 {
    let all = step.holds.iter().map(|h| match &h.what {
        What::Pieces { count, .. } => *count,
        What::Sample(_) => 1,
    });
    all.fold(0u32, u32::saturating_add).max(1)
}

/// The item that a step cooks: the first that it holds.
pub fn item<'a>(kit: &'a Kit, step: &Step) -> Option<&'a Item> {
    step.holds.iter().find_map(|h| match &h.what {
        What::Pieces { item, .. } => kit.plan.items.get(kit.item_ix(item)?),
        What::Sample(id) => kit.plan.items.get(kit.item_ix(&kit.sample(id)?.of)?),
    })
}

fn batch(kit: &Kit, step: &Step, target: Celsius, medium: Option<Celsius>) -> Batch {
    let item = item(kit, step);
    let vessel = step.vessel.as_ref().and_then(|v| kit.vessel_ix(v));
    let heating = match vessel.and_then(|v| kit.vessel(v)).map(|v| v.kind) {
        Some(VesselKind::Pot) => Heating::Immersed,
        Some(VesselKind::Skillet) if medium.is_some() => Heating::Immersed,
        Some(VesselKind::Skillet) => Heating::Pan,
        _ => Heating::Oven,
    };
    Batch {
        pieces: pieces(step),
        shape: item.map_or(Shape::Slab, |i| i.shape),
        thickness_mm: item.and_then(|i| i.thickness_mm),
        start: item.and_then(|i| i.start),
        heating,
        medium,
        target,
    }
}

/// Seconds between the food going in and now.
pub fn cooking_s(core: &Core, ix: StepIx, now: At) -> f64 {
    let zero = core.steps.get(ix).and_then(|s| s.food_in.or(s.began));
    zero.map_or(0.0, |z| now.since(z) as f64 / 1000.0)
}

/// The medium of a vessel, if it was read lately.
pub fn medium_now(core: &Core, vessel: &str, now: At) -> Option<Celsius> {
    core.readings
        .iter()
        .rev()
        .find(|t| t.reading.kind == Measured::Medium && t.reading.vessel.as_deref() == Some(vessel))
        .filter(|t| now.since(t.at) <= MEDIUM_FRESH)
        .map(|t| read(t).hi)
}

/// For so long a called medium bounds the cores in it.
const MEDIUM_FRESH: i64 = 10 * MINUTE;

/// The core readings of a step, in the order of [`Belief::oddities`].
pub fn core_readings<'a>(
    kit: &'a Kit,
    core: &'a Core,
    ix: StepIx,
) -> impl Iterator<Item = &'a Taken> {
    let began = core.steps.get(ix).and_then(|s| s.began);
    let vessel = kit.step(ix).and_then(|s| s.vessel.as_ref());
    core.readings.iter().filter(move |t| {
        t.reading.vessel.as_ref() == vessel
            && t.reading.kind == Measured::Core
            && began.is_some_and(|b| t.at >= b)
    })
}

/// Why a reading is not believed: the number of its call.
pub fn oddity(kit: &Kit, core: &Core, ix: StepIx, number: u32) -> Option<Oddity> {
    let at = core_readings(kit, core, ix).position(|t| t.reading.number == number)?;
    belief(kit, core, ix)?.oddities.get(at).copied().flatten()
}

/// Degrees Celsius to add to what the probe reads, by a reading in a bath.
pub fn probe_off(kit: &Kit, kind: Measured, reads: Span<Celsius>) -> Option<f64> {
    let bath = match kind {
        Measured::Ice => Bath::Ice,
        Measured::Boil => Bath::Boil,
        Measured::Core | Measured::Medium | Measured::Cooling => return None,
    };
    offset(bath, middle(reads), kit.plan.altitude_m).map(|o| o.add)
}

/// A quarter of a degree is below what a probe shows.
pub fn worth_adding(celsius: f64) -> bool {
    celsius.abs() >= 0.25
}

/// How the readings of a step stand to what ends it.
#[derive(Debug, Clone, PartialEq)]
pub enum Standing {
    /// No condition on a temperature.
    NoTarget,
    /// The target, and what is believed if anything was read. `met`: the coldest credible
    /// reading is there; `verdict` says whether that is enough.
    Core {
        target: Celsius,
        last: Option<(Span<Celsius>, At)>,
        met: bool,
        verdict: Verdict,
    },
    Medium {
        window: Span<Celsius>,
        last: Option<(Span<Celsius>, At)>,
        met: bool,
    },
}

/// A step's temperature condition against the readings since it began.
pub fn standing(kit: &Kit, core: &Core, ix: StepIx) -> Standing {
    let (Some(step), Some(began)) = (kit.step(ix), core.steps.get(ix).and_then(|s| s.began)) else {
        return Standing::NoTarget;
    };
    let last_of = |kind: Measured| {
        core.readings
            .iter()
            .rev()
            .take_while(|t| t.at >= began)
            .find(|t| t.reading.kind == kind && t.reading.vessel == step.vessel)
            .map(|t| (read(t), t.at))
    };
    for until in &step.until {
        match until {
            Until::Core(target) => {
                let Some(belief) = belief(kit, core, ix) else {
                    return Standing::NoTarget;
                };
                let verdict = belief.verdict();
                let last = verdict.coldest.and_then(|(c, _)| {
                    last_of(Measured::Core).map(|(_, at)| (Span { lo: c, hi: c }, at))
                });
                return Standing::Core {
                    target: *target,
                    last,
                    met: verdict.coldest.is_some_and(|(c, _)| reached(c, *target)),
                    verdict,
                };
            }
            Until::Medium(window) => {
                let last = last_of(Measured::Medium);
                return Standing::Medium {
                    window: *window,
                    last,
                    met: last
                        .is_some_and(|(v, _)| reached(v.lo, window.lo) && reached(window.hi, v.hi)),
                };
            }
            Until::Time(_) | Until::Word(_) => {}
        }
    }
    Standing::NoTarget
}

/// The temperature that ends a step has been read.
pub fn is_met(kit: &Kit, core: &Core, ix: StepIx) -> bool {
    match standing(kit, core, ix) {
        Standing::NoTarget => false,
        Standing::Core { met, .. } | Standing::Medium { met, .. } => met,
    }
}

/// It has been read, and enough stands behind it to take the food out.
pub fn is_done(kit: &Kit, core: &Core, ix: StepIx) -> bool {
    match standing(kit, core, ix) {
        Standing::NoTarget => false,
        Standing::Core { verdict, .. } => verdict.done,
        Standing::Medium { met, .. } => met,
    }
}
