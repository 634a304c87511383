//! The two ways time passes in a cook: really, or as a recorded session's own time line.

use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use crate::journal::CookClock;

/// Milliseconds of cook time.
#[derive(Debug, Clone)]
pub enum Clock {
    /// At the stove.
    Real(CookClock),
    /// A session from a file or typed lines, as fast as it can be worked through: time is
    /// what the session says it is, so that a day of brining takes a moment.
    Session(Arc<AtomicI64>),
}

impl Clock {
    pub fn session_from(ms: i64) -> Self {
        Clock::Session(Arc::new(AtomicI64::new(ms)))
    }

    pub fn now_ms(&self) -> i64 {
        match self {
            Clock::Real(clock) => clock.now_ms(),
            Clock::Session(ms) => ms.load(Ordering::Acquire),
        }
    }

    /// Moves a session's time forward to `ms`; real time moves by itself.
    pub fn forward_to(&self, ms: i64) {
        if let Clock::Session(now) = self {
            now.fetch_max(ms, Ordering::AcqRel);
        }
    }

    pub fn is_real(&self) -> bool {
        matches!(self, Clock::Real(_))
    }
}
