//! Moving through a plan by voice.

mod kitchen_support;

use kitchen_support::Cook;

fn chops() -> Cook {
    Cook::with(include_str!("../plans/pork-chops-two-brines.yaml"))
}

#[test]
fn next_never_cuts_a_wait_short_and_done_asks() {
    let mut cook = chops();
    cook.says("next");
    assert_eq!(
        cook.says("next"),
        "Dry salting, twelve hours left. Wet brine, twelve hours left. \
         Then dry off, after dry salting and wet brine."
    );
    cook.waits(3600.0);
    assert_eq!(
        cook.says("done"),
        "Dry salting has eleven hours left. End it anyway?"
    );
    cook.says("no");
    assert!(
        cook.says("how long")
            .starts_with("Dry salting, eleven hours left.")
    );
}

#[test]
fn two_waits_that_lead_to_one_step_end_with_one_next() {
    let mut cook = chops();
    cook.says("next");
    cook.waits(12.0 * 3600.0 + 5.0);
    assert_eq!(
        cook.says("next"),
        "Done, dry salting. Done, wet brine. Lift the chops onto the board and pat all six dry. \
         The test chop keeps its pick."
    );
}
