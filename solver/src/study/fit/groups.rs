//! Readings of one tap, or of one station, beside the fit.

use super::certainty::Certainty;
use super::least_squares::Found;
use super::stations::FitReading;

/// How the readings that belong together lie beside the fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Number of the channel or of the station.
    pub of: usize,
    /// Number of readings.
    pub readings: usize,
    /// Mean of what the model says less what was read [SI]; of a station it means nothing.
    pub mean: f64,
    /// Root of the mean square of the residuals, in standard deviations of the readings.
    pub deviation: f64,
    /// The same when the fit has not seen them; `None` where the other readings do not know all values.
    pub unseen: Option<f64>,
    /// Number of the value that they pull most, and by how many of its standard errors it would change without them.
    pub pull: Option<(usize, f64)>,
}

/// Groups of the readings that have the same number, in the order of the numbers.
#[must_use]
pub fn groups(
    found: &Found,
    certainty: &Certainty,
    readings: &[FitReading],
    number: impl Fn(&FitReading) -> usize,
) -> Vec<Group> {
    let mut numbers: Vec<usize> = readings.iter().map(&number).collect();
    numbers.sort_unstable();
    numbers.dedup();
    let group = |of: usize| {
        let rows: Vec<usize> = (0..readings.len()).filter(|row| number(&readings[*row]) == of).collect();
        let residual = |row: &usize| found.slopes.residuals[*row];
        let mean = rows.iter().map(|row| residual(row) * readings[*row].spread).sum::<f64>() / rows.len() as f64;
        let without = certainty.without(found, &rows);
        let pull = without.as_ref().and_then(|without| {
            let shifts = without.shifts.iter().zip(&certainty.errors).enumerate();
            let told = shifts.filter_map(|(value, (shift, error))| Some((value, shift / (*error)?)));
            told.filter(|(_, shift)| shift.is_finite()).max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
        });
        Group {
            of,
            readings: rows.len(),
            mean,
            deviation: root_mean_square(rows.iter().map(residual)),
            unseen: without.map(|without| root_mean_square(without.missed.into_iter())),
            pull,
        }
    };
    numbers.into_iter().map(group).collect()
}

/// Root of the mean square by which each reading is missed by a fit that has not seen it; `None` where the others do not know all values.
#[must_use]
pub fn missed_one_by_one(found: &Found, certainty: &Certainty) -> Option<f64> {
    let rows = 0..found.slopes.residuals.len();
    let missed: Option<Vec<f64>> = rows.map(|row| Some(certainty.without(found, &[row])?.missed[0])).collect();
    missed.map(|missed| root_mean_square(missed.into_iter()))
}

fn root_mean_square(values: impl Iterator<Item = f64>) -> f64 {
    let (mut sum, mut count) = (0.0, 0);
    for value in values {
        sum += value * value;
        count += 1;
    }
    (sum / f64::from(count.max(1))).sqrt()
}
