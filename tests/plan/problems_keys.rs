//! Keys and the words that stand behind them: each kind of mistake with its exact place,
//! all of them in one run.

use crate::kit::{clean, item, only, only_steps, problems, top, vessel};

#[test]
fn unknown_keys_at_every_level() {
    only(
        &top("«alttitude: 300 m"),
        "a plan knows no key `alttitude`",
        "`altitude`",
    );
    only(
        &item("class: fish, «thikness: 1 in"),
        "the item `loaf` knows no key",
        "`thickness`",
    );
    only(
        &vessel("kind: pot, «places_: heap"),
        "the vessel `pan` knows no key",
        "`places`",
    );
    only_steps(
        "  fry: {say: Fry., «flip_every: 4 min}\n",
        "the step `fry`",
        "`flip every`",
    );
    only_steps(
        "  fry: {say: Fry., «hands-on: 4 min}\n",
        "the step `fry`",
        "`hands on`",
    );
    only_steps(
        "  fry: {say: Fry., vessel: skillet, holds: chop, until: {«temperatur: 145 F}}\n",
        "`until` knows no key",
        "one of: time, core, medium, word",
    );
    // Nothing is near: all keys are named.
    only(
        &top("«zzz: 1"),
        "knows no key `zzz`",
        "one of: plan, language, units",
    );
}

#[test]
fn missing_keys() {
    only(
        "«plan: A test\nsteps:\n  stir: {say: Stir.}\n",
        "no `units`",
        "units: fahrenheit",
    );
    only(
        "«units: celsius\nsteps:\n  stir: {say: Stir.}\n",
        "no `plan`",
        "plan:",
    );
    only("«plan: A test\nunits: celsius\n", "no `steps`", "steps:");
    only(
        "plan: A test\nunits: celsius\nsteps: «{}\n",
        "no steps",
        "a name for each step",
    );
    only(
        "plan: A test\nunits: celsius\n«steps:\n",
        "`steps` has no value",
        "leave the line out",
    );
    only(
        "plan: A test\nunits: celsius\nitems:\n  «loaf: {pieces: 2}\nsteps:\n  stir: {say: Stir.}\n",
        "the item `loaf` has no `class`",
        "poultry",
    );
    only(
        "plan: A test\nunits: celsius\nvessels:\n  «pan: {}\nsteps:\n  stir: {say: Stir., vessel: pan}\n",
        "the vessel `pan` has no `kind`",
        "skillet",
    );
    only_steps(
        "  «fry: {wait: 3 min}\n",
        "the step `fry` has no `say`",
        "say:",
    );
    only(
        "plan: A test\nunits: celsius\nsamples:\n  «test chop: {mark: a pick}\nsteps:\n  stir: {say: Stir.}\n",
        "the sample `test chop` has no `of`",
        "item",
    );
}

#[test]
fn wrong_kinds_of_value() {
    only(
        &top("hands: «[1, 2]"),
        "`hands` is a list",
        "on the same line",
    );
    only(&top("items: «loaf"), "`items` is text", "a name for each");
    only(
        &top("items: {loaf: «bread}"),
        "the item `loaf` is text",
        "key: value",
    );
    only(
        &top("«serve:"),
        "`serve` has no value",
        "leave the line out",
    );
    only_steps(
        "  fry: {say: «{a: b}}\n",
        "`say` is a group of keys",
        "words",
    );
    only_steps("  fry: {say: «\"\"}\n", "`say` has no words", "words");
    only_steps(
        "  fry: {say: Fry., caution: [Hot., «]}\n"
            .replace("«]", "«~]")
            .as_str(),
        "empty place",
        "leave it out",
    );
    only_steps(
        "  fry: {say: Fry., until: «145 F}\n",
        "`until` is text",
        "`until: {core: 145 F}`",
    );
    only_steps(
        &format!("  fry: {{say: «\"{}\"}}\n", "Stir. ".repeat(80)),
        "`say` has 479 letters",
        "two steps",
    );
}

#[test]
fn words_from_a_short_list() {
    only(
        "plan: A test\nunits: «kelvin\nsteps:\n  stir: {say: Stir.}\n",
        "`kelvin`",
        "fahrenheit or celsius",
    );
    only(
        "plan: A test\nunits: «celcius\nsteps:\n  stir: {say: Stir.}\n",
        "`celcius`",
        "celsius",
    );
    only(&item("class: «pork"), "`pork`", "poultry or whole cut");
    only(
        &item("class: fish, shape: «cilinder"),
        "`cilinder`",
        "cylinder",
    );
    only(&item("class: fish, brined: «maybe"), "`maybe`", "yes or no");
    only(&vessel("kind: «pann"), "`pann`", "skillet or pot");
    only(&top("language: «English"), "`English`", "en or ko");
    clean("plan: A test\nunits: Celsius\nsteps:\n  stir: {say: Stir.}\n");
}

#[test]
fn layouts() {
    only(
        &vessel("kind: pot, places: «left write"),
        "`left write`",
        "left right",
    );
    only(
        &vessel("kind: pot, places: «somewhere"),
        "`somewhere`",
        "grid 2 x 3",
    );
    for bad in [
        "grid 5 x 2",
        "grid 1 x 1",
        "grid 0 x 2",
        "grid 2",
        "grid two x two",
        "grid 2 x 2 x 2",
    ] {
        only(
            &vessel(&format!("kind: pot, places: «{bad}")),
            bad,
            "grid 2 x 3",
        );
    }
    clean(&vessel("kind: pot, places: grid 4x4"));
}

#[test]
fn every_problem_in_one_run() {
    let found = problems(
        "plan: A test\nunits: kelvin\nhands: 0\nitems:\n  loaf: {pieces: 0, clas: fish}\nsteps:\n  stir: {wait: 3}\n  \
         stir it: {say: Stir., after: [nothing, stir], vessel: pot}\nextra: 1\n",
    );
    let places: Vec<_> = found.iter().map(|p| (p.line, p.column)).collect();
    assert_eq!(
        places,
        [
            (2, 8),
            (3, 8),
            (5, 3),
            (5, 18),
            (5, 21),
            (7, 3),
            (7, 16),
            (8, 33),
            (8, 57),
            (9, 1)
        ],
        "{found:#?}"
    );
}

#[test]
fn a_problem_reads_as_editors_expect() {
    let found = problems("plan: A test\nunits: kelvin\nsteps:\n  stir: {say: Stir.}\n");
    assert_eq!(
        found[0].to_string(),
        "plan.yaml:2:8: `units`: `kelvin` is not one of its words; write: fahrenheit or celsius"
    );
}
