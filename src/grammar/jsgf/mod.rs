//! The JSpeech Grammar Format, V1.0 (W3C note of 5 June 2000): text to a checked tree.
//!
//! Taken from the note: header, grammar name, rules, `public`, sequences,
//! alternatives, weights, groups, optionals, `*`, `+`, tags with escapes, quoted
//! tokens, comments, `<NULL>`, `<VOID>`, qualified names of own rules, recursion at
//! the right end. Refused, with what to write instead: imports of other grammars
//! (one file is all that a grammar may depend on), recursion anywhere else.

mod ast;
mod check;
mod decode;
mod lexer;
mod parser;

pub use ast::{Node, Source};
pub use decode::text_of;

use super::error::Result;

/// Text to a checked tree, and what deserves a warning (rules that nothing reaches).
pub fn read(file: &str, text: &str) -> Result<(Source, Vec<super::Error>)> {
    let mut source = parser::parse(file, text)?;
    check::resolve(&mut source);
    let errors = check::errors(&source);
    match errors.into_iter().next() {
        Some(first) => Err(first),
        None => {
            let warnings = check::unreachable(&source);
            Ok((source, warnings))
        }
    }
}

/// Every problem of a text at once, warnings after errors; empty for a sound grammar.
pub fn problems(file: &str, text: &str) -> Vec<super::Error> {
    match parser::parse(file, text) {
        Err(e) => vec![e],
        Ok(mut source) => {
            check::resolve(&mut source);
            let mut all = check::errors(&source);
            all.extend(check::unreachable(&source));
            all
        }
    }
}

/// Rules that take part in a recursion, by index into `source.rules`.
pub(super) fn recursive(source: &Source) -> Vec<bool> {
    let groups = check::groups(source);
    let mut size = vec![0usize; source.rules.len()];
    for &g in &groups {
        if let Some(s) = size.get_mut(g) {
            *s += 1;
        }
    }
    source
        .rules
        .iter()
        .enumerate()
        .map(|(i, _)| {
            let group = groups.get(i).copied().unwrap_or(i);
            size.get(group).copied().unwrap_or(0) > 1
                || check::references(source, i).any(|(to, _)| to == i)
        })
        .collect()
}
