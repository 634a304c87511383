//! The day while it happens: late or not, when to eat, when to begin, and the call ahead.

use hobcall::kitchen::{At, Input, What};

use super::support::Cook;

/// A brine of two hours, then oil for ten minutes, frying for twenty, a rest of five, and
/// five of carving: 2 h 40 min.
const BRINED: &str = "
plan: Brined chops
units: fahrenheit
items:
  chop: {also called: chops, pieces: 4, class: whole cut, piece mass: 250 g, thickness: 25 mm}
vessels:
  tub: {kind: bowl}
  skillet: {kind: skillet, diameter: 12 in, depth: 3 in}
  rack: {kind: rack}
steps:
  brine: {say: Chops into the brine, vessel: tub, holds: chops, wait: 2 h .. 3 h}
  heating: {say: The skillet on medium with the oil, hands on: 2 min, takes: 8 min .. 10 min, until: {word: it shimmers}}
  frying: {say: Chops in, vessel: skillet, holds: chops, takes: 15 min .. 20 min, until: {core: 145 F}, out to: rack, rest: 5 min .. 30 min}
  carving: {say: Carve, hands on: 5 min}
";

const MIN: f64 = 60.0;

/// To be served so many minutes after the cook began.
fn for_minute(minutes: i64) -> Cook {
    let mut cook = Cook::with(BRINED);
    let said = cook.put(&Input::Serve {
        at: At(minutes * 60_000),
    });
    assert!(said.is_empty(), "{said:?}");
    cook
}

fn days(cook: &Cook) -> usize {
    cook.events
        .iter()
        .filter(|e| matches!(e.what, What::DayLaid { .. }))
        .count()
}

#[test]
fn on_time_it_says_so_when_asked_and_nothing_unasked() {
    let mut cook = for_minute(180);
    assert_eq!(cook.says("am i late"), "On time. We eat in three hours.");
    assert_eq!(cook.says("when do we eat"), "We eat in three hours.");
    // Carving 175, frying 150, heating 140 at the latest; advised a quarter of an hour before,
    // but the brine has to have its two hours.
    assert_eq!(
        cook.says("when should i start the heating"),
        "Begin heating in two hours and five minutes. At the latest in two hours and twenty minutes."
    );
    // The oil is what heating is about.
    assert_eq!(
        cook.says("when should i start the oil"),
        "Begin heating in two hours and five minutes. At the latest in two hours and twenty minutes."
    );
    assert_eq!(
        cook.says("when should i start the brine"),
        "Brine is under way."
    );
}

#[test]
fn salt_and_oil_are_said_with_the_step_and_follow_the_real_mass() {
    let text = BRINED
        .replace(
            "wait: 2 h .. 3 h}",
            "wait: 2 h .. 3 h, brine: {way: dry, in the meat: 1 %}}",
        )
        .replace(
            "takes: 15 min .. 20 min",
            "oil: {depth: 10 mm}, takes: 15 min .. 20 min",
        );
    let mut cook = Cook::with(&text);
    // One percent of a kilogram.
    assert_eq!(cook.said[1].1.text, "Salt for brine, ten grams.");
    assert_eq!(
        cook.says("the chops weigh one point nine kilos"),
        "Chop, one point nine kilos. Salt for brine, nineteen grams. Oil for frying, seven hundred thirty milliliters. That is more than a third of the pan with the food in, it may foam over the rim."
    );
    assert_eq!(
        cook.says("how much salt"),
        "Salt for brine, nineteen grams."
    );
    // A 12 inch pan, 10 mm: pi 152.4² 10 mm³ = 730 ml. With that much meat in it the
    // level is above a third of the pan.
    assert_eq!(
        cook.says("how much oil"),
        "Oil for frying, seven hundred thirty milliliters. That is more than a third of the pan with the food in, it may foam over the rim."
    );
    let said = cook.says("scratch that");
    assert!(said.starts_with("Taken back"), "{said}");
    assert_eq!(cook.says("how much salt"), "Salt for brine, ten grams.");
    assert_eq!(
        cook.says("how much oil"),
        "Oil for frying, seven hundred thirty milliliters."
    );
    // And by the pound: 4 lb 1814 g.
    assert!(
        cook.says("chop weighs four pounds")
            .contains("eighteen grams")
    );
    let mut plain = Cook::with(BRINED);
    assert_eq!(
        plain.says("how much salt"),
        "The plan has nothing of that to work out."
    );
}

/// Pieces of the same size, and portions against those that the plan is written for.
#[test]
fn pieces_and_portions_are_called_and_the_sums_follow() {
    let text = BRINED
        .replace("units: fahrenheit", "units: fahrenheit\nportions: 4")
        .replace(
            "wait: 2 h .. 3 h}",
            "wait: 2 h .. 3 h, brine: {way: dry, in the meat: 1 %}}",
        );
    let mut cook = Cook::with(&text);
    assert_eq!(cook.said[1].1.text, "Salt for brine, ten grams.");
    // Eight of 250 g: one percent of two kilograms.
    assert_eq!(
        cook.says("there are eight chops"),
        "Chop, eight pieces. Salt for brine, twenty grams."
    );
    assert_eq!(cook.says("how much salt"), "Salt for brine, twenty grams.");
    // Told by mass as well, the mass decides.
    assert_eq!(
        cook.says("the chops weigh three kilos"),
        "Chop, three kilos. Salt for brine, thirty grams."
    );
    cook.says("scratch that");
    cook.says("scratch that");
    assert_eq!(cook.says("how much salt"), "Salt for brine, ten grams.");
    // Half as many again.
    assert_eq!(
        cook.says("cooking for six"),
        "For six. Salt for brine, fifteen grams."
    );
    assert_eq!(
        cook.says("cooking for zero"),
        "It can be one to five hundred."
    );
    assert_eq!(
        cook.says("there are five hundred chops"),
        "It can be one to two hundred."
    );
    assert_eq!(
        Cook::with(BRINED).says("cooking for six"),
        "The plan does not say for how many it is written."
    );
}

#[test]
fn the_next_start_is_called_ahead_with_time_to_wash_hands() {
    let mut cook = for_minute(180);
    let said = cook.waits(124.0 * MIN);
    // The brine may end after two hours, and at 2 h 5 min the pan should go on.
    let soon: Vec<&(f64, String)> = said
        .iter()
        .filter(|(_, t)| t.contains("wash your hands"))
        .collect();
    assert_eq!(soon.len(), 1, "{said:?}");
    assert_eq!(soon[0].0, 123.0 * MIN, "{said:?}");
    assert_eq!(soon[0].1, "Heating in two minutes, wash your hands.");
    // Once.
    let after = cook.waits(20.0 * MIN);
    assert!(
        after.iter().all(|(_, t)| !t.contains("wash your hands")),
        "{after:?}"
    );
}

#[test]
fn lateness_is_said_once_and_the_rest_moves() {
    let mut cook = for_minute(180);
    cook.waits(120.0 * MIN);
    cook.says("quiet");
    // Nobody comes for 40 minutes: the pan should have gone on at 140 at the latest.
    let said = cook.hears(40.0 * MIN);
    let late: Vec<&String> = said.iter().filter(|t| t.contains("late,")).collect();
    assert!((1..=3).contains(&late.len()), "{said:?}");
    assert!(late[0].contains("we eat in"), "{late:?}");
    // 160, and 40 minutes to go.
    assert_eq!(
        cook.says("am i late"),
        "Twenty minutes late. We eat in forty minutes."
    );
    let next = cook.says("next");
    assert!(!next.contains("late"), "{next}");
    assert_eq!(cook.says("when do we eat"), "We eat in forty minutes.");
}

#[test]
fn a_step_that_ends_early_brings_it_back() {
    let mut cook = Cook::with(BRINED);
    // 2 h 40 min are needed and there are 2 h 30 min: said at once, in one sentence.
    let said = cook.put(&Input::Serve {
        at: At(150 * 60_000),
    });
    assert_eq!(said.len(), 1);
    assert_eq!(
        said[0].text,
        "Ten minutes late, we eat in two hours and forty minutes."
    );
    cook.waits(120.0 * MIN);
    cook.says("next");
    // The pan was hot after three minutes, not ten: three minutes late are none.
    cook.waits(3.0 * MIN);
    let said = cook.says("next");
    assert!(
        said.contains("On time again, we eat in thirty minutes."),
        "{said}"
    );
    // And the chops after eight, not twenty; there is nothing new to say.
    cook.waits(8.0 * MIN);
    cook.says("skillet reading one fifty");
    cook.says("skillet done");
    let told = |words: &str| {
        cook.said
            .iter()
            .filter(|(_, u)| u.text.contains(words))
            .count()
    };
    assert_eq!((told("late,"), told("On time again")), (1, 1));
}

#[test]
fn without_a_time_to_keep_it_tells_the_soonest_and_stays_silent() {
    let mut cook = Cook::with(BRINED);
    assert_eq!(
        cook.says("am i late"),
        "Nobody has said when it is to be served. It can be ready in two hours and forty minutes."
    );
    cook.waits(30.0 * MIN);
    assert_eq!(
        cook.says("when do we eat"),
        "We eat in two hours and ten minutes."
    );
    assert_eq!(days(&cook), 0);
}

#[test]
fn a_plan_without_lengths_says_which() {
    let text = BRINED.replace(" takes: 15 min .. 20 min,", "");
    let mut cook = Cook::with(&text);
    let said = cook.put(&Input::Serve {
        at: At(180 * 60_000),
    });
    assert!(said.is_empty());
    assert_eq!(
        cook.says("when do we eat"),
        "I can't tell, the plan does not say how long frying takes."
    );
    assert_eq!(days(&cook), 0);
}

#[test]
fn taking_back_an_end_lays_the_day_again() {
    let mut cook = for_minute(180);
    cook.waits(121.0 * MIN);
    cook.says("next");
    let before = days(&cook);
    cook.says("scratch that");
    cook.waits(10.0);
    assert!(days(&cook) > before, "{:?}", cook.events.last());
    assert_eq!(
        cook.says("when should i start the brine"),
        "Brine is under way."
    );
}

#[test]
fn a_whole_cook_lays_its_day_a_bounded_number_of_times() {
    let mut cook = for_minute(180);
    cook.waits(24.0 * 60.0 * MIN);
    // Nobody came for a day: laid at most every three minutes, told less and less often.
    assert!(days(&cook) <= 24 * 20 + 2);
    let late = cook
        .said
        .iter()
        .filter(|(_, u)| u.text.contains("late,"))
        .count();
    assert!((3..=16).contains(&late), "{late}");
    cook.says("end the cook");
    cook.says("yes");
    let laid = days(&cook);
    cook.waits(60.0 * MIN);
    assert_eq!(days(&cook), laid);
}
