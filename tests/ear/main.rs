//! The ear on real sound, from files.

mod common;
mod speech;
