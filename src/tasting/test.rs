use serde::{Deserialize, Serialize};

/// A forced-choice test: every taster names one code, "no difference" is not an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Test {
    /// Three coded servings, two alike: the pick is the odd one (ISO 4120).
    Triangle,
    /// The control served openly as the reference, then both samples coded: the
    /// pick is the one that is the same as the reference (ISO 10399,
    /// constant-reference technique).
    DuoTrio,
    /// Both samples coded: the pick is the one liked better. Either may win, so
    /// the test is two-sided (ISO 5495).
    PairedPreference,
    /// Both samples coded: the pick is the one with more of a stated attribute,
    /// which the test sample is expected to have, so the test is one-sided
    /// (ISO 5495). Picks that go to the control never count as evidence.
    PairedDifference,
}

/// Which of the two samples a code holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Which {
    Control,
    Test,
}

/// The two samples, by the names (or identifiers) the kitchen gives them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Samples {
    /// The usual one: the reference of a duo-trio test.
    pub control: String,
    /// The one treated differently: expected to have more in a paired difference test.
    pub test: String,
}

impl Samples {
    pub fn new(control: impl Into<String>, test: impl Into<String>) -> Self {
        Samples {
            control: control.into(),
            test: test.into(),
        }
    }

    pub fn name(&self, which: Which) -> &str {
        match which {
            Which::Control => &self.control,
            Which::Test => &self.test,
        }
    }
}

const C: Which = Which::Control;
const T: Which = Which::Test;

/// ISO 4120: AAB ABA BAA ABB BAB BBA.
const TRIADS: [&[Which]; 6] = [
    &[C, C, T],
    &[C, T, C],
    &[T, C, C],
    &[C, T, T],
    &[T, C, T],
    &[T, T, C],
];
const PAIRS: [&[Which]; 2] = [&[C, T], &[T, C]];

impl Test {
    pub const ALL: [Test; 4] = [
        Test::Triangle,
        Test::DuoTrio,
        Test::PairedPreference,
        Test::PairedDifference,
    ];

    /// The chance that a taster who perceives nothing is right.
    pub fn guessing(self) -> f64 {
        match self {
            Test::Triangle => 1.0 / 3.0,
            Test::DuoTrio | Test::PairedPreference | Test::PairedDifference => 0.5,
        }
    }

    /// Whether either sample may win.
    pub fn two_sided(self) -> bool {
        self == Test::PairedPreference
    }

    /// How many codes one taster gets.
    pub fn codes_per_taster(self) -> usize {
        match self {
            Test::Triangle => 3,
            _ => 2,
        }
    }

    /// Whether each taster is first served the control, openly, as the reference.
    pub fn has_reference(self) -> bool {
        self == Test::DuoTrio
    }

    /// The orders in which the coded servings can be tasted.
    pub(super) fn orders(self) -> &'static [&'static [Which]] {
        match self {
            Test::Triangle => &TRIADS,
            _ => &PAIRS,
        }
    }

    /// Whether the code that held `picked`, among servings in this `order`, is a hit:
    /// the right answer, or in a preference test a vote for the test sample.
    pub(super) fn is_hit(self, order: &[Which], picked: Which) -> bool {
        match self {
            Test::Triangle => order.iter().filter(|w| **w == picked).count() == 1,
            Test::DuoTrio => picked == Which::Control,
            Test::PairedPreference | Test::PairedDifference => picked == Which::Test,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_order_has_exactly_the_hits_the_guessing_chance_says() {
        for test in Test::ALL {
            for order in test.orders() {
                let hits = order.iter().filter(|w| test.is_hit(order, **w)).count();
                let chance = hits as f64 / order.len() as f64;
                assert_eq!(chance, test.guessing(), "{test:?} {order:?}");
            }
        }
    }

    #[test]
    fn orders_are_distinct_and_hold_both_samples() {
        for test in Test::ALL {
            let orders = test.orders();
            for (i, order) in orders.iter().enumerate() {
                assert_eq!(order.len(), test.codes_per_taster());
                assert!(order.contains(&C) && order.contains(&T));
                assert!(!orders[..i].contains(order));
            }
        }
    }
}
