//! What of a plan with problems is sound: a looser plan, in which nothing is impossible that
//! would be possible in the one that was meant.

use std::time::Duration;

use super::{Checked, Mark, Plan, Problem, Span};

/// Keys of a step that say nothing about when and where it can be done.
const HARMLESS: [&str; 8] = [
    "say",
    "caution",
    "holds",
    "brine",
    "oil",
    "breading",
    "flip every",
    "cools",
];
/// As many hands as a plan may have.
const HANDS_MOST: u32 = 8;

/// Steps that have a problem take no time and need nothing.
pub(super) fn sound(mut checked: Checked, problems: &[Problem]) -> Checked {
    for problem in problems {
        let at = Mark {
            line: problem.line,
            column: problem.column,
        };
        let Some((path, right_there)) = checked.marks.path_at(at) else {
            continue;
        };
        let mut parts = path.split('/');
        let (section, id, key) = (parts.next(), parts.next(), parts.next());
        let plan = &mut checked.plan;
        match (section, id) {
            (Some("hands"), _) => plan.hands = HANDS_MOST,
            (Some("burners"), _) => plan.burners = None,
            (Some("steps"), Some(id)) => {
                let harmless = right_there && key.is_some_and(|key| HARMLESS.contains(&key));
                if !harmless {
                    loosen(plan, id);
                }
            }
            (Some("vessels"), Some(id)) => {
                for step in &mut plan.steps {
                    if step.vessel.as_deref() == Some(id) {
                        step.vessel = None;
                    }
                }
            }
            _ => {}
        }
    }
    checked
}

fn loosen(plan: &mut Plan, id: &str) {
    let Some(step) = plan.steps.iter_mut().find(|s| s.id == id) else {
        return;
    };
    step.wait = Some(Span {
        lo: Duration::ZERO,
        hi: Duration::ZERO,
    });
    step.hands_on = None;
    step.until.clear();
    step.takes = None;
    step.rest = None;
    step.vessel = None;
    step.finish_with.clear();
    for other in &mut plan.steps {
        other.finish_with.retain(|with| with != id);
    }
}
