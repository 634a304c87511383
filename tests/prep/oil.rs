use std::f64::consts::PI;

use hobcall::plan::Shape;
use hobcall::prep::fit;
use hobcall::prep::oil::*;
use hobcall::prep::pan::{Floor, Pan};
use hobcall::prep::surface;
use hobcall::prep::tables::{CUP_ML, food_density};
use proptest::prelude::*;

use super::near;

const TEN_INCH: Pan = Pan {
    floor: Floor::Round {
        floor_mm: 254.0,
        rim_mm: 254.0,
    },
    depth_mm: 50.8,
};

#[test]
fn half_an_inch_in_a_ten_inch_pan_is_about_two_and_three_quarter_cups() {
    // The half inch is common practice, no source; the volume is a cylinder, worked by hand:
    // pi x 5² x 0.5 = 39.27 cubic inches of 16.387 ml = 643.5 ml.
    near(TEN_INCH.volume_ml(12.7), 643.5, 0.1);
    near(TEN_INCH.volume_ml(12.7) / CUP_ML, 2.72, 0.01);
}

#[test]
fn a_sloping_wall_is_a_cone_cut_off() {
    // Radii 100 and 120 mm, 60 mm high: pi 60 / 3 (100² + 100 x 120 + 120²) mm³ = 2287 ml.
    let pan = Pan {
        floor: Floor::Round {
            floor_mm: 200.0,
            rim_mm: 240.0,
        },
        depth_mm: 60.0,
    };
    near(pan.volume_ml(60.0), PI * 20.0 * 36_400.0 / 1000.0, 1e-9);
    // Halfway up the radius is 110.
    near(
        pan.volume_ml(30.0),
        PI * 10.0 * (10_000.0 + 11_000.0 + 12_100.0) / 1000.0,
        1e-9,
    );
    near(pan.level_mm(pan.volume_ml(23.0), |_| 0.0), 23.0, 1e-6);
    let tray = Pan {
        floor: Floor::Sides {
            a_mm: 300.0,
            b_mm: 200.0,
        },
        depth_mm: 50.0,
    };
    near(tray.level_mm(600.0, |_| 0.0), 10.0, 1e-6);
}

#[test]
fn pieces_push_the_oil_up_worked_by_hand() {
    // A box of 200 x 100 mm, 200 ml: 10 mm deep. Two pieces of 40 mm, each standing on
    // 2500 mm², leave 15 000 mm² of floor: 200 000 / 15 000 = 13.33 mm, a third of the way up.
    let pan = Pan {
        floor: Floor::Sides {
            a_mm: 200.0,
            b_mm: 100.0,
        },
        depth_mm: 60.0,
    };
    let pieces = Pieces {
        count: 2,
        mass_g: 100.0 * food_density(),
        thickness_mm: 40.0,
    };
    // At 20 °C nothing swells.
    let o = oil(pan, pieces, Pour::Volume { ml: 200.0 }, 20.0);
    near(o.cold_mm, 10.0, 1e-6);
    near(o.with_food_mm, 40.0 / 3.0, 1e-6);
    near(o.up_the_pieces, 1.0 / 3.0, 1e-6);
    near(o.headroom_mm, 60.0 - 40.0 / 3.0, 1e-6);
    // Halfway up is 20 mm: 20 x 15 000 mm³ = 300 ml, so 100 ml more.
    near(o.add_for_half_ml.unwrap(), 100.0, 1e-6);
    let half = oil(pan, pieces, Pour::UpThePieces { share: 0.5 }, 20.0);
    near(half.pour_ml, 300.0, 1e-6);
    near(half.up_the_pieces, 0.5, 1e-6);
    assert_eq!(half.add_for_half_ml, None);
    // Under the oil they push away their whole volume: 700 + 200 ml on 20 000 mm².
    let deep = oil(pan, pieces, Pour::Volume { ml: 700.0 }, 20.0);
    near(deep.with_food_mm, 45.0, 1e-6);
}

#[test]
fn oil_swells_by_about_a_ninth_to_frying_temperature() {
    // Density 0.915 g/ml at 20 °C less 0.00065 g/ml a degree (from memory, data/prep/physical.csv):
    // at 175 °C 0.815, so 1.124 times the volume.
    near(expansion(175.0), 1.124, 0.003);
    near(expansion(20.0), 1.0, 1e-12);
}

#[test]
fn too_much_oil_is_a_caution_and_more_runs_over() {
    let pieces = Pieces {
        count: 4,
        mass_g: 200.0,
        thickness_mm: 25.0,
    };
    let danger = |mm| oil(TEN_INCH, pieces, Pour::Depth { mm }, 175.0).danger;
    assert_eq!(danger(5.0), Danger::Usual);
    assert_eq!(danger(15.0), Danger::MayBoilOver);
    assert_eq!(danger(48.0), Danger::RunsOver);
}

#[test]
fn packings_of_circles_are_the_closed_forms() {
    // Radius around n unit circles (Graham and others; the closed forms worked out here).
    let forms = [
        (2, 2.0),
        (3, 1.0 + 2.0 / 3f64.sqrt()),
        (4, 1.0 + 2f64.sqrt()),
        (5, 1.0 + 1.0 / (PI / 5.0).sin()),
        (6, 3.0),
        (7, 3.0),
        (8, 1.0 + 1.0 / (PI / 7.0).sin()),
        (9, 1.0 + 1.0 / (PI / 8.0).sin()),
        (11, 1.0 + 1.0 / (PI / 9.0).sin()),
        (13, 2.0 + 5f64.sqrt()),
    ];
    for (n, around) in forms {
        let pan = |ratio: f64| Pan {
            floor: Floor::Round {
                floor_mm: 10.0 * ratio,
                rim_mm: 10.0 * ratio,
            },
            depth_mm: 50.0,
        };
        assert!(fit::most(pan(around + 1e-4), 10.0) >= n, "{n}");
        assert!(fit::most(pan(around - 1e-3), 10.0) < n, "{n}");
    }
    let tray = Pan {
        floor: Floor::Sides {
            a_mm: 300.0,
            b_mm: 200.0,
        },
        depth_mm: 50.0,
    };
    assert_eq!(fit::most(tray, 100.0), 6);
    assert_eq!(fit::most(tray, 400.0), 0);
}

#[test]
fn a_small_bird_takes_two_cups_of_flour_and_a_heaped_teaspoon() {
    // Common practice, no source. A small bird: 1.4 kg in eight pieces, about 35 mm thick. The
    // rate in data/prep/trade.csv is made from this very figure, so this holds the geometry,
    // the cup of flour (USDA, 125 g) and the leavening to it, not the rate.
    let surface = 8.0 * surface::of_piece(Shape::Slab, 175.0, 35.0);
    let b = surface::breading(surface);
    near(b.flour_g / 125.0, 2.0, 0.1);
    near(b.leavening_tsp, 1.75, 0.1);
    assert_eq!(b.eggs, 2);
}

#[test]
fn surfaces_of_bodies_worked_by_hand() {
    // A ball of 30 mm radius: 113.1 cm³, 113.1 cm².
    let ball = 4.0 / 3.0 * PI * 27.0;
    near(
        surface::of_piece(Shape::Sphere, ball * food_density(), 60.0),
        36.0 * PI,
        1e-9,
    );
    // A log 4 cm across and 10 cm long: 2 pi 2² + pi 4 x 10.
    let log = PI * 4.0 * 10.0;
    near(
        surface::of_piece(Shape::Cylinder, log * food_density(), 40.0),
        48.0 * PI,
        1e-9,
    );
    // A disc 10 cm across and 2 cm thick: 50 pi + 20 pi.
    let disc = PI * 25.0 * 2.0;
    near(
        surface::of_piece(Shape::Slab, disc * food_density(), 20.0),
        70.0 * PI,
        1e-9,
    );
}

proptest! {
    /// Oil poured is oil there: below the level lie the oil and what the pieces push away.
    #[test]
    fn levels_balance(ml in 10.0..3000.0f64, n in 1u32..9, g in 50.0..400.0f64, t in 10.0..60.0f64, slope in 0.0..60.0f64, c in 20.0..200.0f64) {
        let pan = Pan { floor: Floor::Round { floor_mm: 240.0, rim_mm: 240.0 + slope }, depth_mm: 120.0 };
        let pieces = Pieces { count: n, mass_g: g, thickness_mm: t };
        prop_assume!(pieces.volume_ml() / t * 1000.0 < 0.9 * pan.floor_area_mm2());
        let o = oil(pan, pieces, Pour::Volume { ml }, c);
        let under = pieces.volume_ml() * o.up_the_pieces.min(1.0);
        prop_assert!((pan.volume_ml(o.with_food_mm) - under - ml * expansion(c)).abs() < 1e-3);
        prop_assert!(o.with_food_mm >= o.hot_mm - 1e-9 && o.hot_mm >= o.cold_mm - 1e-9);
    }
}
