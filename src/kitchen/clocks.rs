//! The clocks that run: of steps, of flips, of rests, and those set by voice.

use super::manners::{
    ALARM_AGAIN, ALARM_THEN_EVERY, LIMIT_NEAR_LEAST, LIMIT_NEAR_MOST, LIMIT_NEAR_SHARE,
    WINDOW_AGAIN, WINDOW_FAR,
};
use super::{At, ClockKey};

#[derive(Debug, Clone, PartialEq)]
pub struct Clock {
    pub key: ClockKey,
    /// A timer's name, when the cook gave one.
    pub name: Option<String>,
    pub from: At,
    pub ends: At,
    /// The most time, where it is more than the least.
    pub latest: Option<At>,
    pub ring: Option<Ring>,
    pub near_told: bool,
    pub latest_told: bool,
}

/// An alarm that sounds, or has been acknowledged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ring {
    pub since: At,
    pub told: u32,
    pub known: bool,
}

impl Clock {
    pub fn new(key: ClockKey, from: At, ends: At) -> Clock {
        Clock {
            key,
            name: None,
            from,
            ends,
            latest: None,
            ring: None,
            near_told: false,
            latest_told: false,
        }
    }

    /// Rung and not acknowledged.
    pub fn sounds(&self) -> bool {
        self.ring.is_some_and(|r| !r.known)
    }

    /// The window stays open for long after its least time, or food is resting: nothing
    /// burns.
    fn relaxed(&self) -> bool {
        if matches!(self.key, ClockKey::Rest(_)) {
            return true;
        }
        self.latest
            .is_some_and(|latest| latest.since(self.ends) >= WINDOW_FAR)
    }

    /// When an unanswered alarm is to be told again.
    pub fn again(&self) -> Option<At> {
        let ring = self.ring.filter(|r| !r.known)?;
        let repeats = usize::try_from(ring.told.max(1) - 1).unwrap_or(usize::MAX);
        let (table, then): (&[i64], _) = if self.relaxed() && !self.latest_told {
            (&WINDOW_AGAIN, None)
        } else {
            (&ALARM_AGAIN, Some(ALARM_THEN_EVERY))
        };
        match (table.get(repeats), then) {
            (Some(after), _) => Some(ring.since.plus(*after)),
            (None, Some(every)) => {
                let more = i64::try_from(repeats - table.len() + 1).unwrap_or(i64::MAX);
                let last = table.last().copied().unwrap_or(0);
                Some(
                    ring.since
                        .plus(last.saturating_add(every.saturating_mul(more))),
                )
            }
            (None, None) => None,
        }
    }

    /// When to say that the most time is near; none where there is no such moment
    /// apart from the end and the limit.
    pub fn near(&self) -> Option<At> {
        let latest = self
            .latest
            .filter(|_| !self.near_told && !self.latest_told)?;
        let window = latest.since(self.ends);
        let ahead =
            ((window as f64 * LIMIT_NEAR_SHARE) as i64).clamp(LIMIT_NEAR_LEAST, LIMIT_NEAR_MOST);
        (window > 2 * ahead).then(|| latest.plus(-ahead))
    }

    pub fn limit(&self) -> Option<At> {
        self.latest.filter(|_| !self.latest_told)
    }
}
