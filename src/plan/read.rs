//! From the tree to a checked plan: the sections in order, then the whole.

use super::amounts;
use super::checks::Whole;
use super::hearing;
use super::holding;
use super::model::*;
use super::names::short;
use super::order::Order;
use super::problem::{Desk, Fault, Mark};
use super::quantity::{self, Reading};
use super::registry::{Kind, Registry};
use super::steps::{self, Around, DraftStep};
use super::table::Table;
use super::tasting;
use super::things::{self, Draft};
use super::tree::{Node, Value};

/// Everything readable of a plan. Worth having only if the desk holds no problem.
pub(super) fn plan(root: &Node, desk: &mut Desk<'_>) -> Option<Plan> {
    if matches!(root.value, Value::Nothing) {
        desk.problem(
            Mark::START,
            "the file is empty",
            "a plan; its first line is `plan: ` and the title",
        );
        return None;
    }
    let mut table = Table::open(root, root.at, "a plan", "", desk)?;
    let title = things::words(&mut table, "plan", desk);
    table.missing("plan", "`plan:` and the title of the cook", desk);
    let language = table
        .read("language", desk, language)
        .unwrap_or_else(|| "en".to_owned());
    let units = table.choose(
        "units",
        desk,
        &[
            ("fahrenheit", Units::Fahrenheit),
            ("celsius", Units::Celsius),
        ],
    );
    table.missing("units", "`units: fahrenheit` or `units: celsius`", desk);
    let altitude_m = table.read("altitude", desk, quantity::altitude);
    let room = table.read("room", desk, |text| {
        things::in_sense(
            text,
            -10.0,
            60.0,
            "how warm your kitchen is, such as 75 F or 24 C",
        )
    });
    let hands = table.read("hands", desk, |text| quantity::count(text, 8));
    let burners = table.read("burners", desk, |text| quantity::count(text, 12));
    let serve = table.read("serve", desk, serving_time);

    let portions = table.read("portions", desk, |text| quantity::count(text, 500));
    let (mut hearing, pronounced) = hearing::hearing(&mut table, &language, desk);

    let items = table.node("items", desk);
    let samples = table.node("samples", desk);
    let ingredients = table.node("ingredients", desk);
    let vessels = table.node("vessels", desk);
    let steps = table.node("steps", desk);
    let tasted = table.node("tasting", desk);
    table.missing(
        "steps",
        "`steps:`, below it a name for each step and its keys",
        desk,
    );
    if let Some(node) = steps
        && matches!(&node.value, Value::Map(entries) if entries.is_empty())
    {
        desk.problem(
            node.at,
            "no steps",
            "a name for each step, and its keys below it",
        );
    }
    table.close(desk);

    // All names first: a step may wait for one that is written below it.
    let mut registry = Registry::new(&language);
    let items = things::entered(Kind::Item, items, &mut registry, desk);
    let samples = things::entered(Kind::Sample, samples, &mut registry, desk);
    let vessels = things::entered(Kind::Vessel, vessels, &mut registry, desk);
    let steps = things::entered(Kind::Step, steps, &mut registry, desk);

    let ingredients = amounts::ingredients(ingredients, &registry, desk);
    let items = things::each(
        Kind::Item,
        items,
        &mut registry,
        desk,
        |id, names, t, _, d| things::item(id, names, t, d),
    );
    let samples = things::each(
        Kind::Sample,
        samples,
        &mut registry,
        desk,
        |id, n, t, r, d| things::sample(id, n, t, r, d),
    );
    let vessels = things::each(
        Kind::Vessel,
        vessels,
        &mut registry,
        desk,
        |id, n, t, _, d| things::vessel(id, n, t, d),
    );
    let item_list: Vec<Item> = items.iter().map(|d| d.thing.clone()).collect();
    let sample_list: Vec<Sample> = samples.iter().map(|d| d.thing.clone()).collect();
    let vessel_list: Vec<Vessel> = vessels.iter().map(|d| d.thing.clone()).collect();
    let mut previous = None;
    let mut steps = things::each(
        Kind::Step,
        steps,
        &mut registry,
        desk,
        |id, names, t, r, d| {
            let around = Around {
                registry: r,
                vessels: &vessel_list,
                items: &item_list,
                previous: previous.replace(id.clone()).filter(|before| *before != id),
            };
            steps::step(id, names, t, &around, d)
        },
    );
    for draft in &mut steps {
        draft.thing.step.holds = holding::spell_out(&draft.thing.holds, &item_list, &sample_list);
    }

    let tasting =
        tasted.and_then(|node| tasting::tasting(node, &registry, &item_list, &sample_list, desk));

    let named: Vec<&[String]> = items
        .iter()
        .map(|d| d.thing.names.as_slice())
        .chain(samples.iter().map(|d| d.thing.names.as_slice()))
        .chain(vessels.iter().map(|d| d.thing.names.as_slice()))
        .chain(steps.iter().map(|d| d.thing.step.names.as_slice()))
        .collect();
    hearing::fit(&mut hearing, pronounced, &named, desk);

    let order = ordered(&steps, desk);
    Whole {
        items: &items,
        samples: &samples,
        vessels: &vessels,
        steps: &steps,
        order: &order,
    }
    .check(desk);

    let steps = order
        .sorted
        .iter()
        .filter_map(|&i| steps.get(i))
        .map(|d| d.thing.step.clone())
        .collect();
    Some(Plan {
        title: title.unwrap_or_default(),
        language,
        // Without it there is a problem, as there is without a title.
        units: units.unwrap_or(Units::Celsius),
        altitude_m: altitude_m.unwrap_or(0.0),
        room,
        hands: hands.unwrap_or(1),
        burners,
        serve,
        portions,
        items: item_list,
        samples: sample_list,
        ingredients,
        vessels: vessel_list,
        steps,
        tasting,
        hearing,
    })
}

fn ordered(steps: &[Draft<DraftStep>], desk: &mut Desk<'_>) -> Order {
    let ids: Vec<&Id> = steps.iter().map(|d| &d.thing.step.id).collect();
    let after: Vec<&[Id]> = steps
        .iter()
        .map(|d| d.thing.step.after.as_slice())
        .collect();
    let (order, rings) = Order::of(&ids, &after);
    for ring in rings {
        let name = |index: usize| {
            steps
                .get(index)
                .and_then(|d| d.thing.step.names.first())
                .map_or("", String::as_str)
        };
        let round = ring.iter().chain(ring.first());
        let names: Vec<&str> = round.map(|&i| name(i)).collect();
        let at = ring
            .first()
            .and_then(|&i| steps.get(i))
            .map_or(Mark::START, |d| {
                desk.marks.nearest(&format!("{}/after", d.path))
            });
        desk.problem(
            at,
            if let [only] = ring[..] {
                format!("`after`: `{}` waits for itself", name(only))
            } else {
                format!(
                    "the steps wait for one another in a ring: `{}`",
                    names.join("` after `")
                )
            },
            "`after:` without one of them",
        );
    }
    order
}

/// The primary tag of BCP 47: two or three small letters.
fn language(text: &str) -> Reading<String> {
    if (2..=3).contains(&text.len()) && text.chars().all(|c| c.is_ascii_lowercase()) {
        Ok(text.to_owned())
    } else {
        Err(Fault::new(
            format!("`{}` is no language tag", short(text)),
            "two or three small letters, such as en or ko",
        ))
    }
}

const DAYS: [&str; 7] = [
    "monday",
    "tuesday",
    "wednesday",
    "thursday",
    "friday",
    "saturday",
    "sunday",
];

/// `19:00`, `sunday 19:00` → lower case, hours with two digits.
fn serving_time(text: &str) -> Reading<String> {
    let fault = || {
        Fault::new(
            format!("`{}` is no time of day", short(text)),
            "19:00, or sunday 19:00",
        )
    };
    let lower = text.to_lowercase();
    let (day, time) = match lower.split_once(' ') {
        Some((day, time)) => (Some(day), time.trim()),
        None => (None, lower.as_str()),
    };
    if day.is_some_and(|day| !DAYS.contains(&day)) {
        return Err(fault());
    }
    let (hours, minutes) = time.split_once(':').ok_or_else(fault)?;
    let two = |text: &str| text.len() <= 2 && text.chars().all(|c| c.is_ascii_digit());
    if !two(hours) || !two(minutes) || minutes.len() != 2 {
        return Err(fault());
    }
    let h: u32 = hours.parse().map_err(|_| fault())?;
    let m: u32 = minutes.parse().map_err(|_| fault())?;
    if h > 23 || m > 59 {
        return Err(fault());
    }
    Ok(match day {
        Some(day) => format!("{day} {h:02}:{m:02}"),
        None => format!("{h:02}:{m:02}"),
    })
}
