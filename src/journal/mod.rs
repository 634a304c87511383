//! An event → a durable line; a file → the events, a torn tail repaired.
//!
//! One file a cook, JSON lines, each with a checksum, each `fdatasync`ed before
//! anybody hears an acknowledgement. The first line is the [`Header`] with the
//! plan as it was, so that a record can be made years later from this file alone.
//!
//! - [`line`]: one record ↔ one checksummed line
//! - [`read`]: a file → header, entries and what had to be repaired
//! - [`write`]: the locked, appending [`Journal`]
//! - [`time`]: cook time that no wall-clock jump bends

mod line;
mod read;
mod time;
mod write;

pub use line::{Entry, Header, Session};
pub use read::{Cook, Torn, read};
pub use time::{Anchor, CookClock, Drift};
pub use write::Journal;

use std::path::PathBuf;

/// Why a journal could not be read or written, and what to do about it.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error("{path}: {source}")]
    Io {
        path: PathBuf,
        #[source]
        source: std::io::Error,
    },
    #[error(
        "{path}: no such journal. Journals lie in ~/.local/share/hobcall/cooks unless --journal said where"
    )]
    Missing { path: PathBuf },
    #[error(
        "{path} is being written by another cook; end that one first, or start this one with --new"
    )]
    Locked { path: PathBuf },
    #[error("{path}: not a Hobcall journal (line 1: {why}); choose another file with --journal")]
    NotAJournal { path: PathBuf, why: String },
    #[error(
        "{path}: line {line} is damaged ({why}) although good lines follow it; nothing was changed. \
         Keep the file, and copy the lines before it into a new file to go on from there"
    )]
    Damaged {
        path: PathBuf,
        line: usize,
        why: String,
    },
    #[error("{path}: written by version {found} of the journal, this program knows {known}")]
    Version {
        path: PathBuf,
        found: u32,
        known: u32,
    },
}

impl Error {
    fn io(path: &std::path::Path, source: std::io::Error) -> Self {
        Error::Io {
            path: path.to_owned(),
            source,
        }
    }
}

#[cfg(test)]
mod tests;
