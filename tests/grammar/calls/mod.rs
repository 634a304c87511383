//! What a cook says and what it calls, through the grammar that ships.
//!
//! | file | what |
//! | --- | --- |
//! | `stove` | moving on, cooking, readings, clocks and what has to be known for the day |
//! | `pieces` | where the marked pieces lie, and tasting them blind |
//! | `talk` | repairs and answers, what is no call, and which calls count when |

mod pieces;
mod stove;
mod talk;

use crate::plan::chops;
use hobcall::grammar::{Call, Grammar, Subject};
use hobcall::plan::Span;

fn english() -> Grammar {
    Grammar::for_plan("en", &chops()).unwrap_or_else(|e| panic!("{e}"))
}

fn at(v: f64) -> Span<f64> {
    Span { lo: v, hi: v }
}

fn vessel(id: &str) -> Subject {
    Subject::Vessel(id.into())
}

fn check(grammar: &Grammar, table: &[(&str, Call)]) {
    let wrong: Vec<String> = table
        .iter()
        .filter(|(words, call)| grammar.calls(words) != std::slice::from_ref(call))
        .map(|(words, call)| {
            format!(
                "{words:?}\n  expected {call:?}\n  found    {:?}",
                grammar.calls(words)
            )
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
