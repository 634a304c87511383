//! The acoustic networks: sound → how likely each phone is.
//!
//! | file | what |
//! | --- | --- |
//! | `features` | sound → log-mel bands every 10 ms, for the first network |
//! | `card` | `models/en.json`: what the first network expects and answers |
//! | `acoustic` | runs the first network over a stream, memory carried from piece to piece |
//! | `mel` | sound → log-mel bands every 10 ms, for the second |
//! | `unread` | reads the second's file, its matrices left where they lie |
//! | `eight_bit` | multiplies with such a matrix |
//! | `second` | runs the second network over a whole utterance |
//! | `third` | which of a few sentences it was, after a small speech-to-text model |
//! | `tokens` | sentences as that writes them |

mod acoustic;
mod card;
#[cfg(test)]
mod check;
mod eight_bit;
mod features;
mod mel;
mod second;
mod third;
mod tokens;
mod unread;

pub use acoustic::{Acoustic, Frame, Model};
pub use card::Card;
pub use features::{BANDS, Bands, Features, HOP};
pub use second::{HOP as SECOND_HOP, SecondPass};
pub use third::{Files, ThirdOpinion, Told};

/// Seconds from one [`Frame`] of the first network to the next.
pub const FRAME_S: f64 = 0.03;
