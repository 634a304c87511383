//! What is to be said, as data: names, times and figures. The words are chosen in
//! [`crate::voice::wording`].

use crate::grammar::{Order, Turn};
use crate::plan::{Celsius, Place, Span, Units};
use crate::voice::Urgency;

use super::reply_asking::{Asking, Held, Hint, No};
use super::reply_doneness::{BelievedLine, CoolingLine, LeftLine, PieceAsked, Remark, VerdictLine};
use super::reply_tasting::TastingSay;
use super::whereabouts::Side;
use super::{At, Deed, Measured};

#[derive(Debug, Clone, PartialEq)]
pub struct Reply {
    pub urgency: Urgency,
    pub say: Say,
}

impl Reply {
    /// It tells which code holds what: for ears only, and for those of whoever plates.
    pub fn is_for_the_plater(&self) -> bool {
        matches!(&self.say, Say::Tasting(say) if matches!(**say, TastingSay::Plate { .. }))
    }
}

/// A place with the rows and columns of its vessel as the cook sees it now: the same
/// cell is "middle" in one and "front" in another. Both are 0 for a clock face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlaceIn {
    pub place: Place,
    pub rows: u8,
    pub columns: u8,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Lies {
    NotPlaced,
    /// In a vessel without places to tell apart.
    In {
        vessel: String,
    },
    At {
        vessel: String,
        place: PlaceIn,
    },
    OneOf {
        vessel: String,
        places: Vec<PlaceIn>,
    },
    NotSure {
        vessel: String,
    },
    Stacked {
        vessel: String,
    },
}

/// A piece and what is known of where it lies.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    pub name: String,
    pub lies: Lies,
}

/// Which clock, in names.
#[derive(Debug, Clone, PartialEq)]
pub enum ClockName {
    Wait(String),
    /// By the vessel, which is what the cook sees.
    Flip(String),
    Rest(String),
    Timer {
        name: Option<String>,
        ms: i64,
    },
}

#[derive(Debug, Clone, PartialEq)]
pub struct ClockLine {
    pub clock: ClockName,
    /// Milliseconds until it ends; negative when it has.
    pub left: i64,
    /// Milliseconds until the most time is up, where that is more.
    pub most: Option<i64>,
}

/// How a step stands.
#[derive(Debug, Clone, PartialEq)]
pub struct StepLine {
    pub name: String,
    pub clocks: Vec<ClockLine>,
    pub until: Vec<Goal>,
}

/// What ends a step besides time.
#[derive(Debug, Clone, PartialEq)]
pub enum Goal {
    Core {
        target: Celsius,
        last: Option<Span<Celsius>>,
        met: bool,
        /// Said where the time left was asked for.
        left: Option<LeftLine>,
    },
    Medium {
        window: Span<Celsius>,
        last: Option<Span<Celsius>>,
        met: bool,
    },
    Word(String),
}

impl Goal {
    pub fn met(&self) -> bool {
        matches!(
            self,
            Goal::Core { met: true, .. } | Goal::Medium { met: true, .. }
        )
    }
}

/// Something due, in names.
#[derive(Debug, Clone, PartialEq)]
pub enum DueLine {
    Up {
        clock: ClockName,
        /// Milliseconds since it ended.
        over: i64,
        times: u32,
        /// Milliseconds until the most time is up.
        most: Option<i64>,
        /// Where the food goes when this is over.
        out_to: Option<String>,
    },
    LimitNear {
        step: String,
        left: i64,
    },
    LimitReached {
        step: String,
    },
    CoolingNear(CoolingLine),
    /// The hold of a step is over, by the readings so far.
    HoldOver {
        step: String,
    },
    CoolingOver(CoolingLine),
    /// This item has been in the danger zone for the limit, milliseconds.
    DangerZone {
        item: String,
        limit: i64,
    },
    /// Milliseconds until the step is to begin.
    BeginSoon {
        step: String,
        left: i64,
    },
}

/// Salt in grams, oil in millilitres at room temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct SumsSay {
    pub step: String,
    pub salt_g: Option<f64>,
    pub oil_ml: Option<f64>,
    pub danger: crate::prep::oil::Danger,
}

/// The day in figures: moments with how far away they are, milliseconds.
#[derive(Debug, Clone, PartialEq)]
pub enum DaySay {
    /// It has become later, or is on time again (`late` 0).
    Moved {
        eat: At,
        in_ms: i64,
        late: i64,
    },
    /// `late` is below 0 when there is time to spare; none when nobody has said when.
    Late {
        late: Option<i64>,
        eat: At,
        in_ms: i64,
    },
    Eat {
        eat: At,
        in_ms: i64,
    },
    Begin {
        step: String,
        at: At,
        in_ms: i64,
        latest: Option<At>,
        latest_in: i64,
    },
    Begun {
        step: String,
        over: bool,
    },
    NothingToBegin,
    Lengthless {
        steps: Vec<String>,
    },
    Broken,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Say {
    // ---- steps
    StepBegins {
        /// Said once, before the first step.
        title: Option<String>,
        name: String,
        say: String,
        /// Hands-on time before the wait begins.
        work: Option<i64>,
        time: Option<Span<i64>>,
        flip_every: Option<i64>,
        cautions: Vec<String>,
    },
    /// The hands are free of a step, and its wait begins.
    WaitBegins {
        name: String,
        time: Option<Span<i64>>,
    },
    StepEnds {
        name: String,
        rest: Option<Span<i64>>,
        /// Nothing is left to do.
        last: bool,
    },
    SteppedBack {
        name: String,
        say: String,
    },
    /// What is running, what is next, when there is nothing to begin.
    ComingUp {
        running: Vec<StepLine>,
        next: Option<(String, Vec<String>)>,
        all_done: bool,
    },
    Status {
        running: Vec<StepLine>,
        timers: Vec<ClockLine>,
        cooling: Vec<CoolingLine>,
        ready: Vec<String>,
        all_done: bool,
    },
    /// The words of a step once more.
    StepAgain {
        say: String,
    },

    // ---- cooking
    FoodIn {
        vessel: Option<String>,
        clocks: Vec<ClockLine>,
    },
    OilIn {
        vessel: Option<String>,
    },
    Did {
        deed: Deed,
        about: Option<String>,
    },
    Flipped {
        what: String,
        vessel: String,
        side: Side,
        next_in: Option<i64>,
    },
    SidesUnsure {
        vessel: String,
    },

    // ---- places
    Turned {
        vessel: String,
        turn: Turn,
    },
    Lies(Mark),
    Swapped {
        a: String,
        b: String,
        marks: Vec<Mark>,
    },
    MovedOut {
        from: String,
        to: String,
        order: Option<Order>,
        marks: Vec<Mark>,
    },
    OrderTold {
        order: Order,
        marks: Vec<Mark>,
    },
    Stacked {
        vessel: String,
    },
    /// Unasked, at a moment when marks get lost.
    Reminder {
        moment: Moment,
        marks: Vec<Mark>,
    },
    WhereIs {
        mark: Mark,
        side: Side,
        /// Milliseconds since it was told.
        told: Option<i64>,
        /// It is to lie there by the plan; the cook has not spoken of it.
        by_plan: bool,
        /// It may have moved: the question about it is still open.
        in_question: bool,
    },
    WhatIsAt {
        vessel: String,
        place: PlaceIn,
        surely: Vec<String>,
        maybe: Vec<String>,
        in_question: bool,
    },
    /// Where every marked piece is.
    Map {
        marks: Vec<Mark>,
    },

    // ---- readings
    Reading {
        called: Span<f64>,
        /// As called, with the value it is taken for.
        units: Units,
        celsius: Span<Celsius>,
        kind: Measured,
        about: Option<String>,
        corrected: bool,
        goal: Option<Goal>,
        /// Where the food goes, when it is done.
        out_to: Option<String>,
        /// What it means.
        remarks: Vec<Remark>,
    },
    Judged {
        about: String,
        piece: Option<PieceAsked>,
        goal: Option<Goal>,
        verdict: Option<VerdictLine>,
    },
    /// A step aims below the published minimum of its food.
    BelowMinimum {
        item: String,
        minimum: Celsius,
        /// What the hold table asks at the target; none where it has no row.
        hold_ms: Option<i64>,
        brined: bool,
    },
    Believed {
        about: String,
        line: Option<BelievedLine>,
    },
    /// An item went into the fridge or came out; how long it has been in the danger zone
    /// and how long it may be, milliseconds.
    Fridge {
        item: String,
        out: bool,
        so_far: i64,
        limit: i64,
    },
    /// How warm it is, and the limit that goes with it.
    Room {
        called: Span<f64>,
        units: Units,
        celsius: Celsius,
        limit: i64,
    },
    /// An item cools, or cools already.
    Cooling(CoolingLine),
    /// From now on so much is added to what the probe reads.
    OffsetUsed {
        celsius: f64,
    },

    // ---- clocks
    TimerSet {
        name: Option<String>,
        ms: i64,
    },
    ClockMoved {
        clock: ClockName,
        left: i64,
    },
    TimerStopped {
        clock: ClockName,
    },
    /// Alarms were answered. `timers`: those of them that the cook had set; they are over.
    Acknowledged {
        timers: Vec<ClockName>,
    },
    Due(Vec<DueLine>),
    HowLong {
        piece: Option<PieceAsked>,
        steps: Vec<StepLine>,
        timers: Vec<ClockLine>,
        cooling: Vec<CoolingLine>,
    },
    Time {
        at: At,
    },
    /// What to weigh and pour; none when the plan has nothing of it.
    Sums(Option<SumsSay>),
    Weighed {
        item: String,
        grams: f64,
    },
    Counted {
        item: String,
        pieces: u32,
    },
    Portions {
        portions: u16,
    },
    /// Late or not, when to eat, when to begin.
    Day(DaySay),

    // ---- the blind tasting
    Tasting(Box<TastingSay>),

    // ---- dialogue
    Ask {
        asking: Asking,
        /// 1 for the first time.
        times: u32,
    },
    Dropped {
        held: Option<Box<Held>>,
    },
    NotUnderstood {
        open: bool,
    },
    Quiet,
    SpeakUp,
    Asleep,
    Awake,
    /// Calls must begin with this name, or need not.
    ByName {
        name: String,
        on: bool,
    },
    /// The name alone was called.
    Called,
    VoiceSet {
        volume: i8,
        speed: i8,
        at_end: bool,
    },
    UnitsSet(Units),
    Noted {
        text: bool,
    },
    TakenBack {
        what: Vec<Say>,
        /// Marked pieces that are elsewhere by it.
        marks: Vec<Mark>,
    },
    Help {
        asking: Option<Asking>,
        hints: Vec<Hint>,
    },
    Refused(No),
    Resumed {
        away: i64,
        ended: Vec<DueLine>,
        running: Vec<StepLine>,
        timers: Vec<ClockLine>,
        next: Option<String>,
    },
    Ended,
}

/// A moment at which marks get lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moment {
    BeforeTransfer,
    AfterTurn,
    /// The mark is on the side that goes down with the flip.
    MarkGoesDown,
    Plating,
}
