//! Hobcall: a spoken-step kitchen assistant for a test cook with greasy hands.
//!
//! ```text
//! sound ─► ear ─► grammar ─► kitchen ─► journal ─► voice ─► sound
//!          words   a Call     Events     durable    a Reply
//!                                │
//!                     doneness · prep · tasting   (pure arithmetic the kitchen asks)
//! ```
//!
//! | room | takes → gives | may touch |
//! | --- | --- | --- |
//! | [`plan`] | the YAML a cook writes → a checked [`plan::Plan`], or every problem with its place | nothing but text |
//! | [`grammar`] | JSGF rules and the plan's names → a vocabulary; heard words → a [`grammar::Call`] | nothing but text |
//! | [`kitchen`] | state, a call or a tick, and the time → events; events → state and replies | nothing |
//! | [`doneness`] | readings, tables, times → the believed core, done, time left, what the limits say | nothing |
//! | [`prep`] | a plan and what was bought → sums: amounts, brine, oil, breading | nothing |
//! | [`tasting`] | two samples and a seed → blind codes and orders; answers → exact p-values | nothing |
//! | [`journal`] | an event → a durable line; a file → the events, a torn tail repaired | one file a cook |
//! | [`record`] | a journal → what happened, as a page, tables, JSON, and corrections of the plan | files it is told to |
//! | [`board`] | the state → a page to glance at, live | one listening socket, if asked for |
//! | [`ear`] | microphone, sound file or typed lines → [`ear::Heard`] | audio devices, recogniser libraries |
//! | [`voice`] | a reply → wording → sound | audio devices, speech library |
//!
//! The pure rooms know no clock, no files, no threads and no randomness: the same
//! journal gives the same state on any machine at any speed.

pub mod board;
pub mod check;
pub mod cook;
pub mod doctor;
pub mod doneness;
pub mod ear;
pub mod grammar;
pub mod journal;
pub mod kitchen;
pub mod plan;
pub mod prep;
pub mod record;
pub mod tasting;
pub mod voice;
