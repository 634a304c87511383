//! A step's core against the published minimum of its food, in the words of the sheet.

use crate::doneness::{self, Aim, hold::NoRow, hold::Row, units};

use super::model::*;
use super::show;

/// The food of a step: the items that it holds, or that its vessel was given by the steps
/// it follows.
fn items<'a>(step: &Step, plan: &'a Plan) -> Vec<&'a Item> {
    let id = |h: &Holding| match &h.what {
        What::Pieces { item, .. } => Some(item.clone()),
        What::Sample(id) => plan
            .samples
            .iter()
            .find(|s| s.id == *id)
            .map(|s| s.of.clone()),
    };
    let holds: Vec<Id> = if step.holds.is_empty() {
        plan.steps
            .iter()
            .filter(|s| s.vessel.is_some() && s.vessel == step.vessel)
            .flat_map(|s| s.holds.iter().filter_map(id))
            .collect()
    } else {
        step.holds.iter().filter_map(id).collect()
    };
    plan.items
        .iter()
        .filter(|i| holds.contains(&i.id))
        .collect()
}

/// Each item that a step cooks to less than its published minimum, with how it stands.
pub fn below<'a>(step: &Step, plan: &'a Plan) -> Vec<(&'a Item, Aim)> {
    let Some(target) = step.until.iter().find_map(|u| match u {
        Until::Core(t) => Some(*t),
        _ => None,
    }) else {
        return Vec::new();
    };
    items(step, plan)
        .into_iter()
        .map(|i| {
            let aim = doneness::aim(i.class, target, i.fat_percent, i.brined);
            (i, aim)
        })
        .filter(|(_, aim)| matches!(aim, Aim::Below { .. }))
        .collect()
}

fn limit(c: Celsius, plan: &Plan) -> String {
    let unit = match plan.units {
        Units::Celsius => "C",
        Units::Fahrenheit => "F",
    };
    format!("{} {unit}", units::at_least(c, plan.units))
}

/// The published minimum of an item, for its line on the sheet.
pub(super) fn minimum(item: &Item, plan: &Plan) -> Option<String> {
    let m = doneness::minimum(item.class)?;
    let rest = match m.rest_s {
        0 => String::new(),
        s => format!(
            " and {} of rest",
            show::duration(std::time::Duration::from_secs(s.into()))
        ),
    };
    Some(format!(
        "published minimum {} in the middle{rest} (USDA FSIS; local codes come first)",
        limit(m.core, plan)
    ))
}

/// What a step that aims below the minimum is told.
pub(super) fn warnings(step: &Step, plan: &Plan) -> Vec<String> {
    below(step, plan)
        .into_iter()
        .filter_map(|(item, aim)| {
            let Aim::Below {
                minimum,
                hold,
                brined,
            } = aim
            else {
                return None;
            };
            let name = item.names.first().cloned().unwrap_or_default();
            let mut text = format!(
                "SAFETY: below the published minimum of {} for the {name}",
                limit(minimum.core, plan)
            );
            text.push_str(&match hold {
                Ok(row) => asks(&row),
                Err(NoRow::Below(first)) => {
                    format!("; the published hold table begins at {first} F, so no hold makes up for it")
                }
                Err(NoRow::NoTable | NoRow::NotANumber) => {
                    "; no published hold table makes up for it".to_owned()
                }
            });
            if brined {
                text.push_str(
                    "; it is brined, and salt can make germs bear more heat: take no margin from the table",
                );
            }
            text.push('.');
            Some(text)
        })
        .collect()
}

fn asks(row: &Row) -> String {
    let fat = row.fat.map(|f| format!(", {f} % fat")).unwrap_or_default();
    let time = match row.hold_s {
        0 => "no more than reaching it".to_owned(),
        s => format!(
            "{} there in the coldest part of every piece",
            show::duration(std::time::Duration::from_secs(s.into()))
        ),
    };
    format!(
        "; the published hold table (FSIS, {} F{fat}) asks for {time}",
        row.row_f
    )
}
