//! A plan's target against the consumer minimum: what `check` says, and once aloud.

use crate::plan::{Celsius, FoodClass};

use super::hold::{NoRow, Row, hold};
use super::minimum::{Minimum, minimum};
use super::units::reached;

/// How a target stands to what is published for the class.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Aim {
    /// No minimum is published.
    Unregulated,
    /// At the minimum or above.
    Meets(Minimum),
    /// Below it: what the hold table asks at the target.
    Below {
        minimum: Minimum,
        hold: Result<Row, NoRow>,
        /// Brined: the table knows nothing of salt, so its hold is no margin.
        brined: bool,
    },
}

pub fn aim(class: FoodClass, target: Celsius, fat: Option<f64>, brined: bool) -> Aim {
    match minimum(class) {
        None => Aim::Unregulated,
        Some(minimum) if reached(target, minimum.core) => Aim::Meets(minimum),
        Some(minimum) => Aim::Below {
            minimum,
            hold: hold(class, target, fat),
            brined,
        },
    }
}
