//! The tasting arithmetic against what standards, tables and another library print.

use std::collections::BTreeMap;

use hobcall::tasting::{
    Design, Opened, Outcome, Samples, Test, Verdict, Which, critical_count, how_many, limits,
    p_value, power,
};

const PUBLISHED: &str = include_str!("../../data/sensory_published_rows.csv");
const CRITICAL: &str = include_str!("../../data/sensory_critical.csv");
const PROTOCOL: &str = include_str!("../../data/sensory_protocol.csv");
const SECOND: &str = include_str!("../../data/sensory_second_library.csv");

/// Rows of a file without quoted commas, by column name.
fn rows(text: &'static str) -> impl Iterator<Item = BTreeMap<&'static str, &'static str>> {
    let mut lines = text.lines();
    let header: Vec<&str> = lines.next().unwrap().split(',').collect();
    lines.map(move |line| {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!(cells.len(), header.len(), "{line}");
        header.iter().copied().zip(cells).collect()
    })
}

fn number(cell: &str) -> f64 {
    cell.parse().unwrap()
}

fn count(cell: &str) -> Option<u32> {
    (!cell.is_empty()).then(|| cell.parse().unwrap())
}

fn test_named(name: &str) -> Test {
    match name {
        "triangle" => Test::Triangle,
        "duo_trio" => Test::DuoTrio,
        "paired_one_sided" | "paired_difference" => Test::PairedDifference,
        "paired_two_sided" => Test::PairedPreference,
        other => panic!("unknown test {other}"),
    }
}

/// FAO V7180E Appendix A, GOST R 53161-2008 (ISO 5495), GOST ISO 10399-2015, a
/// sign-test table: 482 printed cells, of which the three of the misprinted row
/// differ. There the exact value stands.
#[test]
fn printed_critical_counts() {
    let (mut checked, mut misprints) = (0, Vec::new());
    for row in rows(PUBLISHED) {
        let test = test_named(row["test"]);
        let n: u32 = row["n"].parse().unwrap();
        let ours = critical_count(test, n, number(row["alpha"]));
        if ours != count(row["printed_min"]) {
            misprints.push((row["test"], n, row["alpha"]));
        }
        assert_eq!(ours, count(row["exact_min"]), "{row:?}");
        checked += 1;
    }
    assert_eq!(checked, 482);
    assert_eq!(
        misprints,
        [
            ("duo_trio", 22, "0.2"),
            ("duo_trio", 22, "0.1"),
            ("duo_trio", 22, "0.05"),
        ]
    );
}

/// The three misprinted cells, and the one at 0.01 where both rows are equal, are
/// those of the row above. ISO 5495's one-sided table, the same distribution,
/// prints row 22 right.
#[test]
fn the_misprinted_cells_are_those_of_the_row_above() {
    let printed = |test: &str, n: &str| -> Vec<Option<u32>> {
        let of = rows(PUBLISHED).filter(|row| row["test"] == test && row["n"] == n);
        of.map(|row| count(row["printed_min"])).collect()
    };
    let exact = |n: u32| [0.2, 0.1, 0.05, 0.01, 0.001].map(|a| critical_count(Test::DuoTrio, n, a));
    assert_eq!(printed("duo_trio", "22")[..4], exact(21)[..4]);
    assert_eq!(exact(22), [14, 15, 16, 17, 19].map(Some));
    assert_eq!(printed("paired_one_sided", "22"), exact(22));
}

/// Exact fractions, rounded to six figures.
#[test]
fn exact_critical_counts_and_their_tails() {
    let mut checked = 0;
    for row in rows(CRITICAL) {
        let test = test_named(row["test"]);
        let n: u32 = row["n"].parse().unwrap();
        let ours = critical_count(test, n, number(row["alpha"]));
        assert_eq!(ours, count(row["min_count"]), "{row:?}");
        if let Some(x) = ours {
            let printed = number(row["exact_p_at_min"]);
            let p = p_value(test, n, x);
            assert!((p / printed - 1.0).abs() < 1e-5, "{row:?}: {p}");
        }
        checked += 1;
    }
    assert_eq!(checked, 504);
}

fn protocol(key: &str) -> &'static str {
    let line = PROTOCOL.lines().find(|l| l.split(',').next() == Some(key));
    line.unwrap_or_else(|| panic!("no protocol point {key}"))
}

/// ISO 4120:2021 7.1: the six orders, each once per group of six assessors.
#[test]
fn six_orders_each_once_per_group() {
    let printed = protocol("triangle_orders");
    let mut want: Vec<&str> = printed
        .split(['"', ','])
        .nth(2)
        .unwrap()
        .split(' ')
        .collect();
    want.sort();
    assert_eq!(want.len(), 6);
    let samples = Samples::new("plain caramel", "salted caramel");
    for seed in 0..50 {
        let opened = Opened::new(Test::Triangle, samples.clone(), 18, seed);
        let sheet = Design::new(opened).unwrap().plater_sheet();
        for group in sheet.rows.chunks(6) {
            let letter = |which| if which == Which::Control { 'A' } else { 'B' };
            let letters = group
                .iter()
                .map(|row| -> String { row.servings.iter().map(|s| letter(s.sample)).collect() });
            let mut got: Vec<String> = letters.collect();
            got.sort();
            assert_eq!(got, want);
        }
    }
}

/// ISO 4120:2021 7.4 and ISO 10399.
#[test]
fn guessing_probabilities() {
    assert!(protocol("triangle_guess_probability").contains(",1/3,"));
    assert_eq!(Test::Triangle.guessing(), 1.0 / 3.0);
    assert!(protocol("duo_trio_guess_probability").contains(",1/2,"));
    assert_eq!(Test::DuoTrio.guessing(), 0.5);
    assert!(protocol("paired_preference_sides").contains("two-sided"));
    assert!(Test::PairedPreference.two_sided() && !Test::PairedDifference.two_sided());
}

/// The examples of ISO 5495:2005/Amd 1:2016 B.5.2. The standard's limits are the
/// normal approximation; ours are exact and reach further down, by less than 0.06.
#[test]
fn worked_examples_of_iso_5495() {
    assert!(protocol("iso5495_example_two_sided").contains("0.19 to 0.71"));
    assert_eq!(critical_count(Test::PairedPreference, 44, 0.05), Some(29));
    let outcome = Outcome::of(Test::PairedPreference, 44, 32, 0.05).unwrap();
    let ahead = Some(Which::Test);
    assert_eq!(outcome.verdict, Verdict::Shown { ahead });
    let share = outcome.discriminators;
    assert!(share.low < 0.19 && share.low > 0.19 - 0.06, "{share:?}");
    assert!((share.high - 0.71).abs() < 0.015, "{share:?}");
    // Votes the other way say the same about the other sample.
    let turned = Outcome::of(Test::PairedPreference, 44, 12, 0.05).unwrap();
    let ahead = Some(Which::Control);
    assert_eq!(turned.verdict, Verdict::Shown { ahead });
    assert_eq!((turned.p, turned.discriminators), (outcome.p, share));

    assert!(protocol("iso5495_example_one_sided").contains("0.125"));
    let outcome = Outcome::of(Test::PairedDifference, 30, 21, 0.05).unwrap();
    let share = outcome.discriminators;
    assert!(matches!(outcome.verdict, Verdict::Shown { .. }));
    assert!(share.low < 0.125 && share.low > 0.125 - 0.06, "{share:?}");
}

/// The R package sensR and R's binomial functions; the standards' tables of
/// assessors from memory. `data/README_sensory.md` says which is which.
#[test]
fn another_library() {
    let mut kinds = BTreeMap::new();
    for row in rows(SECOND) {
        let test = test_named(row["test"]);
        let value = number(row["value"]);
        let n = count(row["n"]).unwrap_or(0);
        let hits = count(row["hits"]).unwrap_or(0);
        let share = || limits(n, hits, 0.025).above_guessing(test.guessing());
        let ours = match row["kind"] {
            "p" => p_value(test, n, hits),
            "low95" => share().low,
            "high95" => share().high,
            "power" => power(test, n, number(row["alpha"]), number(row["pd"])),
            "first" => {
                let (alpha, beta) = (number(row["alpha"]), 1.0 - number(row["power"]));
                f64::from(
                    how_many(test, alpha, beta, number(row["pd"]))
                        .unwrap()
                        .first,
                )
            }
            other => panic!("unknown kind {other}"),
        };
        let digits = row["value"]
            .trim_start_matches(['0', '.'])
            .split('e')
            .next()
            .unwrap();
        let printed = digits.chars().filter(char::is_ascii_digit).count() as i32;
        // R takes a tail as 1 minus the rest, which costs 1e-15 of 1 and much of a small p.
        let tolerance = value.abs() * 10f64.powi(1 - printed) + 1e-15;
        assert!((ours - value).abs() <= tolerance, "{row:?}: {ours}");
        *kinds.entry(row["kind"]).or_insert(0) += 1;
    }
    let all = [
        ("first", 14),
        ("high95", 5),
        ("low95", 5),
        ("p", 8),
        ("power", 4),
    ];
    assert_eq!(kinds.into_iter().collect::<Vec<_>>(), all);
}

/// Both examples of R's `binom.test` as remembered: 682 of 925 against 3/4 (from
/// its help page), and 7 of 10.
#[test]
fn clopper_pearson_limits() {
    for (n, hits, low, high) in [
        (925, 682, 0.707_668_3, 0.765_406_6),
        (10, 7, 0.347_547_1, 0.933_260_5),
    ] {
        let ours = limits(n, hits, 0.025);
        assert!((ours.low - low).abs() < 5e-8, "{ours:?}");
        assert!((ours.high - high).abs() < 5e-8, "{ours:?}");
    }
}

/// What two and five tasters can show, by hand: 1/9; (10*4 + 5*2 + 1)/243.
#[test]
fn a_kitchen_table() {
    let two = Outcome::of(Test::Triangle, 2, 2, 0.05).unwrap();
    assert_eq!((two.chance.times, two.chance.of), (1, 9));
    let Verdict::TooFew { best_p, fewest } = two.verdict else {
        panic!("{two:?}");
    };
    assert!((best_p - 1.0 / 9.0).abs() < 1e-15);
    assert_eq!(fewest, 3);
    assert_eq!(two.critical, None);
    assert_eq!(two.discriminators.low, 0.0);

    let five = Outcome::of(Test::Triangle, 5, 3, 0.05).unwrap();
    assert!((five.p - 51.0 / 243.0).abs() < 1e-15);
    assert_eq!((five.chance.times, five.chance.of), (1, 5));
    assert_eq!(five.critical, Some(4));
    let Verdict::NotShown { notices } = five.verdict else {
        panic!("{five:?}");
    };
    // Five tasters reach 4 of 5 with chance 0.8 only if most of them perceive it.
    assert!((0.7..0.8).contains(&notices), "{notices}");
    assert!((power(Test::Triangle, 5, 0.05, notices) - 0.8).abs() < 1e-12);
}
