//! JSGF rules and the plan's names → the recogniser's vocabulary; heard words → a [`Call`].

mod call;

pub use call::*;
