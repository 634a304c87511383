//! The surface of pieces, and what a breading of it needs.

use std::f64::consts::PI;

use crate::plan::Shape;

use super::tables::{CUP_ML, Stuff, food_density, trade};

/// Surface of one piece, cm². A slab is taken as round, which has the least edge.
pub fn of_piece(shape: Shape, mass_g: f64, thickness_mm: f64) -> f64 {
    let volume = mass_g / food_density();
    let t = thickness_mm / 10.0;
    match shape {
        Shape::Slab => {
            let face = volume / t;
            2.0 * face + 2.0 * (PI * face).sqrt() * t
        }
        Shape::Cylinder => {
            let length = volume / (PI * t * t / 4.0);
            PI * t * length + PI * t * t / 2.0
        }
        Shape::Sphere => (36.0 * PI * volume * volume).cbrt(),
    }
}

/// To set out in dishes, grams; what is left in them is thrown away. Common practice,
/// no source (`data/prep/trade.csv`).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Breading {
    pub flour_g: f64,
    pub egg_g: f64,
    /// Large eggs, whole ones.
    pub eggs: u32,
    pub crumb_g: f64,
    /// Level teaspoons of baking powder for that flour.
    pub leavening_tsp: f64,
}

pub fn breading(surface_cm2: f64) -> Breading {
    let flour_g = surface_cm2 * trade("flour_set_out");
    let egg_g = surface_cm2 * trade("egg_set_out");
    Breading {
        flour_g,
        egg_g,
        eggs: (egg_g / trade("egg")).ceil().clamp(0.0, 1e6) as u32,
        crumb_g: surface_cm2 * trade("crumb_set_out"),
        leavening_tsp: leavening_tsp(flour_g),
    }
}

/// Level teaspoons of leavening for a mass of flour.
pub fn leavening_tsp(flour_g: f64) -> f64 {
    let cups = flour_g / Stuff::Flour.density().likely / CUP_ML;
    cups * trade("heaped_teaspoons_of_leavening_per_cup") * trade("heaped_teaspoon")
}
