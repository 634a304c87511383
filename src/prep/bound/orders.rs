//! Who hands on to whom: a schedule turned into lags.

use super::{Lag, Point, Problem, Use, after};

/// Lags that keep the uses of a schedule without conflicts apart, so that every other
/// times that fit them and the problem's lags have none either: each unit of a resource
/// goes from use to use, and a use waits for those that its units come from.
pub fn orders(problem: &Problem, times: &[i64]) -> Vec<Lag> {
    let at = |p: Point| times.get(p).copied().unwrap_or(0);
    let mut all = Vec::new();
    for resource in &problem.resources {
        let mut uses: Vec<&Use> = resource
            .uses
            .iter()
            .filter(|u| u.amount > 0 && at(u.end) + u.length > at(u.start))
            .collect();
        uses.sort_by_key(|u| (at(u.start), at(u.end) + u.length));
        let mut units: Vec<Option<&Use>> = vec![None; resource.capacity as usize];
        for u in uses {
            let mut wanted = u.amount;
            // The unit that was free last first: fewest waits for uses long over.
            let mut free: Vec<usize> = (0..units.len())
                .filter(|i| {
                    units
                        .get(*i)
                        .copied()
                        .flatten()
                        .is_none_or(|before| at(before.end) + before.length <= at(u.start))
                })
                .collect();
            free.sort_by_key(|i| {
                units
                    .get(*i)
                    .copied()
                    .flatten()
                    .map_or(0, |before| -(at(before.end) + before.length))
            });
            for i in free {
                if wanted == 0 {
                    break;
                }
                wanted -= 1;
                if let Some(unit) = units.get_mut(i) {
                    if let Some(before) = *unit {
                        let order = after(before, u);
                        if !all.contains(&order) {
                            all.push(order);
                        }
                    }
                    *unit = Some(u);
                }
            }
        }
    }
    all
}
