//! Items, samples and vessels: what lies there before the first step.

use super::medium;
use super::model::*;
use super::names::short;
use super::problem::{Desk, Fault, Mark};
use super::quantity::{self, Reading};
use super::registry::{Kind, Registry};
use super::table::{self, Table};
use super::tree::{Entry, Node};

/// A thing read from the file. `whole` is false when some part of it could not be
/// read: then checks across things do not build on it.
#[derive(Debug)]
pub(super) struct Draft<T> {
    pub(super) thing: T,
    pub(super) at: Mark,
    /// For marks: `items/chop`.
    pub(super) path: String,
    pub(super) whole: bool,
}

/// More than a kitchen has; keeps every later search small.
const MOST_OF_A_KIND: usize = 64;
pub(super) const MOST_PIECES: u32 = 200;

/// A section's entries with their names taken in.
pub(super) fn entered<'t>(
    kind: Kind,
    node: Option<&'t Node>,
    registry: &mut Registry,
    desk: &mut Desk<'_>,
) -> Vec<(&'t Entry, Id, String)> {
    let Some(node) = node else {
        return Vec::new();
    };
    let entries = table::named(node, kind.section(), desk);
    if let Some(beyond) = entries.get(MOST_OF_A_KIND) {
        desk.problem(
            beyond.at,
            format!("more than {MOST_OF_A_KIND} {}", kind.section()),
            "a shorter plan, or several",
        );
    }
    entries
        .into_iter()
        .take(MOST_OF_A_KIND)
        .map(|entry| {
            let (id, name) = registry.enter(kind, entry, desk);
            (entry, id, name)
        })
        .collect()
}

/// Opens one thing, reads it, and closes it: what all four kinds have in common.
pub(super) fn each<T>(
    kind: Kind,
    entered: Vec<(&Entry, Id, String)>,
    registry: &mut Registry,
    desk: &mut Desk<'_>,
    mut read: impl FnMut(Id, Vec<String>, &mut Table<'_>, &mut Registry, &mut Desk<'_>) -> T,
) -> Vec<Draft<T>> {
    let mut drafts = Vec::new();
    for (entry, id, name) in entered {
        let before = desk.count();
        let path = format!("{}/{id}", kind.section());
        let what = format!("the {} `{name}`", kind.bare());
        let Some(mut table) = Table::open(&entry.value, entry.at, what, path.clone(), desk) else {
            continue;
        };
        let names = registry.also_called(kind, &id, &name, &mut table, desk);
        let thing = read(id, names, &mut table, registry, desk);
        table.close(desk);
        drafts.push(Draft {
            thing,
            at: entry.at,
            path,
            whole: desk.count() == before,
        });
    }
    drafts
}

const SHAPES: &[(&str, Shape)] = &[
    ("slab", Shape::Slab),
    ("cylinder", Shape::Cylinder),
    ("sphere", Shape::Sphere),
];

pub(super) const CLASSES: &[(&str, FoodClass)] = &[
    ("poultry", FoodClass::Poultry),
    ("whole cut", FoodClass::WholeCutMeat),
    ("ground meat", FoodClass::GroundMeat),
    ("fish", FoodClass::Fish),
    ("egg", FoodClass::Egg),
    ("other", FoodClass::Other),
];

pub(super) fn item(id: Id, names: Vec<String>, table: &mut Table<'_>, desk: &mut Desk<'_>) -> Item {
    let pieces = table
        .read("pieces", desk, |text| quantity::count(text, MOST_PIECES))
        .unwrap_or(1);
    let each = table.read("piece mass", desk, quantity::mass);
    let together = table.read("mass", desk, quantity::mass);
    if table.has("piece mass") && table.has("mass") {
        desk.problem(
            table.key_at("mass"),
            "`mass` (of all together) and `piece mass` (of one) both stand here",
            "only one of them",
        );
    }
    let class = table.choose("class", desk, CLASSES);
    table.missing(
        "class",
        "`class: whole cut` (or poultry, ground meat, fish, egg, other)",
        desk,
    );
    Item {
        id,
        names,
        pieces,
        piece_mass_g: each.or(together.map(|all| all / f64::from(pieces))),
        thickness_mm: table.read("thickness", desk, quantity::length),
        shape: table.choose("shape", desk, SHAPES).unwrap_or(Shape::Slab),
        start: table.read("start", desk, |text| {
            in_sense(
                text,
                -30.0,
                100.0,
                "between a freezer and boiling, such as 40 F or 4 C",
            )
        }),
        class: class.unwrap_or(FoodClass::Other),
        fat_percent: table.read("fat", desk, quantity::percent),
        brined: table.choose("brined", desk, YES_NO).unwrap_or(false),
    }
}

pub(super) const YES_NO: &[(&str, bool)] = &[
    ("yes", true),
    ("no", false),
    ("true", true),
    ("false", false),
];

pub(super) fn sample(
    id: Id,
    names: Vec<String>,
    table: &mut Table<'_>,
    registry: &Registry,
    desk: &mut Desk<'_>,
) -> Sample {
    let of = refer(table, "of", &[Kind::Item], registry, desk);
    table.missing("of", "`of:` and the item that it is a piece of", desk);
    Sample {
        id,
        names,
        of: of.unwrap_or_default(),
        mark: words(table, "mark", desk),
        treatment: words(table, "treatment", desk),
        mark_hidden_by_flip: table.choose("mark seen", desk, SEEN).unwrap_or(false),
    }
}

const SEEN: &[(&str, bool)] = &[("from both sides", false), ("from above", true)];

const VESSELS: &[(&str, VesselKind)] = &[
    ("skillet", VesselKind::Skillet),
    ("pot", VesselKind::Pot),
    ("oven", VesselKind::Oven),
    ("rack", VesselKind::Rack),
    ("tray", VesselKind::Tray),
    ("fridge", VesselKind::Fridge),
    ("board", VesselKind::Board),
    ("bowl", VesselKind::Bowl),
    ("plate", VesselKind::Plate),
];

pub(super) fn vessel(
    id: Id,
    names: Vec<String>,
    table: &mut Table<'_>,
    desk: &mut Desk<'_>,
) -> Vessel {
    let kind = table.choose("kind", desk, VESSELS);
    table.missing(
        "kind",
        "`kind: skillet` (or pot, oven, rack, tray, fridge, board, bowl, plate)",
        desk,
    );
    let places = table.read("places", desk, layout).unwrap_or(Layout::Heap);
    let diameter_mm = table.read("diameter", desk, quantity::length);
    let sides_mm = table.read("sides", desk, quantity::sides);
    let floor_mm = table.read("floor", desk, quantity::length);
    if let Some(floor) = floor_mm
        && diameter_mm.is_some_and(|rim| floor > rim)
    {
        desk.problem(
            desk.marks.nearest(&table.path_of("floor")),
            "the floor is wider than the rim",
            "`diameter:` at the rim and `floor:` at the floor, inside",
        );
    }
    if table.has("floor") && !table.has("diameter") {
        desk.problem(
            table.key_at("floor"),
            "`floor` without `diameter`",
            "`diameter:` at the rim as well",
        );
    }
    if table.has("diameter") && table.has("sides") {
        desk.problem(
            table.key_at("sides"),
            "`diameter` (of a round vessel) and `sides` both stand here",
            "only one of them",
        );
    }
    Vessel {
        id,
        names,
        kind: kind.unwrap_or(VesselKind::Plate),
        places,
        diameter_mm,
        floor_mm,
        sides_mm,
        depth_mm: table.read("depth", desk, quantity::length),
        medium: medium::medium(table, desk),
    }
}

/// `left right`, `grid 2 x 3`, `clock`.
fn layout(text: &str) -> Reading<Layout> {
    const WORDS: &[(&str, Layout)] = &[
        ("heap", Layout::Heap),
        ("left right", Layout::LeftRight),
        ("front back", Layout::FrontBack),
        ("left middle right", Layout::Row3),
        ("clock", Layout::Clock),
    ];
    let Some(grid) = text.strip_prefix("grid") else {
        return table::choose(text, WORDS).map_err(|fault| {
            let instead = if WORDS.iter().any(|w| w.0 == fault.write_instead) {
                fault.write_instead
            } else {
                "heap, left right, front back, left middle right, clock, or grid 2 x 3 (rows x columns)"
                    .to_owned()
            };
            Fault::new(fault.what, instead)
        });
    };
    let numbers: Vec<Option<u8>> = grid
        .split(['x', '×'])
        .map(|part| part.trim().parse().ok())
        .collect();
    match numbers[..] {
        [Some(rows), Some(columns)]
            if (1..=4).contains(&rows) && (1..=4).contains(&columns) && rows * columns > 1 =>
        {
            Ok(Layout::Grid { rows, columns })
        }
        _ => Err(Fault::new(
            format!("`{}` is no grid that can be called out", short(text)),
            "rows x columns, each at most 4: grid 2 x 3",
        )),
    }
}

/// A temperature inside a range that makes sense for it, in Celsius.
pub(super) fn in_sense(text: &str, lo: f64, hi: f64, instead: &str) -> Reading<Celsius> {
    let value = quantity::temperature(text)?;
    if (lo..=hi).contains(&value.0) {
        Ok(value)
    } else {
        Err(Fault::new(
            format!("`{}` makes no sense here", short(text)),
            instead,
        ))
    }
}

/// Free words, not empty.
pub(super) fn words(
    table: &mut Table<'_>,
    key: &'static str,
    desk: &mut Desk<'_>,
) -> Option<String> {
    let (text, at) = table.text(key, desk)?;
    sentence(&text, key, at, desk)
}

/// Longer than this is not said in one breath, nor remembered.
const LONGEST_SENTENCE: usize = 400;

pub(super) fn sentence(text: &str, key: &str, at: Mark, desk: &mut Desk<'_>) -> Option<String> {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if text.is_empty() {
        desk.problem(
            at,
            format!("`{key}` has no words"),
            "words, or leave the line out",
        );
        return None;
    }
    let length = text.chars().count();
    if length > LONGEST_SENTENCE {
        desk.problem(
            at,
            format!("`{key}` has {length} letters, which nobody remembers when it is said once"),
            format!("at most {LONGEST_SENTENCE} letters, or two steps"),
        );
        return None;
    }
    Some(text)
}

/// A reference to another thing by name.
pub(super) fn refer(
    table: &mut Table<'_>,
    key: &'static str,
    kinds: &[Kind],
    registry: &Registry,
    desk: &mut Desk<'_>,
) -> Option<Id> {
    let (text, at) = table.text(key, desk)?;
    match registry.find(&text, kinds) {
        Ok(found) => found.map(|(_, id)| id),
        Err(fault) => {
            desk.problem(at, format!("`{key}`: {}", fault.what), fault.write_instead);
            None
        }
    }
}
