//! Tastings: what is dealt, what is counted, what may be said of it.

mod design;
mod exact;
mod published;
mod session;
