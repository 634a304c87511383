//! The calls of the second recorded session, typed: what the sound is made from works
//! before there is any sound. `tests/session.rs` hears the same from the recording.

use crate::support::{self, Cook};
use hobcall::kitchen::whereabouts::Where;
use hobcall::plan::Place;
use hobcall::tasting::{Tally, Tasting, Test, Verdict};

const PLAN: &str = include_str!("../../plans/aubergine-salted-or-peppered.yaml");
const CALLS: &str = include_str!("../../audio-fixtures/tasting.calls");
/// As `--seed` in the recorded session.
const SEED: u64 = 20;

#[test]
fn six_pieces_two_skillets_two_marks_and_a_triangle_test() {
    let mut cook = Cook::of(support::plan(PLAN));
    cook.state = cook.state.seeded(SEED);
    cook.waits(2.0);
    let mut dialogue = String::new();
    for line in CALLS.lines().filter(|l| !l.starts_with('#')) {
        let (_, words) = line.split_once('\t').unwrap();
        let said = cook.says(words);
        dialogue.push_str(&format!(
            "{:6.0}  cook  {words}\n        hob  {said}\n",
            cook.now.0 as f64 / 1000.0
        ));
        for (at, text) in cook.waits(7.0) {
            dialogue.push_str(&format!("{at:6.0}   hob  {text}\n"));
        }
    }
    println!("{dialogue}");
    let place = |sample: &str| match cook.state.whereabouts_of(sample) {
        Some(Where::Known {
            vessel,
            place: Some(place),
        }) => (cook.state.plan().vessels[vessel].id.clone(), place),
        other => panic!("{other:?}\n{dialogue}"),
    };
    let cell = |row, column| ("platter".to_owned(), Place::Cell { row, column });
    assert_eq!(place("peppered_slab"), cell(1, 0), "{dialogue}");
    assert_eq!(place("salted_slab"), cell(0, 2), "{dialogue}");
    let Some(Tasting::Closed(closed)) = cook.state.tasting() else {
        panic!("not closed\n{dialogue}");
    };
    assert_eq!(closed.opened().test, Test::Triangle);
    let tally = closed.tally();
    assert_eq!(
        tally,
        Tally {
            answers: 6,
            hits: 5,
            guesses: 1,
            lucky: 0,
            left: 0
        },
        "{dialogue}"
    );
    // ISO 4120, table A.1: five of six at the five percent level.
    let outcome = closed.outcome().unwrap();
    assert_eq!(outcome.verdict, Verdict::Shown { ahead: None });
    assert!(cook.state.has_ended(), "{dialogue}");
}
