//! The solver core on published instances with known optima, and against trying everything.

use hobcall::prep::bound::*;
use proptest::prelude::*;

/// PSPLIB J30, instance j301_1 (R. Kolisch and A. Sprecher, European Journal of Operational
/// Research 96, 1996), as in the repository PyJobShop/PSPLIB (MIT licence); optimum 43 by
/// PSPLIB's list. The other 479 are run by `make bench-schedule`, from a copy of one's own.
const J301_1: &str = include_str!("data/j301_1.csv");

#[test]
fn psplib_j301_1_ends_at_its_published_optimum() {
    let mut problem = Problem::default();
    let mut uses: Vec<Vec<Use>> = vec![Vec::new(); 4];
    let mut capacities = Vec::new();
    for line in J301_1.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        if cells[0] == "capacity" {
            capacities = cells[2..6]
                .iter()
                .map(|c| c.parse::<u32>().unwrap())
                .collect();
            continue;
        }
        let job = cells[0].parse::<usize>().unwrap() - 1;
        let length: i64 = cells[1].parse().unwrap();
        problem.points = job + 1;
        problem.last = job;
        for (resource, cell) in uses.iter_mut().zip(&cells[2..6]) {
            let amount = cell.parse().unwrap();
            resource.push(Use {
                start: job,
                end: job,
                length,
                amount,
            });
        }
        for next in cells[6].split_whitespace() {
            let to = next.parse::<usize>().unwrap() - 1;
            problem.lags.push(Lag {
                from: job,
                to,
                least: length,
            });
        }
    }
    assert_eq!(problem.points, 32);
    for (capacity, uses) in capacities.into_iter().zip(uses) {
        problem.resources.push(Resource { capacity, uses });
    }
    let Outcome::Found(answer) = solve(&problem, 200_000) else {
        panic!()
    };
    assert_eq!(answer.end(&problem), 43);
    assert!(answer.is_proven(&problem));
    assert!(fits(&problem, &answer.times));
}

#[test]
fn the_six_by_six_job_shop_ends_at_55() {
    // H. Fisher and G. L. Thompson, in "Industrial Scheduling" (1963); machine and length of
    // each operation, from memory; optimum 55, as benchmark tables print it.
    const JOBS: [[(usize, i64); 6]; 6] = [
        [(2, 1), (0, 3), (1, 6), (3, 7), (5, 3), (4, 6)],
        [(1, 8), (2, 5), (4, 10), (5, 10), (0, 10), (3, 4)],
        [(2, 5), (3, 4), (5, 8), (0, 9), (1, 1), (4, 7)],
        [(1, 5), (0, 5), (2, 5), (3, 3), (4, 8), (5, 9)],
        [(2, 9), (1, 3), (4, 5), (5, 4), (0, 3), (3, 1)],
        [(1, 3), (3, 3), (5, 9), (0, 10), (4, 4), (2, 1)],
    ];
    let mut problem = Problem {
        points: 38,
        last: 37,
        ..Problem::default()
    };
    let mut machines = vec![
        Resource {
            capacity: 1,
            uses: Vec::new()
        };
        6
    ];
    for (j, job) in JOBS.iter().enumerate() {
        for (k, (machine, length)) in job.iter().enumerate() {
            let point = 1 + 6 * j + k;
            let to = if k == 5 { 37 } else { point + 1 };
            problem.lags.push(Lag {
                from: point,
                to,
                least: *length,
            });
            machines[*machine].uses.push(Use {
                start: point,
                end: point,
                length: *length,
                amount: 1,
            });
        }
    }
    problem.resources = machines;
    let Outcome::Found(answer) = solve(&problem, 200_000) else {
        panic!()
    };
    assert_eq!(answer.end(&problem), 55);
    assert!(answer.is_proven(&problem), "{} nodes", answer.nodes);
    assert!(fits(&problem, &answer.times));
}

/// Whether times keep all lags and no resource is overfull at any moment.
pub fn fits(problem: &Problem, times: &[i64]) -> bool {
    let lags = problem
        .lags
        .iter()
        .all(|l| times[l.to] - times[l.from] >= l.least);
    let full = |r: &Resource, t: i64| {
        let sum: u32 = r
            .uses
            .iter()
            .filter(|u| times[u.start] <= t && t < times[u.end] + u.length)
            .map(|u| u.amount)
            .sum();
        sum > r.capacity
    };
    let ends = problem
        .resources
        .iter()
        .flat_map(|r| &r.uses)
        .all(|u| times[u.end] + u.length <= times[problem.last]);
    lags && ends
        && times.iter().all(|t| *t >= times[0])
        && problem
            .resources
            .iter()
            .all(|r| r.uses.iter().all(|u| !full(r, times[u.start])))
}

/// The soonest end over all whole times up to `most`, by trying them all.
fn brute(problem: &Problem, most: i64) -> Option<i64> {
    fn go(problem: &Problem, times: &mut Vec<i64>, most: i64, best: &mut Option<i64>) {
        let p = times.len();
        if p == problem.points {
            let end = times[problem.last];
            if best.is_none_or(|b| end < b) && fits(problem, times) {
                *best = Some(end);
            }
            return;
        }
        for t in 0..=best.map_or(most, |b| b.min(most)) {
            times.push(t);
            let kept = problem.lags.iter().all(|l| {
                l.from >= times.len()
                    || l.to >= times.len()
                    || times[l.to] - times[l.from] >= l.least
            });
            if kept {
                go(problem, times, most, best);
            }
            times.pop();
        }
    }
    let mut best = None;
    go(problem, &mut vec![0], most, &mut best);
    best
}

#[derive(Debug, Clone)]
struct Task {
    length: i64,
    /// Its own end point, up to so much later.
    stretch: Option<i64>,
    amounts: (u32, u32),
    after: Option<(usize, i64, Option<i64>)>,
}

fn tasks() -> impl Strategy<Value = Vec<Task>> {
    let task = (
        0i64..4,
        proptest::option::weighted(0.3, 0i64..3),
        (0u32..2, 0u32..3),
        proptest::option::weighted(
            0.5,
            (0usize..3, 0i64..3, proptest::option::weighted(0.4, 0i64..3)),
        ),
    )
        .prop_map(|(length, stretch, amounts, after)| Task {
            length,
            stretch,
            amounts,
            after,
        });
    proptest::collection::vec(task, 1..5)
}

/// One pair of hands, two burners; at most two tasks that stretch, to keep the trying short.
fn problem(tasks: &[Task]) -> Problem {
    let mut p = Problem {
        points: 1,
        ..Problem::default()
    };
    let mut hands = Resource {
        capacity: 1,
        uses: Vec::new(),
    };
    let mut burners = Resource {
        capacity: 2,
        uses: Vec::new(),
    };
    let mut ends: Vec<(usize, usize, i64)> = Vec::new();
    let mut stretching = 0;
    for (i, task) in tasks.iter().enumerate() {
        let start = p.points;
        p.points += 1;
        let mut end = start;
        let mut length = task.length;
        if let (Some(stretch), true) = (task.stretch, stretching < 2) {
            stretching += 1;
            end = p.points;
            p.points += 1;
            p.lags.push(Lag {
                from: start,
                to: end,
                least: task.length.max(1),
            });
            p.lags.push(Lag {
                from: end,
                to: start,
                least: -(task.length.max(1) + stretch),
            });
            length = 0;
        }
        if let Some((before, gap, most)) = task.after
            && before < i
        {
            let (_, e, l) = ends[before];
            p.lags.push(Lag {
                from: e,
                to: start,
                least: l + gap,
            });
            if let Some(most) = most {
                p.lags.push(Lag {
                    from: start,
                    to: e,
                    least: -(l + gap + most),
                });
            }
        }
        for (resource, amount) in [(&mut hands, task.amounts.0), (&mut burners, task.amounts.1)] {
            if amount > 0 {
                resource.uses.push(Use {
                    start,
                    end,
                    length,
                    amount,
                });
            }
        }
        ends.push((start, end, length));
    }
    p.last = p.points;
    p.points += 1;
    for (_, end, length) in ends {
        p.lags.push(Lag {
            from: end,
            to: p.last,
            least: length,
        });
    }
    p.resources = vec![hands, burners];
    p
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3000, ..ProptestConfig::default() })]

    /// The same end as by trying all times, or the same impossibility; and every times that
    /// the orders let through are free of conflicts, the latest ones as well.
    #[test]
    fn small_plans_end_where_trying_everything_ends(tasks in tasks()) {
        let p = problem(&tasks);
        let tried = brute(&p, 16);
        match solve(&p, 100_000) {
            Outcome::Found(answer) => {
                prop_assert_eq!(Some(answer.end(&p)), tried);
                prop_assert!(answer.is_proven(&p));
                prop_assert!(fits(&p, &answer.times));
                let mut lags = p.lags.clone();
                lags.extend(orders(&p, &answer.times));
                for later in [0, 5] {
                    let end = answer.end(&p) + later;
                    let windows = windows(p.points, &lags, p.last, end).unwrap();
                    let early: Vec<i64> = windows.iter().map(|w| w.0).collect();
                    let late: Vec<i64> = windows.iter().map(|w| if w.1 == i64::MAX { end } else { w.1 }).collect();
                    prop_assert!(fits(&p, &early), "{early:?}");
                    let zero = late[0];
                    let late: Vec<i64> = late.iter().map(|t| t - zero).collect();
                    prop_assert!(fits(&p, &late), "{late:?}");
                    let between: Vec<i64> = early.iter().zip(&late).map(|(e, l)| *e.max(&(l - 2))).collect();
                    prop_assert!(fits(&p, &between), "{between:?}");
                }
            }
            Outcome::Impossible => prop_assert_eq!(tried, None),
            Outcome::GivenUp { .. } => prop_assert!(false, "given up"),
        }
    }
}
