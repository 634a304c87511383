//! A unit called with a reading. °F = 1.8 °C + 32, exact by definition (NIST SP 811, B.8,
//! from memory).

use hobcall::kitchen::{Event, What};
use hobcall::plan::Units;

use crate::support::Cook;

const FRY: &str = "
plan: Pork strips in oil
units: fahrenheit
items:
  strip: {also called: strips, pieces: 2, class: whole cut, thickness: 1.5 in, start: 40 F}
vessels:
  pot: {kind: pot}
steps:
  heating: {say: Heat the oil, vessel: pot, until: {medium: 245 F .. 255 F}}
  frying: {after: heating, say: Strips into the oil, vessel: pot, holds: strips, until: {core: 145 F}}
";

const CHOPS: &str = "
plan: Two chops
units: fahrenheit
items:
  chop: {also called: chops, pieces: 2, class: whole cut, thickness: 1 in, start: 40 F}
vessels:
  pan: {kind: skillet}
steps:
  frying: {say: Two chops into the pan, vessel: pan, holds: chops, until: {core: 145 F}}
";

fn readings(cook: &Cook) -> Vec<&Event> {
    let of = |e: &&Event| matches!(e.what, What::Reading(_) | What::Corrected { .. });
    cook.events.iter().filter(of).collect()
}

#[test]
fn it_is_converted_and_told_and_changes_nothing_else() {
    let mut cook = Cook::with(CHOPS);
    cook.waits(900.0);
    assert_eq!(
        cook.says("reading sixty five celsius"),
        "Heard sixty five Celsius, one forty nine Fahrenheit, pan. At the target of one forty \
         five. One reading of two pieces. Read the others."
    );
    assert_eq!(cook.state.units(), Units::Fahrenheit);
    // The next one without a unit is the kitchen's, and so is one said with that unit.
    let said = cook.says("reading one forty eight");
    assert!(said.starts_with("Heard one four eight, pan."), "{said}");
    let said = cook.says("reading one forty nine fahrenheit");
    assert!(said.starts_with("Heard one four nine, pan."), "{said}");
}

#[test]
fn a_correction_is_in_the_unit_of_its_reading() {
    let mut cook = Cook::with(CHOPS);
    cook.waits(300.0);
    cook.says("reading twenty celsius");
    let said = cook.says("no twenty five");
    assert!(
        said.starts_with("Corrected twenty five Celsius, seventy seven Fahrenheit, pan."),
        "{said}"
    );
}

#[test]
fn one_that_cannot_be_in_its_unit_is_asked_about() {
    let mut cook = Cook::with(CHOPS);
    cook.waits(300.0);
    let asked = "Heard one five zero Celsius. That cannot be. One five zero Fahrenheit?";
    assert_eq!(cook.says("reading one fifty celsius"), asked);
    assert_eq!(readings(&cook).len(), 0);
    let said = cook.says("yes");
    assert!(said.starts_with("Heard one five zero, pan."), "{said}");
    assert_eq!(readings(&cook).len(), 1);

    // Named instead of a yes: the setting stays.
    cook.says("scratch that");
    assert_eq!(cook.says("pan reading one fifty celsius"), asked);
    let said = cook.says("fahrenheit");
    assert!(said.starts_with("Heard one five zero, pan."), "{said}");
    assert_eq!(cook.state.units(), Units::Fahrenheit);

    // It was the number, not the unit.
    assert_eq!(cook.says("reading one fifty celsius"), asked);
    let said = cook.says("no fifty");
    assert!(
        said.starts_with("Heard fifty, five zero Celsius, one twenty two Fahrenheit, pan."),
        "{said}"
    );
    assert_eq!(cook.says("reading one fifty celsius"), asked);
    assert_eq!(
        cook.says("celsius"),
        "Heard one five zero Celsius. That cannot be. Say the number again."
    );
    let said = cook.says("sixty three");
    assert!(said.starts_with("Heard sixty three Celsius,"), "{said}");

    // And "no" leaves nothing behind.
    let before = readings(&cook).len();
    assert_eq!(cook.says("reading one fifty celsius"), asked);
    cook.says("no");
    assert_eq!(readings(&cook).len(), before);
}

#[test]
fn oil_has_its_unit_too() {
    let mut cook = Cook::with(FRY);
    let said = cook.says("oil one twenty celsius");
    assert!(
        said.starts_with("Heard one two zero Celsius, two forty eight Fahrenheit, pot."),
        "{said}"
    );
    // Neither unit makes it an oil.
    assert_eq!(
        cook.says("oil nine hundred fahrenheit"),
        "Heard nine zero zero Fahrenheit. That cannot be. Say the number again."
    );
}

#[test]
fn what_is_believed_is_told_in_one_unit() {
    let mut cook = Cook::with(CHOPS);
    cook.waits(480.0);
    cook.says("reading eighty four");
    cook.waits(10.0);
    let said = cook.says("reading eighty eight celsius");
    assert!(said.contains("bone or oil"), "{said}");
    assert_eq!(
        cook.says("which reading do you believe"),
        "Pan, eighty four, the lowest I can believe, of one this round. Not one nine zero point \
         four, bone or oil."
    );
}
