//! Marked pieces through placing, turning, flipping, swapping and going out, as a cook
//! says it.

use crate::support::{Cook, SIX_CHOPS, frying};
use hobcall::grammar::{Call, Spot};
use hobcall::plan::Place;

fn swap(a: Place, b: Place) -> Call {
    let spot = |place| Spot::Place {
        vessel: None,
        place,
    };
    Call::Swap {
        a: spot(a),
        b: spot(b),
    }
}

#[test]
fn where_is_the_test_chop() {
    let mut cook = frying();
    assert_eq!(
        cook.says("where is the test chop"),
        "Test chop: left skillet, at the left, by the plan."
    );
    cook.says("in they go");
    cook.says("middle");
    cook.says("left skillet flipped");
    cook.waits(240.0);
    assert_eq!(
        cook.says("where is the test chop"),
        "Test chop: left skillet, at the left, second side down, told four minutes thirty ago."
    );
    assert_eq!(
        cook.says("what is at the left of the left skillet"),
        "Left skillet, left: test chop."
    );
    assert_eq!(
        cook.says("what is at the middle of the left skillet"),
        "Left skillet, middle: chop."
    );
}

#[test]
fn turns_and_swaps_say_where_the_mark_is_now() {
    let mut cook = frying();
    assert_eq!(
        cook.says("turned the left skillet"),
        "Turned, left skillet. Now test chop: left skillet, at the right."
    );
    assert_eq!(
        cook.says("turned the left skillet"),
        "Turned, left skillet. Now test chop: left skillet, at the left."
    );
    assert_eq!(
        cook.says("swap left and middle"),
        "Swapped left and middle, left skillet. Test chop: left skillet, in the middle."
    );
    assert_eq!(
        cook.says("turned the left skillet a quarter clockwise"),
        "Left skillet, a quarter clockwise. Now test chop: left skillet, in the middle."
    );
    assert_eq!(
        cook.says("what is at the left of the left skillet"),
        "The left skillet has back, middle and front."
    );
    assert_eq!(
        cook.calls(swap(Place::Back, Place::Middle)),
        "Swapped back and middle, left skillet. Test chop: left skillet, at the back."
    );
    assert_eq!(
        cook.says("turned the left skillet a quarter counterclockwise"),
        "Left skillet, a quarter counterclockwise. Now test chop: left skillet, at the left."
    );
    assert_eq!(
        cook.says("turned the left skillet a quarter counterclockwise"),
        "Left skillet, a quarter counterclockwise. Now test chop: left skillet, at the front.",
        "from above: nine o'clock goes to six"
    );
}

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
fn told_in_order_to_a_like_vessel_nothing_is_asked() {
    let mut cook = frying();
    cook.says("in they go");
    cook.says("right");
    let said = cook.says("right skillet out to the platter reversed");
    // It is early: nine minutes are not up.
    assert_eq!(said, "Fry right has nine minutes left. End it anyway?");
    let said = cook.says("yes");
    assert!(
        said.contains(
            "Right skillet out to the platter, reversed. Notched chop: platter, at the left."
        ),
        "{said}"
    );
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
fn flips_are_of_all_of_a_pan_or_of_one_piece() {
    let mut cook = frying();
    cook.says("in they go");
    cook.says("middle");
    assert_eq!(
        cook.says("flipped the test chop"),
        "Flipped, test chop, left skillet. Second side down."
    );
    assert_eq!(
        cook.says("left skillet flipped"),
        "Flipped, left skillet. Next flip in two minutes."
    );
    assert!(
        cook.says("where is the test chop")
            .contains("first side down")
    );
    assert_eq!(
        cook.says("flipped everything"),
        "Flipped, left skillet. Next flip in two minutes. \
         Flipped, right skillet. Next flip in three minutes."
    );
    assert!(
        cook.says("where is the test chop")
            .contains("second side down")
    );
}

#[test]
fn a_flip_that_hides_the_mark_is_foretold_once_for_each_side() {
    let mut cook = frying();
    cook.says("in they go");
    cook.says("middle");
    cook.says("left skillet flipped");
    let heard = cook.hears(150.0);
    assert!(
        !heard.iter().any(|h| h.contains("mark goes down")),
        "{heard:?}"
    );
    cook.says("left skillet flipped");
    let heard = cook.hears(32.0);
    assert!(
        heard.contains(
            &"The mark goes down with this flip, notched chop: right skillet, in the middle."
                .to_owned()
        ),
        "{heard:?}"
    );
    cook.says("right skillet flipped");
    cook.says("left skillet flipped");
    let heard = cook.hears(200.0);
    assert!(heard.iter().any(|h| h.starts_with("Flip, right skillet")));
    assert!(
        !heard.iter().any(|h| h.contains("mark goes down")),
        "it comes up with this one: {heard:?}"
    );
}

#[test]
fn marks_are_named_before_they_go_out_and_at_plating() {
    let mut cook = frying();
    cook.says("in they go");
    cook.says("middle");
    assert_eq!(
        cook.says("left skillet reading one fifty"),
        "Heard one five zero, left skillet. At the target of one forty five. One reading of \
         three pieces. Read the others."
    );
    cook.says("left skillet reading one fifty two");
    assert_eq!(
        cook.says("left skillet reading one forty nine"),
        "Heard one four nine, left skillet. At the target of one forty five. Out to the rack. \
         Before it goes out, test chop: left skillet, at the left."
    );
    cook.says("left skillet out to the rack");
    cook.says("back left");
    let heard = cook.hears(560.0);
    assert!(
        heard
            .iter()
            .any(|h| h == "Before it goes out, notched chop: right skillet, in the middle."),
        "{heard:?}"
    );
    cook.says("right skillet out to the rack");
    cook.says("front right");
    cook.waits(200.0);
    assert_eq!(
        cook.says("next"),
        "OK. Everything onto the platter. Keep it apart, test chop: rack, at the back left \
         and notched chop: rack, at the front right."
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
fn scratch_that_puts_a_mark_back() {
    let mut cook = frying();
    cook.says("how long on the left skillet");
    assert_eq!(
        cook.says("swap left and right"),
        "Swapped left and right, left skillet. Test chop: left skillet, at the right."
    );
    assert!(cook.says("where is the test chop").contains("at the right"));
    assert_eq!(
        cook.says("scratch that"),
        "Taken back, swapped left and right, left skillet. Test chop: left skillet, at the left."
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

/// The map is a picture of what is known, as text.
#[test]
fn the_map_shows_what_is_known() {
    let mut cook = frying();
    cook.says("in they go");
    cook.says("middle");
    assert_eq!(
        hobcall::voice::wording::map(&cook.state),
        "left skillet\n  \
           | test chop | chop      | chop      |\n\
         right skillet\n  \
           | ?            | notched chop | ?            |\n  \
           not sure where: chop, two of them\n"
    );
    assert_eq!(
        cook.says("where is everything"),
        "Test chop: left skillet, at the left. Notched chop: right skillet, in the middle."
    );
    // Sides: once for a vessel where all have the same down, else by the marked piece.
    cook.says("left skillet flipped");
    cook.says("flipped the notched chop");
    cook.says("left skillet out to the rack");
    cook.says("yes");
    assert_eq!(
        hobcall::voice::wording::map(&cook.state),
        "right skillet\n  \
           | ?                               | notched chop (second side down) | ?                               |\n  \
           not sure where: chop, two of them\n\
         rack (second side down)\n  \
           | ? | ? | ? |\n  \
           | ? | ? | ? |\n  \
           not sure where: test chop; chop, two of them\n"
    );
    cook.says("test chop to the left");
    assert!(
        hobcall::voice::wording::map(&cook.state)
            .contains("not sure where: test chop (back left or front left); chop, two of them\n")
    );
}

/// The words of the calls of a turn, every way round.
#[test]
fn racks_are_turned_as_pans_are() {
    let mut cook = Cook::with(SIX_CHOPS);
    cook.says("test chop to the rack at the back left");
    assert_eq!(
        cook.says("turned the rack around"),
        "Turned, rack. Now test chop: rack, at the front right."
    );
    assert_eq!(
        cook.says("rack a quarter turn clockwise"),
        "Rack, a quarter clockwise. Now test chop: rack, at the front left."
    );
    assert_eq!(
        cook.says("turned the rack a quarter counterclockwise"),
        "Rack, a quarter counterclockwise. Now test chop: rack, at the front right."
    );
    assert_eq!(
        cook.says("what is at the front right of the rack"),
        "Rack, front right: test chop."
    );
}

/// Piece by piece instead of in an order, with the places said as each is laid down.
#[test]
fn out_piece_by_piece() {
    let mut cook = frying();
    cook.says("in they go");
    cook.says("middle");
    assert_eq!(
        cook.says("test chop to the rack at the back right"),
        "Test chop: rack, at the back right."
    );
    assert_eq!(
        cook.says("notched chop out to the rack"),
        "Notched chop: rack, not sure where. Where is the notched chop on the rack?"
    );
    assert_eq!(
        cook.says("front left"),
        "Notched chop: rack, at the front left."
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

/// Reminders come at the four moments when marks get lost and at no other; "quiet"
/// silences them and no warning.
#[test]
fn reminders_only_when_marks_get_lost() {
    use hobcall::voice::Urgency;
    let moments = |quiet: bool| -> Vec<String> {
        let mut cook = frying();
        if quiet {
            cook.says("quiet");
        }
        for words in [
            "in they go",
            "middle",
            "left skillet flipped",
            "right skillet flipped",
            "swap left and right",
            "turned the left skillet",
            "left skillet heat to low",
            "where is the test chop",
            "right skillet flipped",
        ] {
            cook.says(words);
            cook.waits(5.0);
        }
        cook.waits(175.0);
        for words in [
            "right skillet flipped",
            "left skillet reading one fifty",
            "left skillet reading one fifty one",
            "left skillet reading one forty nine",
            "left skillet out to the rack",
            "yes",
            "back left",
        ] {
            cook.says(words);
        }
        cook.waits(600.0);
        cook.says("right skillet out to the rack");
        cook.says("front right");
        cook.waits(200.0);
        cook.says("next");
        let warned = cook.said.iter().any(|(_, u)| u.text.contains("at most"));
        let alarms = cook.alarms();
        assert!(alarms > 2 || warned, "{alarms}");
        let reminders = cook
            .said
            .iter()
            .filter(|(_, u)| u.urgency == Urgency::Reminder);
        reminders.map(|(_, u)| u.text.clone()).collect()
    };
    let all = moments(false);
    let kind = |text: &String| {
        [
            "Now ",
            "Before it goes out",
            "The mark goes down",
            "Keep it apart",
        ]
        .iter()
        .position(|k| text.starts_with(k))
    };
    assert!(all.iter().all(|t| kind(t).is_some()), "{all:#?}");
    for moment in 0..4 {
        assert!(
            all.iter().any(|t| kind(t) == Some(moment)),
            "{moment}: {all:#?}"
        );
    }
    assert_eq!(moments(true), Vec::<String>::new());
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
