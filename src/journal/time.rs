//! Cook time: milliseconds since the cook began, monotone, counting suspend,
//! bent by nothing that happens to the wall clock.
//!
//! Inside one boot of the machine it follows the kernel's boot-time clock
//! (`CLOCK_BOOTTIME`, which counts suspend). Across a reboot only the wall clock
//! is left; if that has gone backwards, no time is made up and [`Drift`] says so.

use jiff::Timestamp;
use rustix::time::{ClockId, clock_gettime};
use serde::{Deserialize, Serialize};

/// A moment on all three clocks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Anchor {
    pub cook_ms: i64,
    pub wall: Timestamp,
    /// Identity of the machine's boot; boot times of two boots do not compare.
    pub boot: String,
    pub boottime_ms: i64,
}

impl Anchor {
    /// This moment, called `cook_ms`.
    pub fn now(cook_ms: i64) -> Self {
        Anchor {
            cook_ms,
            wall: Timestamp::now(),
            boot: std::fs::read_to_string("/proc/sys/kernel/random/boot_id")
                .map(|id| id.trim().to_owned())
                .unwrap_or_default(),
            boottime_ms: boottime_ms(),
        }
    }
}

/// How the time between two sessions was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drift {
    /// Same boot: exact.
    Exact,
    /// Another boot: from the wall clock.
    FromWallClock,
    /// Another boot and a wall clock behind the last line: time away unknown, taken as none.
    WallClockBehind,
}

/// Reads cook time now.
#[derive(Debug, Clone)]
pub struct CookClock {
    anchor: Anchor,
}

impl CookClock {
    /// Starts at zero.
    pub fn begin() -> Self {
        CookClock {
            anchor: Anchor::now(0),
        }
    }

    /// Goes on after the program was away. `last_ms` is the newest event's cook time:
    /// time never runs back behind it.
    pub fn resume(last: &Anchor, last_ms: i64) -> (Self, Drift) {
        Self::resume_at(last, last_ms, Anchor::now(0))
    }

    fn resume_at(last: &Anchor, last_ms: i64, mut now: Anchor) -> (Self, Drift) {
        let (passed, drift) = if !last.boot.is_empty() && last.boot == now.boot {
            (now.boottime_ms - last.boottime_ms, Drift::Exact)
        } else {
            let wall = now.wall.as_millisecond() - last.wall.as_millisecond();
            if last.cook_ms + wall < last_ms {
                (last_ms - last.cook_ms, Drift::WallClockBehind)
            } else {
                (wall, Drift::FromWallClock)
            }
        };
        now.cook_ms = (last.cook_ms + passed).max(last_ms);
        (CookClock { anchor: now }, drift)
    }

    pub fn now_ms(&self) -> i64 {
        self.anchor.cook_ms + (boottime_ms() - self.anchor.boottime_ms)
    }

    pub fn anchor(&self) -> &Anchor {
        &self.anchor
    }
}

fn boottime_ms() -> i64 {
    let t = clock_gettime(ClockId::Boottime);
    t.tv_sec * 1000 + t.tv_nsec / 1_000_000
}

#[cfg(test)]
mod tests {
    use super::*;

    fn anchor(cook_ms: i64, wall_s: i64, boot: &str, boottime_ms: i64) -> Anchor {
        Anchor {
            cook_ms,
            wall: Timestamp::from_second(wall_s).expect("in range"),
            boot: boot.into(),
            boottime_ms,
        }
    }

    #[test]
    fn a_wall_clock_jump_inside_one_boot_changes_nothing() {
        let last = anchor(0, 1_000_000, "a", 50_000);
        let now = anchor(0, 1_000_000 - 7_200, "a", 110_000);
        let (clock, drift) = CookClock::resume_at(&last, 20_000, now);
        assert_eq!((clock.anchor.cook_ms, drift), (60_000, Drift::Exact));
    }

    #[test]
    fn a_reboot_counts_by_the_wall_clock() {
        let last = anchor(5_000, 1_000_000, "a", 50_000);
        let now = anchor(0, 1_000_600, "b", 3_000);
        let (clock, drift) = CookClock::resume_at(&last, 6_000, now);
        assert_eq!(
            (clock.anchor.cook_ms, drift),
            (605_000, Drift::FromWallClock)
        );
    }

    #[test]
    fn a_wall_clock_behind_after_a_reboot_makes_up_no_time() {
        let last = anchor(5_000, 1_000_000, "a", 50_000);
        let now = anchor(0, 990_000, "b", 3_000);
        let (clock, drift) = CookClock::resume_at(&last, 90_000, now);
        assert_eq!(
            (clock.anchor.cook_ms, drift),
            (90_000, Drift::WallClockBehind)
        );
    }

    #[test]
    fn cook_time_runs() {
        let clock = CookClock::begin();
        let before = clock.now_ms();
        std::thread::sleep(std::time::Duration::from_millis(20));
        assert!(clock.now_ms() >= before + 15);
    }
}
