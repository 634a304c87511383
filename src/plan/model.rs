//! What a checked plan is made of. Nothing in here is half valid: names resolve,
//! the step graph has no cycle, ranges are the right way round.

use std::time::Duration;

use super::medium::Medium;
use super::needs::{BrineNeed, Coat, Ingredient, OilNeed};

/// Identifier of a thing the plan names: its first spoken name with underscores
/// (`left skillet` → `left_skillet`). Unique over the whole plan, whatever the kind
/// of thing. Spoken names live beside it; the journal stores identifiers.
pub type Id = String;

/// A temperature in degrees Celsius. Plans are read in their own unit and
/// converted exactly; [`Units`] says how to speak it.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, serde::Serialize, serde::Deserialize)]
pub struct Celsius(pub f64);

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
pub enum Units {
    Fahrenheit,
    Celsius,
}

/// A closed range; `lo == hi` for a single value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Span<T> {
    pub lo: T,
    pub hi: T,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    pub title: String,
    /// BCP 47 primary tag of the spoken language (`en`).
    pub language: String,
    pub units: Units,
    pub altitude_m: f64,
    /// How warm it is in the kitchen, if the plan says.
    pub room: Option<Celsius>,
    /// Pairs of hands; one unless the plan says more.
    pub hands: u32,
    /// Burners on the hob, if the plan counts them: every skillet and pot in use takes one.
    pub burners: Option<u32>,
    /// Wall-clock serving time, `19:00` or `sunday 19:00` (lower case, 24 hours), if any.
    pub serve: Option<String>,
    /// How many it is written for.
    pub portions: Option<u32>,
    pub items: Vec<Item>,
    pub samples: Vec<Sample>,
    pub ingredients: Vec<Ingredient>,
    pub vessels: Vec<Vessel>,
    /// In an order in which every step comes after those it waits for.
    pub steps: Vec<Step>,
    /// The blind test that the cook ends with, if the plan fixes it beforehand.
    pub tasting: Option<TastingPlan>,
    pub hearing: Hearing,
}

/// How the plan wants to be spoken to.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Hearing {
    /// The name that every call must begin with until the cook says otherwise.
    pub address: Option<String>,
    /// Words of names that sound otherwise than they are spelled.
    pub pronounce: Vec<Pronounced>,
}

/// A single word, lower case, and the ways it is said.
#[derive(Debug, Clone, PartialEq)]
pub struct Pronounced {
    pub word: String,
    pub ways: Vec<Way>,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Way {
    /// As these words are said, one after another.
    Words(Vec<String>),
    /// Phones of the CMU Pronouncing Dictionary: "G OW CH UW".
    Phones(String),
}

/// A blind test, as far as the plan fixes it.
#[derive(Debug, Clone, PartialEq)]
pub struct TastingPlan {
    pub test: crate::tasting::Test,
    /// One or two: the one done differently, and what it is compared with (its unmarked
    /// twins when it stands alone).
    pub samples: Vec<Id>,
    pub tasters: Option<u16>,
    /// What a paired difference test asks for, as it is asked: "saltier".
    pub attribute: Option<String>,
}

/// Something that is cooked: `pieces` like pieces.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    pub id: Id,
    /// Spoken names, the first is the one that the tool says ("chop", "chops").
    pub names: Vec<String>,
    pub pieces: u32,
    /// Mass of one piece, grams.
    pub piece_mass_g: Option<f64>,
    pub thickness_mm: Option<f64>,
    pub shape: Shape,
    pub start: Option<Celsius>,
    pub class: FoodClass,
    /// Fat, percent of mass, if the plan states the cut.
    pub fat_percent: Option<f64>,
    pub brined: bool,
}

/// What the heat sees: decides the conduction geometry.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Shape {
    Slab,
    Cylinder,
    Sphere,
}

/// Food classes with a published consumer minimum of their own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
pub enum FoodClass {
    Poultry,
    WholeCutMeat,
    GroundMeat,
    Fish,
    Egg,
    /// No published minimum applies (sugar, vegetables, dough).
    Other,
}

/// A piece that must be told from its twins all day.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    pub id: Id,
    /// Spoken names, the first is the one that the tool says ("test chop").
    pub names: Vec<String>,
    /// The item whose piece it is.
    pub of: Id,
    /// How it is marked, as the cook sees it ("a pick through the fat cap").
    pub mark: Option<String>,
    /// What was done differently; never spoken during a tasting.
    pub treatment: Option<String>,
    /// The mark is seen only from above as the piece first lies: a flip hides it.
    pub mark_hidden_by_flip: bool,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Vessel {
    pub id: Id,
    /// Spoken names, the first is the one that the tool says ("left skillet").
    pub names: Vec<String>,
    pub kind: VesselKind,
    pub places: Layout,
    /// Inside diameter, millimetres, for round vessels.
    pub diameter_mm: Option<f64>,
    /// Inside diameter at the floor, where the wall slopes.
    pub floor_mm: Option<f64>,
    /// Inside length and width, millimetres, for the others.
    pub sides_mm: Option<(f64, f64)>,
    pub depth_mm: Option<f64>,
    /// The oil that is in it, and what it must not pass.
    pub medium: Medium,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
pub enum VesselKind {
    Skillet,
    Pot,
    Oven,
    Rack,
    Tray,
    Fridge,
    Board,
    Bowl,
    Plate,
}

/// The named places of a vessel, as the cook stands before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Layout {
    /// One heap: no places to tell apart.
    Heap,
    LeftRight,
    FrontBack,
    /// left, middle, right
    Row3,
    /// rows from back to front, columns from left to right; at most 4 × 4.
    /// 2 × 2 is spoken "back left", "front right"; 2 × 3 adds "middle".
    Grid {
        rows: u8,
        columns: u8,
    },
    /// Hours of a clock face, twelve at the back.
    Clock,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    pub id: Id,
    /// Short spoken name ("brine", "fry left"); also names its clock.
    pub names: Vec<String>,
    /// What is said when the step begins.
    pub say: String,
    pub after: Vec<Id>,
    pub hands_on: Option<Duration>,
    /// Nothing to do but wait: least and most.
    pub wait: Option<Span<Duration>>,
    pub vessel: Option<Id>,
    /// What the vessel holds from this step on.
    pub holds: Vec<Holding>,
    pub flip_every: Option<Duration>,
    /// Any of these ends the step; empty means the cook's word.
    pub until: Vec<Until>,
    /// At the end, everything in `vessel` goes here (a transfer).
    pub out_to: Option<Id>,
    /// Steps that should end when this one does (two pans served together).
    pub finish_with: Vec<Id>,
    /// Standing after the end, before the next step: least and most.
    pub rest: Option<Span<Duration>>,
    /// How long it is thought to take, where only a thermometer or the cook can tell.
    pub takes: Option<Span<Duration>>,
    /// What it holds cools in it after the cook: the Food Code's two limits are clocked.
    pub cools: bool,
    pub brine: Option<BrineNeed>,
    pub oil: Option<OilNeed>,
    pub breading: Vec<Coat>,
    /// Said once, when the step begins.
    pub cautions: Vec<String>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Holding {
    pub what: What,
    /// Place names as in the vessel's layout, when the plan fixes them.
    pub place: Option<Place>,
}

#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// `count` pieces of an item (all when the plan says no number).
    ///
    /// Marked samples are never among them: the reader lists every sample by itself,
    /// so `chops` of six with one marked becomes five pieces and one sample.
    Pieces {
        item: Id,
        count: u32,
    },
    Sample(Id),
}

#[derive(Debug, Clone, PartialEq)]
pub enum Until {
    Time(Span<Duration>),
    /// The coldest piece reaches this.
    Core(Celsius),
    /// The medium (oil, sugar, water) is inside this window.
    Medium(Span<Celsius>),
    /// The cook says so ("until browned").
    Word(String),
}

/// One place in a vessel, in the cook's own view.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    Left,
    Right,
    Front,
    Back,
    Middle,
    /// Row from the back, column from the left, both from 0.
    Cell {
        row: u8,
        column: u8,
    },
    /// 1 to 12.
    Hour(u8),
}
