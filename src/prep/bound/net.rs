//! All longest distances between points: what a set of lags leads to.

use super::{Lag, Point};

/// A distance that is not bound from below.
pub(super) const FREE: i64 = i64::MIN / 4;

/// Longest distances between all points.
#[derive(Clone)]
pub(super) struct Net {
    pub(super) n: usize,
    far: Vec<i64>,
}

impl Net {
    /// None when the lags contradict one another.
    pub(super) fn new(points: usize, lags: &[Lag]) -> Option<Net> {
        let mut net = Net {
            n: points,
            far: vec![FREE; points * points],
        };
        for p in 0..points {
            net.far[p * points + p] = 0;
            // Nothing is before the beginning.
            net.far[p] = 0;
        }
        for lag in lags {
            if lag.from < points && lag.to < points && !net.add(*lag) {
                return None;
            }
        }
        Some(net)
    }

    pub(super) fn get(&self, from: Point, to: Point) -> i64 {
        self.far[from * self.n + to]
    }

    pub(super) fn earliest(&self, p: Point) -> i64 {
        self.get(0, p)
    }

    /// Adds a lag with all that follows from it; false when it cannot be.
    pub(super) fn add(&mut self, lag: Lag) -> bool {
        let Lag { from, to, least } = lag;
        if self.get(from, to) >= least {
            return true;
        }
        let back = self.get(to, from);
        if back > FREE && back + least > 0 {
            return false;
        }
        let n = self.n;
        for a in 0..n {
            let before = self.far[a * n + from];
            if before == FREE {
                continue;
            }
            let first = before + least;
            for b in 0..n {
                let after = self.far[to * n + b];
                if after > FREE && first + after > self.far[a * n + b] {
                    self.far[a * n + b] = first + after;
                }
            }
        }
        true
    }
}

/// The earliest and the latest times of all points under lags, when the last point is at
/// `end`; none when the lags contradict one another or `end` is too soon.
pub fn windows(points: usize, lags: &[Lag], last: Point, end: i64) -> Option<Vec<(i64, i64)>> {
    let mut net = Net::new(points, lags)?;
    let at_end = [
        Lag {
            from: 0,
            to: last,
            least: end,
        },
        Lag {
            from: last,
            to: 0,
            least: -end,
        },
    ];
    for lag in at_end {
        if !net.add(lag) {
            return None;
        }
    }
    Some(
        (0..points)
            .map(|p| {
                let back = net.get(p, 0);
                (net.earliest(p), if back == FREE { i64::MAX } else { -back })
            })
            .collect(),
    )
}
