//! What is wrong with a grammar, where, and what to write.

/// One problem of a grammar text. `line` and `column` count from 1 in characters;
/// 0 means that the problem belongs to no one place.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}{what}; {write_instead}", place(file, *line, *column))]
pub struct Error {
    pub file: String,
    pub line: u32,
    pub column: u32,
    pub what: String,
    pub write_instead: String,
}

fn place(file: &str, line: u32, column: u32) -> String {
    match line {
        0 => format!("{file}: "),
        _ => format!("{file}:{line}:{column}: "),
    }
}

pub type Result<T> = std::result::Result<T, Error>;

/// A place in a grammar text, counted from 1; the default (0, 0) is "no one place".
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Pos {
    pub line: u32,
    pub column: u32,
}

impl Error {
    pub(crate) fn at(
        file: &str,
        pos: Pos,
        what: impl Into<String>,
        write_instead: impl Into<String>,
    ) -> Error {
        Error {
            file: file.to_string(),
            line: pos.line,
            column: pos.column,
            what: what.into(),
            write_instead: write_instead.into(),
        }
    }
}
