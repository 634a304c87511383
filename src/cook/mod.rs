//! The room that joins the others: one loop owns the state of the cook, everything
//! else talks to it over a channel.
//!
//! ```text
//! ear thread ──┐                        ┌─► journal (on the disk first)
//! typed lines ─┼─► Msg ─► Loop ─► decide┼─► state
//! timer, signals (tokio) ┘              └─► voice, console (then aloud)
//! ```
//!
//! - [`clock`]: real time, or a session's own
//! - [`console`]: the dialogue as text
//! - [`hark`]: where calls come from
//! - [`mouth`]: the hold on the voice
//! - [`open`]: a plan and a journal → the cook as it stands
//! - [`shelf`]: where journals lie
//! - [`table`]: the one state, and what becomes of an input
//! - [`typed`]: typed lines as the ear
//! - [`watch`]: timers and signals

mod args;
mod clock;
mod console;
mod hark;
mod mouth;
mod notes;
mod open;
mod shelf;
mod start;
mod table;
mod typed;
mod watch;

pub use crate::record::{Line, Told, replay};
pub use args::CookArgs;
pub use shelf::folder;
pub use start::run;

use std::time::Duration;

use crate::ear::EarEvent;

/// Everything that can reach the loop.
#[derive(Debug)]
pub(crate) enum Msg {
    Ear(EarEvent),
    Typed(String),
    /// Typed sessions only: time passes.
    Pass(Duration),
    BadLine(String),
    EarEnded,
    /// The voice has something that a person should read.
    Remark(String),
    /// Something may be due.
    Tick,
    /// The terminal or the system asks the program to end; the cook stays unfinished.
    Stop,
}
