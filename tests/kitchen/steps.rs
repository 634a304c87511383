//! Moving through a plan by voice.

use crate::support::{Cook, SIX_CHOPS, frying};
use hobcall::kitchen::StepPhase;

fn chops() -> Cook {
    Cook::with(include_str!("../../plans/pork-chops-two-brines.yaml"))
}

fn phase(cook: &Cook, id: &str) -> StepPhase {
    cook.state
        .steps()
        .into_iter()
        .find(|s| s.id == id)
        .map(|s| s.phase)
        .expect("a step of the plan")
}

#[test]
fn next_never_cuts_a_wait_short_and_done_asks() {
    let mut cook = chops();
    cook.says("next");
    assert_eq!(
        cook.says("next"),
        "Wet brine, twelve to sixteen hours from now."
    );
    assert_eq!(
        cook.says("next"),
        "Dry salting, twelve hours left. Wet brine, twelve hours left. \
         Then dry off, after dry salting and wet brine."
    );
    cook.waits(3600.0);
    assert_eq!(
        cook.says("dry salting done"),
        "Dry salting has eleven hours left. End it anyway?"
    );
    assert_eq!(cook.says("no"), "Not taken, dry salting done.");
    assert_eq!(phase(&cook, "dry_salting"), StepPhase::Running);
    cook.says("dry salting done");
    assert_eq!(
        cook.says("yes"),
        "Done, dry salting. Wet brine, eleven hours left."
    );
}

#[test]
fn two_waits_that_lead_to_one_step_end_with_one_next() {
    let mut cook = chops();
    cook.says("next");
    cook.says("done");
    cook.waits(12.0 * 3600.0 + 5.0);
    assert_eq!(
        cook.says("next"),
        "Done, dry salting. Done, wet brine. Lift the chops onto the board and pat all six dry. \
         The test chop keeps its pick."
    );
}

/// Two pans that end by the cook's word.
const TWO_PANS: &str = "
plan: Two pans
units: fahrenheit
items:
  onion: {pieces: 2, class: other}
vessels:
  left skillet: {kind: skillet}
  right skillet: {kind: skillet}
steps:
  brown left: {after: start, say: One in the left, vessel: left skillet, holds: 1 onion, until: {word: it is brown}}
  brown right: {after: start, say: One in the right, vessel: right skillet, holds: 1 onion, until: {word: it is brown}}
";

fn two_pans() -> Cook {
    let mut cook = Cook::with(TWO_PANS);
    assert_eq!(cook.says("next"), "One in the right.");
    cook
}

#[test]
fn done_is_the_pan_spoken_of_last_and_asks_after_a_while() {
    let mut cook = two_pans();
    cook.says("how long on the left skillet");
    cook.waits(60.0);
    assert!(cook.says("done").starts_with("Done, brown left."));

    let mut cook = two_pans();
    cook.waits(130.0);
    assert_eq!(cook.says("done"), "Done. Which, brown left or brown right?");
    // Told in full it is its own answer.
    assert!(
        cook.says("right skillet done")
            .starts_with("Done, brown right.")
    );
    assert!(cook.state.question().is_none());
}

#[test]
fn which_pan_is_answered_by_its_name_by_its_side_or_by_both() {
    for (answer, ended) in [
        ("left skillet", vec!["left"]),
        ("left", vec!["left"]),
        ("the right one", vec!["right"]),
        ("brown left", vec!["left"]),
        ("both", vec!["left", "right"]),
    ] {
        let mut cook = two_pans();
        cook.waits(130.0);
        assert_eq!(cook.says("done"), "Done. Which, brown left or brown right?");
        cook.says(answer);
        for pan in ["left", "right"] {
            let running = phase(&cook, &format!("brown_{pan}")) == StepPhase::Running;
            assert_eq!(running, !ended.contains(&pan), "{answer} {pan}");
        }
    }
}

#[test]
fn an_answered_question_is_taken_back_with_its_call() {
    let mut cook = two_pans();
    cook.waits(130.0);
    let before = cook.state.clone();
    assert_eq!(cook.says("done"), "Done. Which, brown left or brown right?");
    cook.says("left");
    assert_eq!(cook.says("scratch that"), "Taken back, end of brown left.");
    assert!(cook.state.is_like(&before), "and nothing is asked any more");
}

#[test]
fn another_call_is_taken_and_the_question_goes() {
    let mut cook = frying();
    assert_eq!(
        cook.says("left skillet done"),
        "Fry left runs until the core is one forty five. End it anyway?"
    );
    // Asking something in between keeps it open.
    cook.says("how long on the left skillet");
    assert!(cook.state.question().is_some());
    assert_eq!(
        cook.says("right skillet heat low"),
        "Heat low, right skillet."
    );
    assert_eq!(cook.says("yes"), "Nothing was asked.");
    assert_eq!(phase(&cook, "fry_left"), StepPhase::Running);
}

#[test]
fn an_alarm_decides_what_done_means() {
    let mut cook = frying();
    cook.waits(9.0 * 60.0 + 1.0);
    cook.says("left skillet flipped");
    cook.says("how long on the left skillet");
    let said = cook.says("done");
    assert!(said.starts_with("Done, fry right."), "{said}");
}

#[test]
fn start_begins_out_of_turn_and_asks_when_it_is_early() {
    let mut cook = Cook::with(SIX_CHOPS);
    assert_eq!(
        cook.says("start fry right"),
        "Fry right waits for salting. Start it anyway?"
    );
    assert!(
        cook.says("yes")
            .starts_with("Three into the right skillet.")
    );
    assert_eq!(
        cook.says("start fry right"),
        "Fry right is under way already."
    );
    assert!(
        cook.says("start plating")
            .starts_with("Plating waits for fry left and fry right.")
    );
    cook.says("no");
    assert!(
        cook.says("salting done")
            .contains("Three into the left skillet")
    );
    assert!(
        cook.says("start salting")
            .starts_with("Salting was done just now.")
    );
    assert!(
        cook.says("start the left skillet")
            .starts_with("Fry left is under way")
    );
}

#[test]
fn back_one_opens_the_last_step_again_and_puts_everything_back() {
    let mut cook = frying();
    cook.says("in they go");
    cook.says("middle");
    cook.says("left skillet reading one fifty");
    let before = cook.state.whereabouts_of("test_chop");
    cook.says("left skillet done");
    assert_eq!(phase(&cook, "fry_left"), StepPhase::Resting);
    assert_ne!(cook.state.whereabouts_of("test_chop"), before);
    assert_eq!(
        cook.says("back one"),
        "Back to fry left. Three into the left skillet."
    );
    assert_eq!(phase(&cook, "fry_left"), StepPhase::Running);
    assert_eq!(cook.state.whereabouts_of("test_chop"), before);

    let mut cook = Cook::with(SIX_CHOPS);
    assert_eq!(cook.says("back one"), "No step has ended yet.");
    cook.says("next");
    assert_eq!(
        cook.says("back one"),
        "Back to salting. Salt the chops on the tray."
    );
    // What waits for it waits again.
    assert_eq!(phase(&cook, "fry_left"), StepPhase::Waiting);
}

#[test]
fn food_in_counts_the_clock_from_then() {
    let mut cook = frying();
    cook.waits(40.0);
    assert_eq!(
        cook.says("chops in the right skillet"),
        "In, right skillet. Flip in three minutes. Nine minutes left. \
         Where is the notched chop in the right skillet, left, middle or right?"
    );
    // Called again it is no news.
    cook.says("middle");
    assert_eq!(
        cook.says("chops in the right skillet"),
        "Fry right is under way already."
    );
}

#[test]
fn in_begins_the_step_that_is_next() {
    let mut cook = Cook::with(SIX_CHOPS);
    cook.says("salting done");
    let said = cook.says("chops in the right skillet");
    assert!(
        said.starts_with("Three into the right skillet.") && said.contains("In, right skillet."),
        "{said}"
    );
}

#[test]
fn say_again_repeats_what_was_said_and_not_itself() {
    let mut cook = chops();
    let said = cook.says("next");
    assert_eq!(cook.says("say again"), said);
    assert_eq!(cook.says("say again"), said);
    cook.says("louder");
    assert_eq!(
        cook.says("say again"),
        said,
        "louder is not worth repeating"
    );
    let left = cook.says("how long");
    cook.waits(60.0);
    assert_eq!(cook.says("repeat that"), left, "as it was said then");
}

#[test]
fn an_emptied_pan_ends_its_step() {
    let mut cook = Cook::with(
        "
plan: One fillet
units: celsius
items:
  fillet: {class: fish, pieces: 1}
samples:
  test fillet: {of: fillet}
vessels:
  skillet: {kind: skillet}
  warm plate: {kind: plate}
steps:
  searing: {say: Sear it, vessel: skillet, holds: test fillet, until: {word: it is brown}}
  serving: {say: Serve it, hands on: 2 min}
",
    );
    assert_eq!(
        cook.says("test fillet to the warm plate"),
        "Test fillet: warm plate. Done, searing. Serve it."
    );
}

#[test]
fn the_end_asks_says_what_is_open_and_can_be_taken_back() {
    let mut cook = frying();
    assert_eq!(
        cook.says("end the cook"),
        "Fry left and two more steps are not done. End the cook?"
    );
    cook.says("no");
    assert!(!cook.state.has_ended());
    cook.says("end the cook");
    cook.ctx.record = Some("the folder cooks".to_owned());
    assert_eq!(
        cook.says("yes"),
        "The cook has ended. The record is in the folder cooks."
    );
    assert!(cook.state.has_ended());
    assert_eq!(
        cook.says("next"),
        "The cook has ended. Nothing more is recorded."
    );
    assert!(cook.waits(3600.0).is_empty());
    assert_eq!(
        cook.says("scratch that"),
        "The end of the cook, an hour ago. Take it back?"
    );
    cook.says("yes");
    assert!(!cook.state.has_ended());
    assert_eq!(phase(&cook, "fry_left"), StepPhase::Running);
}

#[test]
fn a_whole_cook_from_salt_to_platter() {
    let mut cook = frying();
    cook.says("in they go");
    cook.says("middle");
    cook.says("left skillet flipped");
    cook.says("left skillet reading one fifty one");
    cook.says("left skillet out to the rack");
    cook.says("back left");
    cook.waits(560.0);
    cook.says("right skillet out to the rack");
    cook.says("front right");
    cook.waits(181.0);
    assert!(cook.says("next").contains("Everything onto the platter."));
    assert_eq!(
        cook.says("next"),
        "Done, plating. That was the last step. All steps are done. Say end the cook when you are."
    );
    assert_eq!(cook.says("end the cook"), "End the cook?");
    assert_eq!(cook.says("yes"), "The cook has ended. The record is kept.");
}
