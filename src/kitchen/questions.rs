//! Questions that the kitchen asks, and what is open.

use serde::{Deserialize, Serialize};

use crate::grammar::{Call, Subject};
use crate::plan::{Id, Place, Span, Units};
use crate::tasting::Fact;

use super::{At, PieceId};

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "question")]
pub enum Question {
    /// Which of these the call is about; the answer completes the call.
    Which { of: Call, options: Vec<Subject> },
    /// A quarter turn without its direction.
    WhichWay { vessel: Id },
    /// "yes" does the call, "no" drops it.
    Sure { of: Call, why: Doubt },
    /// The number of the call makes no sense or was not heard well.
    NumberAgain { of: Call, why: NumberDoubt },
    /// Core or what the food sits in: the reading fits both.
    CoreOrMedium { of: Call },
    /// The probe is off by this much: add it from now on? Degrees Celsius.
    UseOffset { celsius: f64 },
    /// The order of the move just made; asked because samples were in it.
    Order { from: Id, to: Id, samples: Vec<Id> },
    /// Where a sample lies.
    Where { sample: Id },
    /// The place named fits several. The places of the call are as they are seen.
    WhichPlace {
        of: Call,
        vessel: Id,
        places: Vec<Place>,
    },
    /// A piece was put where another was known to lie: did they change places?
    ChangedPlaces {
        moved: PieceId,
        other: PieceId,
        vessel: Id,
        /// Where `moved` came from.
        vessel_before: Id,
        place_before: Place,
    },
    /// An answer of a tasting, read back: "yes" makes it final.
    Verdict { fact: Fact },
    /// "can't tell" was said: which one all the same?
    PickOne { taster: u16 },
    /// The tasters must not hear what is said next, the plate of this one.
    OutOfHearing { taster: u16 },
    /// How many taste; the call opens the tasting.
    HowManyTaste { of: Call },
}

/// Why a "yes" is asked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Doubt {
    /// Not heard well enough for what it would change.
    HeardBadly,
    /// This much of the least time of the step is left, milliseconds.
    TimeLeft {
        step: Id,
        ms: i64,
    },
    /// No reading has met what ends the step.
    Unmet {
        step: Id,
    },
    /// Steps that it waits for are not done.
    Early {
        step: Id,
        waits_for: Vec<Id>,
    },
    /// The cook would end with these steps unfinished.
    Unfinished {
        steps: Vec<Id>,
    },
    EndsTheCook,
    /// A reading cannot be in the unit that was said with it; it can be in the other.
    OtherUnit {
        said: Units,
    },
    /// The cook would end while this cools.
    StillCooling {
        item: Id,
    },
    /// A tasting is open and these have not answered.
    TastingOpen {
        waiting: Vec<u16>,
    },
    /// The call to take back is this old, milliseconds.
    LongAgo {
        ms: i64,
    },
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum NumberDoubt {
    OutOfSense,
    /// "no" to a reading just given.
    Corrected,
    /// It was this or the one called.
    Either {
        other: Span<f64>,
    },
}

/// The open question.
#[derive(Debug, Clone, PartialEq)]
pub struct Pending {
    pub question: Question,
    /// The call that raised it, if one did.
    pub call: Option<u32>,
    /// When it was last asked.
    pub asked: At,
    /// How often it was asked.
    pub times: u32,
}

impl Question {
    /// Whether a call waits for the answer, so that taking back the answer takes back
    /// the call. The others are about something that has happened.
    pub fn holds_a_call(&self) -> bool {
        match self {
            Question::Which { .. }
            | Question::Sure { .. }
            | Question::NumberAgain { .. }
            | Question::CoreOrMedium { .. }
            | Question::WhichWay { .. }
            | Question::WhichPlace { .. }
            | Question::Verdict { .. }
            | Question::OutOfHearing { .. }
            | Question::HowManyTaste { .. } => true,
            Question::Order { .. }
            | Question::Where { .. }
            | Question::ChangedPlaces { .. }
            | Question::PickOne { .. }
            | Question::UseOffset { .. } => false,
        }
    }
}
