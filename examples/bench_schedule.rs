//! `make bench-schedule PSPLIB=DIR`: the solver core on project scheduling instances with
//! known optima. `DIR` holds the `.sm` files of PSPLIB's set J30 (R. Kolisch and A. Sprecher,
//! PSPLIB, European Journal of Operational Research 96, 1996) and a table of optima with
//! lines `j301_1.sm,43`. Neither is kept here: their licence is not clear.

use std::path::Path;
use std::time::Instant;

use hobcall::prep::bound::{self, Lag, Outcome, Problem, Resource, Use};

/// The numbers after a heading of an `.sm` file, line by line.
fn rows(text: &str, heading: &str, skip: usize) -> Vec<Vec<i64>> {
    text.lines()
        .skip_while(|l| !l.starts_with(heading))
        .skip(skip)
        .take_while(|l| !l.starts_with("***"))
        .map(|l| {
            l.split_whitespace()
                .filter_map(|n| n.parse().ok())
                .collect()
        })
        .collect()
}

fn read(text: &str) -> Problem {
    let precedence = rows(text, "PRECEDENCE", 2);
    let requests = rows(text, "REQUESTS", 3);
    let available = rows(text, "RESOURCEAVAIL", 2);
    let length = |job: usize| requests[job][2];
    let mut problem = Problem {
        points: precedence.len(),
        last: precedence.len() - 1,
        ..Problem::default()
    };
    for row in &precedence {
        for next in &row[3..] {
            let from = row[0] as usize - 1;
            let to = *next as usize - 1;
            problem.lags.push(Lag {
                from,
                to,
                least: length(from),
            });
        }
    }
    for (r, capacity) in available[0].iter().enumerate() {
        let uses = requests
            .iter()
            .enumerate()
            .map(|(job, row)| Use {
                start: job,
                end: job,
                length: row[2],
                amount: row[3 + r] as u32,
            })
            .filter(|u| u.amount > 0)
            .collect();
        problem.resources.push(Resource {
            capacity: *capacity as u32,
            uses,
        });
    }
    problem
}

fn main() {
    let mut args = std::env::args().skip(1);
    let Some(folder) = args.next() else {
        eprintln!(
            "give the folder with the .sm files, its table of optima, and the most nodes for each"
        );
        std::process::exit(2);
    };
    let optima = args
        .next()
        .unwrap_or_else(|| format!("{folder}/optimum/optimum.csv"));
    let most: u64 = args.next().and_then(|n| n.parse().ok()).unwrap_or(100_000);
    let table = std::fs::read_to_string(&optima).expect("the table of optima");
    let (mut all, mut proven, mut right, mut wrong) = (0, 0, 0, 0);
    let mut slowest = Vec::new();
    let begun = Instant::now();
    for line in table.lines().skip(1) {
        let Some((name, optimum)) = line.split_once(',') else {
            continue;
        };
        let Ok(optimum) = optimum.trim().parse::<i64>() else {
            continue;
        };
        let Ok(text) = std::fs::read_to_string(Path::new(&folder).join(name)) else {
            continue;
        };
        let problem = read(&text);
        let one = Instant::now();
        all += 1;
        if let Outcome::Found(answer) = bound::solve(&problem, most) {
            let end = answer.end(&problem);
            if answer.is_proven(&problem) {
                proven += 1;
                if end != optimum {
                    wrong += 1;
                    println!("{name}: proven {end}, published {optimum}");
                }
            } else if answer.bound > optimum || end < optimum {
                wrong += 1;
                println!(
                    "{name}: between {} and {end}, published {optimum}",
                    answer.bound
                );
            } else {
                println!(
                    "{name}: between {} and {end}, published {optimum}",
                    answer.bound
                );
            }
            right += i32::from(end == optimum);
            slowest.push((one.elapsed(), answer.nodes, name.to_owned()));
        }
    }
    slowest.sort();
    println!(
        "{all} instances, {proven} proven optimal, {right} at the published optimum, {wrong} against it, {:.1?}",
        begun.elapsed()
    );
    if let (Some(middle), Some(last)) = (slowest.get(slowest.len() / 2), slowest.last()) {
        println!(
            "middle {:.1?} ({} nodes), slowest {:.1?} ({} nodes, {})",
            middle.0, middle.1, last.0, last.1, last.2
        );
    }
}
