//! Our own recogniser: one network that listens all the time, a second one that hears
//! every utterance again as a whole, and a search along the grammar for both.
//!
//! ```text
//! sound ─► first net: phones and speech, every 30 ms ─► ends: who speaks, and have they ended?
//!   │                      └────► utterance: search while it is spoken ─┘       │
//!   └──────────────────► second net: phones of the whole utterance ◄────────────┘
//!                          └────► utterance: search, n-best ─► evidence ─► confidence
//!                                    └─► doubt: third opinion ─┘
//! ```
//!
//! | file | what |
//! | --- | --- |
//! | `utterance` | the search of one utterance, and what speaks for its result |
//! | `evidence` | from that to a probability |
//! | `distance` | how far the phones heard lie from those of words |
//! | `ends` | where utterances begin and end, from the network's own ear for speech |
//! | `stream` | the network over a stream without end |
//! | `listener` | samples in, events out |

mod distance;
mod ends;
mod evidence;
mod listener;
mod stream;
mod utterance;

pub use ends::{Ends, Turn, Waits};
pub use evidence::{Evidence, Evidences, Weights};
pub use listener::HobListener;
pub use utterance::{Compared, Opinion, Reading, Search, Understood, Utterance};

#[cfg(test)]
pub(crate) mod synthetic;

use super::net::{Files, Model, SecondPass, ThirdOpinion};

const FIRST: &[u8] = include_bytes!("../../../models/en.onnx");
const FIRST_CARD: &str = include_str!("../../../models/en.json");
const SECOND: &[u8] = include_bytes!("../../../models/second.onnx");
const SECOND_CARD: &str = include_str!("../../../models/second.json");
pub(super) const THIRD: Files = Files {
    third: include_bytes!("../../../models/third.onnx"),
    reader: include_bytes!("../../../models/reader.onnx"),
    words: include_bytes!("../../../models/reader-words.bin"),
    card: include_str!("../../../models/third.json"),
};

/// What the ear hears with. Clones share the weights.
#[derive(Clone)]
pub struct Networks {
    /// Listens all the time.
    pub first: Model,
    /// Hears every utterance again, whole.
    pub second: SecondPass,
    /// Is asked where two sentences are close.
    pub third: ThirdOpinion,
}

/// The embedded English networks. Takes about a quarter of a second.
///
/// # Errors
/// The embedded files are damaged.
pub fn english() -> Result<Networks, String> {
    let first = Model::load(FIRST, FIRST_CARD)?;
    let second = SecondPass::load(SECOND, SECOND_CARD, &first.card().phones)?;
    let third = ThirdOpinion::load(&THIRD)?;
    Ok(Networks {
        first,
        second,
        third,
    })
}
