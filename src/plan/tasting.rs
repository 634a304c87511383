//! `tasting:`, the blind test that the cook ends with.

use super::model::*;
use super::names;
use super::problem::Desk;
use super::quantity::{self, Reading};
use super::registry::{Kind, Registry};
use super::table::Table;
use super::tree::Node;
use crate::tasting::{MAX_TASTERS, Test};

pub(super) const TESTS: &[(&str, Test)] = &[
    ("triangle", Test::Triangle),
    ("duo-trio", Test::DuoTrio),
    ("preference", Test::PairedPreference),
    ("difference", Test::PairedDifference),
];

/// Samples must be known, tell apart, and be of items that `items` has enough pieces of.
pub(super) fn tasting(
    node: &Node,
    registry: &Registry,
    items: &[Item],
    samples: &[Sample],
    desk: &mut Desk<'_>,
) -> Option<TastingPlan> {
    let mut table = Table::open(node, node.at, "the tasting", "tasting", desk)?;
    let test = table.choose("test", desk, TESTS);
    table.missing(
        "test",
        "`test: triangle` (or duo-trio, preference, difference)",
        desk,
    );
    let mut compared = Vec::new();
    for (text, at) in table.texts("samples", desk) {
        match registry.find(&text, &[Kind::Sample]) {
            Ok(found) => compared.extend(found.map(|(_, id)| id)),
            Err(fault) => desk.problem(
                at,
                format!("`samples`: {}", fault.what),
                fault.write_instead,
            ),
        }
    }
    table.missing(
        "samples",
        "`samples:` and the one done differently, alone (then it is compared with its unmarked twins) or with the one it is compared with",
        desk,
    );
    let at = table.key_at("samples");
    match compared.as_slice() {
        [a, b] if a == b => desk.problem(
            at,
            "`samples`: both are the same",
            "two different samples, or one alone",
        ),
        [] | [_, _] => {}
        [one] => {
            let twins = samples.iter().find(|s| s.id == *one).map(|sample| {
                let marked = samples.iter().filter(|s| s.of == sample.of).count();
                let of = items.iter().find(|i| i.id == sample.of);
                of.map_or(0, |i| i.pieces as usize).saturating_sub(marked)
            });
            if twins == Some(0) {
                desk.problem(
                    at,
                    "`samples`: it has no unmarked twin to be compared with",
                    "two samples, or more `pieces` of its item",
                );
            }
        }
        _ => desk.problem(
            at,
            "`samples`: a blind test compares two, not more",
            "one sample, or two in brackets: [test chop, plain chop]",
        ),
    }
    let tasters = table.read("tasters", desk, |text| {
        quantity::count(text, u32::from(MAX_TASTERS))
    });
    let language = registry.language().to_owned();
    let attribute = table.read("attribute", desk, |text| -> Reading<String> {
        names::spoken(text, &language)
    });
    let wants = test == Some(Test::PairedDifference);
    if wants && !table.has("attribute") {
        desk.problem(
            node.at,
            "a difference test asks for more of something",
            "`attribute:` and how it is asked for, such as saltier, crisper or more tender",
        );
    }
    if test.is_some() && !wants && table.has("attribute") {
        desk.problem(
            table.key_at("attribute"),
            "only a difference test asks for an attribute",
            "`test: difference`, or leave the line out",
        );
    }
    table.close(desk);
    Some(TastingPlan {
        test: test?,
        samples: compared,
        tasters: tasters.and_then(|n| u16::try_from(n).ok()),
        attribute,
    })
}
