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
