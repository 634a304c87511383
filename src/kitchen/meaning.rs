//! The one seam between called readings and what they mean. The kitchen keeps readings
//! raw; everything it concludes from them goes through here.

use crate::plan::{Celsius, Span, Step, Until};

use super::At;
use super::core::Core;
use super::event::Measured;
use super::kit::{Kit, StepIx};
use super::manners::{CORE_SENSE_C, MEDIUM_SENSE_C};

/// What an unqualified reading in a step's vessel was taken of; none when both fit.
pub fn kind_of(step: Option<&Step>, value: Span<Celsius>) -> Option<Measured> {
    let Some(step) = step else {
        return Some(Measured::Core);
    };
    let core = step.until.iter().any(|u| matches!(u, Until::Core(_)));
    let medium = step.until.iter().any(|u| matches!(u, Until::Medium(_)));
    match (core, medium) {
        (true, true) => {
            // Above boiling water it cannot be a core.
            if value.lo.0 > CORE_SENSE_C.1 {
                Some(Measured::Medium)
            } else {
                None
            }
        }
        (false, true) => Some(Measured::Medium),
        _ if value.lo.0 > CORE_SENSE_C.1 => Some(Measured::Medium),
        _ => Some(Measured::Core),
    }
}

/// Whether such a temperature can be.
pub fn makes_sense(kind: Measured, value: Span<Celsius>) -> bool {
    let (lo, hi) = match kind {
        Measured::Core => CORE_SENSE_C,
        Measured::Medium => MEDIUM_SENSE_C,
        // A probe may be off by a few degrees, not by more than this.
        Measured::Ice => (-10.0, 10.0),
        Measured::Boil => (80.0, 110.0),
    };
    value.lo.0 >= lo && value.hi.0 <= hi && value.lo.0 <= value.hi.0
}

/// How the readings of a step stand to what ends it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Standing {
    /// No condition on a temperature.
    NoTarget,
    /// The target, and the last reading of the step if there is one.
    Core {
        target: Celsius,
        last: Option<(Span<Celsius>, At)>,
        met: bool,
    },
    Medium {
        window: Span<Celsius>,
        last: Option<(Span<Celsius>, At)>,
        met: bool,
    },
}

/// A step's temperature condition against the last reading since it began.
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
            .map(|t| (t.reading.celsius, t.at))
    };
    for until in &step.until {
        match until {
            Until::Core(target) => {
                let last = last_of(Measured::Core);
                return Standing::Core {
                    target: *target,
                    last,
                    met: last.is_some_and(|(v, _)| v.lo.0 >= target.0 - 1e-9),
                };
            }
            Until::Medium(window) => {
                let last = last_of(Measured::Medium);
                return Standing::Medium {
                    window: *window,
                    last,
                    met: last.is_some_and(|(v, _)| {
                        v.lo.0 >= window.lo.0 - 1e-9 && v.hi.0 <= window.hi.0 + 1e-9
                    }),
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
