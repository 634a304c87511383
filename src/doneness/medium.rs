//! Oil, water or sugar against the plan's window.

use crate::plan::{Celsius, Span};

/// Which way to turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    Fine,
    /// Below the window: a little more heat.
    Up,
    /// Above the window: less.
    Down,
    /// Below it, and cold food went in a moment ago: it will come back.
    WillComeBack,
}

/// A drop this soon after food went in is expected: our own figure, common practice.
pub const COLD_FOOD_S: f64 = 180.0;

/// `since_food_s`: seconds since food last went into the medium.
pub fn turn(window: Span<Celsius>, reads: Celsius, since_food_s: Option<f64>) -> Turn {
    const DUST: f64 = 1e-9;
    if reads.0 > window.hi.0 + DUST {
        Turn::Down
    } else if reads.0 >= window.lo.0 - DUST {
        Turn::Fine
    } else if since_food_s.is_some_and(|s| (0.0..=COLD_FOOD_S).contains(&s)) {
        Turn::WillComeBack
    } else {
        Turn::Up
    }
}
