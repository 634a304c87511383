//! The published consumer minimum of each food class.

use crate::plan::{Celsius, FoodClass};

use super::units::from_fahrenheit;

/// What consumers are told to reach in the middle of the coldest piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Minimum {
    pub core: Celsius,
    /// Rest after it, seconds.
    pub rest_s: u32,
}

/// USDA FSIS safe minimum internal temperature chart (`data/doneness/rules.csv`); none
/// where no minimum is published for the class.
pub fn minimum(class: FoodClass) -> Option<Minimum> {
    let (f, rest_s) = match class {
        FoodClass::Poultry => (165.0, 0),
        FoodClass::WholeCutMeat => (145.0, 180),
        FoodClass::GroundMeat => (160.0, 0),
        FoodClass::Fish => (145.0, 0),
        FoodClass::Egg => (160.0, 0),
        FoodClass::Other => return None,
    };
    Some(Minimum {
        core: from_fahrenheit(f),
        rest_s,
    })
}
