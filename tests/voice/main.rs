//! The voice: from words to samples, and the recorded session.

mod samples;
mod session;
mod stepped;
mod turns;
mod without;
