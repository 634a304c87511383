use serde::{Deserialize, Serialize};

use super::binomial::{bisect, upper_tail};
use super::test::Test;

/// The power usually asked for, 1 - beta = 0.8 (common practice, no source).
pub const USUAL_POWER: f64 = 0.8;

/// The largest panel that [`how_many`] considers.
pub const LONGEST_SEARCH: u32 = 5000;

/// A p-value this little above alpha, relative to it, is rounding, not evidence:
/// it lets 0.5 count as reaching alpha = 0.5.
const ROUNDING: f64 = 1e-12;

/// The chance that guessing alone does as well as `hits` of `n` or better; in a
/// two-sided test, as lopsided either way. 1 for `n` = 0.
pub fn p_value(test: Test, n: u32, hits: u32) -> f64 {
    let hits = hits.min(n);
    if test.two_sided() {
        let larger = hits.max(n - hits);
        (2.0 * upper_tail(n, larger, test.guessing())).min(1.0)
    } else {
        upper_tail(n, hits, test.guessing())
    }
}

/// The smallest number of hits among `n` answers whose p-value reaches `alpha`
/// (in a two-sided test, of votes for one and the same sample); `None` if even
/// all of them would not.
pub fn critical_count(test: Test, n: u32, alpha: f64) -> Option<u32> {
    let reaches = |x: u32| p_value(test, n, x) <= alpha * (1.0 + ROUNDING);
    // From the middle up the two-sided p-value falls, as the one-sided one does everywhere.
    let (mut lo, mut hi) = (if test.two_sided() { n.div_ceil(2) } else { 0 }, n);
    if !reaches(hi) {
        return None;
    }
    while lo < hi {
        let mid = lo + (hi - lo) / 2;
        if reaches(mid) {
            hi = mid;
        } else {
            lo = mid + 1;
        }
    }
    Some(hi)
}

/// The chance that `n` tasters reach `alpha` when the share `pd` of tasters
/// (0 to 1) truly perceives the difference and the rest guess. In a preference
/// test `pd` is the share by which one sample leads beyond an even split.
pub fn power(test: Test, n: u32, alpha: f64, pd: f64) -> f64 {
    let Some(critical) = critical_count(test, n, alpha) else {
        return 0.0;
    };
    let right = test.guessing() + (1.0 - test.guessing()) * pd.clamp(0.0, 1.0);
    let mut reached = upper_tail(n, critical, right);
    if test.two_sided() && 2 * critical > n {
        reached += upper_tail(n, critical, 1.0 - right);
    }
    reached.min(1.0)
}

/// How many tasters a wish needs.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct HowMany {
    /// The smallest number that has the power asked for: what the standards' tables give.
    pub first: u32,
    /// From this number on every larger one has it too. Between the two, a taster
    /// more can mean less power, because the critical count moves in whole steps.
    pub steady: u32,
    /// Hits needed among `first`.
    pub critical: u32,
    /// The power that `first` has.
    pub power: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum PlanError {
    #[error("{name} is {value}; give a number between 0 and 1, neither included")]
    Range { name: &'static str, value: f64 },
    #[error(
        "that takes more than {LONGEST_SEARCH} tasters; look for a larger difference, or accept more risk"
    )]
    TooMany,
}

/// The number of tasters with which a true share `pd` of discriminators goes
/// unnoticed with chance `beta` at most, in a test at level `alpha`.
///
/// Exact binomial, no normal approximation. All three lie strictly between 0 and 1;
/// `pd` may also be 1. Searches up to [`LONGEST_SEARCH`] tasters.
pub fn how_many(test: Test, alpha: f64, beta: f64, pd: f64) -> Result<HowMany, PlanError> {
    let checks = [
        ("alpha", alpha, alpha < 1.0),
        ("beta", beta, beta < 1.0),
        ("the share of discriminators", pd, pd <= 1.0),
    ];
    for (name, value, below) in checks {
        if !(value > 0.0 && below) {
            return Err(PlanError::Range { name, value });
        }
    }
    let enough = |n: u32| power(test, n, alpha, pd) >= 1.0 - beta;
    let first = (1..=LONGEST_SEARCH)
        .find(|n| enough(*n))
        .ok_or(PlanError::TooMany)?;
    // The dips of the power shrink as n grows; none is left far beyond the first
    // success, where the mean power is well above the wish.
    let horizon = first.saturating_mul(3) / 2 + 60;
    let steady = (first..=horizon)
        .rev()
        .find(|n| !enough(*n))
        .map_or(first, |n| n + 1);
    Ok(HowMany {
        first,
        steady,
        critical: critical_count(test, first, alpha).unwrap_or(first),
        power: power(test, first, alpha, pd),
    })
}

/// What a number of tasters can show at best.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Reach {
    pub tasters: u32,
    pub alpha: f64,
    /// The p-value if every one of them is right (or votes alike): the strongest
    /// evidence that this many can give.
    pub best_p: f64,
    /// Hits needed; `None` if even all would not do.
    pub critical: Option<u32>,
    /// The smallest share of discriminators that this many notice with
    /// [`USUAL_POWER`]; `None` if `critical` is.
    pub notices: Option<f64>,
    /// The fewest tasters that could reach `alpha` at all.
    pub fewest: u32,
}

/// What `n` tasters can show at level `alpha`, which must lie strictly between 0 and 1.
pub fn what_can(test: Test, n: u32, alpha: f64) -> Result<Reach, PlanError> {
    if !(alpha > 0.0 && alpha < 1.0) {
        return Err(PlanError::Range {
            name: "alpha",
            value: alpha,
        });
    }
    let critical = critical_count(test, n, alpha);
    let fewest = (1..=LONGEST_SEARCH)
        .find(|n| critical_count(test, *n, alpha).is_some())
        .ok_or(PlanError::TooMany)?;
    Ok(Reach {
        tasters: n,
        alpha,
        best_p: p_value(test, n, n),
        critical,
        notices: critical.map(|_| bisect(|pd| power(test, n, alpha, pd) >= USUAL_POWER)),
        fewest,
    })
}
