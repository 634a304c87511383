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
//! | `medium` | oil or water against the plan's window |
//! | `smoke` | where oils begin to smoke |
//! | `minimum`, `hold`, `aim` | consumer minimums, hold tables, a plan's target against them |
//! | `danger`, `cooling` | time in the danger zone; cooling after the cook |
//! | `check` | the probe in ice and in boiling water |
//! | `units` | °F and °C, and the rounding of a cook |
//!
//! Temperatures are °C inside, times are seconds. The figures are in `data/doneness/`.

mod aim;
mod batch;
mod belief;
pub mod check;
pub mod conduction;
pub mod cooling;
pub mod danger;
mod fit;
pub mod hold;
mod medium;
mod minimum;
mod probe;
mod smoke;
mod spread;
pub mod units;

pub use aim::{Aim, aim};

pub use batch::{Batch, DIFFUSIVITY, Heating};
pub use belief::{Belief, Missing, Oddity, Round, TimeLeft, Verdict, believe};
pub use fit::{NEVER_S, NOISE_C};
pub use medium::{COLD_FOOD_S, Turn, turn};
pub use minimum::{Minimum, minimum};
pub use probe::{Probe, ROUND_MOST_S, ROUND_PAUSE_S, rounds};
pub use smoke::{Smoke, smoke, smokes, unnamed};
pub use spread::scores;
