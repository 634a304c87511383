//! What `check` prints: everything the cook has to know, in their words.

use crate::kit::clean;
use hobcall::plan::{self, Plan};

const SMALL: &str = "\
plan: Two buns
units: celsius
altitude: 300 m
burners: 1
serve: sunday 08:00
items:
  bun: {also called: buns, pieces: 2, mass: 180 g, class: other}
samples:
  rye bun: {of: bun, mark: a cut, treatment: rye flour}
vessels:
  tin: {kind: tray, places: left right, sides: 30 cm x 20 cm}
  rack: {kind: rack}
steps:
  proving:
    say: Buns into the tin.
    vessel: tin
    holds: [1 bun at left, rye bun at right]
    hands on: 5 min
    wait: 8 h .. 12 h
  heating:
    after: start
    say: Oven on.
    until: {word: the lamp is out}
  baking:
    after: [proving, heating]
    say: Tin into the oven.
    vessel: tin
    until: {time: 20 min .. 25 min}
    out to: rack
    rest: 10 min
    caution: The tin is hot.
  eating:
    after: baking
    say: Butter.
";

#[test]
fn a_small_plan_to_the_letter() {
    let expected = "\
Two buns
for Sunday 08:00, Celsius, 300 m above the sea, one pair of hands, 1 burner

What is cooked
   bun (or buns): 2 pieces of 90 g
      rye bun: one of them; its mark: a cut; done differently: rye flour

What it is cooked in
   tin: tray, 300 mm x 200 mm; places: left, right
   rack: rack

Steps

   1. proving (at the start)
      Buns into the tin.
      In: tin, with 1 bun at left and rye bun at right.
      Hands on 5 min; wait 8 h .. 12 h.

   2. heating (at the start)
      Oven on.
      Until the lamp is out.

   3. baking (after proving and heating: not before T+8 h 5 min)
      Tin into the oven.
      In: tin.
      Until 20 min .. 25 min.
      Then out to the rack, rest 10 min.
      CAUTION: The tin is hot.

   4. eating (after baking: not before T+8 h 35 min)
      Butter.
      Until you say so.
";
    assert_eq!(plan::print(&clean(SMALL).plan), expected);
}

/// Where every step has a length, the times run from the least to the most.
#[test]
fn times_are_counted_from_the_beginning() {
    let text = SMALL.replace("    until: {word: the lamp is out}\n", "    wait: 15 min\n");
    let page = plan::print(&clean(&text).plan);
    assert!(
        page.contains("baking (after proving and heating: T+8 h 5 min .. T+12 h 5 min)"),
        "{page}"
    );
    assert!(
        page.contains("eating (after baking: T+8 h 35 min .. T+12 h 40 min)"),
        "{page}"
    );
}

fn words(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Nothing of a shipped plan is lost on the page, and no line is wider than a terminal.
#[test]
fn shipped_plans_are_printed_whole() {
    for text in [
        include_str!("../../plans/pork-chops-two-brines.yaml"),
        include_str!("../../plans/overnight-lamb-shoulder.yaml"),
        include_str!("../../plans/two-caramels.yaml"),
    ] {
        let plan: Plan = clean(text).plan;
        let page = plan::print(&plan);
        assert!(
            page.lines().all(|line| line.chars().count() <= 80),
            "{page}"
        );
        assert!(page.lines().all(|line| line.trim_end() == line));
        let page = words(&page);
        for step in &plan.steps {
            assert!(page.contains(&step.say), "{}", step.say);
            for caution in &step.cautions {
                assert!(page.contains(&format!("CAUTION: {caution}")), "{caution}");
            }
        }
        for names in (plan.items.iter().map(|x| &x.names))
            .chain(plan.samples.iter().map(|x| &x.names))
            .chain(plan.vessels.iter().map(|x| &x.names))
            .chain(plan.steps.iter().map(|x| &x.names))
        {
            for name in names {
                assert!(page.contains(name.as_str()), "{name}");
            }
        }
    }
}

/// The scenarios that the plans are there to show.
#[test]
fn the_shipped_plans_hold_what_they_promise() {
    let chops = clean(include_str!("../../plans/pork-chops-two-brines.yaml")).plan;
    assert_eq!((chops.items[0].pieces, chops.samples.len()), (6, 1));
    assert!(
        chops
            .vessels
            .iter()
            .filter(|v| v.kind == plan::VesselKind::Skillet)
            .count()
            == 2
    );
    let lamb = clean(include_str!("../../plans/overnight-lamb-shoulder.yaml")).plan;
    let longest = lamb
        .steps
        .iter()
        .filter_map(|s| s.wait)
        .map(|w| w.lo.as_secs())
        .max();
    assert!(longest >= Some(12 * 3600));
    let caramels = clean(include_str!("../../plans/two-caramels.yaml")).plan;
    assert_eq!(caramels.units, plan::Units::Celsius);
    let windows = caramels
        .steps
        .iter()
        .flat_map(|s| &s.until)
        .filter(|u| matches!(u, plan::Until::Medium(_)));
    assert_eq!(windows.count(), 4);
}

/// USDA FSIS: 165 °F for poultry; FSIS-GD-2021-14 Table 4: 26.9 s at 160 °F and 12 % fat.
#[test]
fn the_published_minimum_and_the_hold_below_it() {
    let of = |target: &str, brined: &str| {
        let text = format!(
            "plan: White meat\nunits: fahrenheit\nitems:\n  breast: {{class: poultry{brined}}}\n\
             vessels:\n  skillet: {{kind: skillet}}\nsteps:\n  frying: {{say: In, vessel: skillet, \
             holds: breast, until: {{core: {target}}}}}\n"
        );
        match plan::read(&text, "p.yaml") {
            Ok(checked) => plan::print(&checked.plan),
            Err(problems) => panic!("{problems:?}"),
        }
    };
    let flat = |s: String| s.split_whitespace().collect::<Vec<_>>().join(" ");
    let meets = flat(of("165 F", ""));
    assert!(
        meets.contains("published minimum 165 F in the middle (USDA FSIS"),
        "{meets}"
    );
    assert!(!meets.contains("SAFETY"), "{meets}");
    let below = flat(of("160 F", ", brined: yes"));
    assert!(
        below.contains(
            "SAFETY: below the published minimum of 165 F for the breast; the published \
                        hold table (FSIS, 160 F, 12 % fat) asks for 27 s there"
        ),
        "{below}"
    );
    assert!(below.contains("take no margin from the table"), "{below}");
    let far = flat(of("130 F", ""));
    assert!(
        far.contains("the published hold table begins at 136 F"),
        "{far}"
    );
}
