//! One record ↔ one line: `crc32-in-hex space JSON newline`.
//!
//! The checksum stands before the JSON so that a line cut anywhere, and a line
//! with a flipped bit, are told apart from a whole one without guessing.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::time::Anchor;

/// Version of the line format; a reader refuses a newer one.
pub const VERSION: u32 = 1;

/// The first line of a journal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Header {
    pub hobcall: u32,
    /// Name of the plan's file, without folders.
    pub plan_file: String,
    /// The plan's text as it was when the cook began.
    pub plan: String,
    /// IANA name of the kitchen's time zone, if known.
    pub zone: Option<String>,
    /// Seed of every random choice of this cook (tasting codes, serving orders).
    pub seed: u64,
}

/// Written at each start of the program on this cook.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Session {
    pub anchor: Anchor,
    /// Version of the program.
    pub program: String,
}

/// Anything after the header.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Entry<E> {
    Session(Session),
    Event {
        /// Counts from 0 without gaps.
        n: u64,
        /// Wall clock when written; for people, never for arithmetic.
        wall: Timestamp,
        event: E,
    },
}

pub(super) fn encode<T: Serialize>(record: &T) -> Result<Vec<u8>, serde_json::Error> {
    let json = serde_json::to_vec(record)?;
    let mut line = format!("{:08x} ", crc32fast::hash(&json)).into_bytes();
    line.extend_from_slice(&json);
    line.push(b'\n');
    Ok(line)
}

/// The JSON of a line (without its newline), or why it is not one.
pub(super) fn check(line: &[u8]) -> Result<&[u8], String> {
    let (head, json) = line
        .split_at_checked(9)
        .ok_or_else(|| "too short".to_owned())?;
    let sum = std::str::from_utf8(head)
        .ok()
        .and_then(|h| h.strip_suffix(' '))
        .and_then(|h| u32::from_str_radix(h, 16).ok())
        .ok_or_else(|| "no checksum at its start".to_owned())?;
    if crc32fast::hash(json) != sum {
        return Err("its checksum does not match".to_owned());
    }
    Ok(json)
}
