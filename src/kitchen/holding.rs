//! The hold that the published table asks of a step that aims below the consumer minimum,
//! clocked from its readings.

use crate::doneness::hold::{Row, held};
use crate::doneness::{Aim, Minimum, aim};
use crate::plan::{Celsius, Until};

use super::At;
use super::core::Core;
use super::kit::{Kit, StepIx};
use super::meaning;

/// What a step that aims below the minimum owes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Owes {
    /// To stay at the row's temperature for so long.
    Hold(Row),
    /// The minimum all the same: the table knows nothing of salt, which can raise
    /// Salmonella's resistance to heat (Juneja, Marks and Mohr 2003, abstract).
    Minimum(Minimum),
}

pub fn owes(kit: &Kit, ix: StepIx) -> Option<Owes> {
    let step = kit.step(ix)?;
    let item = meaning::item(kit, step)?;
    let target = step.until.iter().find_map(|u| match u {
        Until::Core(target) => Some(*target),
        _ => None,
    })?;
    match aim(item.class, target, item.fat_percent, item.brined) {
        Aim::Below {
            minimum,
            brined: true,
            ..
        } => Some(Owes::Minimum(minimum)),
        Aim::Below { hold: Ok(row), .. } => Some(Owes::Hold(row)),
        Aim::Below { .. } | Aim::Meets(_) | Aim::Unregulated => None,
    }
}

/// How much of its hold is left at a moment, seconds; all of it where no reading is at the
/// table's temperatures.
pub fn left_s(kit: &Kit, core: &Core, ix: StepIx, row: Row, now: At) -> Option<f64> {
    let item = meaning::item(kit, kit.step(ix)?)?;
    let belief = meaning::belief(kit, core, ix)?;
    // A hold counts from when every piece has been read: so many readings on from each.
    let read: Vec<(f64, Celsius)> = meaning::core_readings(kit, core, ix)
        .zip(&belief.oddities)
        .filter(|(_, odd)| odd.is_none())
        .map(|(t, _)| (meaning::cooking_s(core, ix, t.at), meaning::read(t).lo))
        .collect();
    let pieces = usize::try_from(belief.need()).unwrap_or(1).max(1);
    let coldest: Vec<(f64, Celsius)> = read
        .windows(pieces)
        .filter_map(|w| {
            let lowest = w.iter().map(|(_, c)| c.0).fold(f64::INFINITY, f64::min);
            w.last().map(|(at, _)| (*at, Celsius(lowest)))
        })
        .collect();
    let now_s = meaning::cooking_s(core, ix, now);
    let state = held(item.class, item.fat_percent, &coldest, now_s);
    Some(state.left_s.unwrap_or(f64::from(row.hold_s)))
}

/// When the hold of a step that is at its target will be over, if nothing cools; none once
/// it is, or was told to be.
pub fn over(kit: &Kit, core: &Core, ix: StepIx) -> Option<At> {
    if core.holds_told.contains(&ix) {
        return None;
    }
    let Owes::Hold(row) = owes(kit, ix)? else {
        return None;
    };
    let last = meaning::core_readings(kit, core, ix).last()?.at;
    if !meaning::is_done(kit, core, ix) {
        return None;
    }
    let left = left_s(kit, core, ix, row, last)?;
    (left > 0.0).then(|| last.plus((left * 1000.0).ceil() as i64))
}
