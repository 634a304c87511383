//! What is wrong only when the whole plan is seen: rings, shared pans, lost pieces.

use crate::kit::{KITCHEN, clean, clean_steps, only, only_steps, problems};
use hobcall::plan::{Holding, Place, What};

#[test]
fn rings_are_named() {
    only_steps(
        "  salt: {say: Salt., after: «dry}\n  rest: {say: Rest., after: salt}\n  dry: {say: Dry., after: rest}\n",
        "in a ring: `salt` after `dry` after `rest` after `salt`",
        "without one of them",
    );
    only_steps(
        "  salt: {say: Salt., after: «salt}\n",
        "`after`: `salt` waits for itself",
        "without",
    );
    // Two rings, two problems; a step that hangs on a ring is none of its own.
    let found = problems(&format!(
        "{KITCHEN}  salt: {{say: A., after: dry}}\n  dry: {{say: B., after: salt}}\n  \
         mix: {{say: C., after: fold}}\n  fold: {{say: D., after: mix}}\n  end: {{say: E., after: dry}}\n"
    ).replace("  end:", "  serve:"));
    assert_eq!(found.len(), 2, "{found:#?}");
}

#[test]
fn a_step_named_twice_in_after() {
    only_steps(
        "  salt: {say: Salt.}\n  dry: {say: Dry., after: [salt, «salt]}\n",
        "`after` names `salt` a second time",
        "once",
    );
}

#[test]
fn two_steps_in_one_pan() {
    only_steps(
        "  fry: {say: Fry., vessel: skillet}\n  toast: {say: Toast., after: start, vessel: «skillet}\n",
        "`fry` and `toast` may be in this vessel at the same time",
        "`after: fry`",
    );
    // One after the other is fine, and so is a rack or an oven for two.
    clean_steps("  fry: {say: Fry., vessel: skillet}\n  toast: {say: Toast., vessel: skillet}\n");
    clean_steps("  cool: {say: A., vessel: rack}\n  dry: {say: B., after: start, vessel: rack}\n");
}

#[test]
fn one_sample_in_two_vessels() {
    only_steps(
        "  fry: {say: Fry., vessel: skillet, holds: test chop}\n  \
         sear: {say: Sear., after: start, vessel: second skillet, holds: «test chop}\n",
        "`test chop` would be in two vessels at once: `fry` and `sear`",
        "in one of them",
    );
}

#[test]
fn more_pieces_in_use_than_there_are() {
    only_steps(
        "  fry: {say: Fry., vessel: skillet, holds: 3 chops}\n  \
         sear: {say: Sear., after: start, vessel: second skillet, holds: «4 chops}\n",
        "7 of `chop` in use at once (in `fry`, `sear`), but there are 6",
        "3 chops",
    );
    // Three at once, no two of them too many.
    only_steps(
        "  fry: {say: A., after: start, vessel: skillet, holds: 2 chops}\n  \
         sear: {say: B., after: start, vessel: second skillet, holds: 2 chops}\n  \
         cool: {say: C., after: start, vessel: rack, holds: «3 chops}\n",
        "7 of `chop` in use at once (in `fry`, `sear`, `cool`)",
        "3 chops",
    );
    clean_steps(
        "  fry: {say: A., after: start, vessel: skillet, holds: 3 chops}\n  \
         sear: {say: B., after: start, vessel: second skillet, holds: [2 chops, test chop]}\n  \
         cool: {say: C., after: [fry, sear], vessel: rack, holds: chops}\n",
    );
}

#[test]
fn more_of_an_item_than_there_is() {
    only_steps(
        "  fry: {say: Fry., vessel: rack, holds: «6 chops}\n",
        "6 of `chop`, but of 6 pieces 1 is marked and 5 not",
        "5 at most",
    );
    only_steps(
        "  fry: {say: Fry., vessel: rack, holds: «0 chops}\n",
        "none at all",
        "3 chops",
    );
    only_steps(
        "  fry: {say: Fry., vessel: rack, holds: «2 test chop}\n",
        "one piece, not 2",
        "test chop",
    );
    only_steps(
        "  fry: {say: Fry., vessel: rack, holds: [test chop, «test chop]}\n",
        "twice",
        "once",
    );
    only(
        &KITCHEN
            .replace("pieces: 6", "pieces: «1")
            .replace(
                "  test chop: {of: chop}\n",
                "  test chop: {of: chop}\n  plain chop: {of: chop}\n",
            )
            .replace(
                "steps:\n",
                "steps:\n  fry: {say: Fry., vessel: rack, holds: chops}\n",
            ),
        "2 samples of `chop`, which has 1 piece",
        "`pieces: 2` or more",
    );
}

#[test]
fn places() {
    only_steps(
        "  fry: {say: Fry., vessel: skillet, holds: [«test chop at back]}\n",
        "the vessel has no place `back`",
        "left or middle or right",
    );
    only_steps(
        "  fry: {say: Fry., vessel: rack, holds: [«test chop at left]}\n",
        "no place `left`",
        "`places: left right`",
    );
    only_steps(
        "  fry: {say: Fry., vessel: skillet, holds: [2 chops at left and right, «test chop at left]}\n",
        "two pieces in one place",
        "a place for each piece",
    );
    only_steps(
        "  fry: {say: Fry., vessel: skillet, holds: [«2 chops at left and left]}\n",
        "two pieces at `left`",
        "a place for each piece",
    );
    only_steps(
        "  fry: {say: Fry., vessel: skillet, holds: [«3 chops at left and right]}\n",
        "2 places for 3 pieces",
        "a place for each piece",
    );
    only_steps(
        "  fry: {say: Fry., vessel: skillet, holds: [«chops at left]}\n",
        "1 place for an unsaid number",
        "a place for each piece",
    );
}

#[test]
fn holds_spells_out_every_piece() {
    let holds = |text: &str| {
        let checked = clean_steps(&format!(
            "  fry: {{say: Fry., vessel: skillet, holds: {text}}}\n"
        ));
        checked.plan.steps[0].holds.clone()
    };
    let chops = |count, place| Holding {
        what: What::Pieces {
            item: "chop".into(),
            count,
        },
        place,
    };
    let test = |place| Holding {
        what: What::Sample("test_chop".into()),
        place,
    };
    assert_eq!(holds("chops"), [chops(5, None), test(None)]);
    assert_eq!(holds("all chops"), [chops(5, None), test(None)]);
    assert_eq!(holds("2 chops"), [chops(2, None)]);
    assert_eq!(holds("the test chop"), [test(None)]);
    assert_eq!(
        holds("[test chop at the left, \"2 chops at middle, right\"]"),
        [
            test(Some(Place::Left)),
            chops(1, Some(Place::Middle)),
            chops(1, Some(Place::Right)),
        ]
    );
}

#[test]
fn what_needs_a_vessel() {
    only_steps(
        "  fry: {say: Fry., holds: «chops}\n",
        "`holds` without a vessel",
        "`vessel:`",
    );
    only_steps(
        "  fry: {say: Fry., flip every: «4 min}\n",
        "`flip every` without a vessel",
        "`vessel:`",
    );
    only_steps(
        "  fry: {say: Fry., out to: «rack}\n",
        "`out to` without a vessel",
        "`vessel:`",
    );
    only_steps(
        "  fry: {say: Fry., until: {core: «145 F}}\n",
        "`core` without a vessel",
        "`vessel:`",
    );
    only_steps(
        "  fry: {say: Fry., until: {medium: «340 F .. 350 F}}\n",
        "`medium` without a vessel",
        "`vessel:`",
    );
    only_steps(
        "  fry: {say: Fry., vessel: skillet, holds: chops, out to: «skillet}\n",
        "the vessel that the step is in",
        "another vessel",
    );
    only_steps(
        "  fry: {say: Fry., vessel: skillet, until: {core: «145 F}}\n",
        "nothing is in `skillet`",
        "`holds:`",
    );
    // Filled by an earlier step, or by a transfer.
    clean_steps(
        "  fill: {say: A., vessel: skillet, holds: chops, out to: rack}\n  \
         look: {say: B., vessel: rack, until: {core: 145 F}}\n",
    );
}

#[test]
fn clocks_that_fight() {
    only_steps(
        "  fry: {say: Fry., wait: 10 min, until: {time: «12 min}}\n",
        "`wait` and `until: {time}` both",
        "only one",
    );
    only_steps(
        "  fry: {say: Fry., vessel: skillet, holds: chops, flip every: «12 min, until: {time: 10 min .. 12 min}}\n",
        "nothing is ever flipped",
        "shorter",
    );
}

#[test]
fn steps_that_cannot_end_together() {
    only_steps(
        "  fry: {say: Fry.}\n  sear: {say: Sear., finish with: «fry}\n",
        "`fry` cannot end together",
        "same time",
    );
    only_steps(
        "  fry: {say: Fry., finish with: «fry}\n",
        "names the step itself",
        "same time",
    );
    clean_steps("  fry: {say: Fry.}\n  sear: {say: Sear., after: start, finish with: fry}\n");
}

#[test]
fn steps_come_after_those_they_wait_for() {
    let checked = clean_steps(
        "  plate: {say: P., after: [sauce, fry]}\n  fry: {say: F., after: start}\n  sauce: {say: S., after: fry}\n",
    );
    let order: Vec<_> = checked.plan.steps.iter().map(|s| s.id.as_str()).collect();
    assert_eq!(order, ["fry", "sauce", "plate"]);
    // Without `after` a step follows the one written before it.
    let checked =
        clean_steps("  salt: {say: S.}\n  dry: {say: D.}\n  fry: {say: F., after: start}\n");
    let after: Vec<_> = checked.plan.steps.iter().map(|s| s.after.clone()).collect();
    assert_eq!(after, [vec![], vec!["salt".to_owned()], vec![]]);
}

#[test]
fn warnings_do_not_refuse_a_plan() {
    let checked = clean_steps("  fry: {say: Fry.}\n");
    let told: Vec<_> = checked
        .warnings
        .iter()
        .map(|w| (w.line, w.what.as_str()))
        .collect();
    assert_eq!(
        told,
        [
            (
                6,
                "no step puts this sample anywhere, so nobody knows where it starts"
            ),
            (8, "no step uses this vessel"),
            (9, "no step uses this vessel"),
            (10, "no step uses this vessel"),
        ]
    );
    let crowded = clean_steps("  fry: {say: Fry., vessel: skillet, holds: chops}\n");
    assert!(
        crowded
            .warnings
            .iter()
            .any(|w| w.line == 12 && w.what.contains("6 pieces in a vessel with 3 places")),
        "{:?}",
        crowded.warnings
    );
}

#[test]
fn later_rooms_can_point_at_a_line() {
    let checked = clean_steps("  fry: {say: Fry., vessel: skillet, holds: [chops], wait: 4 min}\n");
    let problem = checked.problem("steps/fry/wait", "too short", "5 min");
    assert_eq!(
        problem.to_string(),
        "plan.yaml:12:59: too short; write: 5 min"
    );
    // A key that is not there stands where its step does.
    let problem = checked.problem("steps/fry/rest", "no rest", "rest: 3 min");
    assert_eq!((problem.line, problem.column), (12, 3));
    assert_eq!(checked.marks.exact("steps/fry/rest"), None);
    assert!(checked.marks.exact("steps/fry/holds/0").is_some());
}

#[test]
fn more_than_a_kitchen() {
    let steps: String = ('a'..='z')
        .flat_map(|a| ('a'..='c').map(move |b| format!("  {a}{b}x: {{say: Do.}}\n")))
        .collect();
    let found = problems(&format!("{KITCHEN}{steps}"));
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(found[0].line, 12 + 64);
    assert!(found[0].what.contains("more than 64 steps"));
}

#[test]
fn what_cools_has_to_be_held() {
    only_steps(
        "  chill: {say: Chill., vessel: skillet, cools: «yes}\n",
        "`cools` in a step that holds nothing",
        "`holds:` and what cools in it",
    );
    clean_steps("  chill: {say: Chill., vessel: skillet, holds: chop, cools: yes}\n");
}

#[test]
fn a_window_above_the_limit_of_its_vessel() {
    let plan = |medium: &str| {
        format!(
            "plan: A test\nunits: fahrenheit\nvessels:\n  pan: {{kind: pot, oil: canola, limit: 375 F}}\nsteps:\n  warming: {{say: Warm it., vessel: pan, until: {{medium: {medium}}}}}\n"
        )
    };
    only(
        &plan("«370 F .. 380 F"),
        "above the vessel's `limit`",
        "a higher `limit:`",
    );
    assert!(clean(&plan("350 F .. 375 F")).warnings.is_empty());
    // Canola begins to smoke at 400 °F at the least.
    let smoky = plan("350 F .. 410 F").replace(", limit: 375 F", "");
    let warnings = clean(&smoky).warnings;
    assert!(warnings[0].what.contains("begins to smoke"), "{warnings:?}");
}
