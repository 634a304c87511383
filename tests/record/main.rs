//! The record of cooks that were really cooked: typed calls through the real grammar and
//! engine into a real journal, read back from the disk.
//!
//! Outside checks: the page against html5ever, the parser of the HTML standard; the tables
//! against the rules of RFC 4180 by the csv crate's reader; the JSON against the journal.
//!
//! - `stove`: a cook with a journal
//! - `told`: the rows are what happened
//! - `page`: the page, of ended, running and torn cooks, and of tastings
//! - `command`: JSON, tables, corrections of the plan, the command itself
//! - `html_faults`: what the parser of the HTML standard finds wrong

mod command;
mod html_faults;
mod page;
mod stove;
mod told;
