//! Items, samples and vessels as `check` prints them.

use super::model::*;
use super::print::{called, plural};
use super::show;

pub(super) fn of_item(item: &Item, units: Units) -> String {
    let mut parts = vec![format!(
        "{} piece{}{}",
        item.pieces,
        plural(item.pieces),
        item.piece_mass_g
            .map(|g| format!(" of {}", show::mass(g)))
            .unwrap_or_default()
    )];
    if let Some(mm) = item.thickness_mm {
        parts.push(format!("{} thick", show::length(mm, units)));
    }
    match item.shape {
        Shape::Slab => {}
        Shape::Cylinder => parts.push("round like a log".to_owned()),
        Shape::Sphere => parts.push("round like a ball".to_owned()),
    }
    parts.extend(
        item.start
            .map(|t| format!("from {}", show::temperature(t, units))),
    );
    match item.class {
        FoodClass::Poultry => parts.push("poultry".to_owned()),
        FoodClass::WholeCutMeat => parts.push("whole cut".to_owned()),
        FoodClass::GroundMeat => parts.push("ground meat".to_owned()),
        FoodClass::Fish => parts.push("fish".to_owned()),
        FoodClass::Egg => parts.push("egg".to_owned()),
        FoodClass::Other => {}
    }
    parts.extend(
        item.fat_percent
            .map(|f| format!("{} % fat", show::decimal(f, 1))),
    );
    if item.brined {
        parts.push("brined".to_owned());
    }
    format!("{}: {}", called(&item.names), parts.join(", "))
}

pub(super) fn of_sample(sample: &Sample) -> String {
    let mut text = format!("{}: one of them", called(&sample.names));
    if let Some(mark) = &sample.mark {
        text.push_str(&format!("; its mark: {mark}"));
    }
    if sample.mark_hidden_by_flip {
        text.push_str("; a flip hides the mark");
    }
    if let Some(treatment) = &sample.treatment {
        text.push_str(&format!("; done differently: {treatment}"));
    }
    text
}

pub(super) fn of_vessel(vessel: &Vessel, units: Units) -> String {
    let mut parts = vec![
        match vessel.kind {
            VesselKind::Skillet => "skillet",
            VesselKind::Pot => "pot",
            VesselKind::Oven => "oven",
            VesselKind::Rack => "rack",
            VesselKind::Tray => "tray",
            VesselKind::Fridge => "fridge",
            VesselKind::Board => "board",
            VesselKind::Bowl => "bowl",
            VesselKind::Plate => "plate",
        }
        .to_owned(),
    ];
    let length = |mm| show::length(mm, units);
    parts.extend(
        vessel
            .diameter_mm
            .map(|mm| format!("{} across", length(mm))),
    );
    parts.extend(
        vessel
            .sides_mm
            .map(|(a, b)| format!("{} x {}", length(a), length(b))),
    );
    parts.extend(
        vessel
            .floor_mm
            .map(|mm| format!("{} at the floor", length(mm))),
    );
    parts.extend(vessel.depth_mm.map(|mm| format!("{} deep", length(mm))));
    let temperature = |c| show::temperature(c, units);
    let medium = &vessel.medium;
    let oil = medium.oil.as_deref();
    parts.extend(match (oil, medium.smoke) {
        (None, None) => None,
        (Some(oil), None) => Some(format!("oil: {oil}")),
        (oil, Some(smoke)) => Some(format!(
            "{}begins to smoke at {}",
            oil.map(|o| format!("oil: {o}, ")).unwrap_or_default(),
            show::span(smoke, temperature)
        )),
    });
    parts.extend(
        medium
            .limit
            .map(|l| format!("never above {}", temperature(l))),
    );
    let places: Vec<String> = vessel
        .places
        .places()
        .into_iter()
        .filter_map(|p| vessel.places.names_of(p).into_iter().next())
        .collect();
    let places = if places.is_empty() {
        String::new()
    } else {
        format!("; places: {}", places.join(", "))
    };
    format!("{}: {}{places}", called(&vessel.names), parts.join(", "))
}
