//! Everything a cook can call, as data. A call says what was *said*; what it means
//! in this kitchen at this moment is for the kitchen to decide.

use std::time::Duration;

use serde::{Deserialize, Serialize};

use crate::plan::{Id, Place, Span, Units};
use crate::tasting::{Code, Test};

/// A temperature as called, in whatever unit the kitchen speaks ("one fifty" = 150.0).
pub type Degrees = f64;

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "call")]
pub enum Call {
    // ---- moving on
    Next,
    /// "done", "left skillet done", "brine done".
    Done {
        what: Option<Subject>,
    },
    /// "start the left skillet": begin a step out of turn, or early.
    Start {
        what: Subject,
    },
    WhatsNext,
    SayAgain,
    BackOne,
    /// "where are we": the steps under way.
    Status,

    // ---- cooking moves
    /// All, one vessel, or one piece.
    Flipped {
        what: Option<Subject>,
    },
    Turned {
        vessel: Option<Id>,
        turn: Turn,
    },
    Basted {
        what: Option<Subject>,
    },
    Stirred {
        what: Option<Subject>,
    },
    /// "oil in", "chops in", "test chop in the left skillet at the back".
    In {
        what: Option<Thing>,
        vessel: Option<Id>,
        place: Option<Place>,
    },
    /// "test chop to the back", "test chop to the right of the left skillet".
    Put {
        piece: Id,
        vessel: Option<Id>,
        place: Option<Place>,
    },
    Swap {
        a: Spot,
        b: Spot,
    },
    /// "out to the rack": empties `from` (the vessel in focus unless said).
    OutTo {
        from: Option<Id>,
        to: Id,
        order: Option<Order>,
    },
    Stacked {
        vessel: Option<Id>,
    },
    Heat {
        vessel: Option<Id>,
        level: Heat,
    },
    Lid {
        vessel: Option<Id>,
        on: bool,
    },

    // ---- readings
    Reading {
        about: Option<Subject>,
        kind: ReadingKind,
        value: Span<Degrees>,
        /// The unit that was said with it; the kitchen's where none was.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        unit: Option<Units>,
    },
    IsItDone {
        what: Option<Subject>,
    },
    /// "which reading do you believe".
    Believe {
        what: Option<Subject>,
    },
    /// "shoulder in the fridge", "shoulder out of the fridge".
    Fridge {
        item: Id,
        out: bool,
    },
    /// "it is ninety five in here".
    Room {
        value: Span<Degrees>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        unit: Option<Units>,
    },
    /// "cooling the stock": from now on its two limits are clocked.
    Cooling {
        item: Id,
    },
    /// "use the offset": of the last ice or boil check.
    UseOffset,
    /// "use fahrenheit", "use celsius".
    Units {
        celsius: bool,
    },

    // ---- clocks
    HowLong {
        what: Option<Subject>,
    },
    /// "timer four minutes", "rice timer ten minutes".
    Timer {
        duration: Duration,
        name: Option<String>,
    },
    /// "two more minutes"; `less` for "two minutes less".
    Extend {
        duration: Duration,
        less: bool,
        which: Option<Subject>,
    },
    StopTimer {
        which: Option<Subject>,
    },
    Timers,
    WhatTime,
    /// "how much salt", or oil.
    HowMuch {
        oil: bool,
    },
    /// "the shoulder weighs one point nine kilos": all of it together.
    Weighs {
        item: Id,
        grams: f64,
    },
    /// "there are eight chops": all of them together.
    ThereAre {
        item: Id,
        pieces: u32,
    },
    /// "cooking for six".
    CookingFor {
        portions: u16,
    },
    /// "am i late".
    Late,
    /// "when do we eat".
    WhenDoWeEat,
    /// "when should i start the brine"; `oil` for what the food sits in, which is no name
    /// of the plan's.
    WhenStart {
        what: Option<Subject>,
        oil: bool,
    },

    // ---- samples
    WhereIs {
        piece: Id,
    },
    WhatIsAt {
        vessel: Option<Id>,
        place: Place,
    },
    /// "show the map".
    Map,

    // ---- the blind tasting
    Tasting {
        what: TastingCall,
    },

    // ---- repairs and answers
    ScratchThat,
    /// "no", or "no, one fifteen".
    No {
        value: Option<Span<Degrees>>,
    },
    Yes,
    Cancel,
    /// A bare name or place in answer to "which pan?".
    Answer {
        subject: Subject,
    },
    /// A bare number in answer to "say the number again".
    Number {
        value: Span<Degrees>,
    },
    /// "keeping order", "reversed": the answer to "in what order?".
    InOrder {
        order: Order,
    },
    /// "clockwise", "counterclockwise": the answer to "which way?".
    Way {
        clockwise: bool,
    },
    /// "core", "oil": the answer to "core or oil?".
    Kind {
        kind: ReadingKind,
    },

    // ---- talk
    Quiet,
    /// Undo of "quiet".
    SpeakUp,
    Louder,
    Softer,
    Slower,
    Faster,
    HoldOn,
    CarryOn,
    /// From now on calls must begin with the name, or need not.
    ByName {
        on: bool,
    },
    /// Typed notes carry their text; a spoken "note" is followed by a recording.
    Note {
        text: Option<String>,
    },
    Help,
    /// "end the cook": asks for a "yes".
    EndCook,
}

/// What is called around a blind tasting.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "tasting")]
pub enum TastingCall {
    /// "triangle test with six tasters"; what is not said is as the plan says.
    Open {
        test: Test,
        /// The one treated differently, then what it is compared with: another marked
        /// sample, or where there is none its unmarked twins.
        samples: Vec<Id>,
        tasters: Option<u16>,
        /// As it is asked for: "saltier".
        attribute: Option<String>,
    },
    /// "how many tasters": the number that a wish needs.
    HowMany {
        test: Option<Test>,
        /// Share of tasters who truly perceive the difference, as a fraction.
        share: Option<(u8, u8)>,
        /// Chance of noticing that, in percent.
        power: Option<u8>,
    },
    /// "serving sheet": which code gets which sample, for whoever plates.
    Sheet,
    NextTaster,
    /// "taster two four one seven is the odd one".
    Pick {
        taster: Option<u16>,
        code: Code,
        guess: bool,
    },
    CantTell {
        taster: Option<u16>,
    },
    /// "taster two has left".
    Leaves {
        taster: u16,
    },
    /// "result", "close the tasting".
    Result,
    /// "which is the test", "which is the test chop".
    WhichIs {
        sample: Option<Id>,
    },
}

/// Something with a name that a call can be about.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Subject {
    Vessel(Id),
    /// A marked (named) sample.
    Sample(Id),
    Item(Id),
    Step(Id),
    /// A clock that the cook named by voice.
    Clock(String),
    Place(Place),
    /// Everything: "all flipped".
    All,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Thing {
    Oil,
    Item(Id),
    Sample(Id),
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Spot {
    Place { vessel: Option<Id>, place: Place },
    Sample(Id),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Turn {
    /// "turned the left skillet", "turned it around".
    Half,
    QuarterClockwise,
    QuarterCounterclockwise,
    /// "quarter turn" without its direction: asked for.
    Quarter,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Order {
    Kept,
    Reversed,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Heat {
    Off,
    Low,
    MediumLow,
    Medium,
    MediumHigh,
    High,
    Up,
    Down,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ReadingKind {
    /// "reading one fifty": core or oil, as the kitchen decides.
    Unstated,
    Core,
    /// Oil, sugar, water: what the food sits in.
    Medium,
    /// "ice reading thirty four": a check of the probe.
    Ice,
    /// "boil reading two ten".
    Boil,
    /// Of food that cools; never said so, the kitchen tells it from where the food is.
    Cooling,
}
