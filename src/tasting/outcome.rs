use serde::{Deserialize, Serialize};

use super::binomial::{Limits, limits};
use super::power::{PlanError, critical_count, p_value, what_can};
use super::test::{Test, Which};

/// The level at which a tasting is judged. It is fixed here, before anyone tastes,
/// so that nobody chooses it after seeing the answers.
pub const ALPHA: f64 = 0.05;

/// What the counts of a finished tasting amount to.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    pub test: Test,
    /// How many answered.
    pub answers: u32,
    /// How many were right; in a preference test, how many took the test sample.
    pub hits: u32,
    pub alpha: f64,
    /// The chance that guessing alone does this well or better (two-sided: is this
    /// lopsided either way).
    pub p: f64,
    /// `p` as a cook would say it.
    pub chance: Odds,
    /// Hits needed to reach `alpha` (two-sided: for one and the same sample);
    /// `None` if so few tasters cannot.
    pub critical: Option<u32>,
    /// The share of hits in the long run.
    pub share: Limits,
    /// The share of tasters who truly perceive the difference, the lucky guesses
    /// taken out; in a preference test, by how much the leading sample leads
    /// beyond an even split. `low` is above 0 just when the verdict is `Shown`
    /// (barring a `p` that equals alpha to the last digit).
    pub discriminators: Limits,
    pub verdict: Verdict,
}

/// What may be said. None of these says that the samples are the same.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "verdict")]
pub enum Verdict {
    NoAnswers,
    /// Even all alike would have been within reach of guessing: nothing is shown
    /// either way, whatever they answered.
    TooFew {
        /// The p-value that all alike would have had.
        best_p: f64,
        /// How many tasters it takes at the least.
        fewest: u32,
    },
    /// Guessing alone seldom does this: p is at most alpha.
    Shown {
        /// The sample that came out ahead; `None` in tests that only ask for a difference.
        ahead: Option<Which>,
    },
    /// Guessing alone does this often enough. A difference may still be there.
    NotShown {
        /// The smallest share of discriminators that this many tasters would have
        /// noticed four times in five: anything smaller slips through easily.
        notices: f64,
    },
}

#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum CountError {
    #[error("{hits} hits among {answers} answers: there cannot be more hits than answers")]
    MoreHitsThanAnswers { hits: u32, answers: u32 },
    #[error(transparent)]
    Level(#[from] PlanError),
}

impl Outcome {
    /// `hits` of `answers` in a `test` judged at level `alpha` (strictly between 0 and 1).
    ///
    /// One-sided tests get one-sided limits (alpha beyond each), two-sided ones
    /// alpha/2 beyond each, so that limits and p-value never contradict each other.
    pub fn of(test: Test, answers: u32, hits: u32, alpha: f64) -> Result<Outcome, CountError> {
        if hits > answers {
            return Err(CountError::MoreHitsThanAnswers { hits, answers });
        }
        let reach = what_can(test, answers, alpha)?;
        let p = p_value(test, answers, hits);
        let critical = critical_count(test, answers, alpha);
        let each_side = if test.two_sided() { alpha / 2.0 } else { alpha };
        // In a preference test the leading sample's votes; a tie leads nowhere.
        let leading = if test.two_sided() {
            hits.max(answers - hits)
        } else {
            hits
        };
        let verdict = match (critical, reach.notices) {
            _ if answers == 0 => Verdict::NoAnswers,
            (Some(needed), _) if leading >= needed => Verdict::Shown {
                ahead: ahead(test, answers, hits),
            },
            (Some(_), Some(notices)) => Verdict::NotShown { notices },
            _ => Verdict::TooFew {
                best_p: reach.best_p,
                fewest: reach.fewest,
            },
        };
        Ok(Outcome {
            test,
            answers,
            hits,
            alpha,
            p,
            chance: Odds::of(p),
            critical,
            share: limits(answers, hits, each_side),
            discriminators: limits(answers, leading, each_side).above_guessing(test.guessing()),
            verdict,
        })
    }
}

fn ahead(test: Test, answers: u32, hits: u32) -> Option<Which> {
    match test {
        Test::Triangle | Test::DuoTrio => None,
        Test::PairedPreference if hits < answers - hits => Some(Which::Control),
        Test::PairedPreference | Test::PairedDifference => Some(Which::Test),
    }
}

/// A chance as "`times` in `of`": (1, 5) is "one time in five".
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Odds {
    pub times: u32,
    pub of: u32,
}

impl Odds {
    /// Good to one part in ten, both of what happens and of what does not. Chances
    /// between 1/10 and 9/10 become the nearest fraction with a denominator up to
    /// ten; smaller ones become one in a round number, larger ones all but one in
    /// a round number. Only 0 and 1 (and what is not a chance, taken as 1) become
    /// never and always.
    pub fn of(p: f64) -> Odds {
        if p <= 0.0 {
            return Odds { times: 0, of: 1 };
        }
        if p.is_nan() || p >= 1.0 {
            return Odds { times: 1, of: 1 };
        }
        if p < 0.095 {
            return Odds {
                times: 1,
                of: round_number(1.0 / p),
            };
        }
        if p > 0.905 {
            let of = round_number(1.0 / (1.0 - p));
            return Odds { times: of - 1, of };
        }
        let off = |times: u32, of: u32| {
            let q = f64::from(times) / f64::from(of);
            ((q - p) / p).abs().max(((q - p) / (1.0 - p)).abs())
        };
        let fractions = (2..=10u32).flat_map(|of| (1..of).map(move |times| (times, of)));
        let nearest = fractions.min_by(|a, b| off(a.0, a.1).total_cmp(&off(b.0, b.1)));
        let (times, of) = nearest.unwrap_or((1, 2));
        Odds { times, of }
    }
}

/// To two figures, and at most a billion: beyond that nobody hears a difference.
fn round_number(x: f64) -> u32 {
    let x = x.min(1e9);
    let mut scale = 1.0;
    while x / scale >= 100.0 {
        scale *= 10.0;
    }
    ((x / scale).round() * scale) as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn odds_as_said() {
        let said = |p: f64| {
            let odds = Odds::of(p);
            (odds.times, odds.of)
        };
        // Three of five in a triangle test, two of two, one of two.
        assert_eq!(said(51.0 / 243.0), (1, 5));
        assert_eq!(said(1.0 / 9.0), (1, 9));
        assert_eq!(said(5.0 / 9.0), (5, 9));
        assert_eq!(said(0.5), (1, 2));
        assert_eq!(said(0.0439), (1, 23));
        assert_eq!(said(0.000_123), (1, 8100));
        assert_eq!(said(0.998), (499, 500));
        assert_eq!(said(1.0), (1, 1));
        assert_eq!(said(0.0), (0, 1));
        assert_eq!(said(1e-40), (1, 1_000_000_000));
    }

    #[test]
    fn odds_are_near_the_chance_and_never_say_never() {
        for i in 1..10_000 {
            let p = f64::from(i) / 10_000.0;
            let odds = Odds::of(p);
            assert!(odds.times > 0 && odds.times < odds.of, "{p}");
            let q = f64::from(odds.times) / f64::from(odds.of);
            assert!(((q - p) / p).abs() < 0.1, "{p} said as {q}");
            assert!(((q - p) / (1.0 - p)).abs() < 0.1, "{p} said as {q}");
        }
    }
}
