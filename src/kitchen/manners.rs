//! The tool's manners as figures: when it repeats itself, how it spaces what it says
//! unasked, how sure it must be. All are our own choices unless a source is named.

pub const SECOND: i64 = 1_000;
pub const MINUTE: i64 = 60 * SECOND;
pub const HOUR: i64 = 60 * MINUTE;

/// When an unanswered alarm is told again, counted from its first telling; after the
/// last entry every [`ALARM_THEN_EVERY`].
pub const ALARM_AGAIN: [i64; 3] = [20 * SECOND, 60 * SECOND, 2 * MINUTE];
pub const ALARM_THEN_EVERY: i64 = 5 * MINUTE;

/// The same for the opening of a window that is far from closing (a brine that may
/// stay four more hours): nothing burns, so it is told again twice and then left to
/// the warning before the limit.
pub const WINDOW_AGAIN: [i64; 2] = [60 * SECOND, 5 * MINUTE];
/// A window counts as far from closing when this much of it is left.
pub const WINDOW_FAR: i64 = 10 * MINUTE;

/// The latest end of a step is announced this share of its window ahead, but at
/// least and at most so long ahead.
pub const LIMIT_NEAR_SHARE: f64 = 0.1;
pub const LIMIT_NEAR_LEAST: i64 = 30 * SECOND;
pub const LIMIT_NEAR_MOST: i64 = 30 * MINUTE;

/// Silence kept after anything was said before an alarm may begin, and before a
/// lesser thing may. Most replies take two to four seconds to say.
pub const BREATH_ALARM: i64 = 3 * SECOND;
pub const BREATH_OTHER: i64 = 6 * SECOND;
/// Things due within this of each other are said in one sentence.
pub const MERGE: i64 = 3 * SECOND;

/// An unanswered question is asked again so long after the last asking, this often.
pub const ASK_AGAIN: i64 = 15 * SECOND;
pub const ASK_AGAIN_TIMES: u32 = 2;

/// So long after the name alone a call counts without it.
pub const NAMED_FOR: i64 = 8 * SECOND;

/// What is not understood within this after another is passed over in silence.
pub const MUMBLE: i64 = 8 * SECOND;

/// A step that put a marked piece in an untold place is asked about so long after it
/// began, unless the cook tells before.
pub const ASK_WHERE_AFTER: i64 = 45 * SECOND;

/// A pan spoken of within this time is the one that a bare call means.
pub const ADDRESSED_FOR: i64 = 2 * MINUTE;
/// A flip or an end is "about now" within this time before it is due.
pub const ABOUT_NOW: i64 = 45 * SECOND;

/// Ending a step with more than this of its least time left needs a "yes".
pub const SKIP_ASKS: i64 = 5 * MINUTE;
/// "scratch that" for a call older than this asks first.
pub const SCRATCH_ASKS: i64 = 5 * MINUTE;
/// "no, one fifteen" corrects a reading that is no older than this.
pub const CORRECT_WITHIN: i64 = 3 * MINUTE;
/// Between two plates of the serving sheet: after a longer break the tasters may be back,
/// so it is asked again whether they are out of hearing.
pub const PLATING_FOR: i64 = 3 * MINUTE;
/// A step is called so long before it is to begin: time to wash hands.
pub const WASH_HANDS: i64 = 2 * MINUTE;
/// Less than this is not late; more is told, and told again when it has grown by this
/// share of what was told.
pub const LATE_WORTH: i64 = 5 * MINUTE;
pub const LATE_AGAIN: f64 = 0.5;
/// So long after something should have begun or ended, the rest of the cook is laid anew.
pub const LAY_AGAIN: i64 = 3 * MINUTE;
/// A limit of cooling is told of so long ahead: time for an ice bath or a shallower pan.
pub const COOLING_AHEAD: i64 = 20 * MINUTE;
/// The longest timer that can be set by voice.
pub const TIMER_MOST: i64 = 7 * 24 * HOUR;

/// How sure the ear must be (probability that the words are right). A question may
/// be answered on little evidence, a record needs more, what changes the cook's
/// course needs most; between the floor and its own figure a call is read back for
/// a "yes", below the floor it was not understood.
pub const SURE_FLOOR: f32 = 0.25;
pub const SURE_RECORD: f32 = 0.5;
/// The embedded ear's confidence was fitted on sound: it is seldom above 0.95, and what
/// it hears right in mild noise lies above this.
pub const SURE_COURSE: f32 = 0.55;

/// Core and medium temperatures outside these are asked about, °C. A core cannot be
/// above boiling water by much nor below a freezer; frying oil is below its fire
/// point (about 360 °C) and cooked sugar below 210 °C.
pub const CORE_SENSE_C: (f64, f64) = (-30.0, 105.0);
pub const MEDIUM_SENSE_C: (f64, f64) = (-10.0, 280.0);
/// And of a kitchen in which somebody cooks.
pub const ROOM_SENSE_C: (f64, f64) = (-10.0, 60.0);

/// Against a call that makes sense, one that would be refused is this likely to have been
/// said; a bare answer when nothing was asked is talk among people.
pub const UNLIKELY: f32 = 0.2;
/// And the answer to a question that is open, against anything else.
pub const AWAITED: f32 = 3.0;
pub const UNLIKELY_TALK: f32 = 0.001;
/// A reading is seldom this far from the one before it in the same pan, °C.
pub const FAR_READING_C: f64 = 40.0;
