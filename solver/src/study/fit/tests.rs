//! The fit on models whose answers are known in closed form.

use super::*;

/// Rows that go in a straight line with the values: `matrix` times values less `read`.
struct Straight {
    matrix: Vec<Vec<f64>>,
    read: Vec<f64>,
}

impl Model for Straight {
    type Error = String;

    fn readings(&self) -> usize {
        self.read.len()
    }

    fn residuals(&mut self, values: &[f64]) -> Result<Vec<f64>, String> {
        let row = |row: &Vec<f64>| row.iter().zip(values).map(|(a, b)| a * b).sum::<f64>();
        Ok(self.matrix.iter().zip(&self.read).map(|(one, read)| row(one) - read).collect())
    }

    fn slopes(&mut self, values: &[f64]) -> Result<Slopes, String> {
        let columns = (0..values.len()).map(|column| self.matrix.iter().map(|row| row[column]).collect()).collect();
        Ok(Slopes { residuals: self.residuals(values)?, columns })
    }
}

/// Readings of a parabola at seven places with errors of some tenths.
fn parabola() -> Straight {
    let errors = [0.3, -0.2, 0.1, 0.4, -0.5, 0.2, -0.1];
    let matrix: Vec<Vec<f64>> = (0..7).map(|k| (0..3).map(|power| f64::from(k).powi(power)).collect()).collect();
    let read = matrix.iter().zip(errors).map(|(row, error)| 2.0 - 3.0 * row[1] + 0.5 * row[2] + error).collect();
    Straight { matrix, read }
}

fn free(start: f64) -> Unknown {
    Unknown { start, bounds: [f64::NEG_INFINITY, f64::INFINITY], prior: None }
}

fn fit(model: &mut Straight, unknowns: &[Unknown]) -> (Found, Certainty) {
    let found = least_squares(model, unknowns, &Stop::default()).expect("an answer");
    let certainty = Certainty::of(&found, unknowns, Spreads::Known).expect("numbers");
    (found, certainty)
}

fn near(found: f64, exact: f64) {
    assert!((found - exact).abs() <= 1e-9 * exact.abs().max(1.0), "{found} for {exact}");
}

#[test]
fn one_value_read_often_is_the_mean_weighted_with_its_prior() {
    // Four readings of deviation 1, a prior of deviation 1/2: as much as four readings more.
    let mut model = Straight { matrix: vec![vec![1.0]; 4], read: vec![1.0, 2.0, 3.0, 6.0] };
    let unknowns = [Unknown { prior: Some(Prior { value: 5.0, spread: 0.5 }), ..free(0.0) }];
    let (found, certainty) = fit(&mut model, &unknowns);
    near(found.values[0], (3.0 + 5.0) / 2.0);
    near(certainty.errors[0].expect("free"), 1.0 / 8.0_f64.sqrt());
    near(certainty.from_readings[0], 0.5);
    assert_eq!(certainty.freedom, 4);
    // Residuals 3, 2, 1, -2 and -2 of the prior.
    near(certainty.squares, 22.0);
}

#[test]
fn a_value_that_would_go_beyond_its_bound_stands_on_it_and_has_no_error() {
    let mut model = parabola();
    let bounded = Unknown { bounds: [0.6, 2.0], ..free(1.0) };
    let (found, certainty) = fit(&mut model, &[free(0.0), free(0.0), bounded]);
    assert_eq!(found.values[2].to_bits(), 0.6_f64.to_bits());
    assert_eq!(found.at_bound, [false, false, true]);
    assert_eq!((certainty.errors[2], certainty.freedom), (None, 5));
    // The other two are those of a straight line through what the bound leaves.
    let read = model.matrix.iter().zip(&model.read).map(|(row, read)| read - 0.6 * row[2]).collect();
    let matrix = model.matrix.iter().map(|row| row[..2].to_vec()).collect();
    let (line, of_line) = fit(&mut Straight { matrix, read }, &[free(0.0), free(0.0)]);
    for k in 0..2 {
        near(found.values[k], line.values[k]);
        near(certainty.errors[k].expect("free"), of_line.errors[k].expect("free"));
    }
    near(certainty.correlations[0][1], of_line.correlations[0][1]);
}

#[test]
fn a_start_on_a_bound_is_left_where_the_sum_falls_inward() {
    let mut model = parabola();
    let (inside, _) = fit(&mut model, &[free(0.0), free(0.0), free(0.0)]);
    let from_bound = Unknown { bounds: [0.0, 2.0], ..free(0.0) };
    let (found, _) = fit(&mut model, &[Unknown { bounds: [0.0, 9.0], ..free(9.0) }, free(0.0), from_bound]);
    for k in 0..3 {
        near(found.values[k], inside.values[k]);
    }
    assert_eq!(found.at_bound, [false; 3]);
}

#[test]
fn leaving_readings_out_says_what_a_new_fit_says() {
    let mut model = parabola();
    let unknowns = [free(0.0), free(0.0), Unknown { prior: Some(Prior { value: 0.4, spread: 0.05 }), ..free(0.0) }];
    let (found, certainty) = fit(&mut model, &unknowns);
    for left_out in [vec![3], vec![0, 6], vec![1, 2, 4, 5]] {
        let told = certainty.without(&found, &left_out).expect("enough is left");
        let keep = |index: &usize| !left_out.contains(index);
        let rest = Straight {
            matrix: (0..7).filter(keep).map(|k| model.matrix[k].clone()).collect(),
            read: (0..7).filter(keep).map(|k| model.read[k]).collect(),
        };
        let mut rest = rest;
        let (anew, _) = fit(&mut rest, &unknowns);
        for k in 0..3 {
            near(found.values[k] + told.shifts[k], anew.values[k]);
        }
        let missed = model.residuals(&anew.values).expect("numbers");
        told.missed.iter().zip(&left_out).for_each(|(told, row)| near(*told, missed[*row]));
    }
    let without_prior = [free(0.0), free(0.0), free(0.0)];
    let (found, certainty) = fit(&mut model, &without_prior);
    assert_eq!(certainty.without(&found, &[0, 1, 2, 3, 4]), None, "two readings do not know three values");
}

#[test]
fn what_readings_cannot_tell_apart_is_named_by_group() {
    // The first two only as their sum, the fourth and the fifth only as their difference, the sixth not at all; the third alone.
    let row = |k: u32| {
        let x = f64::from(k);
        vec![x, x, x * x, 3.0 * (0.7 * x).cos(), -3.0 * (0.7 * x).cos(), 1e-4]
    };
    let matrix: Vec<Vec<f64>> = (1..9).map(row).collect();
    let read = (1..9).map(|k| f64::from(k % 3)).collect();
    let unknowns = vec![Unknown { prior: Some(Prior { value: 1.0, spread: 2.0 }), ..free(1.0) }; 6];
    let (_, certainty) = fit(&mut Straight { matrix, read }, &unknowns);
    let groups: Vec<_> = certainty.alike.iter().map(|group| group.unknowns.clone()).collect();
    assert_eq!(groups, [vec![0, 1], vec![3, 4]]);
    assert!(certainty.alike.iter().all(|group| group.unknown_combinations == 1 && group.condition > 1e9));
    assert_eq!(certainty.unfelt, [5]);
    assert!(certainty.from_readings[2] > 0.99 && certainty.from_readings[5] < 1e-6);
    // Of the difference of the first two only the priors tell, of its half with a variance of 2; of the sum the readings do.
    let (together, error) = (certainty.correlations[0][1], certainty.errors[0].expect("free"));
    assert!(together < -0.9 && certainty.correlations[3][4] > 0.9);
    near(error * error * (1.0 - together) / 2.0, 2.0);
}

#[test]
fn without_priors_what_nobody_knows_has_no_finite_error() {
    let matrix = (1..5).map(|k| vec![f64::from(k), f64::from(k), 1.0]).collect();
    let read = vec![1.0, 3.0, 2.0, 5.0];
    let (found, certainty) = fit(&mut Straight { matrix, read }, &[free(0.0), free(0.0), free(0.0)]);
    assert_eq!(certainty.errors[0], Some(f64::INFINITY));
    assert_eq!(certainty.errors[1], Some(f64::INFINITY));
    assert!(certainty.errors[2].is_some_and(f64::is_finite));
    // A line through the readings: slope 1.1, at zero 0.
    near(found.values[0] + found.values[1], 1.1);
    near(found.values[2], 0.0);
}

#[test]
fn what_cannot_be_fitted_is_told() {
    let mut model = parabola();
    let few = least_squares(&mut model, &vec![free(0.0); 8], &Stop::default());
    assert_eq!(few, Err(Failure::TooFew { readings: 7, priors: 0, unknowns: 8 }));
    let outside = Unknown { bounds: [1.0, 2.0], ..free(0.0) };
    let refused = least_squares(&mut model, &[free(0.0), outside, free(0.0)], &Stop::default());
    assert_eq!(refused, Err(Failure::Bounds(1)));
    model.read[2] = f64::NAN;
    let unknowns = [free(0.0), free(0.0), free(0.0)];
    assert_eq!(least_squares(&mut model, &unknowns, &Stop::default()), Err(Failure::NotANumber));
}

/// A model that has no answer above a value.
struct Edge;

impl Model for Edge {
    type Error = &'static str;

    fn readings(&self) -> usize {
        2
    }

    fn residuals(&mut self, values: &[f64]) -> Result<Vec<f64>, &'static str> {
        if values[0] >= 2.0 { Err("choked") } else { Ok(vec![1.0 / (2.0 - values[0]) - 10.0, 0.0]) }
    }

    fn slopes(&mut self, values: &[f64]) -> Result<Slopes, &'static str> {
        let slope = (2.0 - values[0]).powi(-2);
        Ok(Slopes { residuals: self.residuals(values)?, columns: vec![vec![slope, 0.0]] })
    }
}

#[test]
fn a_step_to_where_there_is_no_answer_is_made_shorter() {
    // The first full step from 0 goes far beyond 2.
    let found = least_squares(&mut Edge, &[free(0.0)], &Stop::default()).expect("an answer");
    assert!((found.values[0] - 1.9).abs() < 1e-6, "{found:?}");
    assert_eq!(least_squares(&mut Edge, &[free(3.0)], &Stop::default()), Err(Failure::Model("choked")));
}

/// Two values that are read with each other: the first one has no answer below one, where its least sum lies.
struct Wall;

impl Model for Wall {
    type Error = &'static str;

    fn readings(&self) -> usize {
        3
    }

    fn residuals(&mut self, values: &[f64]) -> Result<Vec<f64>, &'static str> {
        let [a, b] = [values[0], values[1]];
        if a < 1.0 { Err("too short") } else { Ok(vec![3.0 * a, a + b - 5.0, 2.0 * (b - 8.0)]) }
    }

    fn slopes(&mut self, values: &[f64]) -> Result<Slopes, &'static str> {
        Ok(Slopes { residuals: self.residuals(values)?, columns: vec![vec![3.0, 1.0, 0.0], vec![0.0, 1.0, 2.0]] })
    }
}

#[test]
fn a_search_against_what_has_no_answer_has_not_converged_but_moves_the_others() {
    for start in [1.0, 1.5] {
        let found = least_squares(&mut Wall, &[free(start), free(2.0)], &Stop::default()).expect("an answer");
        let Ending::Stuck { unknown: 0, refused: Some(refused) } = &found.ending else { panic!("{found:?}") };
        assert_eq!(refused, "too short");
        assert!(!found.ending.has_converged() && (found.values[0] - 1.0).abs() < 1e-2, "{found:?}");
        // With the first at the wall the sum of the squares of a + b - 5 and 2 (b - 8) is least at b = (5 - a + 4 x 8) / 5.
        assert!((found.values[1] - (37.0 - found.values[0]) / 5.0).abs() < 1e-6, "{found:?}");
    }
    // A bound in the same place is the end of a search that has converged.
    let bounded = Unknown { bounds: [1.0, f64::INFINITY], ..free(1.5) };
    let found = least_squares(&mut Wall, &[bounded, free(2.0)], &Stop::default()).expect("an answer");
    assert!(found.ending.has_converged() && found.at_bound == [true, false], "{found:?}");
    near(found.values[1], 7.2);
}
