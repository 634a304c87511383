//! Food that cools after the cook, as spoken: the two limits of the Food Code, 3-501.14(A).

use crate::support::Cook;

const STOCK: &str = "
plan: Bone stock
units: fahrenheit
items:
  stock: {pieces: 1, class: whole cut}
  beans: {pieces: 1, class: other}
vessels:
  pot: {kind: pot}
  ice bath: {kind: bowl}
steps:
  simmering: {say: Simmer the stock, vessel: pot, holds: stock, until: {core: 200 F}}
  straining: {after: simmering, say: Strain it, hands on: 5 min}
";

fn strained() -> Cook {
    let mut cook = Cook::with(STOCK);
    cook.says("simmering done");
    cook.says("yes");
    cook
}

const MINUTES: f64 = 60.0;

#[test]
fn both_limits_are_clocked_and_warned_of_once() {
    let mut cook = strained();
    assert_eq!(
        cook.says("cooling the stock"),
        "Stock cooling, to be at seventy within two hours."
    );
    assert_eq!(
        cook.says("reading one sixty"),
        "Heard one six zero, stock. Still above one thirty five, the time counts from now. \
         To be at seventy within two hours."
    );
    cook.waits(60.0 * MINUTES);
    assert_eq!(
        cook.says("stock reading ninety five"),
        "Heard ninety five, stock. To be at seventy within an hour."
    );
    let said = cook.waits(59.0 * MINUTES);
    assert_eq!(
        said,
        [(
            100.0 * MINUTES,
            "Stock has to be at seventy within twenty minutes, read it.".to_owned()
        )]
    );
    assert_eq!(
        cook.says("stock sixty eight"),
        "Heard sixty eight, stock. Seventy in time. To be at forty one within four hours."
    );
    assert_eq!(
        cook.says("how long on the stock"),
        "Stock cooling, to be at forty one within four hours."
    );
    let said = cook.hears(239.0 * MINUTES);
    assert_eq!(
        said,
        ["Stock has to be at forty one within twenty minutes, read it."]
    );
    assert_eq!(
        cook.says("reading forty one"),
        "Heard forty one, stock. Cooled, in time."
    );
    assert_eq!(cook.hears(600.0 * MINUTES), Vec::<String>::new());
}

#[test]
fn a_missed_limit_says_what_then() {
    let mut cook = strained();
    cook.says("cooling the stock");
    let said = cook.hears(121.0 * MINUTES);
    assert_eq!(
        said[1],
        "Stock, not read at seventy in time, heat it to one sixty five once and cool it anew, \
         or throw it away, local codes come first."
    );
    // Said once; asked, it is said again.
    assert_eq!(cook.hears(30.0 * MINUTES), Vec::<String>::new());
    assert_eq!(
        cook.says("reading eighty"),
        "Heard eighty, eight zero, stock. Not read at seventy in time. Heat it to one sixty five once and \
         cool it anew, or throw it away. Local codes come first."
    );
    // Mended once.
    assert_eq!(
        cook.says("reading one sixty six"),
        "Heard one six six, stock. Still above one thirty five, the time counts from now. To \
         be at seventy within two hours."
    );
    let said = cook.hears(130.0 * MINUTES);
    assert_eq!(
        said,
        [
            "Stock has to be at seventy within twenty minutes, read it.",
            "Stock, not read at seventy in time, throw it away, local codes come first."
        ]
    );
}

#[test]
fn saying_it_twice_moves_no_limit_and_scratching_ends_it() {
    let mut cook = strained();
    cook.says("cooling the stock");
    cook.waits(40.0 * MINUTES);
    assert_eq!(
        cook.says("cooling the stock"),
        "Stock cooling, to be at seventy within an hour and twenty minutes."
    );
    cook.says("scratch that");
    cook.says("yes");
    assert_eq!(cook.hears(300.0 * MINUTES), Vec::<String>::new());
}

#[test]
fn a_reading_that_fits_two_things_is_asked_about() {
    let mut cook = strained();
    cook.says("cooling the stock");
    cook.says("cooling the beans");
    assert_eq!(
        cook.says("reading ninety"),
        "Reading ninety, nine zero. Which, stock or beans?"
    );
    assert!(
        cook.says("beans")
            .starts_with("Heard ninety, nine zero, beans. To be at seventy")
    );
    // A number that cannot be is asked for again, and stays with the beans.
    assert_eq!(
        cook.says("beans reading nine hundred"),
        "Heard nine zero zero. That cannot be. Say the number again."
    );
    assert!(
        cook.says("ninety one")
            .starts_with("Heard ninety one, beans.")
    );
    assert_eq!(
        cook.says("no eighty nine"),
        "Corrected eighty nine, beans. To be at seventy within two hours."
    );
}

#[test]
fn a_second_batch_on_the_fire_is_another_thing() {
    let mut cook = Cook::with(
        "
plan: Two batches
units: celsius
items:
  cutlet: {also called: cutlets, pieces: 4, class: whole cut}
vessels:
  pan: {kind: skillet}
  tray: {kind: tray}
steps:
  first: {say: Two cutlets, vessel: pan, holds: 2 cutlets, until: {core: 63 C}, out to: tray}
  second: {after: first, say: The others, vessel: pan, holds: 2 cutlets, until: {core: 63 C}}
",
    );
    cook.says("first done");
    cook.says("yes");
    assert_eq!(
        cook.says("cooling the cutlets"),
        "Cutlet cooling, to be at twenty one within two hours."
    );
    assert_eq!(
        cook.says("cutlets reading thirty"),
        "Cutlet reading thirty, three zero. Which, pan or cutlet?"
    );
    assert!(
        cook.says("cutlet")
            .starts_with("Heard thirty, three zero, cutlet. To be at twenty one")
    );
    assert!(
        cook.says("pan reading thirty")
            .starts_with("Heard thirty, three zero, pan.")
    );
}

#[test]
fn a_step_of_the_plan_may_say_it() {
    let mut cook = Cook::with(&STOCK.replace(
        "  straining: {after: simmering, say: Strain it, hands on: 5 min}",
        "  chilling: {after: simmering, say: Pot into the ice bath, vessel: ice bath, \
         holds: stock, cools: yes, until: {word: it is cold}}",
    ));
    cook.says("simmering done");
    assert_eq!(
        cook.says("yes"),
        "Done, simmering. Pot into the ice bath. Stock cooling, to be at seventy within two hours."
    );
    cook.waits(600.0);
    // The plan's ice bath, not the one in which a probe is checked.
    assert!(
        cook.says("ice bath reading one twenty")
            .starts_with("Heard one two zero, stock.")
    );
    assert!(
        cook.says("where are we")
            .contains("Stock cooling, to be at seventy")
    );
    assert_eq!(
        cook.says("how long on the ice bath"),
        "Chilling, until it is cold."
    );
    cook.says("done");
    assert_eq!(
        cook.says("end the cook"),
        "Stock cooling, to be at seventy within an hour and fifty minutes. End the cook?"
    );
}

/// Nobody says "done" when the pot comes off: the readings that follow are of the cooling
/// all the same, and none of them is taken for a probe that has not settled.
#[test]
fn what_cools_is_read_as_cooling_though_its_step_is_still_open() {
    let mut cook = Cook::with(STOCK);
    cook.waits(180.0 * MINUTES);
    cook.says("reading two hundred and two");
    cook.says("reading two hundred and three");
    assert_eq!(
        cook.says("cooling the stock"),
        "Stock cooling, to be at seventy within two hours."
    );
    cook.waits(90.0 * MINUTES);
    assert_eq!(
        cook.says("reading sixty eight"),
        "Heard sixty eight, stock. Seventy in time. To be at forty one within four and a half hours."
    );
    assert_eq!(
        cook.says("stock reading forty"),
        "Heard forty, four zero, stock. Cooled, in time."
    );
}
