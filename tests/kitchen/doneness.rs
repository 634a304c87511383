//! What readings mean, as spoken: which to believe, done, time left, the medium, the probe.

use crate::support::Cook;

const CUTLETS: &str = "
plan: Pork cutlets
units: fahrenheit
altitude: 5000 ft
items:
  cutlet: {also called: cutlets, pieces: 3, class: whole cut, thickness: 1 in, start: 40 F}
vessels:
  left skillet: {kind: skillet, places: left middle right}
  right skillet: {kind: skillet, places: left middle right}
  rack: {kind: rack}
steps:
  frying:
    say: Three cutlets into the left skillet
    vessel: left skillet
    holds: [cutlets]
    until: {core: 145 F}
    out to: rack
";

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

/// Readings of three pieces, twelve seconds apart.
fn round(cook: &mut Cook, readings: [&str; 3]) -> Vec<String> {
    readings
        .iter()
        .map(|r| {
            let said = cook.says(&format!("left skillet reading {r}"));
            cook.waits(12.0);
            said
        })
        .collect()
}

#[test]
fn the_odd_one_is_named_and_never_decides() {
    let mut cook = Cook::with(CUTLETS);
    cook.waits(480.0);
    let said = round(&mut cook, ["eighty four", "eighty six", "one ninety"]);
    assert_eq!(
        said[1],
        "Heard eighty six, left skillet. Target one forty five."
    );
    assert_eq!(
        said[2],
        "Heard one nine zero, left skillet. That one looks like bone or oil, try another spot. \
         I go on with eighty four."
    );
    assert_eq!(
        cook.says("which reading do you believe"),
        "Left skillet, eighty four, the lowest I can believe, of two this round. Not one nine \
         zero, bone or oil."
    );
    // Repaired, it counts.
    assert_eq!(
        cook.says("no eighty five"),
        "Corrected eighty five, left skillet. Target one forty five."
    );
    assert!(cook.says("is it done").starts_with(
        "Left skillet not done, coldest eighty four, three readings of three pieces."
    ));
}

#[test]
fn time_left_is_a_guess_and_then_narrows() {
    let mut cook = Cook::with(CUTLETS);
    cook.waits(5.0);
    let guess = cook.says("how long");
    assert!(
        guess.contains("a guess before any reading, between"),
        "{guess}"
    );
    cook.waits(470.0);
    round(&mut cook, ["eighty four", "eighty six", "eighty five"]);
    cook.waits(150.0);
    let said = round(&mut cook, ["one oh six", "one oh eight", "one oh seven"]);
    assert!(
        said[0].contains("give or take") || said[0].contains("between"),
        "{said:?}"
    );
    let left = cook.says("how long");
    assert!(
        left.contains("last one oh six, about") && left.contains("give or take"),
        "{left}"
    );
    // The burner changed: what was read before counts less.
    cook.says("left skillet heat to low");
    let aged = cook.says("how long");
    assert_ne!(left, aged);
}

#[test]
fn done_needs_every_piece() {
    let mut cook = Cook::with(CUTLETS);
    cook.waits(480.0);
    round(&mut cook, ["eighty four", "eighty six", "eighty five"]);
    cook.waits(150.0);
    round(&mut cook, ["one oh six", "one oh eight", "one oh seven"]);
    assert_eq!(
        cook.says("is it done")
            .split(". ")
            .take(2)
            .collect::<Vec<_>>()
            .join(". "),
        "Left skillet not done, coldest one oh six, three readings of three pieces. Target one \
         forty five"
    );
    cook.waits(560.0);
    let said = round(
        &mut cook,
        ["one forty eight", "one forty seven", "one forty six"],
    );
    assert_eq!(
        said[0],
        "Heard one four eight, left skillet. At the target of one forty five. One reading of \
         three pieces. Read the others."
    );
    assert_eq!(
        said[2],
        "Heard one four six, left skillet. At the target of one forty five. Out to the rack."
    );
    assert_eq!(
        cook.says("is it done"),
        "Left skillet is done, coldest one forty six, three readings of three pieces. Target \
         one forty five."
    );
}

#[test]
fn the_probe_is_checked_and_its_offset_used() {
    let mut cook = Cook::with(CUTLETS);
    assert_eq!(
        cook.says("use the offset"),
        "Check the probe first: say ice reading, or boil reading."
    );
    assert_eq!(
        cook.says("ice reading thirty four"),
        "Heard thirty four, ice. It reads two degrees high. Take off two degrees from now on?"
    );
    assert_eq!(cook.says("yes"), "Two degrees taken off every reading.");
    cook.waits(480.0);
    cook.says("left skillet reading eighty six");
    assert!(cook.says("is it done").contains("coldest eighty four,"));
    // Water boils at 203 °F at 5000 ft (Colorado State University Extension).
    assert_eq!(
        cook.says("boil reading two oh three"),
        "Heard two zero three, boiling water. The probe is right."
    );
}

#[test]
fn the_oil_is_turned_the_right_way() {
    let mut cook = Cook::with(FRY);
    assert_eq!(
        cook.says("oil two thirty"),
        "Heard two three zero, pot. Below the window, two forty five to two fifty five. Turn it \
         up a little."
    );
    let smoking = cook.says("oil four hundred");
    assert!(
        smoking.ends_with(
            "Turn it down. Careful, oils begin to smoke from three eighty five to four eighty \
             nine, take it off the heat."
        ),
        "{smoking}"
    );
    cook.says("oil two fifty");
    cook.says("done");
    cook.says("strips in");
    cook.waits(60.0);
    // The drop when cold food goes in is expected.
    assert_eq!(
        cook.says("oil two twenty five"),
        "Heard two two five, pot. Cold food went in, it comes back."
    );
    cook.waits(400.0);
    assert_eq!(
        cook.says("oil two twenty five"),
        "Heard two two five, pot. Turn it up a little."
    );
}

/// The smoke range of peanut oil: 446 °F (Institute of Shortening and Edible Oils) to 471
/// °F (University of Lethbridge), both reprinted.
#[test]
fn a_limit_and_the_oils_own_smoke_are_cautioned_once_per_rise() {
    let mut cook = Cook::with(&FRY.replace(
        "pot: {kind: pot}",
        "pot: {kind: pot, oil: peanut, limit: 375 F}",
    ));
    assert!(
        cook.says("oil three seventy five")
            .ends_with("Turn it down.")
    );
    let limit = "Careful, never above three seventy five, heat down now.";
    let smokes = "Careful, peanut oil begins to smoke from four forty six to four seventy one, \
                  take it off the heat.";
    assert!(cook.says("oil three eighty").ends_with(limit));
    // Still above: said once.
    assert!(cook.says("oil three ninety").ends_with("Turn it down."));
    assert!(cook.says("oil four fifty").ends_with(smokes));
    assert!(cook.says("oil four sixty").ends_with("Turn it down."));
    // A new rise.
    cook.says("oil two fifty");
    let both = cook.says("oil four fifty");
    assert!(both.contains(limit) && both.ends_with(smokes), "{both}");
    // A rise that is taken back was none.
    cook.says("oil two fifty");
    cook.says("oil four hundred");
    cook.says("scratch that");
    assert!(cook.says("oil three eighty").ends_with(limit));
}

#[test]
fn an_oil_of_ones_own_has_its_own_range() {
    let mut cook = Cook::with(
        &FRY.replace(
            "pot: {kind: pot}",
            "pot: {kind: pot, oil: camellia, smoke: [410 F, 430 F]}",
        )
        .replace("units: fahrenheit", "units: celsius"),
    );
    assert!(cook.says("oil two hundred ten").ends_with(
        "Careful, camellia oil begins to smoke from two ten to two twenty one, take it off \
             the heat."
    ));
}

#[test]
fn what_cannot_be_is_asked_about_and_not_written_down() {
    let mut cook = Cook::with(FRY);
    cook.says("oil one fifty");
    cook.says("oil two fifty");
    cook.says("done");
    cook.says("strips in");
    let readings = |cook: &Cook| {
        cook.events
            .iter()
            .filter(|e| matches!(e.what, hobcall::kitchen::What::Reading(_)))
            .count()
    };
    let before = readings(&cook);
    assert_eq!(
        cook.says("reading nine hundred"),
        "Heard nine zero zero. That cannot be. Say the number again."
    );
    cook.says("cancel");
    cook.says("oil one forty");
    assert_eq!(
        cook.says("core one fifty"),
        "Heard one five zero. That cannot be. Say the number again.",
        "food in oil is not hotter than the oil"
    );
    cook.says("cancel");
    assert_eq!(readings(&cook), before + 1);
    let mut cook = Cook::with(CUTLETS);
    assert_eq!(
        cook.says("right skillet reading one forty"),
        "The right skillet is empty as far as I was told."
    );
    assert_eq!(readings(&cook), 0);
}

#[test]
fn units_are_switched_aloud() {
    let mut cook = Cook::with(CUTLETS);
    cook.waits(480.0);
    cook.says("left skillet reading ninety");
    assert_eq!(cook.says("celsius"), "Celsius.");
    // 90 °F is 32.2 °C, 145 °F is 62.8 °C.
    let said = cook.says("is it done");
    assert!(said.contains("coldest thirty two"), "{said}");
    assert_eq!(cook.says("fahrenheit"), "Fahrenheit.");
}

const WHITE_MEAT: &str = "
plan: White meat
units: fahrenheit
items:
  breast: {also called: breasts, pieces: 1, class: poultry, thickness: 1.5 in, start: 40 F, brined: yes}
vessels:
  skillet: {kind: skillet}
steps:
  frying: {say: Breast in, vessel: skillet, holds: breast, until: {core: 160 F}}
";

/// White meat pulled at 160 °F: common practice, no source. The minimum is 165 °F (USDA
/// FSIS); the hold 26.9 s at 160 °F for 12 % fat, the longer of chicken and turkey
/// (FSIS-GD-2021-14, Table 4), to the whole second.
#[test]
fn a_plan_below_the_minimum_is_told_once_and_clocked() {
    let mut cook = Cook::with(WHITE_MEAT);
    let told: Vec<String> = cook.said.iter().map(|(_, u)| u.text.clone()).collect();
    assert_eq!(
        told.iter()
            .filter(|t| t.contains("below the published"))
            .collect::<Vec<_>>(),
        [
            "This aims below the published one sixty five for the breast. The hold table asks \
          twenty seven seconds there, in the coldest part of every piece. It is brined, and \
          salt takes that margin away."
        ],
        "{told:?}"
    );
    // Salt can raise Salmonella's resistance to heat (Juneja, Marks and Mohr 2003, abstract):
    // the table, which knows nothing of it, gives brined meat no margin.
    cook.waits(1200.0);
    cook.says("reading one forty");
    cook.waits(10.0);
    cook.says("reading one forty one");
    cook.waits(300.0);
    cook.says("reading one sixty one");
    cook.waits(10.0);
    let done = cook.says("reading one sixty");
    assert!(
        done.contains("It is brined, so no hold makes up for the published one sixty five."),
        "{done}"
    );
    assert!(!cook.hears(120.0).iter().any(|t| t.contains("hold")));

    let mut cook = Cook::with(&WHITE_MEAT.replace(", brined: yes", ""));
    cook.waits(1200.0);
    cook.says("reading one forty");
    cook.waits(10.0);
    cook.says("reading one forty one");
    cook.waits(300.0);
    cook.says("reading one sixty one");
    cook.waits(10.0);
    let done = cook.says("reading one sixty");
    assert!(
        done.contains(
            "The published table asks twenty seven seconds at one sixty Fahrenheit. \
                       Twenty seven seconds of it to go."
        ),
        "{done}"
    );
    // Once, when they are over; and the reading then has nothing left to wait for.
    let said = cook.waits(60.0);
    let holds: Vec<_> = said.iter().filter(|(_, t)| t.contains("hold")).collect();
    assert_eq!(
        holds,
        [&(
            1200.0 + 10.0 + 300.0 + 10.0 + 27.0,
            "Frying, the hold that the table asks is over by the clock, read it once more."
                .to_owned()
        )]
    );
    let after = cook.says("reading one sixty");
    assert!(
        after.contains("The published table asks twenty seven seconds") && !after.contains("to go"),
        "{after}"
    );
    assert!(!cook.hears(300.0).iter().any(|t| t.contains("hold")));
}

const COUNTER: &str = "
plan: Chops on the counter
units: fahrenheit
items:
  chop: {also called: chops, pieces: 2, class: whole cut, thickness: 1 in}
vessels:
  tray: {kind: tray}
  board: {kind: board}
  skillet: {kind: skillet}
steps:
  salting: {say: Salt them and set the tray in the fridge, vessel: tray, holds: chops, wait: 8 h .. 12 h}
  standing: {after: salting, say: Out of the fridge and onto the board, vessel: board, holds: chops, until: {word: you are ready}}
  frying: {after: standing, say: Into the skillet, vessel: skillet, holds: chops, until: {core: 145 F}}
";

/// USDA FSIS: no more than two hours in all between 40 and 140 °F. The night in the fridge
/// does not count, the counter and the heat up to the first reading of 140 do.
#[test]
fn time_in_the_danger_zone_is_summed_over_the_cook() {
    let zone = |h: &Vec<String>| h.iter().filter(|t| t.contains("danger zone")).count();
    let mut cook = Cook::with(COUNTER);
    let night = cook.hears(9.0 * 3600.0);
    assert_eq!(zone(&night), 0, "{night:?}");
    cook.says("done");
    let counter = cook.hears(100.0 * 60.0);
    assert_eq!(zone(&counter), 0, "{counter:?}");
    cook.says("done");
    let pan = cook.hears(30.0 * 60.0);
    assert_eq!(zone(&pan), 1, "told once: {pan:?}");
    assert!(
        pan.iter().any(|t| t.ends_with(
            "two hours in the danger zone in all, as far as I was told, the consumer limit."
        )),
        "{pan:?}"
    );
    // Hot in time, nothing is said.
    let mut cook = Cook::with(COUNTER);
    cook.waits(9.0 * 3600.0);
    cook.says("done");
    cook.waits(100.0 * 60.0);
    cook.says("done");
    cook.waits(15.0 * 60.0);
    cook.says("skillet reading one forty two");
    cook.waits(12.0);
    cook.says("skillet reading one forty three");
    assert_eq!(zone(&cook.hears(3600.0)), 0);
}
