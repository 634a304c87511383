//! What is asked, what a question holds back, and why something cannot be done: plain
//! data, no words.

use crate::plan::{Span, Units};
use crate::tasting::{self, Code, Fact};

use super::Deed;
use super::reply::{Goal, Lies, PlaceIn, Say};
use super::reply_doneness::CoolingLine;

#[derive(Debug, Clone, PartialEq)]
pub enum Asking {
    /// Which of these; `verb` says about what.
    Which {
        held: Box<Held>,
        options: Vec<String>,
    },
    WhichWay {
        vessel: String,
    },
    Sure {
        held: Box<Held>,
        why: SureWhy,
    },
    NumberAgain {
        called: Span<f64>,
        /// Said with it.
        unit: Option<Units>,
        corrected: bool,
        /// Or this one.
        or: Option<Span<f64>>,
    },
    CoreOrMedium {
        /// It sits in oil; else in water.
        oil: bool,
        called: Span<f64>,
        unit: Option<Units>,
    },
    Order {
        to: String,
        samples: Vec<String>,
    },
    Where {
        sample: String,
        lies: Lies,
        places: Vec<PlaceIn>,
    },
    WhichPlace {
        vessel: String,
        places: Vec<PlaceIn>,
    },
    ChangedPlaces {
        moved: String,
        other: String,
    },
    Verdict {
        fact: Fact,
    },
    PickOne {
        taster: u16,
        codes: Vec<Code>,
    },
    OutOfHearing,
    UseOffset {
        celsius: f64,
    },
    HowManyTaste,
}

/// A call that waits for an answer, as far as the question needs it.
#[derive(Debug, Clone, PartialEq)]
pub enum Held {
    Done(Option<String>),
    Start(Option<String>),
    Flipped,
    Turned,
    Swapped,
    MovedOut {
        to: String,
    },
    Stacked,
    Reading {
        called: Span<f64>,
        unit: Option<Units>,
        about: Option<String>,
    },
    In {
        what: Option<String>,
    },
    Did(Deed),
    Put {
        sample: String,
    },
    HowLong,
    IsItDone,
    WhatIsAt {
        place: PlaceIn,
    },
    Extend {
        ms: i64,
        less: bool,
    },
    StopTimer,
    Timer {
        name: Option<String>,
        ms: i64,
    },
    /// A tasting, by its test.
    Tasting(tasting::Test),
    Answer(Fact),
    ServingSheet,
    EndCook,
    ScratchThat,
    BackOne,
    /// Any other, by the words that were heard.
    Heard(String),
}

#[derive(Debug, Clone, PartialEq)]
pub enum SureWhy {
    HeardBadly,
    TimeLeft {
        step: String,
        ms: i64,
    },
    Unmet {
        step: String,
        goal: Option<Goal>,
    },
    Early {
        step: String,
        waits_for: Vec<String>,
    },
    Unfinished {
        steps: Vec<String>,
    },
    EndsTheCook,
    OtherUnit {
        said: Units,
    },
    StillCooling {
        line: CoolingLine,
    },
    TastingOpen {
        waiting: Vec<u16>,
    },
    LongAgo {
        ms: i64,
        what: Option<Box<Say>>,
    },
}

/// A refusal in names.
#[derive(Debug, Clone, PartialEq)]
pub enum No {
    NotBegun,
    CookEnded,
    NothingUnderWay,
    AlreadyUnderWay(String),
    AlreadyDone {
        step: String,
        ago: i64,
    },
    NotUnderWay(String),
    VesselBusy(String),
    VesselIdle(String),
    NoStepFor(Option<String>),
    NoTimer,
    NoSuchClock(Option<String>),
    OnlyStepClocks,
    NothingToScratch,
    NoQuestion,
    NothingToCorrect,
    NoProbeCheck,
    NoSuchPlace {
        vessel: String,
        places: Vec<PlaceIn>,
    },
    PieceNotPlaced(String),
    VesselEmpty(String),
    NothingAt {
        vessel: String,
        place: PlaceIn,
    },
    WhichPieces(String),
    NothingToFlip,
    NotBack,
    TimerTooLong,
    UnknownName,
    NoPortions,
    /// It can be from one to this.
    HowMany(u32),
    OneOfSeveral {
        sample: String,
        vessel: String,
    },
    SameThing,
    NotAsleep,
    Tasting(tasting::Refusal),
    WouldTell {
        waiting: Vec<u16>,
    },
    NothingToCompare,
    VerdictStands {
        taster: Option<u16>,
    },
    NoTasting,
}

/// A thing that the cook could usefully call now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hint {
    Next,
    Done,
    Flipped,
    Reading,
    HowLong,
    Timer,
    WhereIs,
    OutTo,
    ScratchThat,
    SayAgain,
    Status,
    CarryOn,
    YesOrNo,
    StopTimer,
    Quiet,
    ChopsIn,
    EndCook,
    ServingSheet,
    NextTaster,
    Pick,
    CantTell,
    Result,
}
