//! JSGF rules and the plan's names → the recogniser's vocabulary; heard words → a [`Call`].
//!
//! ```text
//! grammars/en.jsgf ─► jsgf ─► names ─► automaton ─► vocabulary, phrases, JSGF text,
//!    (text)          (tree)  (of the     (graph       graph for a decoder   ─► ear
//!                             plan)     with tags)
//!                                            ▲
//!              typed line ─► typed ─► words ─┴─► tags ─► meaning ─► Call    ─► kitchen
//! ```
//!
//! | part | does |
//! | --- | --- |
//! | `jsgf/` | the format: text → a checked tree, or an error with its place |
//! | `names` | the shipped grammars, and a plan's names in them |
//! | `automaton/` | tree → graph; walks it for readings, beginnings, sentences |
//! | `compiled` | [`Grammar`]: every question one may ask |
//! | `active` | [`ActiveSet`]: what may be said now |
//! | `meaning` | tags → [`Call`] |
//! | `number` | numbers out of tags, the same for every language |
//! | `typed` | digits, abbreviations and punctuation → words of the grammar |
//! | `export` | a grammar as text for other programs |
//! | `limits` | how big a grammar may be |
//! | `call` | [`Call`]: everything that a cook can call |
//!
//! A new call: its wording in `grammars/*.jsgf` with a tag, a variant in `call`, an arm in
//! `meaning`. A new language: a file in `grammars/` with the rules and tags of `en.jsgf`,
//! and a line in `names`. A new wording: the file alone; `tests/grammar/whole.rs` tells
//! if it collides with another.

mod active;
mod automaton;
mod call;
mod compiled;
mod error;
mod export;
mod jsgf;
mod limits;
mod meaning;
mod names;
mod number;
mod typed;

pub use active::{ActiveSet, Asked};
pub use automaton::{Arc, Automaton, Final, Parse, Prefix, State, Tag};
pub use call::*;
pub use compiled::Grammar;
pub use error::{Error, Result};
pub use meaning::NoCall;
