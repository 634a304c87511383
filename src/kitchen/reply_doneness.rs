//! What a reading meant, to be said: plain data, no words.

use crate::doneness::Oddity;
use crate::plan::{Celsius, Span};

/// Something said about a reading beyond reading it back.
#[derive(Debug, Clone, PartialEq)]
pub enum Remark {
    /// Not believed; what is believed instead, if anything.
    Odd {
        why: Oddity,
        going_on: Option<Celsius>,
    },
    /// At the target, and yet more pieces, or another spot, should be read.
    ReadMore {
        behind: u32,
        pieces: u32,
    },
    /// At the target sooner than the readings before allow.
    TooSoon,
    Left(LeftLine),
    /// The medium is off its window.
    TurnUp,
    TurnDown,
    /// It fell because cold food went in.
    WillComeBack,
    /// In the range in which the oil, or where its name is not known any, begins to smoke.
    Smokes {
        oil: Option<String>,
        range: Span<Celsius>,
    },
    /// Above what the plan says it must never pass.
    AboveLimit(Celsius),
    /// The probe is off: degrees Celsius to add.
    ProbeOff {
        celsius: f64,
    },
    ProbeRight,
    /// How the cooling stands by this reading.
    Cooling(CoolingStands),
    /// Brined: the table's hold makes up for nothing, the minimum stands.
    NoMargin {
        minimum: Celsius,
    },
    /// The hold that the published table asks at this temperature, milliseconds, and how
    /// much of it is left.
    Hold {
        at_f: u32,
        ms: i64,
        left: i64,
    },
}

/// Time left, milliseconds; four times in five between `low` and `high`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeftLine {
    pub likely: i64,
    pub low: i64,
    pub high: i64,
    /// No reading stands behind it.
    pub guess: bool,
}

/// The marked piece that was asked about, and whether readings of its own answer; else
/// those of its vessel do.
#[derive(Debug, Clone, PartialEq)]
pub struct PieceAsked {
    pub name: String,
    pub own: bool,
}

/// How done the food is, with what stands behind it.
#[derive(Debug, Clone, PartialEq)]
pub struct VerdictLine {
    pub done: bool,
    pub coldest: Option<Celsius>,
    /// Credible readings of the last round.
    pub behind: u32,
    pub pieces: u32,
    pub target: Celsius,
    /// The round is warm enough, sooner than those before it allow.
    pub too_soon: bool,
    pub left: Option<LeftLine>,
}

/// Readings of the last round, which are believed and which are not.
#[derive(Debug, Clone, PartialEq)]
pub struct BelievedLine {
    pub coldest: Option<Celsius>,
    pub behind: u32,
    pub odd: Vec<(Span<f64>, Oddity)>,
}

/// An item that cools after the cook.
#[derive(Debug, Clone, PartialEq)]
pub struct CoolingLine {
    pub item: String,
    pub stands: CoolingStands,
}

/// How a cooling stands; times in milliseconds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CoolingStands {
    Under {
        to: Celsius,
        left: i64,
        /// The limit that this reading has kept, if it has.
        kept: Option<Celsius>,
        /// Still above the temperature from which the time counts.
        hot: bool,
    },
    Missed {
        to: Celsius,
        /// It may be heated to this once and cooled anew.
        again: Option<Celsius>,
    },
    Cold,
}
