//! The YAML a cook writes → a checked [`Plan`], or every problem with its place.
//!
//! ```text
//! bytes ─► source ─► tree ─► read ─► checks ─► Plan
//!          UTF-8,    marked   │       the whole: one vessel, one piece,
//!          size,     YAML,    │       one place at a time
//!          tabs      budgets  ├─ things (items, samples, vessels)
//!                             ├─ steps, holding, tasting
//!                             ├─ amounts (ingredients, brine, oil, breading)
//!                             ├─ order (what waits for what)
//!                             └─ names, registry, quantity, places
//! ```
//!
//! The language is described in `docs/plan-language.md`. Nothing stops at the first
//! mistake: every [`Problem`] of a file comes in one run, with line, column, what is
//! wrong and what to write. Pure: text in, plan or problems out.

mod aims;
mod amounts;
mod checks;
mod holding;
mod model;
mod names;
mod needs;
mod needs_checks;
mod order;
mod places;
mod print;
mod problem;
pub mod quantity;
mod read;
mod registry;
pub mod show;
mod source;
mod steps;
mod table;
mod tasting;
#[cfg(test)]
mod tests;
mod things;
mod tree;
mod units;

pub use aims::below;
pub use model::*;
pub use needs::*;
pub use print::print;
pub use problem::{Fault, Mark, Marks, Problem};

use problem::Desk;

/// A plan without a problem, and where its parts stand in the file.
#[derive(Debug, Clone, PartialEq)]
pub struct Checked {
    pub plan: Plan,
    pub marks: Marks,
    /// What a cook should know but may leave as it is.
    pub warnings: Vec<Problem>,
    file: String,
}

impl Checked {
    /// A problem found by a room that judges finished plans, at the line that `path`
    /// (see [`Marks`]) stands on.
    pub fn problem(
        &self,
        path: &str,
        what: impl Into<String>,
        write_instead: impl Into<String>,
    ) -> Problem {
        let at = self.marks.nearest(path);
        Problem {
            file: self.file.clone(),
            line: at.line,
            column: at.column,
            what: what.into(),
            write_instead: write_instead.into(),
        }
    }
}

/// Reads a plan from text. `file` is only the name that problems carry.
///
/// # Errors
/// Every problem of the file, in file order; never an empty list.
pub fn read(text: &str, file: &str) -> Result<Checked, Vec<Problem>> {
    let mut desk = Desk::new(file);
    let plan = source::clean(text, &mut desk)
        .and_then(|text| tree::parse(text, &mut desk))
        .and_then(|root| read::plan(&root, &mut desk));
    finish(plan, desk, file)
}

/// Reads a plan from the bytes of a file, which may not even be text.
///
/// # Errors
/// As [`read`].
pub fn read_bytes(bytes: &[u8], file: &str) -> Result<Checked, Vec<Problem>> {
    let mut desk = Desk::new(file);
    match source::decode(bytes, &mut desk) {
        Some(text) => read(text, file),
        None => finish(None, desk, file),
    }
}

fn finish(plan: Option<Plan>, mut desk: Desk<'_>, file: &str) -> Result<Checked, Vec<Problem>> {
    match plan {
        Some(plan) if desk.count() == 0 => {
            desk.warnings
                .sort_by_key(|warning| (warning.line, warning.column));
            Ok(Checked {
                plan,
                marks: std::mem::take(&mut desk.marks),
                warnings: std::mem::take(&mut desk.warnings),
                file: file.to_owned(),
            })
        }
        _ => Err(desk.into_problems()),
    }
}
