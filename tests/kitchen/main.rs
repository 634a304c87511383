//! The engine: a cook at the stove, calls and time in, words and state out.

mod bad_input;
mod called;
mod clocks;
mod cooling;
mod day;
mod doneness;
mod exposure;
mod fold;
mod marked;
mod moves;
mod places;
mod reminders;
mod session;
mod steps;
mod support;
mod talk;
mod tasting;
mod units;
mod unsure;
mod waits;
