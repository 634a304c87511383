//! Readings, tables and times in; verdicts out. Pure: numbers in, numbers out.
//!
//! | file | idea |
//! | --- | --- |
//! | `conduction` | heat into a slab, cylinder, sphere: eigenvalues, one term, the whole series |
//! | `batch` | what is known before any reading, and the weak priors drawn from it |
//! | `spread` | how like pieces differ |
//! | `probe` | readings and the rounds they make |
//! | `fit` | readings → a sample of the ways the batch could be |
//! | `belief` | rounds → the believed core, what is odd, done or not, time left |

mod batch;
mod belief;
pub mod conduction;
mod fit;
mod probe;
mod spread;

pub use batch::{Batch, DIFFUSIVITY, Heating};
pub use belief::{Belief, Missing, Oddity, Round, TimeLeft, Verdict, believe};
pub use fit::{NEVER_S, NOISE_C};
pub use probe::{Probe, ROUND_MOST_S, ROUND_PAUSE_S, rounds};
pub use spread::scores;
