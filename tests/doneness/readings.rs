//! Rounds, odd readings, done, time left: on cooks made from the whole series.

use hobcall::doneness::conduction::Series;
use hobcall::doneness::units::from_fahrenheit;
use hobcall::doneness::{Batch, Heating, Missing, Oddity, Probe, believe, rounds};
use hobcall::plan::{Celsius, Shape, Span};

pub fn pan(pieces: u32) -> Batch {
    Batch {
        pieces,
        shape: Shape::Slab,
        thickness_mm: Some(25.4),
        start: Some(from_fahrenheit(40.0)),
        heating: Heating::Pan,
        medium: None,
        target: from_fahrenheit(145.0),
    }
}

/// A slab of an inch in surroundings of 120 °C: its core after so many seconds, °C.
fn core(at_s: f64) -> f64 {
    let series = Series::new(Shape::Slab, 5.0, 30);
    let start = from_fahrenheit(40.0).0;
    120.0 + (start - 120.0) * series.theta(0.0, 0.6e-3 * at_s).min(1.0)
}

fn at(seconds: f64, off: f64) -> Probe {
    Probe::at(seconds, core(seconds) + off)
}

#[test]
fn readings_close_together_are_a_round() {
    let probes = [
        at(300.0, 0.0),
        at(320.0, 0.0),
        at(480.0, 0.0),
        at(310.0, 1.0),
    ];
    assert_eq!(rounds(&probes), [vec![0, 3, 1], vec![2]]);
    assert!(rounds(&[Probe::at(f64::NAN, 60.0)]).is_empty());
}

#[test]
fn the_coldest_credible_reading_is_believed() {
    let probes = [at(360.0, 0.0), at(370.0, 1.5), at(380.0, 28.0)];
    let belief = believe(&pan(3), &probes, &[]);
    assert_eq!(belief.oddities, [None, None, Some(Oddity::BoneOrOil)]);
    let (coldest, _) = belief.coldest().unwrap();
    assert_eq!(coldest.0, core(360.0));
    assert_eq!(belief.rounds[0].behind, 2);
}

/// A core does not fall while the pan is on the heat.
#[test]
fn what_falls_had_not_settled() {
    let mut probes: Vec<Probe> = [360.0, 370.0, 480.0, 490.0].map(|t| at(t, 0.0)).to_vec();
    probes.push(at(600.0, -14.0));
    probes.push(at(610.0, 0.3));
    let belief = believe(&pan(2), &probes, &[]);
    assert_eq!(belief.oddities[4], Some(Oddity::NotSettled));
    assert_eq!(belief.coldest().unwrap().0.0, core(610.0) + 0.3);
}

/// Alone in its round, bone is seen by the readings that follow.
#[test]
fn bone_is_seen_from_behind() {
    let mut probes = vec![at(360.0, 22.0)];
    for t in [480.0, 490.0, 600.0, 610.0] {
        probes.push(at(t, 0.0));
    }
    let belief = believe(&pan(1), &probes, &[]);
    assert_eq!(
        belief.oddities[0],
        Some(Oddity::BoneOrOil),
        "{:?}",
        belief.oddities
    );
    assert!(belief.oddities[1..].iter().all(Option::is_none));
}

#[test]
fn done_needs_every_piece_and_more_than_one_reading() {
    let warm = 1050.0;
    assert!(core(warm) > from_fahrenheit(150.0).0, "{}", core(warm));
    let before: Vec<Probe> = [600.0, 610.0, 800.0, 810.0].map(|t| at(t, 0.0)).to_vec();
    let with = |more: &[Probe], pieces| {
        let all: Vec<Probe> = before.iter().chain(more).copied().collect();
        believe(&pan(pieces), &all, &[]).verdict()
    };
    let one = with(&[at(warm, 0.0)], 1);
    assert_eq!(one.missing, Some(Missing::MorePieces(1)));
    let two = with(&[at(warm, 0.0), at(warm + 10.0, 0.0)], 1);
    assert!(two.done, "{two:?}");
    let of_three = with(&[at(warm, 0.0), at(warm + 10.0, 0.0)], 3);
    assert_eq!(of_three.missing, Some(Missing::MorePieces(1)));
    let cold = with(&[], 2);
    assert_eq!(cold.missing, Some(Missing::Warmth));
    assert_eq!(
        believe(&pan(2), &[], &[]).verdict().missing,
        Some(Missing::Readings)
    );
    // A range speaks for two.
    let range = Probe {
        at_s: warm,
        value: Span {
            lo: Celsius(core(warm)),
            hi: Celsius(core(warm) + 2.0),
        },
        piece: None,
    };
    assert!(with(&[range], 2).done);
}

/// One round that is far too warm too soon is not done.
#[test]
fn a_round_that_cannot_be_is_not_done() {
    let probes = [
        at(300.0, 0.0),
        at(310.0, 0.0),
        Probe::at(420.0, 66.0),
        Probe::at(425.0, 67.0),
    ];
    let belief = believe(&pan(2), &probes, &[]);
    assert!(!belief.verdict().done, "{:?}", belief.verdict());
}

/// More readings, a narrower interval; none, a guess. And it is about right.
#[test]
fn time_left_narrows() {
    let target = from_fahrenheit(145.0).0;
    let truth = (0..3000)
        .map(f64::from)
        .find(|t| core(*t) >= target)
        .unwrap();
    let mut probes = Vec::new();
    let guess = believe(&pan(1), &probes, &[]).time_left(0.0);
    assert!(guess.guess && guess.low_s < guess.likely_s && guess.likely_s < guess.high_s);
    let mut wide = guess.high_s - guess.low_s;
    for t in [240.0, 360.0, 480.0] {
        probes.extend([at(t, 0.0), at(t + 10.0, 0.2), at(t + 20.0, -0.2)]);
        let left = believe(&pan(1), &probes, &[]).time_left(t + 20.0);
        assert!(!left.guess);
        let width = left.high_s - left.low_s;
        assert!(width < wide, "{width} after {wide}");
        wide = width;
    }
    let left = believe(&pan(1), &probes, &[]).time_left(500.0);
    assert!(
        (left.likely_s - (truth - 500.0)).abs() < 60.0,
        "{left:?}, truly {}",
        truth - 500.0
    );
}

/// When the burner was changed, what was read before counts less: the interval widens.
#[test]
fn a_change_of_heat_ages_the_readings() {
    let probes: Vec<Probe> = [240.0, 250.0, 360.0, 370.0, 480.0, 490.0]
        .map(|t| at(t, 0.0))
        .to_vec();
    let width = |changes: &[f64]| {
        let left = believe(&pan(1), &probes, changes).time_left(500.0);
        left.high_s - left.low_s
    };
    assert!(
        width(&[495.0]) > 1.15 * width(&[]),
        "{} {}",
        width(&[495.0]),
        width(&[])
    );
}

/// Small fryer pieces on the bone in gentle oil of 250 °F take about 35 minutes with a
/// turn at 15: common practice, no source. Before any reading the prior for a piece of
/// an inch and a half says as much, and that it is a guess.
#[test]
fn the_prior_knows_a_gentle_fry() {
    let batch = Batch {
        pieces: 4,
        shape: Shape::Slab,
        thickness_mm: Some(38.0),
        start: Some(from_fahrenheit(45.0)),
        heating: Heating::Immersed,
        medium: Some(from_fahrenheit(250.0)),
        target: from_fahrenheit(165.0),
    };
    let left = believe(&batch, &[], &[]).time_left(0.0);
    assert!(left.guess);
    assert!(
        left.low_s < 35.0 * 60.0 && 35.0 * 60.0 < left.high_s,
        "{left:?}"
    );
}

/// Readings that agree outweigh the plan's prior: food that was in long before it was told.
#[test]
fn readings_that_agree_are_believed_against_the_prior() {
    let high = |t: f64, f: f64| Probe::at(t, from_fahrenheit(f).0);
    let alone = believe(&pan(3), &[high(200.0, 150.0)], &[]);
    assert_eq!(alone.oddities, [Some(Oddity::BoneOrOil)]);
    let agreed = [high(200.0, 150.0), high(210.0, 152.0), high(220.0, 149.0)];
    let belief = believe(&pan(3), &agreed, &[]);
    assert_eq!(belief.oddities, [None; 3]);
    assert_eq!(belief.coldest().unwrap().0, from_fahrenheit(149.0));
    // Two that agree are enough; a third that met bone takes nothing from them.
    let agreed = [high(200.0, 150.0), high(210.0, 152.0), high(220.0, 205.0)];
    let belief = believe(&pan(3), &agreed, &[]);
    assert_eq!(belief.oddities, [None, None, Some(Oddity::BoneOrOil)]);
    assert_eq!(belief.coldest().unwrap().0, from_fahrenheit(150.0));
}
