//! A file → the cook in it. A torn last line is what a pulled plug leaves: it was
//! never acknowledged, so it may be dropped. A bad line with good ones behind it is
//! damage of another kind and is refused.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use serde::de::DeserializeOwned;

use super::line::{Entry, Header, Session, VERSION, check};
use super::{Anchor, Error};

/// Everything a journal holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Cook<E> {
    pub header: Header,
    pub sessions: Vec<Session>,
    pub events: Vec<(jiff::Timestamp, E)>,
    /// Bytes at the end that are no whole line, if any.
    pub torn: Option<Torn>,
}

/// A tail that was being written when the power went.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Torn {
    /// Where the good part ends, bytes.
    pub at: u64,
    pub bytes: Vec<u8>,
}

impl<E> Cook<E> {
    /// The newest session's anchor, from which cook time goes on.
    pub fn last_anchor(&self) -> Option<&Anchor> {
        self.sessions.last().map(|s| &s.anchor)
    }
}

/// Reads a journal without changing it; serves a cook that is still running, too.
///
/// # Errors
/// When the file cannot be read, is no journal, is newer than this program, or has
/// a damaged line that is not the last.
pub fn read<E: DeserializeOwned>(path: &Path) -> Result<Cook<E>, Error> {
    let bytes = fs::read(path).map_err(|e| match e.kind() {
        ErrorKind::NotFound => Error::Missing {
            path: path.to_owned(),
        },
        _ => Error::io(path, e),
    })?;
    parse(&bytes, path)
}

pub(super) fn parse<E: DeserializeOwned>(bytes: &[u8], path: &Path) -> Result<Cook<E>, Error> {
    let mut lines = Lines { bytes, at: 0 };
    let header = match lines.next() {
        Some((_, line, true)) => read_header(line, path)?,
        _ => {
            return Err(Error::NotAJournal {
                path: path.to_owned(),
                why: "no whole first line".into(),
            });
        }
    };
    let mut cook = Cook {
        header,
        sessions: Vec::new(),
        events: Vec::new(),
        torn: None,
    };
    let mut number = 1;
    while let Some((at, line, whole)) = lines.next() {
        number += 1;
        let read = if whole {
            read_entry::<E>(line, cook.events.len() as u64)
        } else {
            Err("cut short".to_owned())
        };
        match read {
            Ok(Entry::Session(session)) => cook.sessions.push(session),
            Ok(Entry::Event { wall, event, .. }) => cook.events.push((wall, event)),
            // Only the end of the file can be torn: an append reaches the disk in order,
            // and nothing was appended behind a line that was not whole.
            Err(_) if !lines.more_good() => {
                cook.torn = Some(Torn {
                    at: at as u64,
                    bytes: bytes.get(at..).unwrap_or_default().to_vec(),
                });
                break;
            }
            Err(why) => {
                return Err(Error::Damaged {
                    path: path.to_owned(),
                    line: number,
                    why,
                });
            }
        }
    }
    Ok(cook)
}

fn read_header(line: &[u8], path: &Path) -> Result<Header, Error> {
    let wrong = |why: String| Error::NotAJournal {
        path: path.to_owned(),
        why,
    };
    let json = check(line).map_err(wrong)?;
    #[derive(serde::Deserialize)]
    struct Stamp {
        hobcall: u32,
    }
    let stamp: Stamp = serde_json::from_slice(json).map_err(|e| wrong(e.to_string()))?;
    if stamp.hobcall > VERSION {
        return Err(Error::Version {
            path: path.to_owned(),
            found: stamp.hobcall,
            known: VERSION,
        });
    }
    serde_json::from_slice(json).map_err(|e| wrong(e.to_string()))
}

fn read_entry<E: DeserializeOwned>(line: &[u8], expected: u64) -> Result<Entry<E>, String> {
    let entry: Entry<E> =
        serde_json::from_slice(check(line)?).map_err(|e| format!("not an entry: {e}"))?;
    if let Entry::Event { n, .. } = &entry
        && *n != expected
    {
        return Err(format!("it is number {n} where {expected} belongs"));
    }
    Ok(entry)
}

/// Lines with their start and whether a newline ends them.
struct Lines<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl<'a> Lines<'a> {
    fn next(&mut self) -> Option<(usize, &'a [u8], bool)> {
        let rest = self.bytes.get(self.at..).filter(|r| !r.is_empty())?;
        let start = self.at;
        match rest.iter().position(|b| *b == b'\n') {
            Some(end) => {
                self.at += end + 1;
                Some((start, &rest[..end], true))
            }
            None => {
                self.at = self.bytes.len();
                Some((start, rest, false))
            }
        }
    }

    /// Whether any whole, checksummed line stands ahead.
    fn more_good(&self) -> bool {
        let mut ahead = Lines {
            bytes: self.bytes,
            at: self.at,
        };
        while let Some((_, line, whole)) = ahead.next() {
            if whole && check(line).is_ok() {
                return true;
            }
        }
        false
    }
}
