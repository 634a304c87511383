//! The sums of whole plans, and what the reader refuses.

use hobcall::plan::{self, Plan};
use hobcall::prep::scale::Bought;
use hobcall::prep::sums;

use super::near;

const FRY: &str = "\
plan: A fry
units: fahrenheit
portions: 4
items:
  cutlet: {pieces: 8, piece mass: 120 g, thickness: 15 mm, class: whole cut}
ingredients:
  table salt: {amount: 2 tsp}
  flour: {amount: 2 cups, with: cutlet, scales: surface}
  paprika: {amount: 10 g}
  eggs: {amount: 2 pieces}
  lemon: {scales: to taste}
  oil: {amount: 500 ml, scales: vessel}
vessels:
  tub: {kind: bowl}
  pan: {kind: skillet, diameter: 12 in, floor: 10 in, depth: 3 in}
steps:
  brining:
    say: Into the brine.
    vessel: tub
    holds: cutlet
    wait: 12 h .. 24 h
    brine: {way: bath, liquid: 1 l, in the meat: 1.2 %}
  frying:
    say: Into the oil.
    vessel: pan
    holds: 4 cutlet
    breading: [flour, egg, crumb]
    oil: {up to: 50 %, at: 340 F}
    until: {time: 6 min}
";

fn read(text: &str) -> Plan {
    plan::read(text, "fry.yaml")
        .unwrap_or_else(|p| panic!("{p:?}"))
        .plan
}

fn lines(plan: &Plan, bought: &Bought) -> String {
    sums::page(&sums::sums(plan, bought))
}

#[test]
fn the_page_of_a_fry_worked_by_hand() {
    let plan = read(FRY);
    let brining = plan.steps.iter().find(|s| s.id == "brining").unwrap();
    // 960 g of meat with 73.9 % water: 709.4 g; a litre of water by the cup of 237 g is
    // 1001.7 g; 0.012 / 0.739 x 1711.2 = 27.8 g.
    near(sums::brine_of(brining, &plan).unwrap().salt_g, 27.8, 0.1);
    let page = lines(&plan, &Bought::default());
    assert!(page.contains("Salt to weigh: 28 g"), "{page}");
    assert!(page.contains("paprika: 10 g"), "{page}");
    assert!(page.contains("eggs: 2\n"), "{page}");
    assert!(page.contains("lemon: to taste"), "{page}");
    assert!(
        page.contains("flour: 2 cups or 125 g") || page.contains("flour: 2 cups or 250 g"),
        "{page}"
    );
    // 7.5 mm up pieces of 15 mm.
    let frying = plan.steps.iter().find(|s| s.id == "frying").unwrap();
    let (_, _, oil) = sums::oil_of(frying, &plan).unwrap();
    near(oil.with_food_mm, 7.5, 0.01);
    assert!(page.contains("50 % up the pieces"), "{page}");
    assert!(page.contains("CAUTION"), "{page}");
}

#[test]
fn scaling_goes_by_what_was_bought() {
    let plan = read(FRY);
    let six = Bought {
        portions: Some(6.0),
        ..Bought::default()
    };
    let page = lines(&plan, &six);
    assert!(page.contains("paprika: 15 g"), "{page}");
    assert!(page.contains("eggs: 3\n"), "{page}");
    // A pan of oil stays a pan of oil.
    assert!(page.contains("oil: 2 cups"), "{page}");
    // Eight pieces of twice the mass: twice the spice; flour by the two-thirds power, 1.59.
    let heavy = Bought {
        mass_g: vec![("cutlet".into(), 1920.0)],
        ..Bought::default()
    };
    let factor = heavy.of_item(&plan.items[0], &plan);
    near(factor.mass, 2.0, 1e-12);
    near(factor.surface, 2f64.powf(2.0 / 3.0), 1e-12);
    near(
        heavy.apply(&plan).items[0].piece_mass_g.unwrap(),
        240.0,
        1e-9,
    );
    near(
        heavy.apply(&plan).items[0].thickness_mm.unwrap(),
        15.0 * 2f64.cbrt(),
        1e-9,
    );
    assert!(lines(&plan, &heavy).contains("paprika: 20 g"));
    // Twelve of the same size.
    let more = Bought {
        pieces: vec![("cutlet".into(), 12)],
        ..Bought::default()
    };
    let real = more.apply(&plan);
    assert_eq!(real.items[0].pieces, 12);
    near(real.items[0].piece_mass_g.unwrap(), 120.0, 1e-9);
    near(more.of_item(&plan.items[0], &plan).surface, 1.5, 1e-12);
    assert!(lines(&plan, &more).contains("1.44 kg"));
}

/// Every problem of a text, `line:column what`, as the reader gives them.
fn wrong(text: &str) -> Vec<(usize, usize, String)> {
    plan::read(text, "x")
        .expect_err("no problem found")
        .into_iter()
        .map(|p| (p.line, p.column, format!("{}; {}", p.what, p.write_instead)))
        .collect()
}

#[test]
fn all_problems_of_a_plan_come_in_one_run() {
    let text = "\
plan: Wrong
units: celsius
items:
  leg: {class: poultry, piece mass: -200 g}
  wing: {class: poultry, pieces: 4}
ingredients:
  sea salt: {amount: 2 tbsp}
  pepper: {amount: 5}
vessels:
  pan: {kind: skillet}
  tub: {kind: bowl}
steps:
  soak:
    after: drain
    say: A.
    vessel: tub
    holds: wing
    wait: 50 h .. 60 h
    brine: {way: bath, liquid: 1 l, in the liquid: 30 %}
  drain:
    after: soak
    say: B.
    wait: 16 h .. 12 h
  sear:
    after: start
    say: C.
    vessel: pan
    holds: 2 wing
    oil: {depth: 12 mm, pour: 1 l}
  crisp:
    after: start
    say: D.
    vessel: pan
";
    let found = wrong(text);
    let at = |line: usize, words: &str| {
        assert!(
            found
                .iter()
                .any(|(l, _, what)| *l == line && what.contains(words)),
            "line {line}: {words}\n{found:#?}"
        );
    };
    at(4, "less than nothing");
    at(5, "needs the mass of `wing`");
    at(5, "needs the thickness of `wing`");
    at(7, "by its crystals");
    at(8, "has no unit");
    at(10, "which has no size");
    at(14, "in a ring");
    at(18, "in a wet brine");
    at(19, "does not dissolve");
    at(23, "runs the wrong way round");
    at(29, "all say how much oil");
    at(33, "may be in this vessel at the same time");
}

#[test]
fn salt_by_the_spoon_is_asked_for_by_its_crystals() {
    let text = "plan: A\nunits: celsius\ningredients:\n  kosher salt: {amount: 1 tbsp, is: light flake salt}\nsteps: {a: {say: A.}}\n";
    let page = lines(&read(text), &Bought::default());
    // One tablespoon is three teaspoons of 3.1 g to 4.7 g.
    assert!(page.contains("(9 g .. 14 g)"), "{page}");
}
