//! Time in the danger zone as the cook tells it. USDA FSIS, "Danger Zone" (40 to 140 °F):
//! two hours in all, one when it is above 90 °F.

use crate::support::Cook;

const SHOULDER: &str = "
plan: Shoulder over two days
units: fahrenheit
items:
  shoulder: {pieces: 1, class: whole cut, thickness: 4 in}
vessels:
  tray: {kind: tray}
  oven: {kind: oven}
steps:
  rubbing: {say: Rub the shoulder on the tray, vessel: tray, holds: shoulder, hands on: 20 min}
  trimming: {after: rubbing, say: Trim it, hands on: 10 min}
  roasting: {after: trimming, say: Into the oven, vessel: oven, holds: shoulder, until: {core: 195 F}}
";

const MINUTES: f64 = 60.0;
const TWO: &str =
    "Shoulder, two hours in the danger zone in all, as far as I was told, the consumer limit.";

fn zone(cook: &mut Cook, minutes: f64) -> Vec<(f64, String)> {
    let mut said = cook.waits(minutes * MINUTES);
    said.retain(|(_, t)| t.contains("danger zone"));
    said.into_iter().map(|(s, t)| (s / MINUTES, t)).collect()
}

#[test]
fn what_stands_between_two_steps_stands_out() {
    let mut cook = Cook::with(SHOULDER);
    cook.waits(20.0 * MINUTES);
    cook.says("done");
    // Rubbed, not yet in the oven, and nobody said that it went anywhere.
    assert_eq!(zone(&mut cook, 99.0), []);
    assert_eq!(zone(&mut cook, 2.0), [(120.0, TWO.to_owned())]);
    // Told once.
    assert_eq!(zone(&mut cook, 600.0), []);
}

#[test]
fn a_night_in_the_fridge_by_word_does_not_count() {
    let mut cook = Cook::with(SHOULDER);
    cook.waits(40.0 * MINUTES);
    assert_eq!(
        cook.says("shoulder in the fridge"),
        "Shoulder in the fridge. Forty minutes in the danger zone so far."
    );
    assert_eq!(zone(&mut cook, 12.0 * 60.0), []);
    assert_eq!(
        cook.says("shoulder out of the fridge"),
        "Shoulder out of the fridge. Forty minutes in the danger zone so far. Two hours in all is \
         the limit."
    );
    assert_eq!(zone(&mut cook, 79.0), []);
    assert_eq!(
        zone(&mut cook, 2.0),
        [(40.0 + 720.0 + 80.0, TWO.to_owned())]
    );
}

#[test]
fn taken_back_it_never_went_in() {
    let mut cook = Cook::with(SHOULDER);
    cook.waits(40.0 * MINUTES);
    cook.says("shoulder in the fridge");
    cook.waits(10.0 * MINUTES);
    cook.says("scratch that");
    cook.says("yes");
    assert_eq!(zone(&mut cook, 71.0), [(120.0, TWO.to_owned())]);
}

#[test]
fn the_oven_ends_it_by_a_reading_and_a_step_takes_it_out() {
    let mut cook = Cook::with(SHOULDER);
    cook.waits(20.0 * MINUTES);
    cook.says("done");
    cook.says("shoulder in the fridge");
    cook.waits(600.0 * MINUTES);
    // Roasting says that it is out again.
    cook.says("trimming done");
    assert_eq!(zone(&mut cook, 90.0), []);
    cook.says("reading one forty two");
    cook.waits(12.0);
    cook.says("reading one forty three");
    assert_eq!(zone(&mut cook, 200.0), []);
}

#[test]
fn a_hot_kitchen_halves_the_limit() {
    let one =
        "Shoulder, one hour in the danger zone in all, as far as I was told, the consumer limit.";
    let mut cook = Cook::with(&SHOULDER.replace("fahrenheit\n", "fahrenheit\nroom: 95 F\n"));
    assert_eq!(zone(&mut cook, 61.0), [(60.0, one.to_owned())]);

    // By word, and in either unit; it is due at once where the hour is over.
    let mut cook = Cook::with(SHOULDER);
    cook.waits(70.0 * MINUTES);
    assert_eq!(
        cook.says("it is thirty five celsius in here"),
        "Heard thirty five Celsius, ninety five Fahrenheit, the room. One hour in the danger \
         zone is the limit."
    );
    let said = zone(&mut cook, 1.0);
    assert_eq!(said.len(), 1);
    assert_eq!(said[0].1, one);

    // At 90 it is not above 90.
    let mut cook = Cook::with(SHOULDER);
    assert_eq!(
        cook.says("it's ninety in here"),
        "Heard ninety, nine zero, the room. Two hours in the danger zone is the limit."
    );
    assert_eq!(
        cook.says("it is nine hundred in here"),
        "Heard nine zero zero. That cannot be. Say the number again."
    );
    assert!(cook.says("ninety one").contains("One hour"));
}

#[test]
fn a_fridge_of_the_plan_is_a_fridge() {
    let mut cook = Cook::with(
        &SHOULDER
            .replace(
                "  tray: {kind: tray}",
                "  tray: {kind: tray}\n  fridge: {kind: fridge}",
            )
            .replace(
                "trimming: {after: rubbing, say: Trim it,",
                "trimming: {after: rubbing, say: Trim it, vessel: fridge,",
            ),
    );
    cook.waits(40.0 * MINUTES);
    assert_eq!(
        cook.says("shoulder in the fridge"),
        "Shoulder in the fridge. Forty minutes in the danger zone so far."
    );
    assert_eq!(zone(&mut cook, 300.0), []);
    assert!(
        cook.says("shoulder out of the fridge")
            .starts_with("Shoulder out of the fridge. Forty minutes")
    );
}
