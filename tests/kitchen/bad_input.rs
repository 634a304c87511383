//! Readings that cannot be: a short spoken question, nothing recorded as fact, and the cook
//! goes on.

use hobcall::kitchen::What;

use crate::support::Cook;

const FRY: &str = "
plan: Pork strips in oil
units: fahrenheit
items:
  strip: {also called: strips, pieces: 2, class: whole cut, thickness: 1.5 in, start: 40 F}
samples:
  test strip: {of: strip, mark: a notch}
vessels:
  pot: {kind: pot}
  rack: {kind: rack}
steps:
  heating: {say: Heat the oil, vessel: pot, until: {medium: 245 F .. 255 F}}
  frying: {after: heating, say: Strips into the oil, vessel: pot, holds: strips, until: {core: 145 F}, out to: rack}
";

/// Readings and corrections on record.
fn facts(cook: &Cook) -> Vec<f64> {
    let of = |w: &What| match w {
        What::Reading(r) => Some(r.called.lo),
        What::Corrected { called, .. } => Some(called.lo),
        _ => None,
    };
    cook.events.iter().filter_map(|e| of(&e.what)).collect()
}

/// The strips are in oil of 250 °F for ten minutes.
fn frying() -> Cook {
    let mut cook = Cook::with(FRY);
    cook.says("oil two fifty");
    cook.says("done");
    cook.says("strips in");
    cook.waits(570.0);
    cook.says("oil two fifty");
    cook.waits(30.0);
    cook
}

const AGAIN: &str = "That cannot be. Say the number again.";

#[test]
fn nine_hundred_is_asked_about_of_everything() {
    let mut cook = frying();
    let before = facts(&cook);
    for call in [
        "reading nine hundred",
        "pot reading nine hundred",
        "test strip nine hundred",
        "strips reading nine hundred",
        "core nine hundred",
        "oil nine hundred",
        "ice reading nine hundred",
        "boil reading nine hundred",
        "reading one hundred to nine hundred",
    ] {
        let said = cook.says(call);
        assert!(said.ends_with(AGAIN), "{call}: {said}");
        cook.says("cancel");
        assert_eq!(facts(&cook), before, "{call}");
    }
    // The answer to the question is the reading.
    cook.says("reading nine hundred");
    let said = cook.says("ninety");
    assert!(said.starts_with("Heard ninety, nine zero, pot."), "{said}");
    assert_eq!(facts(&cook).len(), before.len() + 1);
}

#[test]
fn a_core_above_the_oil_is_asked_about_however_it_comes() {
    let mut cook = frying();
    cook.says("oil one eighty");
    let before = facts(&cook);
    for call in ["core one ninety", "test strip one ninety"] {
        let said = cook.says(call);
        assert!(said.ends_with(AGAIN), "{call}: {said}");
        // Nor is it believed the second time.
        assert!(cook.says("one ninety two").ends_with(AGAIN));
        cook.says("cancel");
        assert_eq!(facts(&cook), before, "{call}");
    }
    // As a correction: what was called stands until a number that can be is called.
    cook.says("core ninety");
    assert_eq!(cook.says("no one ninety"), "What is the right number?");
    let said = cook.says("ninety one");
    assert!(said.starts_with("Corrected ninety one, pot."), "{said}");
    assert_eq!(facts(&cook)[before.len()..], [90.0, 91.0]);
}

#[test]
fn an_empty_vessel_has_no_core() {
    let mut cook = frying();
    let before = facts(&cook);
    assert_eq!(
        cook.says("rack reading one forty"),
        "The rack is empty as far as I was told."
    );
    let mut early = Cook::with(FRY);
    assert_eq!(
        early.says("core ninety"),
        "The pot is empty as far as I was told."
    );
    assert!(facts(&early).is_empty());
    assert_eq!(facts(&cook), before);
}

#[test]
fn a_unit_that_the_plan_does_not_use_is_asked_about_where_it_cannot_be() {
    let mut cook = frying();
    let before = facts(&cook);
    assert_eq!(
        cook.says("core one twenty celsius"),
        "Heard one two zero Celsius. That cannot be. One two zero Fahrenheit?"
    );
    cook.says("no");
    assert_eq!(
        cook.says("oil two fifty celsius"),
        // 482 °F: it can be, and it is hot enough to smoke.
        "Heard two five zero Celsius, four eighty two Fahrenheit, pot. Turn it down. Careful, \
         oils begin to smoke from three eighty five to four eighty nine, take it off the heat."
    );
    cook.says("scratch that");
    assert_eq!(
        cook.says("oil three hundred fifty celsius"),
        "Heard three five zero Celsius. That cannot be. Three five zero Fahrenheit?"
    );
    cook.says("cancel");
    let kept: Vec<f64> = facts(&cook);
    assert_eq!(kept[..before.len()], before[..]);
    assert_eq!(kept.len(), before.len() + 1, "the one taken back is there");
}

#[test]
fn before_and_after_the_cook_nothing_is_taken() {
    let mut cook = frying();
    cook.says("end the cook");
    cook.says("yes");
    let before = facts(&cook);
    let said = cook.says("reading one forty");
    assert!(said.contains("has ended"), "{said}");
    assert_eq!(facts(&cook), before);
}

/// Water of 160 to 170 °F around food that is done at 145 °F.
const POACH: &str = "
plan: Poached fillets
units: fahrenheit
items:
  fillet: {also called: fillets, pieces: 2, class: fish, thickness: 1 in, start: 40 F}
vessels:
  pot: {kind: pot}
steps:
  heating: {say: Heat the water, vessel: pot, until: {medium: 160 F .. 170 F}}
  poaching: {after: heating, say: Fillets in, vessel: pot, holds: fillets, until: {core: 145 F}}
";

#[test]
fn a_reading_that_may_be_of_either_is_asked_about() {
    let mut cook = Cook::with(POACH);
    // While it heats only the water is read.
    let said = cook.says("reading one sixty five");
    assert!(said.contains("In the window"), "{said}");
    cook.says("done");
    cook.says("fillets in");
    cook.waits(400.0);
    // Far from the water's window it is a core.
    let said = cook.says("reading one ten");
    assert!(said.contains("Target one forty five"), "{said}");
    let before = facts(&cook);
    assert_eq!(
        cook.says("reading one sixty two"),
        "Heard one six two. Core or water?"
    );
    assert_eq!(facts(&cook), before);
    cook.says("cancel");
    assert_eq!(facts(&cook), before);
    cook.says("reading one sixty two");
    let said = cook.says("water");
    assert!(said.starts_with("Heard one six two, pot."), "{said}");
    assert_eq!(facts(&cook).len(), before.len() + 1);
    // Said with it, nothing is asked.
    let said = cook.says("core one thirty");
    assert!(said.starts_with("Heard one three zero, pot."), "{said}");
}
