//! `(State, Call or Tick, now)` → events; `State = fold(Event)`; `(State, Event)` → replies.
//!
//! Pure: time is an argument, nothing here reads a clock, a file or a device.
//!
//! | file | what |
//! | --- | --- |
//! | `input` `event` `questions` `reply` `reply_asking` `reply_doneness` `reply_tasting` | the words of the interface: what comes in, what can happen, what is asked, what is said |
//! | `state` | the fold with its past: undo, say again |
//! | `kit` `core` `fold` `fold_steps` `fold_readings` `blur` | the plan looked up; what is so now; how an event changes it |
//! | `clocks` `agenda` | the clocks; what is due and when the tool may next speak unasked |
//! | `places` `whereabouts` | geometry of vessels; what is known of every piece |
//! | `focus` | which pan or step a bare call means |
//! | `decide/` | calls and ticks → events |
//! | `replies/` | events → what to say |
//! | `sitting` | the blind tasting as it stands |
//! | `day` | the seam to the schedule: when the rest happens, by what has happened |
//! | `meaning` `beliefs` | the seam to what readings mean; what it came to, worked out once |
//! | `exposure` `cooling` `holding` | time in the danger zone, by item; cooling after the cook; the hold that a table asks |
//! | `called` | what counts while calls must begin with the name |
//! | `likely` | how likely a call is here and now, for the ear |
//! | `view` `glance` | the state for those who draw it: steps, clocks, vessels; marked pieces, heat |
//! | `manners` | how often, how soon, how sure: figures |

mod agenda;
mod beliefs;
mod blur;
mod called;
mod clocks;
mod cooling;
mod core;
mod day;
mod decide;
mod event;
mod exposure;
mod focus;
mod fold;
mod fold_readings;
mod fold_steps;
mod glance;
mod holding;
mod input;
mod kit;
mod likely;
pub mod manners;
mod meaning;
pub mod places;
mod questions;
mod replies;
mod reply;
mod reply_asking;
mod reply_doneness;
mod reply_tasting;
mod sitting;
mod state;
mod trail;
mod view;
pub mod whereabouts;

use serde::{Deserialize, Serialize};

pub use agenda::next_due;
pub use called::{cuts_in, heeds, without_name};
pub use day::Begin;
pub use decide::decide;
pub use event::{ClockKey, Deed, Due, Event, Measured, PieceId, Reading, Refusal, Settled, What};
pub use glance::{BeliefView, CoolingView, LegView, MarkView, StoveView};
pub use input::Input;
pub use likely::likelihood;
pub use questions::{Doubt, NumberDoubt, Question};
pub use replies::replies;
pub use reply::*;
pub use reply_asking::{Asking, Held, Hint, No, SureWhy};
pub use reply_doneness::{
    BelievedLine, CoolingLine, CoolingStands, LeftLine, PieceAsked, Remark, VerdictLine,
};
pub use reply_tasting::TastingSay;
pub use state::State;
pub use view::*;

/// Milliseconds of cook time since the cook began. It counts while the machine
/// sleeps and is never bent by a wall clock that jumps; the loop supplies it.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
pub struct At(pub i64);

impl At {
    pub fn plus(self, ms: i64) -> At {
        At(self.0.saturating_add(ms))
    }

    /// Milliseconds from `earlier` to `self`, negative when it is later.
    pub fn since(self, earlier: At) -> i64 {
        self.0.saturating_sub(earlier.0)
    }
}
