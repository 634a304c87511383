//! Words that must fit what the other rooms know.

use super::*;
use crate::kitchen::PlaceIn;
use crate::kitchen::places::Frame;
use crate::plan::Layout;

/// A place is said by a name that the plan gives it, so a cook can say it back.
#[test]
fn places_are_said_by_the_plans_names() {
    let mut layouts = vec![
        Layout::LeftRight,
        Layout::FrontBack,
        Layout::Row3,
        Layout::Clock,
    ];
    for rows in 1..=4 {
        for columns in 1..=4 {
            if rows * columns > 1 {
                layouts.push(Layout::Grid { rows, columns });
            }
        }
    }
    for layout in layouts {
        let frame = Frame::new(layout);
        let (rows, columns) = frame.seen().unwrap_or((0, 0));
        let mut all = Vec::new();
        for place in frame.places() {
            let said = super::place(&PlaceIn {
                place,
                rows,
                columns,
            });
            let slot = layout.place_named(&said).map(|p| frame.slots_at(p));
            assert_eq!(slot, Some(frame.slots_at(place)), "{layout:?} {said}");
            all.push(said);
        }
        let n = all.len();
        all.sort();
        all.dedup();
        assert_eq!(all.len(), n, "{layout:?}: no name twice");
    }
}

#[test]
fn lists_and_sentences() {
    assert_eq!(list(&["a"]), "a");
    assert_eq!(list(&["a", "b", "c"]), "a, b and c");
    assert_eq!(choice(&["a", "b"]), "a or b");
    assert_eq!(list::<&str>(&[]), "");
    assert_eq!(sentence("  flip, left skillet "), "Flip, left skillet.");
    assert_eq!(sentence("which?"), "Which?");
    assert_eq!(sentence(""), "");
    assert_eq!(sentences(&["one", "", "two."]), "One. Two.");
}
