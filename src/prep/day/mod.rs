//! The day: when each step begins so that it is on the table in time.
//!
//! | file | what |
//! | --- | --- |
//! | `graph` | a plan and what has happened → points, lags, resources |
//! | `lay` | the schedule: earliest, advised and latest times, or why there is none |
//! | `clock` | "sunday 19:00" → a moment, over midnight and the change of the clocks |
//! | `table` `chart` | the day to read and to pin up |
//!
//! Seconds from the moment the day is laid ("now"). Pure.

pub mod chart;
pub mod clock;
pub mod graph;
pub mod lay;
pub mod table;

pub use graph::{Lengthless, Progress, Went};
pub use lay::{Conflict, Day, Row, TooSoon, Trouble, lay, troubles};
