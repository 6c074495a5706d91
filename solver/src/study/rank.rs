//! Which runs of a study are best.

use super::plan::{Goal, Plan};
use super::table::{Row, Rows};

/// Runs at a point that have figures and meet what is required, the best by the first aim first; in the order of the table where there is no aim or
/// two are equal.
#[must_use]
pub fn ranked(plan: &Plan, rows: &Rows<'_>, point: usize) -> Vec<usize> {
    let meets = |row: &Row| plan.limits.iter().all(|limit| row.margin(limit).is_some_and(|margin| margin >= 0.0));
    let here = |(_, row): &(usize, Row)| row.run.point == point && row.is_done() && meets(row);
    let found = rows.iter().enumerate().filter(here);
    let Some(goal) = plan.goals.first() else { return found.map(|(number, _)| number).collect() };
    let mut found: Vec<(f64, usize)> = found.map(|(number, row)| (cost(goal, &row), number)).collect();
    found.retain(|(cost, _)| cost.is_finite());
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.into_iter().map(|(_, number)| number).collect()
}

/// Those of the `ranked` runs that no other beats in both of the first two aims, from the best by the first to the best by the second; nothing
/// where there are fewer aims.
#[must_use]
pub fn front(plan: &Plan, rows: &Rows<'_>, ranked: &[usize]) -> Vec<usize> {
    let [first, second, ..] = &plan.goals[..] else { return Vec::new() };
    let costs = |number: &usize| rows.get(*number).map_or([f64::NAN; 2], |row| [cost(first, &row), cost(second, &row)]);
    let all: Vec<[f64; 2]> = ranked.iter().map(costs).collect();
    undominated(&all).into_iter().map(|place| ranked[place]).collect()
}

fn cost(goal: &Goal, row: &Row) -> f64 {
    row.value(&goal.what).map_or(f64::NAN, |value| goal.cost(value))
}

/// Places of the pairs of costs that no other pair beats: none is at most as large in both and smaller in one. From the smallest first cost on.
fn undominated(costs: &[[f64; 2]]) -> Vec<usize> {
    let mut order: Vec<usize> =
        (0..costs.len()).filter(|place| costs[*place].iter().all(|cost| !cost.is_nan())).collect();
    order.sort_by(|a, b| costs[*a][0].total_cmp(&costs[*b][0]).then(costs[*a][1].total_cmp(&costs[*b][1])));
    let mut least = f64::INFINITY;
    order.retain(|place| {
        let beats = costs[*place][1] < least;
        least = least.min(costs[*place][1]);
        beats
    });
    order
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_front_is_what_nothing_beats(costs in prop::collection::vec([0_u8..12, 0_u8..12], 0..40)) {
            let costs: Vec<[f64; 2]> = costs.into_iter().map(|pair| pair.map(f64::from)).collect();
            let beats = |a: &[f64; 2], b: &[f64; 2]| a[0] <= b[0] && a[1] <= b[1] && (a[0] < b[0] || a[1] < b[1]);
            let found = undominated(&costs);
            for place in 0..costs.len() {
                let beaten = costs.iter().any(|other| beats(other, &costs[place]));
                let shown = found.iter().any(|known| costs[*known].iter().zip(&costs[place]).all(|(a, b)| (a - b).abs() < 0.5));
                prop_assert_eq!(shown, !beaten);
            }
        }
    }
}
