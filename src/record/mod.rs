//! A journal → what happened, for people and for other programs.
//!
//! ```text
//! journal ─► story ─┬─► page (one HTML file, plots as SVG inside)
//!            │      ├─► sheets (CSV), export (JSON, complete)
//!            │      └─► compare (cooks of one plan side by side)
//!         replay    └─► correct (a diff for the plan)
//! ```
//!
//! | file | what |
//! | --- | --- |
//! | `args` | `hobcall record`: reads, makes, writes |
//! | `replay` | a journal → the dialogue again, word for word |
//! | `story` | the journal folded into rows: calls, steps, readings, notes |
//! | `clocks` `places` | each clock's life; where each marked piece was, and the maps |
//! | `judged` | what the readings meant, asked of [`crate::doneness`] |
//! | `planned` | when the plan alone would have had each step |
//! | `taken` `names` `written` | an event, a name, a time, as the record writes them |
//! | `export` `sheets` | JSON that gives the events back; CSV |
//! | `plot/` | readings, time line and vessels as SVG |
//! | `page/` | the page |
//! | `panel` | `hobcall panel`: the serving sheet on paper, and how many tasters |
//! | `compare` | differences between cooks of one plan |
//! | `correct` `edit` | what the plan should have said, and the edit of just that value |
//!
//! A journal is only ever read here, without its lock, so the record of a cook that is
//! still running, or that ended in a power cut, can be made at any time.

mod args;
pub(crate) mod clocks;
mod compare;
mod correct;
mod edit;
mod export;
mod judged;
pub(crate) mod names;
mod page;
pub mod panel;
mod places;
mod planned;
mod plot;
mod replay;
mod sheets;
mod story;
mod taken;
pub(crate) mod written;

pub use args::{Args, Error, run};
pub use clocks::ClockRow;
pub use correct::{Proposal, accept, propose};
pub use export::{NotARecord, from_json, to_json};
pub use page::page;
pub use places::{MapRow, Stay};
pub use planned::{Planned, planned};
pub use replay::{Line, Told, replay, wall};
pub use sheets::sheets;
pub use story::{Ending, LineRow, NoteRow, ReadingRow, Span, StepRow, Story, StoveRow, story};
