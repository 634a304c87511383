//! Steps: what is said, when it may begin, what ends it.

use std::time::Duration;

use super::amounts;
use super::holding;
use super::model::*;
use super::problem::{Desk, Fault};
use super::quantity;
use super::registry::{Kind, Registry};
use super::table::Table;
use super::things::{YES_NO, in_sense, refer, sentence, words};
use super::tree::Value;

/// What a step's references are resolved against.
pub(super) struct Around<'a> {
    pub(super) registry: &'a Registry,
    pub(super) vessels: &'a [Vessel],
    pub(super) items: &'a [Item],
    /// The step written just before.
    pub(super) previous: Option<Id>,
}

/// A step, and the pieces and samples that its `holds` names before "all the
/// others" is worked out.
pub(super) struct DraftStep {
    pub(super) step: Step,
    pub(super) holds: Vec<holding::Written>,
}

pub(super) fn step(
    id: Id,
    names: Vec<String>,
    table: &mut Table<'_>,
    around: &Around<'_>,
    desk: &mut Desk<'_>,
) -> DraftStep {
    let registry = around.registry;
    let say = words(table, "say", desk);
    table.missing(
        "say",
        "`say:` and what the cook is told when it begins",
        desk,
    );
    let after = after(table, around, desk);
    let hands_on = table.read("hands on", desk, quantity::duration);
    let wait = table.read("wait", desk, quantity::duration_span);
    let vessel = refer(table, "vessel", &[Kind::Vessel], registry, desk);
    let layout = vessel
        .as_ref()
        .and_then(|id| around.vessels.iter().find(|v| v.id == *id))
        .map(|v| v.places);
    let holds = holding::read(table, layout, registry, around.items, desk);
    let flip_every = table.read("flip every", desk, |text| {
        let every = quantity::duration(text)?;
        if every < Duration::from_secs(10) {
            return Err(Fault::new(
                format!("nobody flips every `{}`", text.trim()),
                "10 s or more, such as 4 min",
            ));
        }
        Ok(every)
    });
    let until = until(table, desk);
    let out_to = refer(table, "out to", &[Kind::Vessel], registry, desk);
    let finish_with = list_of_steps(table, "finish with", registry, desk);
    let rest = table.read("rest", desk, quantity::duration_span);
    let takes = table.read("takes", desk, |text| {
        let span = quantity::duration_span(text)?;
        if span.hi == Duration::ZERO {
            return Err(Fault::new(
                format!("`{}` is no time at all", text.trim()),
                "the time you think it takes, such as 20 min .. 30 min",
            ));
        }
        Ok(span)
    });
    let cools = table.choose("cools", desk, YES_NO).unwrap_or(false);
    let brine = amounts::brine(table, desk);
    let oil = amounts::oil(table, desk);
    let breading = amounts::breading(table, desk);
    let cautions = table
        .texts("caution", desk)
        .into_iter()
        .filter_map(|(text, at)| sentence(&text, "caution", at, desk))
        .collect();
    DraftStep {
        step: Step {
            id,
            names,
            say: say.unwrap_or_default(),
            after,
            hands_on,
            wait,
            vessel,
            holds: Vec::new(),
            flip_every,
            until,
            out_to,
            finish_with,
            rest,
            takes,
            cools,
            brine,
            oil,
            breading,
            cautions,
        },
        holds,
    }
}

/// `after: start` begins at once; without the key a step follows the one written before it.
fn after(table: &mut Table<'_>, around: &Around<'_>, desk: &mut Desk<'_>) -> Vec<Id> {
    if !table.has("after") {
        // Read all the same, so that the key is a known one.
        table.texts("after", desk);
        return around.previous.iter().cloned().collect();
    }
    let texts = table.texts("after", desk);
    if let [(only, _)] = &texts[..]
        && only.eq_ignore_ascii_case("start")
    {
        return Vec::new();
    }
    steps_named(texts, "after", around.registry, desk)
}

fn list_of_steps(
    table: &mut Table<'_>,
    key: &'static str,
    registry: &Registry,
    desk: &mut Desk<'_>,
) -> Vec<Id> {
    let texts = table.texts(key, desk);
    steps_named(texts, key, registry, desk)
}

fn steps_named(
    texts: Vec<(String, super::problem::Mark)>,
    key: &str,
    registry: &Registry,
    desk: &mut Desk<'_>,
) -> Vec<Id> {
    let mut ids: Vec<Id> = Vec::new();
    for (text, at) in texts {
        match registry.find(&text, &[Kind::Step]) {
            Ok(None) => {}
            Ok(Some((_, id))) if ids.contains(&id) => desk.problem(
                at,
                format!("`{key}` names `{text}` a second time"),
                "it once",
            ),
            Ok(Some((_, id))) => ids.push(id),
            Err(fault) => desk.problem(at, format!("`{key}`: {}", fault.what), fault.write_instead),
        }
    }
    ids
}

fn until(table: &mut Table<'_>, desk: &mut Desk<'_>) -> Vec<Until> {
    const EXAMPLE: &str = "`until: {core: 145 F}`; its keys are time, core, medium and word";
    let Some(node) = table.node("until", desk) else {
        return Vec::new();
    };
    if !matches!(node.value, Value::Map(_)) {
        desk.problem(
            node.at,
            format!("`until` is {}, not keys", node.value.kind()),
            EXAMPLE,
        );
        return Vec::new();
    }
    let path = table.path_of("until");
    let Some(mut table) = Table::open(node, node.at, "`until`", path, desk) else {
        return Vec::new();
    };
    let mut ends = Vec::new();
    ends.extend(
        table
            .read("time", desk, quantity::duration_span)
            .map(Until::Time),
    );
    ends.extend(
        table
            .read("core", desk, |text| {
                in_sense(
                    text,
                    20.0,
                    110.0,
                    "the temperature inside the piece when it is done, such as 145 F or 63 C",
                )
            })
            .map(Until::Core),
    );
    ends.extend(
        table
            .read("medium", desk, |text| {
                let window = quantity::temperature_span(text)?;
                if window.lo.0 < -30.0 || window.hi.0 > 300.0 {
                    return Err(Fault::new(
                        format!("`{}` makes no sense for oil, sugar or an oven", text.trim()),
                        "the window of what the food sits in, such as 340 F .. 350 F",
                    ));
                }
                Ok(window)
            })
            .map(Until::Medium),
    );
    ends.extend(words(&mut table, "word", desk).map(Until::Word));
    table.close(desk);
    ends
}
