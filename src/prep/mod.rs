//! The sums before the fire: how much, how salty, how deep, and when to begin.
//!
//! Pure: figures and a checked plan in, figures and pages out. Lengths in millimetres,
//! masses in grams, volumes in millilitres, temperatures in degrees Celsius, shares in
//! percent.
//!
//! | file | what |
//! | --- | --- |
//! | `tables` | `data/prep/` read: brine, solubility, spoons and cups, densities |
//! | `brine` | salt to weigh, strengths, limits |
//! | `soak` | how fast a strong brine comes to the middle |
//! | `pan` `oil` | the shape of a pan; depth, displacement, expansion, headroom |
//! | `fit` | how many pieces lie in one layer |
//! | `surface` | surface of pieces; flour, egg, crumb, leavening |
//! | `scale` `measure` | an amount for more or less food; rounded to what a kitchen can measure |
//! | `bound` | points, lags and resources → the earliest end, exact |
//! | `day/` | the schedule: when each step begins, and why there is none |
//! | `sums` | all of it for one plan, as lines to print |

pub mod bound;
pub mod brine;
pub mod day;
pub mod fit;
pub mod measure;
pub mod oil;
pub mod pan;
pub mod scale;
pub mod soak;
pub mod sums;
pub mod surface;
pub mod tables;
