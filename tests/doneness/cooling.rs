//! Cooling after the cook, against Food Code 3-501.14(A) (text as in Minnesota Rules
//! 4626.0385 and Maryland COMAR 10.15.03.11): 135 to 70 °F within two hours, to 41 °F
//! within four more. What to do when the first is missed: University of Maine Cooperative
//! Extension, Cooling Record Sheet (heat to 165 °F and begin again).

use hobcall::doneness::cooling::{Cooling, cooled};
use hobcall::doneness::units::from_fahrenheit;
use hobcall::plan::Celsius;
use proptest::prelude::*;

const H: f64 = 3600.0;

fn f(f: f64) -> Celsius {
    from_fahrenheit(f)
}

fn stands(readings: &[(f64, f64)], now_h: f64) -> Cooling {
    let all: Vec<(f64, Celsius)> = readings.iter().map(|(h, at)| (h * H, f(*at))).collect();
    cooled(&all).at(now_h * H)
}

fn under(to: f64, left_h: f64) -> Cooling {
    Cooling::Under {
        to: f(to),
        left_s: left_h * H,
    }
}

fn missed(to: f64, over_h: f64, again: bool) -> Cooling {
    Cooling::Missed {
        to: f(to),
        over_s: over_h * H,
        again,
    }
}

/// The state rules carry the figures that the code's rows in `data/` have.
#[test]
fn the_figures_are_those_of_the_rows() {
    let rules = include_str!("../../data/doneness/rules.csv");
    assert!(rules.contains("cooling_stage1,135 to 70 in 2,\"F,F,h\""));
    assert!(rules.contains("cooling_total,135 to 41 in 6,\"F,F,h\""));
    let legs = cooled(&[]).legs;
    assert_eq!(legs.map(|l| l.to), [f(70.0), f(41.0)]);
    assert_eq!(legs.map(|l| l.by_s), [2.0 * H, 6.0 * H]);
}

#[test]
fn it_has_two_steps() {
    assert_eq!(stands(&[], 1.0), under(70.0, 1.0));
    assert_eq!(stands(&[], 3.0), missed(70.0, 1.0, true));
    assert_eq!(stands(&[(1.5, 69.0)], 2.0), under(41.0, 4.0));
    assert_eq!(stands(&[(2.5, 69.0)], 3.0), missed(70.0, 0.5, true));
    assert_eq!(stands(&[(1.0, 60.0), (5.0, 41.0)], 9.0), Cooling::Cold);
    assert_eq!(
        stands(&[(1.0, 60.0), (5.0, 42.0)], 6.5),
        missed(41.0, 0.5, false)
    );
}

#[test]
fn the_time_counts_from_135() {
    assert_eq!(stands(&[(0.5, 150.0)], 0.5), under(70.0, 2.0));
    assert_eq!(stands(&[(0.5, 150.0), (2.5, 70.0)], 2.5), under(41.0, 4.0));
    // At 135 it has begun.
    assert_eq!(stands(&[(0.5, 135.0)], 0.5), under(70.0, 1.5));
}

#[test]
fn the_warmest_piece_decides() {
    assert_eq!(
        stands(&[(1.0, 69.0), (1.01, 75.0)], 1.01),
        under(70.0, 0.99)
    );
    assert_eq!(
        stands(&[(1.0, 69.0), (1.1, 75.0), (1.5, 68.0)], 1.5),
        under(41.0, 4.5)
    );
}

#[test]
fn a_missed_first_step_may_be_mended_once() {
    let late = [(2.5, 80.0)];
    assert_eq!(stands(&late, 2.5), missed(70.0, 0.5, true));
    // Too little heat mends nothing.
    assert_eq!(
        stands(&[(2.5, 80.0), (3.0, 150.0)], 3.0),
        missed(70.0, 1.0, true)
    );
    let heated = [(2.5, 80.0), (3.0, 165.0)];
    assert_eq!(stands(&heated, 3.0), under(70.0, 2.0));
    assert_eq!(stands(&heated, 5.5), missed(70.0, 0.5, false));
    let again = [(2.5, 80.0), (3.0, 165.0), (5.5, 80.0), (5.6, 170.0)];
    assert_eq!(stands(&again, 5.6), missed(70.0, 0.6, false));
    // Past the second limit nothing is offered.
    assert_eq!(stands(&[(7.0, 165.0)], 7.0), missed(70.0, 5.0, false));
}

fn series() -> impl Strategy<Value = Vec<(f64, Celsius)>> {
    prop::collection::vec((0.0f64..40_000.0, -20.0f64..40.0), 0..12).prop_map(|mut all| {
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        all.into_iter().map(|(at, c)| (at, Celsius(c))).collect()
    })
}

proptest! {
    /// A warmer reading never makes food cold that was not (below 135 °F, where the time counts).
    #[test]
    fn warmer_is_never_colder(all in series(), which in 0usize..12, by in 0.0f64..17.0) {
        let now = 40_000.0;
        let Some(i) = (!all.is_empty()).then(|| which % all.len()) else { return Ok(()) };
        let mut warmer = all.clone();
        warmer[i].1.0 += by;
        if cooled(&warmer).at(now) == Cooling::Cold {
            prop_assert_eq!(cooled(&all).at(now), Cooling::Cold);
        }
    }

    /// Nothing that is not a number, nor any order, panics or turns missed into cold.
    #[test]
    fn nothing_panics(all in prop::collection::vec((any::<f64>(), any::<f64>()), 0..8), now in any::<f64>()) {
        let all: Vec<(f64, Celsius)> = all.into_iter().map(|(at, c)| (at, Celsius(c))).collect();
        let _ = cooled(&all).at(now);
    }
}
