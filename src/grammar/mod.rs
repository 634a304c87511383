//! JSGF rules and the plan's names → the recogniser's vocabulary; heard words → a [`Call`].

mod active;
mod automaton;
mod call;
mod compiled;
mod error;
mod export;
mod jsgf;
mod limits;
mod meaning;
mod names;
mod number;
mod typed;

pub use active::{ActiveSet, Asked};
pub use automaton::{Arc, Automaton, Final, Parse, Prefix, State, Tag};
pub use call::*;
pub use compiled::Grammar;
pub use error::{Error, Result};
pub use meaning::NoCall;
