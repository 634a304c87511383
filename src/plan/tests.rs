//! What needs the inside of the room: the tree against another YAML reader, the step
//! order against brute force.

use proptest::prelude::*;

use super::model::Id;
use super::order::Order;
use super::problem::{Desk, Mark};
use super::tree::{self, Entry, Node, Value};
use super::{read, source};

const PLANS: [&str; 3] = [
    include_str!("../../plans/pork-chops-two-brines.yaml"),
    include_str!("../../plans/overnight-lamb-shoulder.yaml"),
    include_str!("../../plans/two-caramels.yaml"),
];

fn ours(text: &str) -> Option<Node> {
    let mut desk = Desk::new("plan.yaml");
    let root = source::clean(text, &mut desk).and_then(|text| tree::parse(text, &mut desk))?;
    (desk.count() == 0).then_some(root)
}

/// The same tree from serde_yaml, which reads with another parser altogether
/// (libyaml, translated). Places are lost; plain scalars come resolved.
fn theirs(value: &serde_yaml::Value) -> Option<Node> {
    use serde_yaml::Value as Y;
    let value = match value {
        Y::Null => Value::Nothing,
        Y::Bool(b) => Value::Text(b.to_string()),
        Y::Number(n) => Value::Text(n.to_string()),
        Y::String(s) => Value::Text(s.clone()),
        Y::Sequence(list) => Value::List(list.iter().map(theirs).collect::<Option<_>>()?),
        Y::Mapping(map) => Value::Map(
            map.iter()
                .map(|(k, v)| {
                    let Value::Text(key) = theirs(k)?.value else {
                        return None;
                    };
                    Some(Entry {
                        key,
                        at: Mark::START,
                        value: theirs(v)?,
                    })
                })
                .collect::<Option<_>>()?,
        ),
        Y::Tagged(_) => return None,
    };
    Some(Node {
        at: Mark::START,
        value,
    })
}

/// Equal but for places, and for how a plain number was written (`1.50`, `0x1f`).
fn same(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Nothing, Value::Nothing) => true,
        (Value::Text(a), Value::Text(b)) => {
            a == b
                || serde_yaml::from_str::<serde_yaml::Value>(a).is_ok_and(|v| {
                    theirs(&v).is_some_and(|node| node.value == Value::Text(b.clone()))
                })
        }
        (Value::List(a), Value::List(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same(&a.value, &b.value))
        }
        (Value::Map(a), Value::Map(b)) => {
            a.len() == b.len()
                && a.iter().zip(b).all(|(a, b)| {
                    same(&Value::Text(a.key.clone()), &Value::Text(b.key.clone()))
                        && same(&a.value.value, &b.value.value)
                })
        }
        _ => false,
    }
}

/// Whatever both readers accept they read alike, and it becomes the same plan.
fn agree(text: &str) -> Result<bool, TestCaseError> {
    let Some(ours) = ours(text) else {
        return Ok(false);
    };
    let Ok(value) = serde_yaml::from_str::<serde_yaml::Value>(text) else {
        return Ok(false);
    };
    let Some(theirs) = theirs(&value) else {
        return Ok(false);
    };
    prop_assert!(
        same(&ours.value, &theirs.value),
        "{text:?}\nours: {ours:#?}\ntheirs: {theirs:#?}"
    );
    let mut desk = (Desk::new("plan.yaml"), Desk::new("plan.yaml"));
    let plans = (
        read::plan(&ours, &mut desk.0),
        read::plan(&theirs, &mut desk.1),
    );
    prop_assert_eq!(desk.0.count(), desk.1.count());
    prop_assert_eq!(plans.0, plans.1);
    Ok(true)
}

#[test]
fn both_readers_read_the_shipped_plans_alike() {
    for plan in PLANS {
        assert!(agree(plan).unwrap_or_else(|e| panic!("{e}")));
    }
}

/// A few random edits to a shipped plan.
fn edited() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        Just(""),
        Just(" "),
        Just("\n"),
        Just("\n  "),
        Just(":"),
        Just(": "),
        Just("- "),
        Just("'"),
        Just("\""),
        Just("{"),
        Just("}"),
        Just("["),
        Just("]"),
        Just(","),
        Just("#"),
        Just(" #"),
        Just("|"),
        Just(">-"),
        Just("~"),
        Just("12"),
        Just("°"),
        Just("null"),
        Just("true"),
        Just("0x1f"),
        Just("1_000"),
        Just(".5"),
        Just("é"),
    ];
    (
        0..PLANS.len(),
        prop::collection::vec((any::<prop::sample::Index>(), 0..4usize, piece), 1..5),
    )
        .prop_map(|(which, edits)| {
            let mut chars: Vec<char> = PLANS.get(which).copied().unwrap_or("").chars().collect();
            for (at, cut, piece) in edits {
                let at = at.index(chars.len() + 1);
                let end = (at + cut).min(chars.len());
                chars.splice(at..end, piece.chars());
            }
            chars.into_iter().collect()
        })
}

/// Small documents of plain, quoted and block scalars, lists and groups.
fn written() -> impl Strategy<Value = String> {
    let scalar = prop_oneof![
        "[a-z][a-z ]{0,6}[a-z]".prop_map(|s| s),
        "[0-9]{1,3} (min|h|F|g)",
        "[0-9]{1,4}",
        "'[a-z ]{0,5}'",
        "\"[a-z ]{0,5}\"",
        Just("12 h .. 16 h".to_owned()),
        Just("~".to_owned()),
        Just("yes".to_owned()),
    ];
    let flow = scalar.prop_recursive(3, 12, 4, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..4).prop_map(|v| format!("[{}]", v.join(", "))),
            prop::collection::vec(inner, 0..4).prop_map(|v| {
                let pairs: Vec<String> = v
                    .iter()
                    .enumerate()
                    .map(|(i, v)| format!("k{i}: {v}"))
                    .collect();
                format!("{{{}}}", pairs.join(", "))
            }),
        ]
    });
    prop::collection::vec(flow, 1..6).prop_map(|values| {
        values
            .iter()
            .enumerate()
            .map(|(i, v)| match i % 3 {
                0 => format!("key {i}: {v}\n"),
                1 => format!("key {i}:\n  - {v}\n  - {v}\n"),
                _ => format!("key {i}:\n  below: {v}\n  text: >-\n    some\n    words\n"),
            })
            .collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn both_readers_read_edited_plans_alike(text in edited()) {
        agree(&text)?;
    }

    #[test]
    fn both_readers_read_small_documents_alike(text in written()) {
        prop_assert!(agree(&text)?, "one of them refuses {text:?}");
    }

    /// Every subset of at most ten steps, tried one by one.
    #[test]
    fn the_heaviest_set_at_once_is_what_trying_all_gives(
        weights in prop::collection::vec(0u32..7, 1..10),
        links in prop::collection::vec((0usize..10, 0usize..10), 0..16),
    ) {
        let n = weights.len();
        let ids: Vec<Id> = (0..n).map(|i| format!("s{i}")).collect();
        // Links from later to earlier steps only, so that there is no ring.
        let after: Vec<Vec<Id>> = (0..n)
            .map(|i| links.iter().filter(|(a, b)| *a == i && b < a).map(|(_, b)| ids[*b].clone()).collect())
            .collect();
        let ids: Vec<&Id> = ids.iter().collect();
        let after: Vec<&[Id]> = after.iter().map(Vec::as_slice).collect();
        let (order, rings) = Order::of(&ids, &after);
        prop_assert!(rings.is_empty());
        let best = (0u32..1 << n)
            .filter(|set| {
                (0..n).all(|a| (0..a).all(|b| {
                    set & (1 << a) == 0 || set & (1 << b) == 0 || order.at_once(a, b)
                }))
            })
            .map(|set| (0..n).filter(|i| set & (1 << i) != 0).map(|i| weights[i]).sum::<u32>())
            .max()
            .unwrap_or(0);
        let (found, members) = order.heaviest_at_once(&weights);
        prop_assert_eq!(found, best);
        prop_assert_eq!(members.iter().map(|&i| weights[i]).sum::<u32>(), best);
        for &a in &members {
            for &b in &members {
                prop_assert!(a == b || order.at_once(a, b));
            }
        }
    }

    /// A ring is found exactly when some step comes to wait for itself.
    #[test]
    fn rings_are_found_exactly_when_there_are_some(
        n in 1usize..9,
        links in prop::collection::vec((0usize..9, 0usize..9), 0..14),
    ) {
        let links: Vec<_> = links.into_iter().filter(|(a, b)| *a < n && *b < n).collect();
        let ids: Vec<Id> = (0..n).map(|i| format!("s{i}")).collect();
        let after: Vec<Vec<Id>> = (0..n)
            .map(|i| links.iter().filter(|(a, _)| *a == i).map(|(_, b)| ids[*b].clone()).collect())
            .collect();
        let mut reach = vec![vec![false; n]; n];
        for &(a, b) in &links {
            reach[a][b] = true;
        }
        for k in 0..n { for a in 0..n { for b in 0..n {
            reach[a][b] |= reach[a][k] && reach[k][b];
        }}}
        let ids: Vec<&Id> = ids.iter().collect();
        let after: Vec<&[Id]> = after.iter().map(Vec::as_slice).collect();
        let (order, rings) = Order::of(&ids, &after);
        prop_assert_eq!(rings.is_empty(), (0..n).all(|i| !reach[i][i]));
        prop_assert_eq!(rings.is_empty(), order.sorted.len() == n);
        for ring in rings {
            for (i, &step) in ring.iter().enumerate() {
                let next = ring[(i + 1) % ring.len()];
                prop_assert!(links.contains(&(step, next)), "{ring:?} in {links:?}");
            }
        }
    }
}
