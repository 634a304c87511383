//! The YAML a cook writes → a checked [`Plan`], or every problem with its place.
//!
//! ```text
//! bytes ─► source ─► tree ─► read ─► checks ─► Plan
//!          UTF-8,    marked   │       the whole: one vessel, one piece,
//!          size,     YAML,    │       one place at a time
//!          tabs      budgets  ├─ things (items, samples, vessels)
//!                             ├─ medium (the oil of a vessel, its smoke, its limit)
//!                             ├─ steps, holding, tasting
//!                             ├─ amounts (ingredients, brine, oil, breading)
//!                             ├─ hearing (the name to call, how words sound)
//!                             ├─ order (what waits for what)
//!                             └─ names, registry, quantity, places
//! problems ─► rest: what of the plan is sound all the same, for rooms that find more
//! ```
//!
//! The language is described in `docs/plan-language.md`. Nothing stops at the first
//! mistake: every [`Problem`] of a file comes in one run, with line, column, what is
//! wrong and what to write. Pure: text in, plan or problems out.

mod aims;
mod amounts;
mod checks;
mod hearing;
mod holding;
mod medium;
mod model;
mod names;
mod needs;
mod needs_checks;
mod order;
mod places;
mod print;
mod print_things;
mod problem;
pub mod quantity;
mod read;
mod registry;
mod rest;
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
pub use hearing::{PHONES, phone};
pub use medium::Medium;
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

/// Every problem of a file, and what is sound of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Unsound {
    /// In file order; never empty.
    pub problems: Vec<Problem>,
    /// The plan where what could not be read takes no time and needs nothing: whatever
    /// cannot be done in it cannot be done in the plan that was meant. None where not even
    /// the steps are there.
    pub rest: Option<Box<Checked>>,
}

/// Reads a plan from text. `file` is only the name that problems carry.
///
/// # Errors
/// Every problem of the file, in file order; never an empty list.
pub fn read(text: &str, file: &str) -> Result<Checked, Vec<Problem>> {
    read_or_rest(text, file).map_err(|unsound| unsound.problems)
}

/// Reads a plan from the bytes of a file, which may not even be text.
///
/// # Errors
/// As [`read`].
pub fn read_bytes(bytes: &[u8], file: &str) -> Result<Checked, Vec<Problem>> {
    read_bytes_or_rest(bytes, file).map_err(|unsound| unsound.problems)
}

/// As [`read_bytes`], for rooms that look for further problems in what is sound.
///
/// # Errors
/// Every problem of the file, and what is left of the plan.
pub fn read_bytes_or_rest(bytes: &[u8], file: &str) -> Result<Checked, Unsound> {
    let mut desk = Desk::new(file);
    match source::decode(bytes, &mut desk) {
        Some(text) => read_or_rest(text, file),
        None => finish(None, desk, file),
    }
}

fn read_or_rest(text: &str, file: &str) -> Result<Checked, Unsound> {
    let mut desk = Desk::new(file);
    let plan = source::clean(text, &mut desk)
        .and_then(|text| tree::parse(text, &mut desk))
        .and_then(|root| read::plan(&root, &mut desk));
    finish(plan, desk, file)
}

fn finish(plan: Option<Plan>, mut desk: Desk<'_>, file: &str) -> Result<Checked, Unsound> {
    let checked = |plan: Plan, desk: &mut Desk<'_>| Checked {
        plan,
        marks: std::mem::take(&mut desk.marks),
        warnings: std::mem::take(&mut desk.warnings),
        file: file.to_owned(),
    };
    match plan {
        Some(plan) if desk.count() == 0 => {
            desk.warnings
                .sort_by_key(|warning| (warning.line, warning.column));
            Ok(checked(plan, &mut desk))
        }
        plan => {
            let rest = plan
                .filter(|plan| !plan.steps.is_empty())
                .map(|plan| checked(plan, &mut desk));
            let problems = desk.into_problems();
            Err(Unsound {
                rest: rest.map(|rest| Box::new(rest::sound(rest, &problems))),
                problems,
            })
        }
    }
}
