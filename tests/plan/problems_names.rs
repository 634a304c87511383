//! Names: what can be said, what is taken, what nobody has; each with its exact place.

use crate::kit::{KITCHEN, clean, clean_steps, only, only_steps, problems};

#[test]
fn names_that_cannot_be_spoken() {
    let named = |name: &str| format!("{KITCHEN}  {name}: {{say: Do it.}}\n");
    only(&named("«step 2"), "`2` is no letter", "step");
    only(&named("«fry_left"), "`_` is no letter", "fry left");
    only(&named("«salt & rest"), "`&` is no letter", "salt and rest");
    only(&named("«crème"), "`è` is no letter", "creme");
    only(&named("«sear - hard"), "without a word", "sear hard");
    only(
        &named("«a very long name that nobody would say"),
        "long to say",
        "at most 5 words",
    );
    only(&named("«\"\""), "a name without words", "words");
    // In another language its own letters are letters.
    let korean =
        clean("plan: A test\nunits: celsius\nlanguage: ko\nsteps:\n  굽기: {say: 구우세요.}\n");
    assert_eq!(korean.plan.steps[0].id, "굽기");
}

#[test]
fn names_that_swallow_a_call() {
    let named = |name: &str| format!("{KITCHEN}  {name}: {{say: Do it.}}\n");
    only(
        &named("«next"),
        "begins with the call `next`",
        "another word",
    );
    only(
        &named("«next batch"),
        "begins with the call `next`",
        "another word",
    );
    only(
        &named("«scratch that"),
        "begins with the call",
        "another word",
    );
    only(&named("«left"), "a word of the calls", "two words");
    only(&named("«oil"), "a word of the calls", "two words");
    only(
        &named("«brine two"),
        "`two` would be heard as a number",
        "without `two`",
    );
    only(&named("«first reading"), "`reading`", "without `reading`");
    // Longer words that only begin alike are fine.
    clean(&named("nexus"));
    clean(&named("donegal stew"));
}

#[test]
fn names_that_sound_alike() {
    only_steps(
        "  «skillet: {say: Do it.}\n",
        "also the name of a vessel on line 8",
        "another name",
    );
    only_steps(
        "  «racks: {say: Do it.}\n",
        "sounds like `rack`, a vessel",
        "another name",
    );
    only_steps(
        "  «the test-chop: {say: Do it.}\n",
        "sounds like `test chop`, a sample",
        "another name",
    );
    only_steps(
        "  fry: {say: Fry.}\n  bake: {say: Bake., also called: [«fry]}\n",
        "also the name of a step",
        "another name",
    );
    only_steps(
        "  fry: {say: Fry., also called: [searing, «searing]}\n",
        "a name of this step already",
        "once",
    );
    only_steps(
        "  fry: {say: Fry., also called: [aa, bb, cc, dd, ee, «ff, gg]}\n",
        "more than 6 names",
        "really say",
    );
    only_steps(
        "  fry: {say: Fry.}\n  «Fry: {say: Fry.}\n",
        "also the name of a step",
        "another name",
    );
    // A plural of its own name is no clash.
    let checked = clean_steps("  fry: {say: Fry., also called: [frys]}\n");
    assert_eq!(checked.plan.steps[0].names, ["fry", "frys"]);
}

#[test]
fn names_that_nobody_has() {
    only_steps(
        "  fry: {say: Fry., vessel: «skilet}\n",
        "no vessel `skilet`",
        "skillet",
    );
    only_steps(
        "  fry: {say: Fry., vessel: «cauldron}\n",
        "no vessel `cauldron`",
        "skillet or second skillet or rack",
    );
    only_steps(
        "  fry: {say: Fry., vessel: «chop}\n",
        "`chop` is an item, not a vessel",
        "skillet",
    );
    only_steps(
        "  fry: {say: Fry., after: «frying}\n",
        "no step `frying`",
        "fry",
    );
    only_steps(
        "  fry: {say: Fry., vessel: skillet, holds: «chips}\n",
        "no item or sample `chips`",
        "chop",
    );
    only_steps(
        "  fry: {say: Fry., vessel: skillet, out to: «tray}\n",
        "no vessel `tray`",
        "rack",
    );
    only(
        "plan: A test\nunits: celsius\nitems:\n  loaf: {class: other}\nsamples:\n  test piece: {of: «roll}\nsteps:\n  stir: {say: Stir.}\n",
        "no item `roll`",
        "loaf",
    );
    // A misnamed thing is one mistake, not one for each that refers to it.
    let found = problems(&format!(
        "{}  fry: {{say: Fry., vessel: pan 2}}\n  bake: {{say: Bake., vessel: pan 2}}\n",
        KITCHEN.replace("  rack: {kind: rack}", "  pan 2: {kind: rack}")
    ));
    assert_eq!(found.len(), 1, "{found:?}");
}
