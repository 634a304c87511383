//! Amounts: units that lack or are none, and what makes no sense in a kitchen; each with
//! its exact place.

use crate::kit::{clean, item, only, only_steps, problems, top, vessel};

#[test]
fn numbers_without_unit() {
    only_steps(
        "  fry: {say: Fry., wait: «12}\n",
        "`12` has no unit",
        "12 s or 12 min or 12 h or 12 d",
    );
    only_steps(
        "  fry: {say: Fry., wait: «12 .. 16 h}\n",
        "`12` has no unit",
        "12 h .. 16 h",
    );
    only_steps(
        "  fry: {say: Fry., wait: «1 h 30}\n",
        "no unit",
        "30 s or 30 min",
    );
    only(
        &item("class: fish, piece mass: «250"),
        "`250` has no unit",
        "250 g or 250 kg",
    );
    only(
        &item("class: fish, thickness: «25"),
        "`25` has no unit",
        "25 mm",
    );
    only(
        &item("class: fish, start: «40"),
        "`40` has no unit",
        "40 F or 40 C",
    );
    only(&item("class: fish, fat: «8"), "`8` has no unit", "8 %");
    only(&top("altitude: «300"), "`300` has no unit", "300 m");
}

#[test]
fn units_that_are_none() {
    only_steps(
        "  fry: {say: Fry., wait: «4 m}\n",
        "minutes or metres",
        "4 min",
    );
    only_steps("  fry: {say: Fry., wait: «4 mins}\n", "`mins`", "4 min");
    only_steps("  fry: {say: Fry., wait: «4 H}\n", "`H`", "4 h");
    only_steps(
        "  fry: {say: Fry., wait: «145 F}\n",
        "`F` is not a unit of a time",
        "90 s",
    );
    only_steps(
        "  fry: {say: Fry., wait: «soon}\n",
        "`soon` is not a time",
        "90 s",
    );
    only_steps(
        "  fry: {say: Fry., wait: «30 min 1 h}\n",
        "out of order",
        "larger unit first",
    );
    only(&item("class: fish, start: «40 f"), "`f`", "40 F");
    only(&item("class: fish, start: «4 K"), "`K`", "145 F or 63 C");
    only(
        &item("class: fish, piece mass: «\"1,5 kg\""),
        "decimal comma",
        "1.5 kg",
    );
    only(&item("class: fish, piece mass: «2 cups"), "`cups`", "250 g");
}

#[test]
fn a_decimal_comma_inside_braces() {
    let found = problems(&item("class: fish, fat: 7,5 %"));
    let told: Vec<_> = found.iter().map(|p| (p.line, p.column)).collect();
    assert_eq!(told, [(4, 28), (4, 30)], "{found:?}");
    assert!(
        found[1].what.contains("`5 %` stands where a key must"),
        "{found:?}"
    );
    assert!(found[1].write_instead.contains("a point"), "{found:?}");
}

#[test]
fn amounts_outside_sense() {
    only(
        &item("class: fish, piece mass: «-250 g"),
        "less than nothing",
        "250 g",
    );
    only(&item("class: fish, mass: «0 g"), "nothing", "250 g");
    only(&item("class: fish, pieces: «0"), "none at all", "1 or more");
    only(
        &item("class: fish, pieces: «-2"),
        "none at all",
        "1 or more",
    );
    only(
        &item("class: fish, pieces: «six"),
        "not a whole number",
        "digits",
    );
    only(
        &item("class: fish, pieces: «2.5"),
        "not a whole number",
        "digits",
    );
    only(
        &item("class: fish, pieces: «1000"),
        "more than 200",
        "from 1 to 200",
    );
    only(
        &item("class: fish, start: «400 F"),
        "makes no sense",
        "40 F or 4 C",
    );
    only(
        &item("class: fish, thickness: «40 m"),
        "more than 3 m",
        "25 mm",
    );
    only(
        &item("class: fish, fat: «108 %"),
        "more than the whole",
        "100 %",
    );
    only(
        &item("class: fish, piece mass: 1 kg, «mass: 3 kg"),
        "both stand here",
        "only one",
    );
    only(
        &vessel("kind: pot, diameter: 20 cm, «sides: 20 cm x 30 cm"),
        "both stand here",
        "only one",
    );
    only(
        &vessel("kind: pot, sides: «20 cm"),
        "not two sides",
        "20 in x 13 in",
    );
    only(&top("altitude: «9000 m"), "nobody cooks", "300 m");
    only(&top("hands: «0"), "none at all", "1 or more");
    only_steps(
        "  fry: {say: Fry., wait: «31 d}\n",
        "more than 30 days",
        "12 h",
    );
    only_steps(
        "  fry: {say: Fry., wait: «-4 min}\n",
        "less than nothing",
        "90 s",
    );
    only_steps(
        "  fry: {say: Fry., wait: «0 min}\n",
        "no length",
        "leave the line out",
    );
    only_steps(
        "  fry: {say: Fry., vessel: skillet, holds: chop, until: {core: «500 F}}\n",
        "makes no sense",
        "145 F or 63 C",
    );
    only_steps(
        "  fry: {say: Fry., vessel: skillet, until: {medium: «340 F .. 900 F}}\n",
        "makes no sense",
        "340 F .. 350 F",
    );
    only_steps(
        "  fry: {say: Fry., vessel: skillet, until: {medium: «340 F}}\n",
        "single temperature",
        "a window",
    );
    only_steps(
        "  fry: {say: Fry., vessel: skillet, holds: chop, flip every: «2 s}\n",
        "nobody flips",
        "4 min",
    );
}

#[test]
fn ranges() {
    only_steps(
        "  fry: {say: Fry., wait: «16 h .. 12 h}\n",
        "wrong way round",
        "12 h .. 16 h",
    );
    only_steps(
        "  fry: {say: Fry., wait: «2 h .. 90 min}\n",
        "wrong way round",
        "90 min .. 2 h",
    );
    only_steps(
        "  fry: {say: Fry., wait: «12 - 16 h}\n",
        "not a time",
        "12 h .. 16 h",
    );
    only_steps(
        "  fry: {say: Fry., wait: «12 h to 16 h}\n",
        "not a time",
        "12 h .. 16 h",
    );
    only_steps(
        "  fry: {say: Fry., wait: «12–16 h}\n",
        "not a time",
        "12 h .. 16 h",
    );
    only_steps(
        "  fry: {say: Fry., wait: «1 h .. 2 h .. 3 h}\n",
        "more than two ends",
        "one range",
    );
    only_steps(
        "  fry: {say: Fry., rest: «10 min .. 3 min}\n",
        "wrong way round",
        "3 min .. 10 min",
    );
}

#[test]
fn times_of_day() {
    for bad in [
        "25:00",
        "7",
        "19:60",
        "19.00",
        "someday 19:00",
        "19:00:00",
        "7 pm",
        "1900",
    ] {
        only(
            &top(&format!("serve: «{bad}")),
            bad,
            "19:00, or sunday 19:00",
        );
    }
    let serve = |text: &str| clean(&top(&format!("serve: {text}"))).plan.serve;
    assert_eq!(serve("19:00").as_deref(), Some("19:00"));
    assert_eq!(serve("7:05").as_deref(), Some("07:05"));
    assert_eq!(serve("Sunday 19:00").as_deref(), Some("sunday 19:00"));
}

#[test]
fn an_oil_and_what_it_must_not_pass() {
    only(
        &vessel("kind: pot, oil: «camellia"),
        "no smoke range is known for the oil `camellia`",
        "vegetable; unrefined canola, coconut, corn, peanut, safflower, sesame, sunflower",
    );
    only(
        &vessel("kind: pot, oil: «unrefined soybean"),
        "no smoke range is known",
        "`smoke: 400 F .. 450 F`",
    );
    only(
        &vessel("kind: pot, oil: camellia, smoke: «400"),
        "`smoke`: `400` has no unit",
        "400 F",
    );
    only(
        &vessel("kind: pot, smoke: [«450 F, 400 F]"),
        "runs the wrong way round",
        "400 F .. 450 F",
    );
    only(
        &vessel("kind: pot, smoke: «20 C .. 30 C"),
        "no oil begins to smoke",
        "400 F .. 450 F",
    );
    only(
        &vessel("kind: pot, limit: «900 F"),
        "`limit`: `900 F` makes no sense here",
        "375 F or 190 C",
    );
    let plan = clean(&vessel("kind: pot, oil: Peanut oil, limit: 190 C")).plan;
    let medium = &plan.vessels[0].medium;
    assert_eq!(medium.limit.map(|l| l.0), Some(190.0));
    // 446 °F to 471 °F, see data/doneness/oil_smoke.csv.
    let smoke = medium.smoke.expect("a range");
    assert!((smoke.lo.0 * 1.8 + 32.0 - 446.0).abs() < 1e-9);
    assert!((smoke.hi.0 * 1.8 + 32.0 - 471.0).abs() < 1e-9);
    let own = clean(&vessel("kind: pot, oil: peanut, smoke: 200 C .. 210 C")).plan;
    assert_eq!(own.vessels[0].medium.smoke.map(|s| s.lo.0), Some(200.0));
}

#[test]
fn how_warm_the_kitchen_is() {
    only(&top("room: «24"), "`room`: `24` has no unit", "24 C");
    only(&top("room: «900 F"), "makes no sense here", "75 F or 24 C");
    assert_eq!(clean(&top("room: 35 C")).plan.room.map(|c| c.0), Some(35.0));
}
