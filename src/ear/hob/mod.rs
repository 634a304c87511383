//! Our own recogniser: one network that listens all the time, a second one that hears
//! every utterance again as a whole, and a search along the grammar for both.
//!
//! ```text
//! sound ─► first net: phones and speech, every 30 ms ─► ends: who speaks, and have they ended?
//!   │                      └────► utterance: search while it is spoken ─┘       │
//!   └──────────────────► second net: phones of the whole utterance ◄────────────┘
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
pub use evidence::{Evidence, Evidences, Weights};
pub use listener::HobListener;
pub use utterance::{Compared, Reading, Search, Understood, Utterance};

#[cfg(test)]
pub(crate) mod synthetic;

use super::net::{Model, SecondPass};

const FIRST: &[u8] = include_bytes!("../../../models/en.onnx");
const FIRST_CARD: &str = include_str!("../../../models/en.json");
const SECOND: &[u8] = include_bytes!("../../../models/second.onnx");
const SECOND_CARD: &str = include_str!("../../../models/second.json");

/// What the ear hears with. Clones share the weights.
#[derive(Clone)]
pub struct Networks {
    /// Listens all the time.
    pub first: Model,
    /// Hears every utterance again, whole.
    pub second: SecondPass,
}

/// The embedded English networks. Takes about a quarter of a second.
///
/// # Errors
/// The embedded files are damaged.
pub fn english() -> Result<Networks, String> {
    let first = Model::load(FIRST, FIRST_CARD)?;
    let second = SecondPass::load(SECOND, SECOND_CARD, &first.card().phones)?;
    Ok(Networks { first, second })
}
