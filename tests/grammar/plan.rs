//! Small plans for tests of the grammar, read as a cook writes them.

use hobcall::plan::Plan;

/// Six pork chops in two skillets, one of them marked.
pub const CHOPS: &str = "\
plan: six chops, two skillets
units: fahrenheit
items:
  chops: {also called: chop, pieces: 6, class: whole cut}
samples:
  test chop: {of: chops, mark: a pick through the fat edge}
vessels:
  brine tub: {kind: bowl}
  left skillet: {kind: skillet, places: left middle right}
  right skillet: {kind: skillet, places: left middle right}
  rack: {kind: rack, places: grid 2 x 3}
steps:
  brine:
    after: start
    say: Chops into the brine.
    vessel: brine tub
    holds: chops
    wait: 12 h
  fry:
    after: brine
    say: Three chops in each skillet.
    hands on: 2 min
    until: {word: they are brown}
";

pub fn read(text: &str) -> Plan {
    match hobcall::plan::read(text, "test.yaml") {
        Ok(checked) => checked.plan,
        Err(problems) => panic!("{problems:#?}"),
    }
}

pub fn chops() -> Plan {
    read(CHOPS)
}
