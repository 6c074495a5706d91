//! Steps, equal times and rises.

use super::*;

fn row(run: usize, time: f64, values: &[Option<f64>]) -> LogRow {
    LogRow { line: 1, time: Some(time), run, values: values.to_vec() }
}

#[test]
fn values_of_different_times_meet_on_one_clock_but_not_across_a_gap() {
    let rows = [
        row(0, 0.0, &[Some(1.0), None]),
        row(0, 0.5, &[None, Some(10.0)]),
        row(0, 1.0, &[Some(3.0), None]),
        row(0, 1.5, &[None, Some(30.0)]),
        row(0, 9.0, &[Some(5.0), Some(70.0)]),
    ];
    let even = resampled(&rows, 0.5, Some(2.0));
    assert_eq!(even[1].values, [Some(2.0), Some(10.0)]);
    assert_eq!(even[2].values, [Some(3.0), Some(20.0)]);
    let times: Vec<f64> = even.iter().filter_map(|row| row.time).collect();
    assert_eq!(times, [0.0, 0.5, 1.0, 1.5, 9.0], "nothing is known between 1.5 s and 9 s");
    assert_eq!(even[3].values, [None, Some(30.0)]);
    assert_eq!(even[4].values, [Some(5.0), Some(70.0)]);
    // A clock that is set in the middle.
    let jump = [row(0, 0.0, &[Some(1.0), None]), row(0, 1.0, &[Some(1.0), None]), row(0, 1.7e9, &[Some(2.0), None])];
    assert_eq!(resampled(&jump, 0.01, Some(2.0)).len(), 102, "a second of rows, and the last one");
}

#[test]
fn pulls_are_rises_that_noise_does_not_end() {
    let speeds =
        [2000., 2010., 3000., 2990., 5000., 7000., 5000., 3000., 2000., 2005., 4000., 3990., 7000., 6990., 2500.];
    let values: Vec<(usize, usize, f64)> = speeds.iter().enumerate().map(|(row, speed)| (row, 0, *speed)).collect();
    assert_eq!(rises(&values), [(0, 5), (8, 12)]);
}

#[test]
fn each_run_has_its_own_rises() {
    let values = [(0, 0, 1.0), (1, 0, 5.0), (2, 1, 1.0), (3, 1, 1.2), (4, 2, 2.0), (5, 2, 5.0)];
    assert_eq!(rises(&values), [(0, 1), (4, 5)]);
}

#[test]
fn the_usual_step_is_that_of_most_rows() {
    let rows: Vec<LogRow> = [0.0, 0.1, 0.2, 0.3, 5.0].iter().map(|time| row(0, *time, &[])).collect();
    assert!((usual_step(&rows, |_| true).expect("steps") - 0.1).abs() < 1e-12);
    let every_other = |row: &LogRow| row.time.is_some_and(|time| time < 0.05 || (0.15..0.25).contains(&time));
    assert!((usual_step(&rows, every_other).expect("steps") - 0.2).abs() < 1e-12);
    assert!(usual_step(&rows, |_| false).is_none());
}

#[test]
fn what_lies_within_a_step_is_averaged() {
    let rows: Vec<LogRow> = (0..30).map(|k| row(0, 0.1 * f64::from(k), &[Some(f64::from(k % 10))])).collect();
    let even = resampled(&rows, 1.0, None);
    let values: Vec<f64> = even.iter().filter_map(|row| row.values[0]).collect();
    // Half a second on both sides of 1 s: from 5 of one decade to 4 of the next, which come to 4.5; at the ends less.
    assert!((values[1] - 4.5).abs() < 1e-12 && (values[0] - 2.0).abs() < 1e-12, "{values:?}");
}
