//! The tasting arithmetic against integers, against a general statistics library,
//! and against itself.

use hobcall::tasting::{
    Outcome, PlanError, Test, Verdict, critical_count, how_many, limits, p_value, power,
    upper_tail, what_can,
};
use num_bigint::BigUint;
use proptest::prelude::*;
use statrs::distribution::{Beta, Binomial, ContinuousCDF, DiscreteCDF};

/// Ways in which `x` or more of `n` come about when a guess is right in 1 of
/// `choices` cases, for x from 0 to n + 1; the first is `choices`^n.
fn ways(n: u32, choices: u32) -> Vec<BigUint> {
    let mut exactly = vec![BigUint::from(1u32)];
    for _ in 0..n {
        let mut next = vec![BigUint::ZERO; exactly.len() + 1];
        for (x, w) in exactly.iter().enumerate() {
            next[x] += w * (choices - 1);
            next[x + 1] += w;
        }
        exactly = next;
    }
    let mut ways = vec![BigUint::ZERO; exactly.len() + 1];
    for x in (0..exactly.len()).rev() {
        ways[x] = &ways[x + 1] + &exactly[x];
    }
    ways
}

/// a / b to 17 decimal places after scaling by 10^shift.
fn ratio(a: &BigUint, b: &BigUint) -> f64 {
    // 1e120 covers 3^-200 = 4e-96 with 20 figures to spare.
    let scaled = a * BigUint::from(10u32).pow(120) / b;
    scaled.to_string().parse::<f64>().unwrap() * 1e-120
}

#[test]
fn every_tail_up_to_two_hundred_tasters_against_integers() {
    for (test, choices) in [(Test::Triangle, 3), (Test::DuoTrio, 2)] {
        for n in 0..=200 {
            let ways = ways(n, choices);
            for x in 0..=n + 1 {
                let exact = ratio(&ways[x as usize], &ways[0]);
                let ours = upper_tail(n, x, test.guessing());
                let off = if exact == 0.0 {
                    ours
                } else {
                    ours / exact - 1.0
                };
                assert!(off.abs() < 1e-12, "{test:?} {n} {x}: {ours} {exact}");
            }
        }
    }
}

/// The decision itself, in integers: tail <= alpha means ways * 1000 <= total * (1000 alpha).
#[test]
fn every_critical_count_up_to_two_hundred_tasters_against_integers() {
    for test in Test::ALL {
        let choices = test.codes_per_taster() as u32;
        let sides = if test.two_sided() { 2u32 } else { 1 };
        for n in 1..=200 {
            let ways = ways(n, choices);
            for per_mille in [1u32, 5, 10, 25, 50, 100, 200, 300, 400, 500] {
                let reaches = |x: &u32| &ways[*x as usize] * (1000 * sides) <= &ways[0] * per_mille;
                let from = if test.two_sided() { n.div_ceil(2) } else { 0 };
                let exact = (from..=n).find(reaches);
                let ours = critical_count(test, n, f64::from(per_mille) / 1000.0);
                assert_eq!(ours, exact, "{test:?} {n} {per_mille}");
            }
        }
    }
}

/// statrs works by the regularised incomplete beta function, another road altogether.
#[test]
fn tails_and_limits_against_a_statistics_library() {
    for n in [1u64, 2, 3, 5, 6, 12, 30, 77, 200, 1000] {
        for p in [0.02, 1.0 / 3.0, 0.5, 0.61, 0.97] {
            let theirs = Binomial::new(p, n).unwrap();
            for x in 1..=n {
                let want = theirs.sf(x - 1);
                let ours = upper_tail(n as u32, x as u32, p);
                assert!((ours - want).abs() < 1e-9, "{n} {x} {p}: {ours} {want}");
            }
        }
        for x in 1..n {
            let (a, b) = (x as f64, (n - x) as f64);
            let ours = limits(n as u32, x as u32, 0.05);
            let low = Beta::new(a, b + 1.0).unwrap();
            let high = Beta::new(a + 1.0, b).unwrap();
            // Put our limits into their distribution: no inverse of theirs is needed.
            assert!((low.cdf(ours.low) - 0.05).abs() < 1e-8, "{n} {x} {ours:?}");
            assert!((high.sf(ours.high) - 0.05).abs() < 1e-8, "{n} {x} {ours:?}");
        }
    }
}

fn any_test() -> impl Strategy<Value = Test> {
    prop::sample::select(Test::ALL.to_vec())
}

proptest! {
    #[test]
    fn p_falls_as_hits_rise(test in any_test(), n in 1u32..300) {
        let from = if test.two_sided() { n.div_ceil(2) } else { 0 };
        let p: Vec<f64> = (from..=n).map(|x| p_value(test, n, x)).collect();
        prop_assert!(p.windows(2).all(|w| w[1] <= w[0] * (1.0 + 1e-12)), "{:?}", p);
        prop_assert!(p.iter().all(|p| *p > 0.0 && *p <= 1.0));
    }

    #[test]
    fn preference_does_not_mind_which_sample_is_which(n in 0u32..300, part in 0.0..1.0f64) {
        let x = (f64::from(n) * part) as u32;
        prop_assert_eq!(
            p_value(Test::PairedPreference, n, x),
            p_value(Test::PairedPreference, n, n - x)
        );
    }

    #[test]
    fn the_critical_count_is_the_first_that_reaches_alpha(
        test in any_test(), n in 1u32..300, alpha in 0.0005..0.6f64,
    ) {
        match critical_count(test, n, alpha) {
            None => prop_assert!(p_value(test, n, n) > alpha),
            Some(x) => {
                prop_assert!(p_value(test, n, x) <= alpha * (1.0 + 1e-9));
                let below = x.checked_sub(1).filter(|b| !test.two_sided() || 2 * b >= n);
                if let Some(below) = below {
                    prop_assert!(p_value(test, n, below) > alpha);
                }
            }
        }
    }

    /// The verdict, the p-value, the critical count and the interval all say the same.
    #[test]
    fn an_outcome_does_not_contradict_itself(
        test in any_test(), n in 0u32..120, part in 0.0..=1.0f64, alpha in 0.001..0.3f64,
    ) {
        let hits = (f64::from(n) * part).round() as u32;
        let outcome = Outcome::of(test, n, hits, alpha).unwrap();
        let shown = matches!(outcome.verdict, Verdict::Shown { .. });
        let share = outcome.discriminators;
        prop_assert_eq!(shown, n > 0 && outcome.p <= alpha);
        prop_assert_eq!(shown, share.low > 0.0, "{:?}", outcome);
        prop_assert!(share.low <= share.estimate && share.estimate <= share.high);
        prop_assert!(outcome.share.low <= outcome.share.estimate);
        prop_assert!(outcome.share.estimate <= outcome.share.high);
        let too_few = matches!(outcome.verdict, Verdict::TooFew { .. });
        prop_assert_eq!(too_few, n > 0 && outcome.critical.is_none());
        if let Verdict::TooFew { best_p, fewest } = outcome.verdict {
            prop_assert!(best_p > alpha && fewest > n);
            prop_assert!(critical_count(test, fewest, alpha).is_some());
            prop_assert!(critical_count(test, fewest - 1, alpha).is_none());
        }
        let text = serde_json::to_string(&outcome).unwrap();
        prop_assert_eq!(serde_json::from_str::<Outcome>(&text).unwrap(), outcome);
    }

    /// Coverage, computed: whatever the true share, the limits miss it on either
    /// side no more often than they say.
    #[test]
    fn limits_miss_no_more_often_than_they_say(n in 1u32..80, truth in 0.01..0.99f64) {
        let chance = |x: u32| upper_tail(n, x, truth) - upper_tail(n, x + 1, truth);
        let missed = |miss: &dyn Fn(u32) -> bool| -> f64 {
            (0..=n).filter(|x| miss(*x)).map(chance).sum()
        };
        let above = missed(&|x| limits(n, x, 0.05).low > truth);
        let below = missed(&|x| limits(n, x, 0.05).high < truth);
        prop_assert!(above <= 0.05 + 1e-9, "{}", above);
        prop_assert!(below <= 0.05 + 1e-9, "{}", below);
    }

    #[test]
    fn power_grows_with_the_share_and_starts_at_the_level(test in any_test(), n in 1u32..150) {
        let at: Vec<f64> = (0..=20).map(|i| power(test, n, 0.05, f64::from(i) / 20.0)).collect();
        prop_assert!(at.windows(2).all(|w| w[0] <= w[1] + 1e-12), "{:?}", at);
        // Nobody perceives anything: the level that the whole counts allow, both sides of it.
        let size = critical_count(test, n, 0.05).map_or(0.0, |x| p_value(test, n, x));
        prop_assert!((at[0] - size).abs() < 1e-12, "{} {}", at[0], size);
        prop_assert_eq!(at[20] == 1.0, critical_count(test, n, 0.05).is_some());
    }

    #[test]
    fn as_many_as_needed_and_not_one_fewer(
        test in any_test(), alpha in 0.005..0.3f64, beta in 0.02..0.5f64, pd in 0.2..1.0f64,
    ) {
        let many = how_many(test, alpha, beta, pd).unwrap();
        prop_assert!(many.power >= 1.0 - beta);
        prop_assert_eq!(many.power, power(test, many.first, alpha, pd));
        prop_assert_eq!(Some(many.critical), critical_count(test, many.first, alpha));
        for n in 1..many.first {
            prop_assert!(power(test, n, alpha, pd) < 1.0 - beta);
        }
        prop_assert!(many.steady >= many.first);
        for n in many.steady..many.steady * 3 + 50 {
            prop_assert!(power(test, n, alpha, pd) >= 1.0 - beta, "{} of {:?}", n, many);
        }
        if many.steady > many.first {
            prop_assert!(power(test, many.steady - 1, alpha, pd) < 1.0 - beta);
        }
    }

    #[test]
    fn what_a_number_can_show(test in any_test(), n in 0u32..120) {
        let reach = what_can(test, n, 0.05).unwrap();
        prop_assert_eq!(reach.critical.is_some(), n >= reach.fewest);
        prop_assert_eq!(reach.best_p, p_value(test, n, n));
        if let Some(pd) = reach.notices {
            prop_assert!((power(test, n, 0.05, pd) - 0.8).abs() < 1e-9);
        }
    }
}

#[test]
fn fewest_that_can_show_anything() {
    // 1/27, 1/32 and 2/64 are the first below one in twenty.
    let fewest = Test::ALL.map(|test| what_can(test, 2, 0.05).unwrap().fewest);
    assert_eq!(fewest, [3, 5, 6, 5]);
}

#[test]
fn wishes_that_make_no_sense_are_refused() {
    for bad in [0.0, -0.1, 1.5, f64::NAN, f64::INFINITY] {
        assert!(how_many(Test::Triangle, bad, 0.2, 0.3).is_err());
        assert!(how_many(Test::Triangle, 0.05, bad, 0.3).is_err());
        assert!(how_many(Test::Triangle, 0.05, 0.2, bad).is_err());
        assert!(what_can(Test::Triangle, 3, bad).is_err());
        assert!(Outcome::of(Test::Triangle, 3, 2, bad).is_err());
    }
    assert_eq!(
        how_many(Test::DuoTrio, 0.001, 0.001, 0.02),
        Err(PlanError::TooMany)
    );
    let error = Outcome::of(Test::Triangle, 3, 4, 0.05).unwrap_err();
    assert!(error.to_string().contains("more hits than answers"));
    // Everybody perceives it: as many as alpha asks for.
    assert_eq!(how_many(Test::Triangle, 0.05, 0.2, 1.0).unwrap().first, 3);
}
