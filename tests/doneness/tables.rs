//! Hold tables, minimums, boiling points, limits: against the published figures.

use hobcall::doneness::check::{Bath, boiling_at_kpa, boiling_point, offset};
use hobcall::doneness::danger::{LIMIT_HOT_DAY_S, LIMIT_S, Stretch, in_zone, limit_s, total_s};
use hobcall::doneness::hold::{NoRow, fat_column, held, hold};
use hobcall::doneness::units::{as_read, at_least, fahrenheit, from_fahrenheit, of_units};
use hobcall::doneness::{Aim, Turn, aim, minimum, smoke, smokes, turn, unnamed};
use hobcall::plan::{Celsius, FoodClass, Span, Units};

/// Every one of the 720 cells of FSIS-GD-2021-14, Tables 3 and 4: the longer of chicken
/// and turkey, 3 s more where the cell is printed in minutes.
#[test]
fn every_poultry_cell() {
    let mut longest = std::collections::BTreeMap::new();
    let mut cells = 0;
    for line in include_str!("../../data/doneness/fsis_poultry_7log.csv")
        .lines()
        .skip(1)
    {
        let c: Vec<&str> = line.split(',').collect();
        let (fat, f): (u32, u32) = (c[1].parse().unwrap(), c[2].parse().unwrap());
        let printed = c[4].parse::<f64>().unwrap().ceil() as u32;
        let least = printed + if c[5] == "min" { 3 } else { 0 };
        let e = longest.entry((fat, f)).or_insert(0);
        *e = least.max(*e);
        cells += 1;
    }
    assert_eq!(cells, 720);
    for ((fat, f), least) in longest {
        let row = hold(
            FoodClass::Poultry,
            from_fahrenheit(f.into()),
            Some(fat.into()),
        )
        .unwrap();
        assert_eq!((row.row_f, row.hold_s, row.fat), (f, least, Some(fat)));
        // Rounded down to the row, from just below the next.
        let row = hold(
            FoodClass::Poultry,
            from_fahrenheit(f64::from(f) + 0.9),
            Some(fat.into()),
        );
        assert_eq!(row.unwrap().hold_s, least);
    }
}

/// Every row of Table 2 of the same document (6.5 log).
#[test]
fn every_meat_row() {
    let mut rows = 0;
    for line in include_str!("../../data/doneness/fsis_meat_6p5log.csv")
        .lines()
        .skip(1)
    {
        let c: Vec<&str> = line.split(',').collect();
        let (f, printed): (u32, u32) = (c[0].parse().unwrap(), c[2].parse().unwrap());
        let row = hold(FoodClass::WholeCutMeat, from_fahrenheit(f.into()), None).unwrap();
        assert_eq!(row.row_f, f);
        assert!(
            row.hold_s == printed || row.hold_s == printed + 3,
            "{line}: {row:?}"
        );
        rows += 1;
    }
    assert_eq!(rows, 31);
}

/// The guideline's own figures: 12 % fat where the cut is not stated (p. 39), 26.9 s at
/// 160 °F for it (p. 39), 35 min at 140 °F; nothing below 136 °F; no interpolation
/// towards the rows called instantaneous.
#[test]
fn how_the_poultry_table_is_read() {
    let at = |f: f64, fat| hold(FoodClass::Poultry, from_fahrenheit(f), fat);
    assert_eq!(fat_column(None), 12);
    assert_eq!(fat_column(Some(16.6)), 12);
    assert_eq!(fat_column(Some(2.62)), 3);
    assert_eq!(fat_column(Some(f64::NAN)), 12);
    let asked = at(160.0, None).unwrap().hold_s;
    assert_eq!(asked, 27);
    assert!(at(140.0, None).unwrap().hold_s >= 35 * 60);
    assert_eq!(at(135.9, None), Err(NoRow::Below(136)));
    assert_eq!(at(164.99, None).unwrap().row_f, 164);
    assert!(
        at(164.99, None).unwrap().hold_s > 0,
        "turkey is instantaneous at 165 only"
    );
    assert_eq!(at(165.0, None).unwrap().hold_s, 0);
    assert_eq!(at(200.0, None).unwrap().hold_s, 0);
    assert_eq!(
        hold(FoodClass::Fish, Celsius(60.0), None),
        Err(NoRow::NoTable)
    );
    assert_eq!(
        hold(FoodClass::Poultry, Celsius(f64::NAN), None),
        Err(NoRow::NotANumber)
    );
}

/// USDA FSIS safe minimum internal temperature chart; 165 °F is 74 °C in the Food Code.
#[test]
fn consumer_minimums() {
    let f = |class| minimum(class).map(|m| (fahrenheit(m.core).round() as i32, m.rest_s));
    assert_eq!(f(FoodClass::Poultry), Some((165, 0)));
    assert_eq!(f(FoodClass::WholeCutMeat), Some((145, 180)));
    assert_eq!(f(FoodClass::GroundMeat), Some((160, 0)));
    assert_eq!(f(FoodClass::Fish), Some((145, 0)));
    assert_eq!(f(FoodClass::Egg), Some((160, 0)));
    assert_eq!(f(FoodClass::Other), None);
    assert_eq!(at_least(from_fahrenheit(165.0), Units::Celsius), 74);
    assert_eq!(as_read(from_fahrenheit(145.0), Units::Fahrenheit), 145);
}

/// White meat pulled at 160 °F (common practice, no source) is below the minimum: the
/// plan is told the hold, and that salt earns no margin.
#[test]
fn a_plan_below_the_minimum() {
    let white = aim(FoodClass::Poultry, from_fahrenheit(160.0), None, true);
    let Aim::Below {
        minimum,
        hold,
        brined,
    } = white
    else {
        panic!("{white:?}");
    };
    assert_eq!(as_read(minimum.core, Units::Fahrenheit), 165);
    assert_eq!(hold.unwrap().row_f, 160);
    assert!(brined);
    assert!(matches!(
        aim(FoodClass::Poultry, from_fahrenheit(165.0), None, false),
        Aim::Meets(_)
    ));
    assert_eq!(
        aim(FoodClass::Other, Celsius(115.0), None, false),
        Aim::Unregulated
    );
}

#[test]
fn a_hold_is_clocked_from_readings() {
    let f = from_fahrenheit;
    let row = |t: f64| f64::from(hold(FoodClass::Poultry, f(t), None).unwrap().hold_s);
    let clocked = |readings: &[(f64, f64)], now: f64| {
        let all: Vec<_> = readings.iter().map(|(s, t)| (*s, f(*t))).collect();
        held(FoodClass::Poultry, None, &all, now)
    };
    let half = row(155.0) / 2.0;
    let state = clocked(&[(0.0, 155.0)], half);
    assert_eq!((state.done, state.left_s), (false, Some(half)));
    assert!(clocked(&[(0.0, 155.0)], row(155.0)).done);
    // Warmer since: the row of the colder reading still runs, and the best counts.
    let state = clocked(&[(0.0, 155.0), (half, 162.0)], half);
    assert_eq!(state.left_s, Some(half.min(row(162.0))));
    // Colder since: its own row, with the time of both.
    let state = clocked(&[(0.0, 155.0), (half, 150.0)], half);
    assert_eq!(state.left_s, Some(row(150.0) - half));
    assert_eq!(clocked(&[(0.0, 130.0)], 1e6).left_s, None);
    // What came before a reading below the table does not count.
    assert_eq!(clocked(&[(0.0, 160.0), (900.0, 130.0)], 1e4).left_s, None);
    let state = clocked(&[(0.0, 160.0), (9.0, 130.0), (900.0, 155.0)], 900.0);
    assert_eq!(state.left_s, Some(row(155.0)));
    assert!(clocked(&[(0.0, 165.0)], 0.0).done, "instantaneous");
    assert_eq!(clocked(&[], 10.0).left_s, None);
}

/// All 35 rows of boiling points, the IF97 check values, and two printed figures: 208 °F
/// at 2000 ft (FSIS High Altitude Cooking), 203 °F at 5000 ft (Colorado State Extension).
#[test]
fn boiling_points() {
    let mut rows = 0;
    for line in include_str!("../../data/doneness/boiling_altitude.csv")
        .lines()
        .skip(1)
    {
        let c: Vec<f64> = line.split(',').map(|t| t.parse().unwrap()).collect();
        let boils = boiling_point(c[0]);
        assert!((boils.0 - c[3]).abs() < 0.011, "{line}: {boils:?}");
        assert!((fahrenheit(boils) - c[4]).abs() < 0.06, "{line}: {boils:?}");
        rows += 1;
    }
    assert_eq!(rows, 35);
    assert!((boiling_at_kpa(100.0).0 + 273.15 - 372.7559).abs() < 1e-3);
    assert!((boiling_at_kpa(1000.0).0 + 273.15 - 453.0356).abs() < 1e-3);
    assert!((fahrenheit(boiling_point(609.6)) - 208.0).abs() < 0.6);
    assert!((fahrenheit(boiling_point(1524.0)) - 203.0).abs() < 0.6);
}

#[test]
fn a_probe_is_checked() {
    let off = offset(Bath::Ice, from_fahrenheit(34.0), 0.0).unwrap();
    assert!((off.add * 1.8 + 2.0).abs() < 1e-9);
    assert!(
        !off.within_code,
        "2 F is 1.1 C: the Food Code asks 1 C on that scale"
    );
    assert!(
        offset(Bath::Ice, from_fahrenheit(33.0), 0.0)
            .unwrap()
            .within_code
    );
    // 210 °F at 350 m is right, at the sea it is 2 °F low.
    let high = offset(Bath::Boil, from_fahrenheit(210.0), 350.0).unwrap();
    assert!(high.add.abs() < 0.7, "{high:?}");
    let sea = offset(Bath::Boil, from_fahrenheit(210.0), 0.0).unwrap();
    assert!((sea.add * 1.8 - 1.95).abs() < 0.1, "{sea:?}");
    assert_eq!(offset(Bath::Boil, from_fahrenheit(150.0), 0.0), None);
    assert_eq!(offset(Bath::Ice, Celsius(f64::NAN), 0.0), None);
}

/// USDA FSIS Danger Zone: 40 to 140 °F, two hours in all, one above 90 °F.
#[test]
fn time_in_the_danger_zone() {
    let f = from_fahrenheit;
    assert!(!in_zone(f(40.0)) && in_zone(f(41.0)) && in_zone(f(139.0)) && !in_zone(f(140.0)));
    let day = [
        Stretch {
            from_s: 0.0,
            to_s: 1800.0,
            at: f(68.0),
        },
        // Overnight in the fridge counts nothing.
        Stretch {
            from_s: 1800.0,
            to_s: 50_000.0,
            at: f(38.0),
        },
        Stretch {
            from_s: 50_000.0,
            to_s: 53_600.0,
            at: f(68.0),
        },
        Stretch {
            from_s: 10.0,
            to_s: 5.0,
            at: f(68.0),
        },
    ];
    assert_eq!(total_s(&day), 5400.0);
    assert_eq!(limit_s(None), LIMIT_S);
    assert_eq!(limit_s(Some(f(95.0))), LIMIT_HOT_DAY_S);
}

/// The rows of the Institute of Shortening and Edible Oils, of the University of Lethbridge
/// and of an encyclopedia's table, as ranges: 457, 468 and 400 °F for canola, 446, 450 and
/// 471 for peanut.
#[test]
fn oils_smoke_in_a_range() {
    let range = |oil: &str| {
        smoke(oil).map(|s| {
            (
                fahrenheit(s.range.lo).round(),
                fahrenheit(s.range.hi).round(),
            )
        })
    };
    assert_eq!(range("Canola oil"), Some((400.0, 468.0)));
    assert_eq!(range("refined peanut oil"), Some((446.0, 471.0)));
    assert_eq!(range("Extra virgin olive oil"), Some((331.0, 405.0)));
    assert_eq!(range("olive oil, extra virgin"), Some((331.0, 405.0)));
    assert_eq!(range("unrefined canola"), Some((225.0, 225.0)));
    // An unrefined oil that the tables lack is not taken for the refined one.
    assert_eq!(range("unrefined soybean oil"), None);
    assert_eq!(range("cold pressed peanut oil"), None);
    assert_eq!(range("dragon"), None);
    assert_eq!(range(""), None);
    assert!(smokes().len() >= 20);
    assert!(unnamed().lo.0 < unnamed().hi.0);
}

#[test]
fn the_medium_against_its_window() {
    let f = from_fahrenheit;
    let window = Span {
        lo: f(245.0),
        hi: f(255.0),
    };
    assert_eq!(turn(window, f(250.0), None), Turn::Fine);
    assert_eq!(turn(window, f(255.0), None), Turn::Fine);
    assert_eq!(turn(window, f(262.0), Some(20.0)), Turn::Down);
    assert_eq!(turn(window, f(225.0), Some(60.0)), Turn::WillComeBack);
    assert_eq!(turn(window, f(225.0), Some(600.0)), Turn::Up);
    assert_eq!(turn(window, f(225.0), None), Turn::Up);
}

/// NIST's exact conversion, and rounding halves up as a cook reads a probe.
#[test]
fn units() {
    assert_eq!(of_units(212.0, Units::Fahrenheit).0, 100.0);
    assert!((of_units(165.0, Units::Fahrenheit).0 - 73.888_888_888_9).abs() < 1e-9);
    assert_eq!(as_read(Celsius(62.5), Units::Celsius), 63);
    assert_eq!(as_read(Celsius(-0.4), Units::Celsius), 0);
    for f in -40..500 {
        let c = from_fahrenheit(f.into());
        assert_eq!(as_read(c, Units::Fahrenheit), f);
        assert_eq!(at_least(c, Units::Fahrenheit), f);
    }
}
