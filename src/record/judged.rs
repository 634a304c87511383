//! What the readings meant: the believed core of each vessel after each reading, and the
//! readings that were not believed. Asked of the room of doneness; here it is only laid
//! beside the rows.

use crate::kitchen::At;
use crate::plan::{Celsius, FoodClass, Id};

use super::story::Story;

#[derive(Debug, Clone, Default, PartialEq)]
pub struct Judged {
    pub believed: Vec<Believed>,
    /// Readings by their number, with the reason why each was not believed.
    pub flagged: Vec<(u32, String)>,
}

/// A believed core, with the interval that it lies in four times of five.
#[derive(Debug, Clone, PartialEq)]
pub struct Believed {
    pub at: At,
    pub vessel: Id,
    pub core: Celsius,
    pub low: Celsius,
    pub high: Celsius,
}

pub fn judge(_story: &Story) -> Judged {
    Judged::default()
}

/// The published consumer minimum for a food class, where there is one.
pub fn safe_core(_class: FoodClass) -> Option<Celsius> {
    None
}

impl Judged {
    /// Why a reading was not believed, if it was not.
    pub fn why(&self, number: u32) -> Option<&str> {
        self.flagged
            .iter()
            .find(|(n, _)| *n == number)
            .map(|(_, why)| why.as_str())
    }
}
