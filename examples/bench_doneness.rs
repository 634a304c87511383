//! How good the room `doneness` is, on cooks that it has not seen and that are not made
//! from its own formula: bodies heated by the whole series solution, pieces that differ,
//! a probe with noise, calls before the probe settled, bone and oil, times as called in
//! whole minutes. Prints a table and ends with `reached`, or with what falls short.
//!
//! `cargo run --release --example bench_doneness [train] [cooks]`. `train` uses other
//! seeds: those on which the room's constants were set.

use std::time::Instant;

use hobcall::doneness::conduction::Series;
use hobcall::doneness::{Batch, DIFFUSIVITY, Heating, Oddity, Probe, believe};
use hobcall::plan::{Celsius, Shape};

const COOKS: u64 = 2_000;
const REPORTED: u64 = 0x0C00_C5ED;
const TRAINING: u64 = 0x7EAC_4ED5;

/// SplitMix64 (public domain, Vigna): enough for drawing cooks.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }
    fn between(&mut self, lo: f64, hi: f64) -> f64 {
        lo + (hi - lo) * self.next()
    }
    fn normal(&mut self) -> f64 {
        let (a, b) = (self.next(), self.next());
        (-2.0 * (1.0 - a).ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
    fn one_of<T: Copy>(&mut self, of: &[T]) -> T {
        of[((self.next() * of.len() as f64) as usize).min(of.len() - 1)]
    }
}

fn f_to_c(f: f64) -> f64 {
    (f - 32.0) / 1.8
}

/// A cook as it truly is.
struct Truth {
    batch: Batch,
    series: Series,
    /// α/L² of each piece, 1/s.
    rates: Vec<f64>,
    start: f64,
    around: f64,
    /// What the probe meets when it slips: the hot floor or the oil itself.
    hot: f64,
    /// When the coldest piece is at the target, s.
    done_s: f64,
    /// What a recipe would have said, s.
    plan_s: f64,
}

impl Truth {
    fn draw(dice: &mut Dice) -> Truth {
        loop {
            if let Some(t) = Truth::try_draw(dice) {
                return t;
            }
        }
    }

    fn try_draw(dice: &mut Dice) -> Option<Truth> {
        let shape = dice.one_of(&[Shape::Slab, Shape::Cylinder, Shape::Sphere]);
        let heating = match shape {
            Shape::Slab => dice.one_of(&[Heating::Immersed, Heating::Pan, Heating::Oven]),
            _ => dice.one_of(&[Heating::Immersed, Heating::Oven]),
        };
        let told_mm = match shape {
            Shape::Slab => dice.between(20.0, 45.0),
            Shape::Cylinder => dice.between(30.0, 65.0),
            Shape::Sphere => dice.between(35.0, 75.0),
        };
        // The cook's ruler and the piece: one sd of 8 %.
        let half = told_mm / 2000.0 * (0.08 * dice.normal()).exp();
        let alpha = dice.between(1.2e-7, 1.5e-7);
        let slower = match heating {
            Heating::Pan => dice.between(0.5, 0.9),
            _ => 1.0,
        };
        let rate = alpha / (half * half) * slower;
        // Food in oil at T is surrounded, as its middle sees it, by something between
        // boiling water and the oil; in a pan by less; in an oven by the moist air.
        let (medium, around, biot): (f64, f64, f64) = match heating {
            Heating::Immersed => {
                let m = dice.between(120.0, 175.0);
                (
                    m,
                    100.0 + (m - 100.0) * dice.between(0.35, 0.9),
                    dice.between(3.0, 20.0),
                )
            }
            Heating::Pan => (180.0, dice.between(92.0, 140.0), dice.between(2.0, 9.0)),
            Heating::Oven => {
                let m = dice.between(140.0, 220.0);
                (m, dice.between(0.5, 0.7) * m + 30.0, dice.between(0.7, 3.5))
            }
        };
        let told_start = f_to_c(dice.between(36.0, 60.0));
        let start = told_start + 1.5 * dice.normal();
        let target = f_to_c(dice.one_of(&[145.0, 160.0, 165.0]));
        let pieces = dice.one_of(&[1u32, 2, 3, 4, 5]);
        let series = Series::new(shape, biot, 40);
        let rates: Vec<f64> = (0..pieces)
            .map(|_| rate * (0.05 * dice.normal()).exp())
            .collect();
        let slowest = rates.iter().copied().fold(f64::INFINITY, f64::min);
        let done_s = series.fo_at((target - around) / (start - around))? / slowest;
        let told_medium = (heating != Heating::Pan && dice.next() < 0.6).then_some(Celsius(medium));
        // The recipe knows the thickness and a usual kitchen.
        let usual = Series::new(shape, 4.0, 20);
        let usual_around = match heating {
            Heating::Immersed => 125.0,
            Heating::Pan => 115.0,
            Heating::Oven => 135.0,
        };
        let told = told_mm / 2000.0;
        let usual_rate =
            DIFFUSIVITY / (told * told) * if heating == Heating::Pan { 0.7 } else { 1.0 };
        let plan_s =
            usual.fo_at((target - usual_around) / (told_start - usual_around))? / usual_rate;
        (done_s > 360.0 && done_s < 5400.0).then_some(Truth {
            batch: Batch {
                pieces,
                shape,
                thickness_mm: Some(told_mm),
                start: Some(Celsius(told_start)),
                heating,
                medium: told_medium,
                target: Celsius(target),
            },
            series,
            rates,
            start,
            around,
            hot: match heating {
                Heating::Pan => 150.0,
                _ => medium,
            },
            done_s,
            plan_s,
        })
    }

    fn core(&self, piece: usize, at_s: f64) -> f64 {
        let theta = self.series.theta(0.0, self.rates[piece] * at_s);
        self.around + (self.start - self.around) * theta.min(1.0)
    }

    fn coldest(&self, at_s: f64) -> f64 {
        (0..self.rates.len())
            .map(|p| self.core(p, at_s))
            .fold(f64::INFINITY, f64::min)
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Honest,
    High,
    Low,
}

/// One probing: what the probe said, as called to the whole degree Fahrenheit.
fn probing(dice: &mut Dice, truth: &Truth, piece: usize, at_s: f64) -> (f64, Kind) {
    let core = truth.core(piece, at_s);
    // A degree of noise, and the tip a little off the middle, which reads high.
    let honest = core + 0.7 * dice.normal() + (0.4 * dice.normal()).abs();
    let roll = dice.next();
    let (value, kind) = if roll < 0.20 {
        // Bone, or a pocket of oil: part of the way to what is hot.
        let share = if dice.next() < 0.5 {
            dice.between(0.15, 0.5)
        } else {
            dice.between(0.3, 1.0)
        };
        (core + share * (truth.hot - core), Kind::High)
    } else if roll < 0.27 {
        // Called after 1.2 to 3 time constants of a probe that lay in the kitchen.
        let left = (-dice.between(1.2, 3.0)).exp();
        (honest + (24.0 - honest) * left, Kind::Low)
    } else {
        (honest, Kind::Honest)
    };
    let fahrenheit = (value * 1.8 + 32.0).round();
    (f_to_c(fahrenheit), kind)
}

#[derive(Default)]
struct Row {
    rounds: u32,
    covered: u32,
    errors: Vec<f64>,
    line: Vec<f64>,
    plan: Vec<f64>,
    widths: Vec<f64>,
    signed: Vec<f64>,
}

impl Row {
    fn add(&mut self, other: &Row) {
        self.rounds += other.rounds;
        self.covered += other.covered;
        self.errors.extend(&other.errors);
        self.line.extend(&other.line);
        self.plan.extend(&other.plan);
        self.widths.extend(&other.widths);
        self.signed.extend(&other.signed);
    }
}

#[derive(Default)]
struct Tally {
    rows: Vec<Row>,
    highs: (u32, u32),
    lows: (u32, u32),
    honest: (u32, u32),
    short: u32,
    done: u32,
    late: Vec<f64>,
}

fn median(of: &[f64]) -> f64 {
    if of.is_empty() {
        return f64::NAN;
    }
    let mut all = of.to_vec();
    all.sort_by(f64::total_cmp);
    all[all.len() / 2]
}

/// Time left below this is "about a minute" to any cook: not scored.
const SCORED_S: f64 = 90.0;

fn cook(seed: u64, tally: &mut Tally) {
    let mut dice = Dice(seed);
    let truth = Truth::draw(&mut dice);
    let every = (truth.plan_s * dice.between(0.07, 0.11) / 60.0)
        .round()
        .clamp(2.0, 8.0)
        * 60.0;
    let mut at = (truth.plan_s * dice.between(0.35, 0.6) / 60.0)
        .round()
        .max(3.0)
        * 60.0;
    let mut probes: Vec<Probe> = Vec::new();
    let mut kinds: Vec<Kind> = Vec::new();
    let mut before: Vec<(f64, f64)> = Vec::new();
    for round in 0..30usize {
        // Every piece once, at least three probings, ten seconds each.
        let count = truth.rates.len().max(3);
        for i in 0..count {
            let when = at + 10.0 * i as f64;
            let (value, kind) = probing(&mut dice, &truth, i % truth.rates.len(), when);
            // Called in minutes: the journal of a hasty cook.
            probes.push(Probe::at((when / 60.0).round() * 60.0, value));
            kinds.push(kind);
        }
        let now = at + 10.0 * (count - 1) as f64;
        let belief = believe(&truth.batch, &probes, &[]);
        let left = truth.done_s - now;
        if left >= SCORED_S {
            let said = belief.time_left(now);
            let mut row = Row {
                rounds: 1,
                covered: u32::from(said.low_s <= left && left <= said.high_s),
                errors: vec![(said.likely_s - left).abs() / left],
                plan: vec![((truth.plan_s - now).max(0.0) - left).abs() / left],
                signed: vec![(said.likely_s - left) / left],
                widths: vec![(said.high_s - said.low_s) / left],
                ..Row::default()
            };
            if let (Some((core, _)), Some((t, c))) = (belief.coldest(), before.last()) {
                let slope = (core.0 - c) / (now - t);
                let line = if slope > 1e-4 {
                    ((truth.batch.target.0 - core.0) / slope).max(0.0)
                } else {
                    86_400.0
                };
                row.line.push((line - left).abs() / left);
            }
            if tally.rows.len() <= round {
                tally.rows.resize_with(round + 1, Row::default);
            }
            tally.rows[round].add(&row);
        }
        if let Some((core, _)) = belief.coldest() {
            before.push((now, core.0));
        }
        let verdict = belief.verdict();
        if verdict.done || round == 29 {
            if verdict.done {
                tally.done += 1;
                tally.late.push(now - truth.done_s);
                if truth.coldest(now) < truth.batch.target.0 - 2.0 / 1.8 {
                    tally.short += 1;
                }
            }
            for (odd, kind) in belief.oddities.iter().zip(&kinds) {
                let of = match kind {
                    Kind::High => &mut tally.highs,
                    Kind::Low => &mut tally.lows,
                    Kind::Honest => &mut tally.honest,
                };
                of.1 += 1;
                of.0 += u32::from(match kind {
                    Kind::High => *odd == Some(Oddity::BoneOrOil),
                    _ => odd.is_some(),
                });
            }
            break;
        }
        at = ((now + every) / 60.0).round() * 60.0;
    }
}

fn percent(part: u32, whole: u32) -> f64 {
    100.0 * f64::from(part) / f64::from(whole.max(1))
}

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let base = if args.iter().any(|a| a == "train") {
        TRAINING
    } else {
        REPORTED
    };
    let cooks = args.iter().find_map(|a| a.parse().ok()).unwrap_or(COOKS);
    let began = Instant::now();
    let mut tally = Tally::default();
    for i in 0..cooks {
        cook(base.wrapping_add(i.wrapping_mul(0x9E37_79B9)), &mut tally);
    }
    println!("{cooks} cooks, {:.1} s", began.elapsed().as_secs_f64());
    println!();
    println!("time left, by the round it was asked after (median relative error)");
    println!(
        "round  asked  in 80 % interval  width   hobcall    bias  line of two rounds  plan's minutes"
    );
    // The line needs two rounds.
    let share = |all: &[f64]| match all.is_empty() {
        true => "-".to_owned(),
        false => format!("{:.1} %", 100.0 * median(all)),
    };
    let print = |name: &str, row: &Row| {
        println!(
            "{name:>5}  {:>5}  {:>13.1} %  {:>4.0} %  {:>5.1} %  {:>+5.1}  {:>18}  {:>14}",
            row.rounds,
            percent(row.covered, row.rounds),
            100.0 * median(&row.widths),
            100.0 * median(&row.errors),
            100.0 * median(&row.signed),
            share(&row.line),
            share(&row.plan),
        );
    };
    let (mut all, mut third) = (Row::default(), Row::default());
    for (i, row) in tally.rows.iter().enumerate() {
        all.add(row);
        if i >= 2 {
            third.add(row);
        }
        if i < 8 {
            print(&(i + 1).to_string(), row);
        }
    }
    print("all", &all);
    print("3rd+", &third);
    println!();
    let rate = |of: (u32, u32)| percent(of.0, of.1);
    println!(
        "bone and oil flagged        {:>6.2} %  of {}",
        rate(tally.highs),
        tally.highs.1
    );
    println!(
        "not settled flagged         {:>6.2} %  of {}",
        rate(tally.lows),
        tally.lows.1
    );
    println!(
        "honest readings flagged     {:>6.2} %  of {}",
        rate(tally.honest),
        tally.honest.1
    );
    println!(
        "called done                 {:>6.2} %  of {cooks}, {:.1} min after it was so (median)",
        percent(tally.done, cooks as u32),
        median(&tally.late) / 60.0
    );
    println!(
        "done while > 2 F short      {:>6.2} %  of {cooks}",
        percent(tally.short, cooks as u32)
    );
    let coverage = percent(all.covered, all.rounds);
    let later = percent(third.covered, third.rounds);
    let error = 100.0 * median(&third.errors);
    let checks = [
        (
            (76.0..=84.0).contains(&coverage),
            format!("coverage {coverage:.1} %, wanted 76 to 84"),
        ),
        (
            (76.0..=84.0).contains(&later),
            format!("coverage from the third round {later:.1} %, wanted 76 to 84"),
        ),
        (
            error <= 12.0,
            format!("median error {error:.1} %, wanted at most 12"),
        ),
        (
            error < 100.0 * median(&third.line),
            "not ahead of the straight line".into(),
        ),
        (
            error < 100.0 * median(&third.plan),
            "not ahead of the plan's minutes".into(),
        ),
        (
            rate(tally.highs) >= 90.0,
            format!(
                "{:.1} % of bone and oil flagged, wanted 90",
                rate(tally.highs)
            ),
        ),
        (
            rate(tally.honest) <= 3.0,
            format!(
                "{:.1} % of honest readings flagged, wanted at most 3",
                rate(tally.honest)
            ),
        ),
        (
            percent(tally.short, cooks as u32) <= 0.5,
            format!(
                "{} of {cooks} cooks called done too early, wanted at most 0.5 %",
                tally.short
            ),
        ),
        (
            percent(tally.done, cooks as u32) >= 99.0,
            format!("only {} of {cooks} cooks were ever called done", tally.done),
        ),
    ];
    let short: Vec<&str> = checks
        .iter()
        .filter(|(ok, _)| !ok)
        .map(|(_, why)| why.as_str())
        .collect();
    println!();
    if short.is_empty() {
        println!("reached");
    } else {
        println!("falls short: {}", short.join("; "));
    }
}
