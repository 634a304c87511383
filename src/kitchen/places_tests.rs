//! The moves as a group, for every layout that a plan can state.

use super::*;

fn layouts() -> Vec<Layout> {
    let mut all = vec![
        Layout::Heap,
        Layout::LeftRight,
        Layout::FrontBack,
        Layout::Row3,
        Layout::Clock,
    ];
    for rows in 1..=4 {
        for columns in 1..=4 {
            all.push(Layout::Grid { rows, columns });
        }
    }
    all
}

/// What stands at every place now: the arrangement that the cook sees.
fn view(frame: Frame) -> Vec<(Option<Place>, Slot)> {
    let mut seen: Vec<_> = (0..frame.count()).map(|s| (frame.place(s), s)).collect();
    seen.sort();
    seen
}

#[test]
fn four_quarter_turns_are_nothing_and_two_half_turns_are_nothing() {
    for layout in layouts() {
        let frame = Frame::new(layout);
        for quarter in [1, 3] {
            let mut f = frame;
            for _ in 0..4 {
                f = f.turned(quarter);
            }
            assert_eq!(view(f), view(frame), "{layout:?}");
        }
        assert_eq!(
            view(frame.turned(2).turned(2)),
            view(frame),
            "{layout:?} half twice"
        );
        assert_eq!(view(frame.turned(1).turned(3)), view(frame));
    }
}

#[test]
fn turns_compose_by_adding() {
    for layout in layouts() {
        for a in 0..4 {
            for b in 0..4 {
                let frame = Frame::new(layout);
                assert_eq!(
                    view(frame.turned(a).turned(b)),
                    view(frame.turned((a + b) % 4))
                );
            }
        }
    }
}

#[test]
fn a_turn_is_a_permutation_every_slot_has_one_name_and_every_name_one_slot() {
    for layout in layouts() {
        for q in 0..4 {
            let frame = Frame::new(layout).turned(q);
            let mut names: Vec<_> = (0..frame.count()).filter_map(|s| frame.place(s)).collect();
            for s in 0..frame.count() {
                if let Some(place) = frame.place(s) {
                    assert_eq!(frame.slots_at(place).single(), Some(s), "{layout:?} {q}");
                } else {
                    assert!(frame.is_heap());
                }
            }
            names.sort();
            names.dedup();
            assert_eq!(
                names.len(),
                if frame.is_heap() {
                    0
                } else {
                    usize::from(frame.count())
                }
            );
        }
    }
}

/// Rotation by the plane's own arithmetic (x to the right, y to the back), the rule of
/// any geometry text: a quarter turn clockwise takes (x, y) to (y, -x).
#[test]
fn turns_agree_with_rotation_in_the_plane() {
    for rows in 1..=4i32 {
        for columns in 1..=4i32 {
            let frame = Frame::new(Layout::Grid {
                rows: rows as u8,
                columns: columns as u8,
            });
            for slot in 0..frame.count() {
                // Doubled coordinates keep the middle of the vessel at the origin.
                let (r, c) = (i32::from(slot) / columns, i32::from(slot) % columns);
                let (x, y) = (2 * c - (columns - 1), (rows - 1) - 2 * r);
                let (x2, y2) = (y, -x);
                let expect = (((columns - 1) - y2) / 2, (x2 + rows - 1) / 2);
                let (r2, c2) = frame.turned(1).cell(slot).unwrap();
                assert_eq!((i32::from(r2), i32::from(c2)), expect);
            }
        }
    }
}

#[test]
fn quarter_turns_as_a_cook_sees_them() {
    let pan = Frame::new(Layout::LeftRight);
    let left = pan.slots_at(Place::Left).single().unwrap();
    // From above, clockwise: nine o'clock goes to twelve, which is the back.
    assert_eq!(pan.turned(1).place(left), Some(Place::Back));
    assert_eq!(pan.turned(2).place(left), Some(Place::Right));
    assert_eq!(pan.turned(3).place(left), Some(Place::Front));
    assert!(pan.turned(1).slots_at(Place::Left).is_empty());

    let row = Frame::new(Layout::Row3);
    let middle = row.slots_at(Place::Middle).single().unwrap();
    assert_eq!(row.turned(1).place(middle), Some(Place::Middle));

    let grid = Frame::new(Layout::Grid {
        rows: 2,
        columns: 3,
    });
    let back_left = grid
        .slots_at(Place::Cell { row: 0, column: 0 })
        .single()
        .unwrap();
    assert_eq!(
        grid.turned(1).place(back_left),
        Some(Place::Cell { row: 0, column: 1 }),
        "now three rows of two: back left went to back right"
    );
    assert_eq!(
        grid.turned(2).place(back_left),
        Some(Place::Cell { row: 1, column: 2 })
    );

    let dial = Frame::new(Layout::Clock);
    let twelve = dial.slots_at(Place::Hour(12)).single().unwrap();
    assert_eq!(dial.turned(1).place(twelve), Some(Place::Hour(3)));
    assert_eq!(dial.turned(2).place(twelve), Some(Place::Hour(6)));
    assert_eq!(dial.turned(3).place(twelve), Some(Place::Hour(9)));
}

#[test]
fn loose_words_fit_several_places() {
    let grid = Frame::new(Layout::Grid {
        rows: 2,
        columns: 2,
    });
    assert_eq!(grid.slots_at(Place::Left).len(), 2);
    assert_eq!(grid.slots_at(Place::Back).len(), 2);
    assert!(grid.slots_at(Place::Middle).is_empty());
    let nine = Frame::new(Layout::Grid {
        rows: 3,
        columns: 3,
    });
    assert_eq!(nine.slots_at(Place::Middle).single(), Some(4));
    assert_eq!(Frame::new(Layout::Clock).slots_at(Place::Left).len(), 3);
    assert!(
        Frame::new(Layout::LeftRight)
            .slots_at(Place::Front)
            .is_empty()
    );
    assert!(
        Frame::new(Layout::LeftRight)
            .slots_at(Place::Hour(3))
            .is_empty()
    );
    assert!(
        Frame::new(Layout::Clock)
            .slots_at(Place::Hour(13))
            .is_empty()
    );
}

#[test]
fn the_opposite_of_the_opposite_is_itself() {
    for layout in layouts() {
        for q in 0..4 {
            let frame = Frame::new(layout).turned(q);
            for s in 0..frame.count() {
                assert_eq!(frame.opposite(frame.opposite(s)), s);
                assert_eq!(frame.turned(2).place(frame.opposite(s)), frame.place(s));
            }
        }
    }
}

#[test]
fn order_is_read_from_the_back_left() {
    let pan = Frame::new(Layout::FrontBack);
    assert_eq!(pan.places(), [Place::Back, Place::Front]);
    let turned = Frame::new(Layout::LeftRight).turned(2);
    assert_eq!(turned.places(), [Place::Left, Place::Right]);
    assert_eq!(turned.in_order(), Some(vec![1, 0]));
}

#[test]
fn slot_sets() {
    let s: Slots = [1, 3, 15].into_iter().collect();
    assert_eq!(
        (s.len(), s.has(15), s.has(2), s.single()),
        (3, true, false, None)
    );
    assert_eq!(
        s.map(|x| if x == 1 { 2 } else { x })
            .iter()
            .collect::<Vec<_>>(),
        [2, 3, 15]
    );
    assert_eq!(Slots::first(16).len(), 16);
    assert_eq!(Slots::one(200), Slots::NONE);
}

#[test]
fn called_words_mean_the_vessel_as_it_stands() {
    let rack = Frame::new(Layout::Grid {
        rows: 2,
        columns: 3,
    });
    let cell = |row, column| Place::Cell { row, column };
    // "Front left", "back right": the corners of three rows of two.
    assert_eq!(rack.as_seen(cell(1, 0)), cell(1, 0));
    assert_eq!(rack.turned(1).as_seen(cell(1, 0)), cell(2, 0));
    assert_eq!(rack.turned(1).as_seen(cell(0, 2)), cell(0, 1));
    assert_eq!(rack.turned(2).as_seen(cell(1, 0)), cell(1, 0));
    // "Back middle": there is no middle between two.
    assert!(
        rack.turned(1)
            .slots_at(rack.turned(1).as_seen(cell(0, 1)))
            .is_empty()
    );
    let square = Frame::new(Layout::Grid {
        rows: 2,
        columns: 2,
    });
    assert_eq!(square.turned(1).as_seen(cell(1, 0)), cell(1, 0));
    assert_eq!(rack.turned(1).as_seen(Place::Left), Place::Left);
}
