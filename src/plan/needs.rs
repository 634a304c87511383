//! What a plan says about amounts: ingredients, brine, oil, breading.

use super::model::{Celsius, Id};
use crate::prep::brine::Wanted;
use crate::prep::oil::Pour;
use crate::prep::tables::Stuff;

/// Something that is weighed or measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Ingredient {
    /// As written; it is printed and not called.
    pub name: String,
    /// None: to taste.
    pub amount: Option<Amount>,
    /// What its spoons and cups weigh, where the table has it.
    pub stuff: Option<Stuff>,
    pub scales: Scales,
    /// The item that it grows with; without one, all that is cooked.
    pub with: Option<Id>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// Grams.
    Mass(f64),
    /// Millilitres.
    Volume(f64),
    Pieces(f64),
}

/// How an ingredient grows with the food.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scales {
    Linear,
    /// With the surface: rubs, flour, crumb.
    Surface,
    /// One filling of its vessel, whatever lies in it.
    Vessel,
    ToTaste,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BrineNeed {
    pub way: BrineWay,
    /// Millilitres; none for dry salting.
    pub liquid_ml: Option<f64>,
    pub wanted: Wanted,
    /// The salt in the box, where the plan names it.
    pub crystals: Option<Stuff>,
    /// Water in the meat, percent, if the plan knows better than the table.
    pub meat_water: Option<f64>,
    /// How cold it is kept.
    pub at: Option<Celsius>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BrineWay {
    Bath,
    Coating,
    Dry,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OilNeed {
    pub pour: Pour,
    /// Frying temperature, if the step's own `until` does not say.
    pub at: Option<Celsius>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Coat {
    Flour,
    Egg,
    Crumb,
    Leavening,
}
