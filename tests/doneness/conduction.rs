//! The kernel against printed tables and worked examples (`data/doneness/`).

use hobcall::doneness::conduction::{Series, lumped_tau, one_term, term};
use hobcall::doneness::scores;
use hobcall::plan::Shape;

fn shape(name: &str) -> Shape {
    match name {
        "plane_wall" => Shape::Slab,
        "long_cylinder" => Shape::Cylinder,
        "sphere" => Shape::Sphere,
        other => panic!("no shape {other}"),
    }
}

fn number(text: &str) -> f64 {
    match text {
        "inf" => f64::INFINITY,
        "pi" => std::f64::consts::PI,
        "pi/2" => std::f64::consts::FRAC_PI_2,
        _ => text.parse().unwrap(),
    }
}

/// All 90 rows, computed apart from this code to eight decimals.
#[test]
fn the_one_term_table() {
    let mut rows = 0;
    for line in include_str!("../../data/doneness/conduction_one_term.csv")
        .lines()
        .skip(1)
    {
        let c: Vec<&str> = line.split(',').collect();
        let t = term(shape(c[0]), number(c[1]), 0);
        assert!((t.lambda - number(c[4])).abs() < 2e-8, "{line}: {t:?}");
        assert!((t.c - number(c[5])).abs() < 2e-8, "{line}: {t:?}");
        rows += 1;
    }
    assert_eq!(rows, 90);
}

/// Printed values: Tosun, Modelling in Transport Phenomena, Table 10.3; solutions to
/// Çengel (interpolated from its table, so off in the fourth figure); Ostrogorsky 2008.
#[test]
fn printed_values() {
    let mut rows = 0;
    for line in include_str!("../../data/doneness/conduction_published_rows.csv")
        .lines()
        .skip(1)
    {
        let c: Vec<&str> = line.split(',').collect();
        let t = term(shape(c[0]), number(c[1]), 0);
        let printed = number(c[2]);
        assert!(
            (t.lambda - printed).abs() < 1e-3 * printed.max(0.5),
            "{line}: {t:?}"
        );
        if !c[3].is_empty() {
            assert!((t.c - number(c[3])).abs() < 1e-3, "{line}: {t:?}");
        }
        rows += 1;
    }
    assert_eq!(rows, 11);
}

/// Çengel, Heat and Mass Transfer, example 4-3: an egg of 5 cm from 5 °C to 70 °C in the
/// middle, in water of 95 °C with h = 1200: 14.4 minutes.
#[test]
fn an_egg_as_a_sphere() {
    let (r, h, k, alpha) = (0.025, 1200.0, 0.627, 1.51e-7);
    let biot: f64 = h * r / k;
    let theta: f64 = (70.0 - 95.0) / (5.0 - 95.0);
    let t = term(Shape::Sphere, biot, 0);
    assert!(
        (t.lambda - 3.0754).abs() < 1e-3 && (t.c - 1.9959).abs() < 1e-3,
        "{t:?}"
    );
    let fo = (t.c / theta).ln() / (t.lambda * t.lambda);
    let minutes = fo * r * r / alpha / 60.0;
    assert!((minutes - 14.4).abs() < 0.05, "{minutes}");
    // The whole series says the same, this late.
    let whole = Series::new(Shape::Sphere, biot, 40).fo_at(theta).unwrap();
    assert!((whole - fo).abs() < 1e-3, "{whole} {fo}");
}

/// Çengel, solution 11-41: a shaft of 35 cm from 400 °C in 150 °C for 20 minutes, 390 °C
/// in the middle by the first term; at this Fourier number (0.155) the book allows 2 %.
#[test]
fn a_long_shaft() {
    let (r, h, k, alpha) = (0.175, 60.0, 14.9, 3.95e-6);
    let biot = h * r / k;
    let fo = alpha * 1200.0 / (r * r);
    let theta = one_term(Shape::Cylinder, biot, fo);
    assert!((theta - 0.9607).abs() < 2e-4, "{theta}");
    assert!((150.0 + 250.0 * theta - 390.0).abs() < 0.5);
    let whole = Series::new(Shape::Cylinder, biot, 40).theta(0.0, fo);
    assert!((whole - theta).abs() < 0.02, "{whole}");
}

/// Çengel and Ghajar, example 4-3: a brass plate of 4 cm from 20 °C in an oven of 500 °C
/// for 7 minutes; its surface 279.8 °C by the series (recomputed; the example's inputs).
#[test]
fn a_brass_plate() {
    let (l, h, k) = (0.02, 120.0, 110.0);
    let alpha = k / (8530.0 * 380.0);
    let series = Series::new(Shape::Slab, h * l / k, 40);
    let theta = series.theta(1.0, alpha * 420.0 / (l * l));
    let surface = 500.0 + (20.0 - 500.0) * theta;
    assert!((surface - 279.8).abs() < 0.2, "{surface}");
}

/// Çengel, examples 4-1 (a bead of 1 mm: 99 % of a step in 10 s) and 4-2 (a body, 12.2 h),
/// and Incropera 5.1 (a junction with a time constant of 1 s: 0.706 mm, 5.16 s): lumped.
#[test]
fn lumped_bodies() {
    let tau = lumped_tau(8500.0, 320.0, 0.001 / 6.0, 210.0);
    assert!((tau * 100f64.ln() - 9.94).abs() < 0.01, "{tau}");
    let (r, l) = (0.15f64, 1.7f64);
    let v_by_a = (r * r * l) / (2.0 * r * l + 2.0 * r * r);
    let hours = lumped_tau(996.0, 4178.0, v_by_a, 8.0) * (17f64 / 5.0).ln() / 3600.0;
    assert!((hours - 12.2).abs() < 0.05, "{hours}");
    let tau = lumped_tau(8500.0, 400.0, 7.0588e-4 / 6.0, 400.0);
    assert!((tau - 1.0).abs() < 1e-3);
    assert!((tau * (175f64 / 1.0).ln() - 5.16).abs() < 0.01);
    // The one-term kernel becomes the lumped body as Bi falls: λ² → Bi for a slab.
    let t = term(Shape::Slab, 1e-3, 0);
    assert!((t.lambda * t.lambda / 1e-3 - 1.0).abs() < 1e-3);
}

/// Breast cylinders of 3 cm from 15 °C to 74 °C in water of 87 °C took 670 s on average
/// (a student experiment of three trials, 2014): a rough check, within a seventh.
#[test]
fn measured_cylinders() {
    let r: f64 = 0.015;
    let theta = (74.0 - 87.0) / (15.0 - 87.0);
    let fo = Series::new(Shape::Cylinder, f64::INFINITY, 40)
        .fo_at(theta)
        .unwrap();
    let seconds = fo * r * r / 1.33e-7;
    assert!((seconds - 670.0).abs() < 670.0 / 7.0, "{seconds}");
}

/// At once after the start a body is all at its start (θ = 1), which any series must give.
#[test]
fn the_series_begins_at_one() {
    for shape in [Shape::Slab, Shape::Cylinder, Shape::Sphere] {
        for biot in [0.1, 1.0, 10.0, f64::INFINITY] {
            let theta = Series::new(shape, biot, 120).theta(0.0, 0.004);
            assert!((theta - 1.0).abs() < 1e-3, "{shape:?} {biot}: {theta}");
        }
    }
}

/// Expected order statistics of normal samples, by integrating them here.
#[test]
fn normal_scores() {
    let phi = |x: f64| (-0.5 * x * x).exp() / std::f64::consts::TAU.sqrt();
    let step = 1e-3;
    let mut cumulated = Vec::new();
    let mut sum = 0.0;
    for i in -8000..8000 {
        let x = f64::from(i) * step;
        sum += phi(x) * step;
        cumulated.push((x, sum));
    }
    for n in 1..=6u32 {
        let lowest: f64 = cumulated
            .iter()
            .map(|(x, p)| x * f64::from(n) * phi(*x) * (1.0 - p).powi(n as i32 - 1) * step)
            .sum();
        assert!((lowest - scores(n)[0]).abs() < 2e-3, "{n}: {lowest}");
    }
    // Of twelve, the lowest is expected at −1.629 (any table of normal scores).
    assert!((scores(12)[0] + 1.629).abs() < 0.01);
}
