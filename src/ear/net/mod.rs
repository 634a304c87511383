//! The acoustic network: sound → how likely each phone is, every 30 ms.
//!
//! | file | what |
//! | --- | --- |
//! | `features` | sound → log-mel bands every 10 ms |
//! | `card` | `models/en.json`: what the network expects and answers |
//! | `acoustic` | runs the network over a stream, memory carried from piece to piece |

mod acoustic;
mod card;
mod features;

pub use acoustic::{Acoustic, Frame, Model};
pub use card::Card;
pub use features::{BANDS, Bands, Features, HOP};

/// Seconds from one [`Frame`] to the next.
pub const FRAME_S: f64 = 0.03;
