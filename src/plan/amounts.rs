//! Reads what a plan says about amounts: ingredients, brine, oil, breading.

use super::names::short;
use super::needs::*;
use super::problem::{Desk, Fault};
use super::quantity;
use super::registry::{Kind, Registry};
use super::table::{self, Table};
use super::things::{in_sense, refer, sentence};
use super::tree::{Node, Value};
use crate::prep::brine::Wanted;
use crate::prep::oil::Pour;
use crate::prep::tables::{STUFF, Stuff};

const MOST_INGREDIENTS: usize = 64;

const SCALES: &[(&str, Scales)] = &[
    ("linear", Scales::Linear),
    ("surface", Scales::Surface),
    ("vessel", Scales::Vessel),
    ("to taste", Scales::ToTaste),
];

const SALTS: &[(&str, Stuff)] = &[
    ("table salt", Stuff::TableSalt),
    ("dense flake salt", Stuff::DenseFlakeSalt),
    ("light flake salt", Stuff::LightFlakeSalt),
];

const WHICH_SALT: &str =
    "its mass, such as 18 g; or `is: table salt` (or dense flake salt, light flake salt)";

pub(super) fn ingredients(
    node: Option<&Node>,
    registry: &Registry,
    desk: &mut Desk<'_>,
) -> Vec<Ingredient> {
    let Some(node) = node else {
        return Vec::new();
    };
    let entries = table::named(node, "ingredients", desk);
    if let Some(beyond) = entries.get(MOST_INGREDIENTS) {
        desk.problem(
            beyond.at,
            format!("more than {MOST_INGREDIENTS} ingredients"),
            "a shorter plan, or several",
        );
    }
    let mut all: Vec<Ingredient> = Vec::new();
    for entry in entries.into_iter().take(MOST_INGREDIENTS) {
        let Some(name) = sentence(&entry.key, "ingredients", entry.at, desk) else {
            continue;
        };
        if all
            .iter()
            .any(|other| other.name.eq_ignore_ascii_case(&name))
        {
            desk.problem(
                entry.at,
                format!("`{}` stands here twice", short(&name)),
                "it once",
            );
        }
        let path = format!("ingredients/{name}");
        let what = format!("the ingredient `{}`", short(&name));
        if let Some(mut table) = Table::open(&entry.value, entry.at, what, path, desk) {
            all.push(ingredient(name, &mut table, registry, desk));
            table.close(desk);
        }
    }
    all
}

fn ingredient(
    name: String,
    table: &mut Table<'_>,
    registry: &Registry,
    desk: &mut Desk<'_>,
) -> Ingredient {
    let amount = table.read("amount", desk, quantity::amount);
    let is = table.choose("is", desk, STUFF);
    let scales = table
        .choose("scales", desk, SCALES)
        .unwrap_or(Scales::Linear);
    let with = refer(table, "with", &[Kind::Item], registry, desk);
    let to_taste = scales == Scales::ToTaste;
    if !table.has("amount") && !to_taste {
        table.missing(
            "amount",
            "`amount:` such as 18 g or 2 cups, or `scales: to taste`",
            desk,
        );
    }
    let stuff = is.or_else(|| {
        STUFF
            .iter()
            .find(|(word, _)| name.eq_ignore_ascii_case(word))
            .map(|(_, stuff)| *stuff)
    });
    let salty = name.to_lowercase().split_whitespace().next_back() == Some("salt");
    if let (Some(Amount::Volume(_)), None, true) = (amount, stuff, salty && !table.has("is")) {
        desk.problem(
            desk.marks.nearest(&table.path_of("amount")),
            "a teaspoon of salt weighs from 2.8 g to 6.5 g, by its crystals",
            WHICH_SALT,
        );
    }
    Ingredient {
        name,
        amount,
        stuff,
        scales,
        with,
    }
}

/// A group of keys inside a step.
fn inner<'t>(
    table: &mut Table<'t>,
    key: &'static str,
    example: &str,
    desk: &mut Desk<'_>,
) -> Option<Table<'t>> {
    let node = table.node(key, desk)?;
    if !matches!(node.value, Value::Map(_)) {
        desk.problem(
            node.at,
            format!("`{key}` is {}, not keys", node.value.kind()),
            example,
        );
        return None;
    }
    Table::open(node, node.at, format!("`{key}`"), table.path_of(key), desk)
}

pub(super) fn brine(table: &mut Table<'_>, desk: &mut Desk<'_>) -> Option<BrineNeed> {
    const EXAMPLE: &str = "`brine: {way: bath, liquid: 2 l, in the meat: 1.2 %}`";
    let mut table = inner(table, "brine", EXAMPLE, desk)?;
    let way = table.choose(
        "way",
        desk,
        &[
            ("bath", BrineWay::Bath),
            ("coating", BrineWay::Coating),
            ("dry", BrineWay::Dry),
        ],
    );
    table.missing("way", "`way: bath` (or coating, or dry)", desk);
    let liquid_ml = table.read("liquid", desk, quantity::volume);
    let in_meat = table.read("in the meat", desk, |t| salt_share(t, "1.2 %"));
    let in_liquid = table.read("in the liquid", desk, |t| salt_share(t, "6 %"));
    let salt = table.read("salt", desk, quantity::amount);
    let crystals = table.choose("crystals", desk, SALTS);
    let meat_water = table.read("meat water", desk, |text| {
        let percent = quantity::percent(text)?;
        if (20.0..=95.0).contains(&percent) {
            Ok(percent)
        } else {
            Err(Fault::new(
                format!("`{}` is no raw food", text.trim()),
                "its share of water, such as 74 %",
            ))
        }
    });
    let at = table.read("at", desk, |text| {
        in_sense(text, -5.0, 40.0, "how cold it is kept, such as 38 F or 4 C")
    });
    let told: Vec<&str> = ["in the meat", "in the liquid", "salt"]
        .into_iter()
        .filter(|key| table.has(key))
        .collect();
    match told[..] {
        [] => table.missing(
            "in the meat",
            "`in the meat: 1.2 %` (or `in the liquid: 6 %`, or `salt: 60 g`)",
            desk,
        ),
        [_] => {}
        [_, second, ..] => desk.problem(
            table.key_at(second),
            format!("`{}` all say how much salt", told.join("`, `")),
            "only one of them",
        ),
    }
    match way {
        Some(BrineWay::Dry) if table.has("liquid") => desk.problem(
            table.key_at("liquid"),
            "dry salting has no liquid",
            "no `liquid`, or `way: bath`",
        ),
        Some(BrineWay::Dry) if table.has("in the liquid") => desk.problem(
            table.key_at("in the liquid"),
            "dry salting has no liquid",
            "`in the meat: 1 %`",
        ),
        Some(BrineWay::Bath | BrineWay::Coating) => {
            table.missing("liquid", "`liquid:` and how much, such as 2 l", desk);
        }
        _ => {}
    }
    let salt_g = match salt {
        Some(Amount::Mass(g)) => Some(g),
        Some(Amount::Volume(ml)) => match crystals {
            Some(stuff) => Some(ml * stuff.density().likely),
            None => {
                desk.problem(
                    desk.marks.nearest(&table.path_of("salt")),
                    "a spoon or cup of salt differs by a factor of 2.3, by its crystals",
                    "its mass, such as 200 g; or `crystals: table salt` (or dense flake salt, light flake salt)",
                );
                None
            }
        },
        Some(Amount::Pieces(_)) => {
            desk.problem(
                desk.marks.nearest(&table.path_of("salt")),
                "salt is not counted",
                "its mass, such as 200 g",
            );
            None
        }
        None => None,
    };
    table.close(desk);
    let wanted = in_meat
        .map(Wanted::InMeat)
        .or(in_liquid.map(Wanted::InLiquid))
        .or(salt_g.map(Wanted::Salt))?;
    Some(BrineNeed {
        way: way?,
        liquid_ml,
        wanted,
        crystals,
        meat_water,
        at,
    })
}

fn salt_share(text: &str, example: &str) -> quantity::Reading<f64> {
    let percent = quantity::percent(text)?;
    if percent > 0.0 {
        Ok(percent)
    } else {
        Err(Fault::new(format!("`{}` is no salt", text.trim()), example))
    }
}

pub(super) fn oil(table: &mut Table<'_>, desk: &mut Desk<'_>) -> Option<OilNeed> {
    const EXAMPLE: &str = "`oil: {up to: 50 %, at: 340 F}`";
    let mut table = inner(table, "oil", EXAMPLE, desk)?;
    let depth = table.read("depth", desk, quantity::length);
    let pour = table.read("pour", desk, quantity::volume);
    let up_to = table.read("up to", desk, |t| salt_share(t, "50 %, which is halfway"));
    let at = table.read("at", desk, |text| {
        in_sense(
            text,
            60.0,
            240.0,
            "the frying temperature, such as 340 F or 170 C",
        )
    });
    let told: Vec<&str> = ["depth", "pour", "up to"]
        .into_iter()
        .filter(|key| table.has(key))
        .collect();
    match told[..] {
        [] => table.missing(
            "up to",
            "`up to: 50 %` of the pieces' height (or `depth: 1/2 in`, or `pour: 400 ml`)",
            desk,
        ),
        [_] => {}
        [_, second, ..] => desk.problem(
            table.key_at(second),
            format!("`{}` all say how much oil", told.join("`, `")),
            "only one of them",
        ),
    }
    table.close(desk);
    let pour = depth
        .map(|mm| Pour::Depth { mm })
        .or(pour.map(|ml| Pour::Volume { ml }))
        .or(up_to.map(|p| Pour::UpThePieces { share: p / 100.0 }))?;
    Some(OilNeed { pour, at })
}

pub(super) fn breading(table: &mut Table<'_>, desk: &mut Desk<'_>) -> Vec<Coat> {
    const COATS: &[(&str, Coat)] = &[
        ("flour", Coat::Flour),
        ("egg", Coat::Egg),
        ("crumb", Coat::Crumb),
        ("leavening", Coat::Leavening),
    ];
    let mut coats = Vec::new();
    for (text, at) in table.texts("breading", desk) {
        match table::choose(&text, COATS) {
            Ok(coat) if coats.contains(&coat) => {
                desk.problem(
                    at,
                    format!("`breading` names `{}` twice", short(&text)),
                    "it once",
                );
            }
            Ok(coat) => coats.push(coat),
            Err(fault) => {
                desk.problem(
                    at,
                    format!("`breading`: {}", fault.what),
                    fault.write_instead,
                );
            }
        }
    }
    coats
}
