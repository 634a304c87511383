//! What brine, oil and breading need to know of the rest of the plan, and what cannot be.

use super::checks::Whole;
use super::model::*;
use super::needs::*;
use super::problem::Desk;
use super::show;
use super::steps::DraftStep;
use super::things::Draft;
use crate::prep::{brine, tables};

impl Whole<'_> {
    pub(super) fn needs(&self, desk: &mut Desk<'_>) {
        for draft in self.steps {
            let step = &draft.thing.step;
            if step.brine.is_some() || step.oil.is_some() || !step.breading.is_empty() {
                self.needs_of(draft, desk);
            }
        }
    }

    fn needs_of(&self, draft: &Draft<DraftStep>, desk: &mut Desk<'_>) {
        let step = &draft.thing.step;
        let at = |key: &str, desk: &Desk<'_>| desk.marks.nearest(&format!("{}/{key}", draft.path));
        let key = if step.brine.is_some() {
            "brine"
        } else if step.oil.is_some() {
            "oil"
        } else {
            "breading"
        };
        if draft.whole && step.holds.is_empty() {
            desk.problem(
                at(key, desk),
                format!("`{key}` in a step that holds nothing"),
                "`holds:` and the food, in this step",
            );
        }
        let thick = step.oil.is_some() || !step.breading.is_empty();
        let mut told: Vec<&Id> = Vec::new();
        for holding in &step.holds {
            let id = match &holding.what {
                What::Pieces { item, .. } => item,
                What::Sample(sample) => match self.samples.iter().find(|s| s.thing.id == *sample) {
                    Some(s) => &s.thing.of,
                    None => continue,
                },
            };
            let Some(item) = self.items.iter().find(|i| i.thing.id == *id && i.whole) else {
                continue;
            };
            if told.contains(&id) {
                continue;
            }
            told.push(id);
            let name = item.thing.names.first().map_or("", String::as_str);
            if item.thing.piece_mass_g.is_none() {
                desk.problem(
                    item.at,
                    format!("`{key}` needs the mass of `{name}`"),
                    "`piece mass:` of one, or `mass:` of all together",
                );
            }
            if thick && item.thing.thickness_mm.is_none() {
                desk.problem(
                    item.at,
                    format!("`{key}` needs the thickness of `{name}`"),
                    "`thickness:` of one piece, such as 1 in",
                );
            }
        }
        if step.oil.is_some() {
            self.pan_for_oil(draft, desk);
        }
        if let Some(need) = &step.brine {
            brine_limits(draft, need, desk);
        }
        if step.breading.contains(&Coat::Leavening) && !step.breading.contains(&Coat::Flour) {
            desk.problem(
                at("breading", desk),
                "`leavening` goes into flour, and there is none",
                "flour as well",
            );
        }
    }

    fn pan_for_oil(&self, draft: &Draft<DraftStep>, desk: &mut Desk<'_>) {
        let step = &draft.thing.step;
        let Some(id) = &step.vessel else {
            if desk
                .marks
                .exact(&format!("{}/vessel", draft.path))
                .is_none()
            {
                desk.problem(
                    desk.marks.nearest(&format!("{}/oil", draft.path)),
                    "`oil` without a vessel",
                    "`vessel:` and its name in this step",
                );
            }
            return;
        };
        let Some(vessel) = self.vessels.iter().find(|v| v.thing.id == *id && v.whole) else {
            return;
        };
        let name = vessel.thing.names.first().map_or("", String::as_str);
        if vessel.thing.diameter_mm.is_none() && vessel.thing.sides_mm.is_none() {
            desk.problem(
                vessel.at,
                format!("oil goes into `{name}`, which has no size"),
                "`diameter: 10 in` inside (or `sides:`), and `depth: 2 in`",
            );
        } else if vessel.thing.depth_mm.is_none() {
            desk.problem(
                vessel.at,
                format!("oil goes into `{name}`, which has no depth"),
                "`depth:` inside, such as 2 in",
            );
        }
    }
}

fn brine_limits(draft: &Draft<DraftStep>, need: &BrineNeed, desk: &mut Desk<'_>) {
    let step = &draft.thing.step;
    let at = |key: &str, desk: &Desk<'_>| desk.marks.nearest(&format!("{}/{key}", draft.path));
    let cold = need.at.map_or(4.0, |c| c.0);
    if let brine::Wanted::InLiquid(percent) = need.wanted
        && brine::is_oversaturated(percent, cold)
    {
        let most = tables::saturation(cold).unwrap_or(26.0);
        desk.problem(
            at("brine/in the liquid", desk),
            format!(
                "`{} %` of salt does not dissolve",
                show::decimal(percent, 1)
            ),
            format!("at most {} %; 5 % to 8 % is usual", show::decimal(most, 1)),
        );
    }
    if let brine::Wanted::InMeat(percent) = need.wanted
        && percent > brine::TOO_SALTY_PERCENT
    {
        desk.problem(
            at("brine/in the meat", desk),
            format!(
                "`{} %` of salt in the meat is more than anyone eats",
                show::decimal(percent, 1)
            ),
            format!(
                "1 % to 1.5 %, at most {} %",
                show::decimal(brine::TOO_SALTY_PERCENT, 1)
            ),
        );
    }
    if let (Some(wait), BrineWay::Bath | BrineWay::Coating) = (step.wait, need.way)
        && wait.hi.as_secs_f64() > 3600.0 * tables::brine_most_hours()
    {
        desk.problem(
            at("wait", desk),
            format!("`{}` in a wet brine", show::duration(wait.hi)),
            format!(
                "at most {} h, in the fridge",
                show::decimal(tables::brine_most_hours(), 0)
            ),
        );
    }
    if need.at.is_some_and(|c| c.0 > 4.5) {
        desk.problem(
            at("brine/at", desk),
            "raw food is brined in the fridge",
            "at most 40 F or 4 C",
        );
    }
}
