//! What can happen in a kitchen. Every change of state is one of these; the journal
//! keeps them and the state is their fold.

use serde::{Deserialize, Serialize};

use crate::grammar::{Call, Heat, Order, Subject, Turn};
use crate::plan::{Celsius, Id, Place, Span, Units};
use crate::tasting;

use super::{At, Question};

/// One thing that happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Event {
    pub at: At,
    /// Number of the call that caused it, from 1; none for what came unasked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub call: Option<u32>,
    /// The words that were heard, for events that a call caused.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heard: Option<String>,
    #[serde(flatten)]
    pub what: What,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "what")]
pub enum What {
    /// The cook begins.
    Begun,
    /// `early`: steps it waits for were not finished; the cook said yes to that.
    StepStarted {
        step: Id,
        #[serde(default)]
        early: bool,
    },
    /// `early`: before its least time or its condition; the cook said yes to that.
    StepEnded {
        step: Id,
        #[serde(default)]
        early: bool,
    },
    /// `reopened` runs again as if it had not ended; `returned` goes back to not begun.
    SteppedBack {
        reopened: Id,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        returned: Option<Id>,
    },

    // ---- cooking
    /// The food of a step is in: its clocks count from now.
    FoodIn {
        step: Id,
    },
    /// The cook's hands are free of a step before its hands-on time is over: its wait
    /// counts from now.
    HandsFree {
        step: Id,
    },
    OilIn {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        vessel: Option<Id>,
    },
    Did {
        deed: Deed,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        about: Option<Subject>,
    },
    /// Everything in `vessel` was turned over, or just `piece`.
    Flipped {
        vessel: Id,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        piece: Option<PieceId>,
    },

    /// One piece of several was turned over and it is not sure which.
    SidesUnsure {
        vessel: Id,
    },

    // ---- places
    Turned {
        vessel: Id,
        turn: Turn,
    },
    /// A piece was put somewhere; without a place it is somewhere in the vessel.
    Put {
        piece: PieceId,
        vessel: Id,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        place: Option<Place>,
    },
    /// The cook says where a piece is; nothing was moved.
    Located {
        piece: PieceId,
        vessel: Id,
        place: Place,
    },
    SwappedPlaces {
        vessel_a: Id,
        a: Place,
        vessel_b: Id,
        b: Place,
    },
    SwappedPieces {
        a: PieceId,
        b: PieceId,
    },
    /// Everything in `from` went to `to`.
    MovedOut {
        from: Id,
        to: Id,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        order: Option<Order>,
    },
    /// The order of a move that was made without saying it.
    OrderTold {
        order: Order,
    },
    Stacked {
        vessel: Id,
    },

    // ---- readings
    Reading(Reading),
    /// From now on so many degrees Celsius are added to what the probe reads.
    OffsetUsed {
        celsius: f64,
    },
    /// The value of reading number `of` (see [`Reading::number`]) was misheard.
    Corrected {
        of: u32,
        called: Span<f64>,
        celsius: Span<Celsius>,
    },

    /// An item went into the fridge, or came out of it.
    Fridge {
        item: Id,
        out: bool,
    },
    /// How warm it is in the kitchen, as called, in `units`.
    Room {
        called: Span<f64>,
        units: Units,
        celsius: Celsius,
    },
    /// An item cools after the cook: its two limits are clocked.
    Cooling {
        item: Id,
    },

    // ---- clocks
    TimerSet {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        name: Option<String>,
        ms: i64,
    },
    ClockMoved {
        clock: ClockKey,
        ends: At,
    },
    TimerStopped {
        clock: ClockKey,
    },
    /// The cook knows; these alarms are not repeated.
    Acknowledged {
        clocks: Vec<ClockKey>,
    },
    /// Said unasked, all in one breath.
    Due {
        due: Vec<Due>,
    },

    // ---- the blind tasting
    Tasting(tasting::Fact),
    /// What is on this taster's plate was said to whoever plates.
    Plate {
        taster: u16,
    },
    /// This taster was told the codes to taste.
    Card {
        taster: u16,
    },

    // ---- dialogue
    Asked {
        question: Question,
    },
    /// `of`: the call that was held back by the question and is now done or dropped.
    Settled {
        how: Settled,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        of: Option<u32>,
    },
    /// A step has ended and nothing can begin now: what is due first is said instead.
    NothingToBegin,
    /// A call that asks and changes nothing.
    Queried {
        query: Call,
    },
    /// A call that cannot be done now, with the reason.
    Refused {
        refused: Call,
        why: Refusal,
    },
    NotUnderstood {
        alternatives: Vec<String>,
    },
    QuietSet {
        on: bool,
    },
    /// From now on calls must begin with the name, or need not.
    ByNameSet {
        on: bool,
    },
    /// The name alone was called: for a few seconds calls count without it.
    Called,
    AsleepSet {
        on: bool,
    },
    /// Steps up (positive) or down from the voice's own volume and speed.
    VoiceSet {
        volume: i8,
        speed: i8,
    },
    UnitsSet {
        units: Units,
    },
    Noted {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        text: Option<String>,
    },
    /// The events of these calls never happened.
    Undone {
        of: Vec<u32>,
    },
    /// What all pieces of an item really weigh.
    Weighed {
        item: Id,
        grams: f64,
    },
    /// How many pieces of an item there really are.
    Counted {
        item: Id,
        pieces: u32,
    },
    /// For how many it really is.
    Portions {
        portions: u16,
    },
    /// When it is to be on the table.
    ServeAt {
        serve: At,
    },
    /// The rest of the cook, laid from what has happened so far.
    DayLaid {
        eat: At,
        begins: Vec<super::Begin>,
        good_until: At,
    },
    /// It cannot be laid any more: a limit is past keeping.
    DayLost,
    /// Back after a restart or a long sleep of the machine.
    Resumed {
        away_ms: i64,
        due: Vec<Due>,
    },
    Ended,
}

/// A cooking move that is only recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Deed {
    Basted,
    Stirred,
    Heat(Heat),
    LidOn,
    LidOff,
}

/// A piece: the `index`th of its item, marked samples first.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct PieceId {
    pub item: Id,
    pub index: u32,
}

/// Which clock.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ClockKey {
    /// The wait (or the time until) of a step.
    Wait(Id),
    /// The next flip of a step.
    Flip(Id),
    Rest(Id),
    /// A timer set by voice, by the number of the call that set it.
    Voice(u32),
}

/// Something that is said unasked.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Due {
    /// A clock has ended: an alarm that repeats until it is acknowledged.
    Up(ClockKey),
    /// The `times`th telling of an alarm (2 for the first repeat).
    StillUp { clock: ClockKey, times: u32 },
    /// The most time a step may take is near.
    LimitNear(Id),
    /// The most time a step may take is up.
    LimitReached(Id),
    /// A step is to begin soon: time to wash hands.
    BeginSoon(Id),
    /// An item has been in the danger zone for the published limit.
    DangerZone(Id),
    /// An item that cools has to be at its next limit soon.
    CoolingNear(Id),
    /// It was not read there in time.
    CoolingOver(Id),
    /// The hold that the table asks of a step is over, by the readings so far.
    HoldOver(Id),
    /// The open question once more; `times` counts the askings.
    AskAgain { times: u32 },
}

/// A called temperature, raw.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// The number of the call that gave it.
    pub number: u32,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vessel: Option<Id>,
    /// The piece probed, where the cook named it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub piece: Option<PieceId>,
    /// The item that cools, for a reading of its cooling.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub item: Option<Id>,
    pub kind: Measured,
    /// As called, in `units`.
    pub called: Span<f64>,
    pub units: Units,
    pub celsius: Span<Celsius>,
}

/// What a reading was taken of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Measured {
    Core,
    Medium,
    Ice,
    Boil,
    /// The core of food that cools after the cook.
    Cooling,
}

/// How a question went away.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Settled {
    /// Answered: the events that follow say with what.
    Answered,
    /// "no" or "cancel": what was asked about is not done.
    Refused,
    /// Another call took its place.
    Overtaken,
}

/// Why a call was not done. The words are the voice's.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Refusal {
    NotBegun,
    CookEnded,
    NothingUnderWay,
    AlreadyUnderWay(Id),
    AlreadyDone(Id),
    NotUnderWay(Id),
    /// Its vessel is in use by this step.
    VesselBusy(Id),
    /// No step uses this vessel now.
    VesselIdle(Id),
    NoStepFor(Subject),
    NoTimer,
    NoSuchClock(Subject),
    /// Only clocks of steps run; those stop when their step ends.
    OnlyStepClocks,
    NothingToScratch,
    NoQuestion,
    NothingToCorrect,
    /// No reading in ice or boiling water yet.
    NoProbeCheck,
    NoSuchPlace {
        vessel: Id,
        place: Place,
    },
    PieceNotPlaced(Id),
    VesselEmpty(Id),
    NothingAt {
        vessel: Id,
        place: Place,
    },
    WhichPieces(Id),
    NothingToFlip,
    NotBack,
    TimerTooLong,
    UnknownName,
    /// The plan does not say for how many it is written.
    NoPortions,
    /// More or fewer than can be: none, or more than this.
    HowMany(u32),
    OneOfSeveral {
        sample: Id,
        vessel: Id,
    },
    SameThing,
    NotAsleep,
    Tasting(tasting::Refusal),
    /// It would tell which is which, and a tasting is open.
    WouldTell {
        waiting: Vec<u16>,
    },
    /// No marked sample, or no unmarked twin to compare it with.
    NothingToCompare,
    /// A recorded answer of a tasting is final.
    VerdictStands {
        taster: Option<u16>,
    },
    /// There has been no tasting.
    NoTasting,
}

impl What {
    /// Whether "scratch that" can take it back.
    pub fn is_undoable(&self) -> bool {
        !matches!(
            self,
            What::Begun
                | What::Due { .. }
                | What::Tasting(
                    tasting::Fact::Picked { .. }
                        | tasting::Fact::CantTell { .. }
                        | tasting::Fact::Left { .. }
                        | tasting::Fact::Closed
                )
                | What::Plate { .. }
                | What::Card { .. }
                | What::Asked { .. }
                | What::Settled { .. }
                | What::NothingToBegin
                | What::Queried { .. }
                | What::Refused { .. }
                | What::NotUnderstood { .. }
                | What::QuietSet { .. }
                | What::AsleepSet { .. }
                | What::ByNameSet { .. }
                | What::Called
                | What::VoiceSet { .. }
                | What::Undone { .. }
                | What::ServeAt { .. }
                | What::DayLaid { .. }
                | What::DayLost
                | What::Resumed { .. }
        )
    }
}
