//! Our own recogniser: one network that listens all the time, and a search along the
//! grammar whenever somebody speaks.
//!
//! ```text
//! sound ─► net: phones and speech, every 30 ms ─► ends: who speaks, and have they ended?
//!                          └────► utterance: search, n-best ─► evidence ─► confidence
//! ```
//!
//! | file | what |
//! | --- | --- |
//! | `utterance` | the search of one utterance, and what speaks for its result |
//! | `evidence` | from that to a probability |
//! | `ends` | where utterances begin and end, from the network's own ear for speech |
//! | `stream` | the network over a stream without end |
//! | `listener` | samples in, events out |

mod ends;
mod evidence;
mod listener;
mod stream;
mod utterance;

pub use ends::{Ends, Turn, Waits};
pub use evidence::{Evidence, Weights};
pub use listener::HobListener;
pub use utterance::{Reading, Search, Utterance};

#[cfg(test)]
pub(crate) mod synthetic;

use super::net::Model;

const NETWORK: &[u8] = include_bytes!("../../../models/en.onnx");
const CARD: &str = include_str!("../../../models/en.json");

/// The embedded English network. Takes about a tenth of a second; clones share it.
///
/// # Errors
/// The embedded files are damaged.
pub fn english() -> Result<Model, String> {
    Model::load(NETWORK, CARD)
}
