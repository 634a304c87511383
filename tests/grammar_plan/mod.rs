//! A small plan for tests of the grammar: six pork chops in two skillets.

use hobcall::plan::{
    FoodClass, Item, Layout, Plan, Sample, Shape, Step, Units, Vessel, VesselKind,
};

fn names(list: &[&str]) -> Vec<String> {
    list.iter().map(|s| s.to_string()).collect()
}

pub fn vessel(id: &str, spoken: &[&str], kind: VesselKind, places: Layout) -> Vessel {
    Vessel {
        id: id.into(),
        names: names(spoken),
        kind,
        places,
        diameter_mm: None,
        sides_mm: None,
        depth_mm: None,
    }
}

pub fn step(id: &str, spoken: &[&str]) -> Step {
    Step {
        id: id.into(),
        names: names(spoken),
        say: String::new(),
        after: Vec::new(),
        hands_on: None,
        wait: None,
        vessel: None,
        holds: Vec::new(),
        flip_every: None,
        until: Vec::new(),
        out_to: None,
        rest: None,
        cautions: Vec::new(),
    }
}

pub fn item(id: &str, spoken: &[&str]) -> Item {
    Item {
        id: id.into(),
        names: names(spoken),
        pieces: 6,
        piece_mass_g: None,
        thickness_mm: None,
        shape: Shape::Slab,
        start: None,
        class: FoodClass::WholeCutMeat,
        fat_percent: None,
        brined: true,
    }
}

pub fn sample(id: &str, spoken: &[&str], of: &str) -> Sample {
    Sample {
        id: id.into(),
        names: names(spoken),
        of: of.into(),
        mark: None,
        treatment: None,
    }
}

pub fn empty() -> Plan {
    Plan {
        title: "test".into(),
        language: "en".into(),
        units: Units::Fahrenheit,
        altitude_m: 0.0,
        hands: 1,
        serve: None,
        items: Vec::new(),
        samples: Vec::new(),
        vessels: Vec::new(),
        steps: Vec::new(),
    }
}

pub fn chops() -> Plan {
    let rack = Layout::Grid {
        rows: 2,
        columns: 3,
    };
    Plan {
        items: vec![item("chop", &["chops", "chop"])],
        samples: vec![sample("test_chop", &["test chop"], "chop")],
        vessels: vec![
            vessel(
                "left_skillet",
                &["left skillet"],
                VesselKind::Skillet,
                Layout::Row3,
            ),
            vessel(
                "right_skillet",
                &["right skillet"],
                VesselKind::Skillet,
                Layout::Row3,
            ),
            vessel("rack", &["rack"], VesselKind::Rack, rack),
        ],
        steps: vec![step("brine", &["brine"]), step("fry", &["fry"])],
        ..empty()
    }
}
