//! How well fitted values are known: standard errors, correlations, what readings cannot tell apart, and the fit without some of them.
//!
//! All of it is read off the derivatives where the fit stands, as if the model went on in a straight line. Bates and Watts 1988, Nonlinear
//! Regression Analysis, chapter 2; with priors as more rows, Tarantola 2005, Inverse Problem Theory, chapter 3.

use super::least_squares::{Found, Unknown};
use faer::Mat;
use faer::linalg::solvers::Svd;

/// What is known of the standard deviations of readings and priors.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spreads {
    /// They are what they are said to be: errors follow from them alone.
    Known,
    /// Only their ratios are: errors are those times the deviation of the residuals.
    ByResiduals,
}

/// Unknowns of which the readings know fewer combinations than there are unknowns.
#[derive(Debug, Clone, PartialEq)]
pub struct Alike {
    /// Numbers of the unknowns, two or more.
    pub unknowns: Vec<usize>,
    /// How many combinations of them no reading knows.
    pub unknown_combinations: usize,
    /// Largest condition index of these combinations; infinite where no reading changes at all.
    pub condition: f64,
}

/// How well values are known.
#[derive(Debug, Clone, PartialEq)]
pub struct Certainty {
    /// Sum of the squares of all residuals, priors with them.
    pub squares: f64,
    /// Number of rows less that of the unknowns that are not held by a bound.
    pub freedom: usize,
    /// Standard error of each value; `None` where a bound holds it, infinite where neither readings nor priors know it.
    pub errors: Vec<Option<f64>>,
    /// Correlations of the values; zero with one that is held, not a number with one that nobody knows.
    pub correlations: Vec<Vec<f64>>,
    /// Share of what is known of each value that comes from the readings rather than from its prior; one where there is none.
    pub from_readings: Vec<f64>,
    /// Unknowns that change no reading by more than [`UNFELT`] of its deviation when they change by their whole size.
    pub unfelt: Vec<usize>,
    /// Groups that the readings cannot tell apart, by derivatives without priors.
    pub alike: Vec<Alike>,
    basis: Basis,
}

/// What remains of a fit when some readings are left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Without {
    /// Residuals by which those readings are then missed, in their order.
    pub missed: Vec<f64>,
    /// Change of each value.
    pub shifts: Vec<f64>,
}

/// Condition index from which columns are taken for dependent: Belsley, Kuh and Welsch 1980, Regression Diagnostics, section 3.2 (30 to 100
/// for strong dependence, and shares of variance above one half).
pub const DEPENDENT: f64 = 30.0;
/// Part of a standard deviation that no reading shows.
pub const UNFELT: f64 = 0.1;
/// Share of an unknown in the combinations that nobody knows, from which it is named.
const NAMED: f64 = 0.02;

impl Certainty {
    /// How well the values of `found` are known.
    ///
    /// `None` when the derivatives hold what is no number.
    #[must_use]
    pub fn of(found: &Found, unknowns: &[Unknown], spreads: Spreads) -> Option<Self> {
        let free: Vec<usize> = (0..unknowns.len()).filter(|index| !found.at_bound[*index]).collect();
        let residuals = all_residuals(found, unknowns);
        let squares: f64 = residuals.iter().map(|residual| residual * residual).sum();
        let freedom = residuals.len() - free.len();
        let basis = Basis::of(found, unknowns, &free)?;
        let scale = match spreads {
            Spreads::Known => 1.0,
            Spreads::ByResiduals => squares / freedom.max(1) as f64,
        };
        let place = |index: usize| free.iter().position(|known| *known == index);
        let covariance = |row: usize, column: usize| match (place(row), place(column)) {
            (Some(row), Some(column)) => scale * basis.covariance(row, column),
            _ => 0.0,
        };
        let errors: Vec<Option<f64>> =
            (0..unknowns.len()).map(|index| place(index).map(|_| covariance(index, index).sqrt())).collect();
        let correlation = |row: usize, column: usize| match (errors[row], errors[column]) {
            (Some(_), Some(_)) if row == column => 1.0,
            (Some(one), Some(other)) => covariance(row, column) / (one * other),
            _ => 0.0,
        };
        let correlations = (0..unknowns.len())
            .map(|row| (0..unknowns.len()).map(|column| correlation(row, column)).collect())
            .collect();
        let from_readings = |(unknown, error): (&Unknown, &Option<f64>)| match (unknown.prior, error) {
            (Some(prior), Some(error)) => (1.0 - (error / scale.sqrt() / prior.spread).powi(2)).max(0.0),
            _ => 1.0,
        };
        let from_readings = unknowns.iter().zip(&errors).map(from_readings).collect();
        let unfelt: Vec<usize> = (0..unknowns.len()).filter(|index| is_unfelt(found, unknowns, *index)).collect();
        let felt: Vec<usize> = free.iter().copied().filter(|index| !unfelt.contains(index)).collect();
        let alike = alike(found, &felt)?;
        Some(Self { squares, freedom, errors, correlations, from_readings, unfelt, alike, basis })
    }

    /// Standard deviation of the residuals over those of the readings and priors: one where model and spreads are right.
    #[must_use]
    pub fn deviation(&self) -> f64 {
        (self.squares / self.freedom.max(1) as f64).sqrt()
    }

    /// The fit without the readings of these numbers, by its derivatives: of a model that is a straight line to the last digit (Cook and Weisberg
    /// 1982, Residuals and Influence in Regression, section 2.2). `None` when the others do not know all values.
    #[must_use]
    pub fn without(&self, found: &Found, readings: &[usize]) -> Option<Without> {
        self.basis.without(found, readings)
    }
}

/// Residuals of readings, then of priors.
fn all_residuals(found: &Found, unknowns: &[Unknown]) -> Vec<f64> {
    let priors = unknowns.iter().zip(&found.values).filter_map(|(unknown, value)| unknown.prior_residual(*value));
    found.slopes.residuals.iter().copied().chain(priors).collect()
}

/// Whether a change of the unknown by its size shows in no reading.
fn is_unfelt(found: &Found, unknowns: &[Unknown], index: usize) -> bool {
    let (unknown, value) = (&unknowns[index], found.values[index]);
    let size = unknown.prior.map_or(value.abs().max(unknown.scale()), |prior| prior.spread);
    found.slopes.columns[index].iter().all(|slope| (slope * size).abs() <= UNFELT)
}

/// The singular values of all derivatives of the free unknowns, each column of length one.
#[derive(Debug, Clone, PartialEq)]
struct Basis {
    free: Vec<usize>,
    lengths: Vec<f64>,
    left: Mat<f64>,
    singular: Vec<f64>,
    right: Mat<f64>,
}

impl Basis {
    fn of(found: &Found, unknowns: &[Unknown], free: &[usize]) -> Option<Self> {
        let readings = found.slopes.residuals.len();
        let priors: Vec<usize> = (0..unknowns.len()).filter(|index| unknowns[*index].prior.is_some()).collect();
        let entry = |row: usize, column: usize| {
            let index = free[column];
            match row.checked_sub(readings) {
                None => found.slopes.columns[index][row],
                Some(prior) if priors[prior] == index => unknowns[index].prior.map_or(0.0, |prior| 1.0 / prior.spread),
                Some(_) => 0.0,
            }
        };
        let rows = readings + priors.len();
        let lengths: Vec<f64> =
            (0..free.len()).map(|column| (0..rows).map(|row| entry(row, column).powi(2)).sum::<f64>().sqrt()).collect();
        let matrix = Mat::from_fn(rows, free.len(), |row, column| {
            if lengths[column] > 0.0 { entry(row, column) / lengths[column] } else { 0.0 }
        });
        let (left, singular, right) = decompose(&matrix)?;
        Some(Self { free: free.to_vec(), lengths, left, singular, right })
    }

    /// Singular value below which a direction is not known at all.
    fn nothing(&self) -> f64 {
        let rows = self.left.nrows() as f64;
        rows * f64::EPSILON * self.singular.first().copied().unwrap_or(0.0)
    }

    fn covariance(&self, row: usize, column: usize) -> f64 {
        let nothing = self.nothing();
        let mut sum = 0.0;
        for (k, singular) in self.singular.iter().enumerate() {
            let share = self.right[(row, k)] * self.right[(column, k)];
            if *singular > nothing {
                sum += share / (singular * singular);
            } else if share.abs() > f64::EPSILON {
                return f64::INFINITY.copysign(share);
            }
        }
        sum / (self.lengths[row] * self.lengths[column])
    }

    fn without(&self, found: &Found, readings: &[usize]) -> Option<Without> {
        let (nothing, count) = (self.nothing(), self.free.len());
        if self.singular.iter().any(|singular| *singular <= nothing) {
            return None;
        }
        // In the coordinates of the singular directions: (1 - U^T U) w = U^T r over the rows left out.
        let dot = |a: &dyn Fn(usize) -> f64, b: &dyn Fn(usize) -> f64| {
            readings.iter().map(|row| a(*row) * b(*row)).sum::<f64>()
        };
        let rest = Mat::from_fn(count, count, |a, b| {
            let own = if a == b { 1.0 } else { 0.0 };
            own - dot(&|row| self.left[(row, a)], &|row| self.left[(row, b)])
        });
        let side: Vec<f64> =
            (0..count).map(|k| dot(&|row| self.left[(row, k)], &|row| found.slopes.residuals[row])).collect();
        let (left, singular, right) = decompose(&rest)?;
        if singular.iter().any(|value| *value <= 1e3 * f64::EPSILON) {
            return None;
        }
        let along = |direction: usize| {
            (0..count).map(|row| left[(row, direction)] * side[row]).sum::<f64>() / singular[direction]
        };
        let along: Vec<f64> = (0..count).map(along).collect();
        let solved = |k: usize| (0..count).map(|direction| right[(k, direction)] * along[direction]).sum::<f64>();
        let solved: Vec<f64> = (0..count).map(solved).collect();
        let missed = readings.iter().map(|row| {
            found.slopes.residuals[*row] + (0..count).map(|k| self.left[(*row, k)] * solved[k]).sum::<f64>()
        });
        let mut shifts = vec![0.0; found.values.len()];
        for (place, index) in self.free.iter().enumerate() {
            let sum: f64 = (0..count).map(|k| self.right[(place, k)] / self.singular[k] * solved[k]).sum();
            shifts[*index] = sum / self.lengths[place];
        }
        Some(Without { missed: missed.collect(), shifts })
    }
}

/// Singular value decomposition, the values falling.
fn decompose(matrix: &Mat<f64>) -> Option<(Mat<f64>, Vec<f64>, Mat<f64>)> {
    if !(0..matrix.ncols()).all(|column| (0..matrix.nrows()).all(|row| matrix[(row, column)].is_finite())) {
        return None;
    }
    let found = Svd::new_thin(matrix.as_ref()).ok()?;
    let singular = (0..matrix.ncols().min(matrix.nrows())).map(|k| found.S()[k]).collect();
    Some((found.U().to_owned(), singular, found.V().to_owned()))
}

/// Groups of unknowns that the readings alone cannot tell apart. Directions that mix two such groups by chance, because both are as unknown, are
/// kept apart by looking at the space that all of them span.
fn alike(found: &Found, felt: &[usize]) -> Option<Vec<Alike>> {
    let columns: Vec<&[f64]> = felt.iter().map(|index| found.slopes.columns[*index].as_slice()).collect();
    let length = |column: &[f64]| column.iter().map(|slope| slope * slope).sum::<f64>().sqrt();
    let rows = found.slopes.residuals.len().max(felt.len());
    let matrix = Mat::from_fn(rows, felt.len(), |row, column| {
        columns[column].get(row).map_or(0.0, |slope| slope / length(columns[column]))
    });
    let (_, singular, right) = decompose(&matrix)?;
    let largest = singular.first().copied().unwrap_or(0.0);
    let weak: Vec<usize> = (0..felt.len()).filter(|k| singular[*k] * DEPENDENT <= largest).collect();
    let shared = |a: usize, b: usize| weak.iter().map(|k| right[(a, *k)] * right[(b, *k)]).sum::<f64>();
    let named: Vec<usize> = (0..felt.len()).filter(|a| shared(*a, *a) > NAMED).collect();
    let linked = |a: usize, b: usize| shared(a, b).abs() > NAMED.sqrt() * (shared(a, a) * shared(b, b)).sqrt();
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for one in named {
        let (with, rest): (Vec<_>, Vec<_>) =
            groups.into_iter().partition(|group| group.iter().any(|other| linked(one, *other)));
        groups = rest;
        let mut joined: Vec<usize> = with.concat();
        joined.push(one);
        joined.sort_unstable();
        groups.push(joined);
    }
    groups.sort_unstable();
    let group = |members: Vec<usize>| {
        // The trace of the projection on what is unknown, over the members, is the number of its directions.
        let unknown_combinations = members.iter().map(|member| shared(*member, *member)).sum::<f64>().round().max(1.0);
        let within = |k: &&usize| members.iter().map(|member| right[(*member, **k)].powi(2)).sum::<f64>() > 0.5;
        let condition = weak.iter().filter(within).map(|k| largest / singular[*k]).fold(DEPENDENT, f64::max);
        Alike {
            unknowns: members.iter().map(|member| felt[*member]).collect(),
            unknown_combinations: unknown_combinations as usize,
            condition,
        }
    };
    Some(groups.into_iter().filter(|members| members.len() > 1).map(group).collect())
}
