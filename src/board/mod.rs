//! A page to glance at, served by the running cook: what is next, how long is left, where
//! the marked piece is. Nothing on it can be touched.
//!
//! ```text
//! loop ─► Feed ─► the newest picture (one place, never a queue) ─► server thread ─► viewers
//! ```
//!
//! - [`feed`]: what the loop and the threads around it tell; they never wait for a viewer
//! - [`picture`]: the state → what the page shows
//! - [`serve`]: HTTP and server-sent events
//! - [`guard`]: who may see it
//! - `page.html`: the page
//!
//! On the machine itself it is open to whoever sits at it. On a network address it is behind
//! a token in the address; a wrong one gets an empty answer, as does everything else.
//! While a tasting is open no piece, place or code is shown.

mod feed;
mod guard;
mod picture;
mod serve;

pub use feed::{Ear, Feed};
pub use picture::{Picture, TalkLine, picture};
pub use serve::{Board, Error, Now};

/// The page as it is served, but for the nonce.
pub const PAGE: &str = include_str!("page.html");
