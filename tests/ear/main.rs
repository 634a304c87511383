//! The ear on real sound, from files; and the models it may fetch.

mod common;
mod fetch;
mod hob;
mod noise;
mod speech;
mod vosk;
