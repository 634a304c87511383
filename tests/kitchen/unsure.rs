//! Moves told by half: where a marked piece may lie, and the one question that is asked.

use crate::support::{Cook, SIX_CHOPS, frying};

#[test]
fn a_quarter_turn_without_its_way_is_asked_about() {
    let mut cook = frying();
    cook.says("in they go");
    cook.says("middle");
    cook.says("how long on the left skillet");
    assert_eq!(
        cook.says("quarter turn"),
        "Left skillet, a quarter turn. Clockwise or counterclockwise?"
    );
    assert_eq!(
        cook.says("where is the test chop"),
        "Test chop: not sure until you have answered."
    );
    assert_eq!(
        cook.says("clockwise"),
        "Left skillet, a quarter clockwise. Now test chop: left skillet, at the back."
    );
    // Never answered, and then the food goes on its way: unsure, and asked again.
    cook.says("quarter turn");
    cook.waits(60.0);
    assert_eq!(
        cook.says("left skillet out to the rack"),
        "Fry left runs until the core is one forty five. End it anyway?"
    );
    let said = cook.says("yes");
    assert!(said.contains("In what order on the rack"), "{said}");
}

#[test]
fn out_to_the_rack_asks_the_order_and_then_the_place() {
    let mut cook = frying();
    cook.says("left skillet reading one fifty");
    let said = cook.says("left skillet out to the rack");
    assert_eq!(
        said,
        "Done, fry left. Rest it three to ten minutes. Left skillet out to the rack. \
         Fry right, flip in three minutes, nine minutes left. \
         In what order on the rack: the same, reversed, or where is the test chop?"
    );
    assert_eq!(
        cook.says("where is the test chop"),
        "Test chop: rack, not sure where, told just now."
    );
    // Three chops in order on six places may lie with gaps.
    let said = cook.says("same order");
    assert!(said.starts_with("Same order."), "{said}");
    assert!(
        said.ends_with("Where is the test chop on the rack?"),
        "{said}"
    );
    // A whole column fits "left"; it narrows what is known.
    let said = cook.says("test chop to the left");
    assert!(
        said.contains("back left") && said.contains("front left"),
        "{said}"
    );
    assert_eq!(cook.says("back left"), "Test chop: rack, at the back left.");
    assert!(cook.state.question().is_none());
}

#[test]
fn a_piece_told_onto_another_asks_whether_they_changed_places() {
    let mut cook = frying();
    cook.says("in they go");
    cook.says("left");
    assert_eq!(
        cook.says("notched chop to the left skillet at the left"),
        "Notched chop: left skillet, at the left. \
         The test chop was there. Did they change places?"
    );
    assert_eq!(
        cook.says("where is the test chop"),
        "Test chop: not sure, last told in the left skillet."
    );
    assert_eq!(cook.says("yes"), "Test chop: right skillet, at the left.");

    let mut cook = frying();
    cook.says("in they go");
    cook.says("left");
    cook.says("notched chop to the left skillet at the left");
    let said = cook.says("no");
    assert_eq!(
        said,
        "Not sure of the test chop any more. Where in the left skillet is it?"
    );
    assert_eq!(
        cook.says("middle"),
        "Test chop: left skillet, in the middle."
    );
}

#[test]
fn stacked_pieces_are_somewhere_in_the_stack() {
    let mut cook = Cook::with(SIX_CHOPS);
    cook.says("test chop to the rack at the back left");
    assert_eq!(
        cook.says("rack stacked"),
        "Stacked, rack. Where does the test chop lie when the rack is unstacked?"
    );
    assert!(
        cook.says("where is the test chop")
            .starts_with("Test chop: rack, somewhere in the stack")
    );
    // Taken off the stack it is told again.
    assert_eq!(
        cook.says("test chop to the platter at the left"),
        "Test chop: platter, at the left."
    );
}

#[test]
fn places_are_asked_where_the_plan_leaves_them_open() {
    let mut cook = frying();
    let heard = cook.waits(46.0);
    assert_eq!(
        heard,
        [(
            105.0,
            "Where is the notched chop in the right skillet, left, middle or right?".to_owned()
        )]
    );
    // Asked again twice, with what to say; then it is left alone.
    let heard = cook.hears(40.0);
    assert_eq!(
        heard,
        ["Where is the notched chop in the right skillet, left, middle or right? \
             Say left, middle or right."; 2]
    );
    assert_eq!(
        cook.says("where is the notched chop"),
        "Notched chop: right skillet, not sure, left, middle or right, by the plan."
    );
    assert_eq!(
        cook.says("right"),
        "Notched chop: right skillet, at the right."
    );
}

/// More pieces than places: nothing is known of where each lies but what is told, and a
/// marked one among them is asked about.
#[test]
fn more_pieces_than_places_leave_doubt_and_one_question() {
    let mut cook = frying();
    cook.says("in they go");
    cook.says("middle");
    cook.says("right skillet flipped");
    let said = cook.says("right skillet out to the left skillet in order");
    assert_eq!(said, "Fry right has nine minutes left. End it anyway?");
    let said = cook.says("yes");
    assert_eq!(said.matches('?').count(), 1, "{said}");
    assert!(said.contains("Where is the notched chop"), "{said}");
    let where_is = cook.says("where is the notched chop");
    assert!(
        where_is.starts_with("Notched chop: left skillet, not sure"),
        "{where_is}"
    );
}

/// A piece that had to make way may be elsewhere: that there was one too many does not
/// mean that two lie in one place, so the next to come there asks again.
#[test]
fn who_made_way_does_not_make_the_pan_a_heap() {
    let mut cook = Cook::with(
        "
plan: Two places
units: fahrenheit
items:
  chop: {pieces: 4, class: whole cut}
samples:
  white chop: {of: chop}
  green chop: {of: chop}
  blue chop: {of: chop}
vessels:
  deep pan: {kind: pot, places: front back}
  board: {kind: board}
steps:
  look: {say: Look at them, hands on: 1 min}
",
    );
    cook.says("white chop to the deep pan at the back");
    cook.says("green chop to the deep pan at the front");
    // White lies under it or was taken out: asked, and left unanswered.
    cook.says("blue chop to the deep pan at the back");
    cook.says("green chop to the deep pan at the back");
    let said = cook.says("where is the blue chop");
    assert!(
        !said.contains("at the back") || said.contains("not sure"),
        "{said}"
    );
}
