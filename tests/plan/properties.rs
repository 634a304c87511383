//! Whatever the bytes, there is a plan or a list of problems that point into the file.

use hobcall::plan::{self, Plan, Problem, What};
use proptest::prelude::*;

const PLANS: [&str; 3] = [
    include_str!("../../plans/pork-chops-two-brines.yaml"),
    include_str!("../../plans/overnight-lamb-shoulder.yaml"),
    include_str!("../../plans/two-caramels.yaml"),
];

/// Every problem stands on a line of the file, at most just behind its last letter.
fn inside(problem: &Problem, bytes: &[u8]) -> Result<(), TestCaseError> {
    let text = String::from_utf8_lossy(bytes);
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    let line = text.split('\n').nth(problem.line.wrapping_sub(1));
    let Some(line) = line else {
        return Err(TestCaseError::fail(format!("{problem} is on no line")));
    };
    let width = line.chars().count();
    prop_assert!(
        (1..=width + 1).contains(&problem.column),
        "{problem} in a line of {width}"
    );
    prop_assert!(!problem.what.is_empty() && !problem.write_instead.is_empty());
    prop_assert!(!problem.to_string().contains('\n'), "{problem}");
    Ok(())
}

/// What every other room relies on.
fn sound(plan: &Plan) -> Result<(), TestCaseError> {
    let mut ids: Vec<&str> = Vec::new();
    ids.extend(plan.items.iter().map(|x| x.id.as_str()));
    ids.extend(plan.samples.iter().map(|x| x.id.as_str()));
    ids.extend(plan.vessels.iter().map(|x| x.id.as_str()));
    ids.extend(plan.steps.iter().map(|x| x.id.as_str()));
    let mut once = ids.clone();
    once.sort_unstable();
    once.dedup();
    prop_assert_eq!(once.len(), ids.len(), "an identifier twice");
    let vessel = |id: &String| plan.vessels.iter().find(|v| v.id == *id);
    for sample in &plan.samples {
        prop_assert!(plan.items.iter().any(|i| i.id == sample.of));
    }
    for (index, step) in plan.steps.iter().enumerate() {
        for id in &step.after {
            prop_assert!(plan.steps.iter().take(index).any(|s| s.id == *id));
        }
        for id in step.vessel.iter().chain(&step.out_to) {
            prop_assert!(vessel(id).is_some());
        }
        for holding in &step.holds {
            match &holding.what {
                What::Sample(id) => prop_assert!(plan.samples.iter().any(|s| s.id == *id)),
                What::Pieces { item, count } => {
                    let item = plan.items.iter().find(|i| i.id == *item);
                    prop_assert!(item.is_some_and(|i| (1..=i.pieces).contains(count)));
                }
            }
            if let Some(place) = holding.place {
                let layout = step.vessel.as_ref().and_then(vessel).map(|v| v.places);
                prop_assert!(layout.is_some_and(|l| l.has(place)));
            }
        }
        if let Some(wait) = step.wait {
            prop_assert!(wait.lo <= wait.hi && !wait.hi.is_zero());
        }
    }
    prop_assert!(!plan.steps.is_empty());
    prop_assert!(!plan::print(plan).is_empty());
    Ok(())
}

fn judge(bytes: &[u8]) -> Result<(), TestCaseError> {
    match plan::read_bytes(bytes, "plan.yaml") {
        Ok(checked) => {
            sound(&checked.plan)?;
            for warning in &checked.warnings {
                inside(warning, bytes)?;
            }
        }
        Err(problems) => {
            prop_assert!(!problems.is_empty());
            for problem in &problems {
                inside(problem, bytes)?;
            }
            let places: Vec<_> = problems.iter().map(|p| (p.line, p.column)).collect();
            prop_assert!(places.is_sorted(), "not in file order: {places:?}");
        }
    }
    Ok(())
}

/// Values and keys of other places, swapped in: mistakes that cooks make.
fn mistaken() -> impl Strategy<Value = String> {
    let lines = |which: usize| -> Vec<String> { PLANS[which].lines().map(str::to_owned).collect() };
    (
        0..PLANS.len(),
        prop::collection::vec(
            (
                any::<prop::sample::Index>(),
                any::<prop::sample::Index>(),
                0..5u8,
            ),
            1..6,
        ),
    )
        .prop_map(move |(which, edits)| {
            let mut text = lines(which);
            for (a, b, kind) in edits {
                let (a, b) = (a.index(text.len()), b.index(text.len()));
                match kind {
                    0 => text.swap(a, b),
                    1 => text.insert(a, text[b].clone()),
                    2 if text.len() > 1 => {
                        text.remove(a);
                    }
                    3 => {
                        // The key of one line with the value of another.
                        let value = text[b].split_once(": ").map(|(_, v)| v.to_owned());
                        if let Some(((key, _), value)) = text[a].clone().split_once(": ").zip(value)
                        {
                            text[a] = format!("{key}: {value}");
                        }
                    }
                    _ => text[a] = format!(" {}", text[a]),
                }
            }
            text.join("\n")
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn any_bytes(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        judge(&bytes)?;
    }

    #[test]
    fn any_text_of_yaml_signs(text in "[-a-c0-3:{}\\[\\],#&*!|>'\"%@` \t\r\n~?.é°]{0,80}") {
        judge(text.as_bytes())?;
    }

    #[test]
    fn plans_with_mistakes(text in mistaken()) {
        judge(text.as_bytes())?;
    }

    #[test]
    fn plans_cut_short(which in 0..PLANS.len(), at in any::<prop::sample::Index>()) {
        let bytes = PLANS[which].as_bytes();
        judge(&bytes[..at.index(bytes.len())])?;
    }

    #[test]
    fn plans_with_a_byte_changed(which in 0..PLANS.len(), at in any::<prop::sample::Index>(), byte in any::<u8>()) {
        let mut bytes = PLANS[which].as_bytes().to_vec();
        let at = at.index(bytes.len());
        bytes[at] = byte;
        judge(&bytes)?;
    }
}
