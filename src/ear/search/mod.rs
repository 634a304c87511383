//! The grammar's best sentences for what the network says.
//!
//! | file | what |
//! | --- | --- |
//! | `words` | the words of the grammar and their order |
//! | `graph` | the same in phones: a prefix tree a state, like endings shared |
//! | `beam` | frame by frame: connectionist temporal classification along the graph |
//! | `align` | where a given sentence lies in the sound, and how well each word fits |
//! | `free` | the phones that were heard, whatever the grammar says |

mod align;
mod beam;
mod free;
mod graph;
mod words;

pub use align::{Fit, WordFit, fit};
pub use beam::{Beam, Found, Limits, Standing};
pub use free::FreePhones;
pub use graph::PhoneGraph;
pub use words::{WordArc, WordGraph};

/// So much smaller (natural logarithm), a float adds nothing to another.
const NOTHING: f32 = 17.0;

/// log(exp(a) + exp(b)) without overflow.
pub(crate) fn log_add(a: f32, b: f32) -> f32 {
    let (high, low) = if a > b { (a, b) } else { (b, a) };
    if low < high - NOTHING || low == f32::NEG_INFINITY {
        high
    } else {
        high + (low - high).exp().ln_1p()
    }
}
