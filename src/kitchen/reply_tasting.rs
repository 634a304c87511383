//! What is to be said around a blind tasting, as data.

use crate::tasting::{Card, Code, Fact, HowMany, Outcome, Reach, Samples, Tally, Test};

#[derive(Debug, Clone, PartialEq)]
pub enum TastingSay {
    Opened {
        test: Test,
        samples: Samples,
        attribute: Option<String>,
        tasters: u16,
        /// What so many tasters can show.
        reach: Option<Reach>,
    },
    /// For whoever plates, out of the tasters' hearing: it tells which is which.
    Plate {
        taster: u16,
        /// Served first and openly.
        reference: Option<String>,
        servings: Vec<(Code, String)>,
        /// How many portions of what to cut, with the first plate.
        portions: Vec<(usize, String)>,
        last: bool,
    },
    /// For the taster: the codes in the order in which to taste them.
    Card {
        card: Card,
        test: Test,
        attribute: Option<String>,
    },
    Recorded {
        fact: Fact,
        /// How many have still to answer.
        waiting: usize,
    },
    Result {
        outcome: Outcome,
        tally: Tally,
        samples: Samples,
        attribute: Option<String>,
    },
    /// After the end: whose codes held the sample asked about.
    Key {
        sample: String,
        codes: Vec<(u16, Code)>,
    },
    HowMany {
        test: Test,
        share: (u8, u8),
        power: u8,
        needs: Option<HowMany>,
    },
    /// After a restart: a tasting is open.
    StillOpen { waiting: Vec<u16> },
}
