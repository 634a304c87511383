//! Amounts as a kitchen can measure them, and how far off a spoon may be.

use crate::plan::show::decimal;

use super::tables::{CUP_ML, Stuff, TABLESPOON_ML, TEASPOON_ML};

/// Grams to what a kitchen scale shows: 1 g below 100, 5 g below a kilogram, then 10 g.
/// Less than two grams keeps its tenths, for those with a fine scale.
pub fn grams(g: f64) -> f64 {
    let to = |step: f64| (g / step).round() * step;
    match g {
        g if g < 2.0 => to(0.1),
        g if g < 100.0 => to(1.0),
        g if g < 1000.0 => to(5.0),
        _ => to(10.0),
    }
}

/// `45 g`, `1.25 kg`.
pub fn mass(g: f64) -> String {
    crate::plan::show::mass(grams(g))
}

/// Millilitres to what a jug shows: 5 ml below 250, 10 ml below a litre, then 50 ml.
pub fn jug(ml: f64) -> f64 {
    let to = |step: f64| (ml / step).round() * step;
    match ml {
        ml if ml < 250.0 => to(5.0),
        ml if ml < 995.0 => to(10.0),
        _ => to(50.0),
    }
}

/// `750 ml`, `1.3 l`, as a jug shows it.
pub fn millilitres(ml: f64) -> String {
    match jug(ml) {
        ml if ml < 1000.0 => format!("{} ml", decimal(ml, 0)),
        ml => format!("{} l", decimal(ml / 1000.0, 2)),
    }
}

/// In spoons and cups that there are: eighths of a teaspoon, half tablespoons, quarter
/// cups.
pub fn spoons(ml: f64) -> String {
    if ml < 0.95 * TABLESPOON_ML {
        let eighths = (ml / TEASPOON_ML * 8.0).round().max(1.0);
        // Above a teaspoon an eighth is lost in the heap.
        let eighths = if eighths > 8.0 {
            (eighths / 2.0).round() * 2.0
        } else {
            eighths
        };
        format!("{} tsp", fraction(eighths, 8))
    } else if ml < 0.24 * CUP_ML {
        format!("{} tbsp", fraction((ml / TABLESPOON_ML * 2.0).round(), 2))
    } else {
        let quarters = (ml / CUP_ML * 4.0).round();
        let unit = if quarters > 4.0 { "cups" } else { "cup" };
        format!("{} {unit}", fraction(quarters, 4))
    }
}

/// `1 3/8` from eleven eighths.
fn fraction(parts: f64, of: u32) -> String {
    let parts = parts.clamp(0.0, 1e6) as u32;
    let (whole, rest) = (parts / of, parts % of);
    let mut divisor = of;
    let mut top = rest;
    while top > 0 && top.is_multiple_of(2) && divisor.is_multiple_of(2) {
        top /= 2;
        divisor /= 2;
    }
    match (whole, top) {
        (w, 0) => w.to_string(),
        (0, t) => format!("{t}/{divisor}"),
        (w, t) => format!("{w} {t}/{divisor}"),
    }
}

/// A mass as spoons of a known thing, with the range where it matters.
pub fn as_spoons(g: f64, stuff: Stuff) -> String {
    let density = stuff.density();
    let said = format!("about {}", spoons(g / density.likely));
    if density.is_rough() {
        format!(
            "{said}; by the spoon between {} and {}",
            mass(g * density.low / density.likely),
            mass(g * density.high / density.likely)
        )
    } else {
        said
    }
}

/// A volume as a mass of a known thing: `36 g (35 g .. 39 g)`.
pub fn as_mass(ml: f64, stuff: Stuff) -> String {
    let density = stuff.density();
    let likely = mass(ml * density.likely);
    if density.is_rough() {
        format!(
            "{likely} ({} .. {})",
            mass(ml * density.low),
            mass(ml * density.high)
        )
    } else {
        likely
    }
}
