//! Readings as the room takes them, and the rounds they make.

use crate::plan::{Celsius, Span};

/// One called core reading of one vessel, offset of the probe already taken off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Probe {
    /// Seconds since the food went in.
    pub at_s: f64,
    /// One value, or a called range.
    pub value: Span<Celsius>,
    /// Which piece, where the cook named it; any number that tells pieces apart.
    pub piece: Option<u32>,
}

impl Probe {
    /// A reading of one value, °C.
    pub fn at(at_s: f64, celsius: f64) -> Probe {
        Probe {
            at_s,
            value: Span {
                lo: Celsius(celsius),
                hi: Celsius(celsius),
            },
            piece: None,
        }
    }

    /// The values it stands for: one, or the two ends of a range.
    pub fn values(&self) -> impl Iterator<Item = f64> + '_ {
        let hi = (self.value.hi.0 != self.value.lo.0).then_some(self.value.hi.0);
        std::iter::once(self.value.lo.0).chain(hi)
    }

    /// How many pieces it can speak for.
    pub fn speaks_for(&self) -> u32 {
        self.values().count() as u32
    }

    pub fn is_finite(&self) -> bool {
        self.at_s.is_finite() && self.value.lo.0.is_finite() && self.value.hi.0.is_finite()
    }
}

/// Readings belong to one round while no pause between them is longer than this: three
/// to five pieces with a thermistor that takes 10 s each and the pan to be turned to.
pub const ROUND_PAUSE_S: f64 = 75.0;
/// And while the round is no older than this.
pub const ROUND_MOST_S: f64 = 180.0;

/// Splits probes into rounds; gives the indices of each round, in time order. Readings
/// with a number that is no number are in no round.
pub fn rounds(probes: &[Probe]) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..probes.len())
        .filter(|i| probes[*i].is_finite())
        .collect();
    order.sort_by(|a, b| probes[*a].at_s.total_cmp(&probes[*b].at_s));
    let mut all: Vec<Vec<usize>> = Vec::new();
    for i in order {
        let at = probes[i].at_s;
        match all.last_mut() {
            Some(round)
                if at - probes[round[round.len() - 1]].at_s <= ROUND_PAUSE_S
                    && at - probes[round[0]].at_s <= ROUND_MOST_S =>
            {
                round.push(i);
            }
            _ => all.push(vec![i]),
        }
    }
    all
}
