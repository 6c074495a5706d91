use super::*;
use crate::quantity::{Dimension, Unit};
use crate::study::plan::{Limit, Sample, Values, Variable};
use crate::study::{Of, Quantity};
use std::cell::Cell;

const RATIO: &Unit = &Unit { symbol: "", factor: 1.0, divisor: 1.0, offset: 0.0 };

/// A plan of two inputs between zero and one, whose figures the test makes up.
fn plan(goals: Vec<Goal>, limits: Vec<Limit>, evaluations: usize) -> (Plan, Search) {
    let variable = |name: &str| Variable {
        name: name.to_owned(),
        fields: Vec::new(),
        dimension: Dimension::Ratio,
        unit: RATIO,
        values: Values::Span { from: 0.0, to: 1.0, count: None },
    };
    let search = Search { evaluations, starts: 8, seed: 1 };
    let plan = Plan {
        file: String::new(),
        text: String::new(),
        title: String::new(),
        layouts: Vec::new(),
        points: vec!["road".to_owned()],
        variables: vec![variable("x"), variable("y")],
        sample: Sample::Grid,
        limits,
        goals,
        search: Some(search),
        keeps_fields: false,
    };
    (plan, search)
}

const POWER: What = What::Figure(Quantity::Power, Of::Whole);
const TEMPERATURE: What = What::Figure(Quantity::InletTemperature, Of::Whole);

fn searched(plan: &Plan, search: Search, value: &Value<'_>) -> Vec<Run> {
    let starts = plan.starts(0, 0);
    let mut known = starts.clone();
    for from in first(plan, search, &starts, value) {
        known.extend(local(plan, &from, &starts, value));
    }
    for from in between(plan, search, &starts, &known.clone(), value) {
        known.extend(local(plan, &from, &starts, value));
    }
    known
}

#[test]
fn the_best_inside_bounds_and_conditions_is_found() {
    // Most of 3 - (x - 0.8)^2 - (y - 0.6)^2 where x + y is at most 1: by symmetry of the circle x = 0.6, y = 0.4.
    let goals = vec![Goal { what: POWER, more: true }];
    let limits = vec![Limit { what: TEMPERATURE, at_least: None, at_most: Some(1.0) }];
    let (plan, search) = plan(goals, limits, 100);
    let calls = Cell::new(0);
    let value = |run: &Run, what: &What| {
        calls.set(calls.get() + 1);
        let [x, y] = run.numbers[..] else { return None };
        Some(if *what == POWER { 3.0 - (x - 0.8) * (x - 0.8) - (y - 0.6) * (y - 0.6) } else { x + y })
    };
    let runs = searched(&plan, search, &value);
    assert!(runs.len() <= 100, "{}", runs.len());
    let best = &runs[by_merit(&plan, &runs, 0, None, &value)[0]];
    assert!((best.numbers[0] - 0.6).abs() < 5e-3 && (best.numbers[1] - 0.4).abs() < 5e-3, "{best:?}");
    // Once more: the same runs in the same order.
    assert_eq!(runs, searched(&plan, search, &value));
}

#[test]
fn two_aims_give_a_front_from_end_to_end() {
    // Least x^2 + y^2 and least (x - 1)^2 + (y - 1)^2: the front is the diagonal, sqrt(f) + sqrt(g) = sqrt(2).
    let goals = vec![Goal { what: POWER, more: false }, Goal { what: TEMPERATURE, more: false }];
    let (plan, search) = plan(goals, Vec::new(), 240);
    let value = |run: &Run, what: &What| {
        let [x, y] = run.numbers[..] else { return None };
        Some(if *what == POWER { x * x + y * y } else { (x - 1.0) * (x - 1.0) + (y - 1.0) * (y - 1.0) })
    };
    let runs = searched(&plan, search, &value);
    assert!(runs.len() <= 240, "{}", runs.len());
    let pair = |run: &Run| [value(run, &POWER).unwrap(), value(run, &TEMPERATURE).unwrap()];
    for share in [0.1, 0.3, 0.5, 0.7, 0.9] {
        // Some run lies near this place of the diagonal.
        let place: [f64; 2] = [2.0 * share * share, 2.0 * (1.0 - share) * (1.0 - share)];
        let near = runs.iter().map(|run| {
            let [f, g] = pair(run).map(f64::sqrt);
            (f - place[0].sqrt()).abs().max((g - place[1].sqrt()).abs())
        });
        let near = near.fold(f64::INFINITY, f64::min);
        assert!(near < 0.15, "{share}: {near}");
    }
    let beyond = runs.iter().map(|run| pair(run).map(f64::sqrt).iter().sum::<f64>()).fold(f64::INFINITY, f64::min);
    assert!(beyond >= 2.0_f64.sqrt() - 1e-9, "nothing lies beyond the front: {beyond}");
}

#[test]
fn failed_runs_do_not_stop_a_search() {
    let (plan, search) = plan(vec![Goal { what: POWER, more: true }], Vec::new(), 60);
    // Nothing can be solved right of x = 0.7; the best is at that edge.
    let value = |run: &Run, _: &What| (run.numbers[0] < 0.7).then(|| run.numbers[0] - (run.numbers[1] - 0.5).powi(2));
    let runs = searched(&plan, search, &value);
    let best = &runs[by_merit(&plan, &runs, 0, None, &value)[0]];
    assert!(best.numbers[0] > 0.6 && (best.numbers[1] - 0.5).abs() < 0.1, "{best:?}");
}

#[test]
fn inputs_have_few_digits() {
    for (number, width, rounded) in
        [(71.234_567, 16.0, 71.235), (0.001_234_56, 0.01, 0.001_235), (12_345.6, 5e4, 12_346.0), (7.3e8, 1e9, 7.3e8)]
    {
        assert!((round(number, width) - rounded).abs() < 1e-12 * rounded, "{} {rounded}", round(number, width));
    }
}
