//! Numbers, spans of time and clock times in the words of a kitchen. Pure.
//!
//! | file | takes → gives |
//! | --- | --- |
//! | [`cardinal`] | 162 → "one sixty two", "one hundred sixty two", "one six two" |
//! | [`span`] | 4 min 30 s → "four minutes thirty", "about five minutes", "four minutes ago" |
//! | [`clock`] | 19:30 → "seven thirty in the evening" |
//!
//! Nothing here writes digits or hyphens: what leaves goes straight to a speech
//! engine, and back through a grammar whose vocabulary is single words.

mod cardinal;
mod clock;
mod span;

pub use cardinal::{amount, called, called_range, digits, ordinal, plain, sounds_like_another};
pub use clock::{DayPart, clock_time, clock_time_with};
pub use span::{about, ago, duration, span_range};

#[cfg(test)]
mod tests;
