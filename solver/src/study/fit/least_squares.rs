//! Least squares with bounds and priors, sought by the library's Levenberg and Marquardt.
//!
//! More 1978, in Numerical Analysis, Lecture Notes in Mathematics 630, 105, as MINPACK has it; bounds as in Markwardt 2009, ASP Conference
//! Series 411, 251.

use super::search::Search;
use rmpfit::{MPFitter, MPSuccess};
use std::fmt::Display;

/// What is known of a value before it is fitted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Most likely value.
    pub value: f64,
    /// One standard deviation, above zero.
    pub spread: f64,
}

/// A value that is fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct Unknown {
    /// Where the search starts, between the bounds.
    pub start: f64,
    /// Least and largest value; infinite where there is no bound.
    pub bounds: [f64; 2],
    /// What is known of it before: one more row, (value - prior) / spread.
    pub prior: Option<Prior>,
}

impl Unknown {
    /// Size of its values: the search works with values over it.
    pub(super) fn scale(&self) -> f64 {
        let widths = [self.start, self.prior.map_or(0.0, |prior| prior.spread), self.bounds[1] - self.bounds[0]];
        widths.into_iter().map(f64::abs).find(|width| *width > 0.0 && width.is_finite()).unwrap_or(1.0)
    }

    /// Residual of the prior.
    pub(super) fn prior_residual(&self, value: f64) -> Option<f64> {
        self.prior.map(|prior| (value - prior.value) / prior.spread)
    }
}

/// Residuals and what each unknown does to them.
#[derive(Debug, Clone, PartialEq)]
pub struct Slopes {
    /// Residuals, one a reading.
    pub residuals: Vec<f64>,
    /// For each unknown the derivatives of the residuals by it, one a reading.
    pub columns: Vec<Vec<f64>>,
}

/// Something whose readings are compared with what it foretells.
pub trait Model {
    /// Why it has no answer.
    type Error: Display;

    /// Number of readings.
    fn readings(&self) -> usize;

    /// For each reading what is foretold less what is read, over the standard deviation of the reading.
    ///
    /// # Errors
    /// There is no answer with these values; the search then tries nearer ones, unless that [is final](Model::is_final).
    fn residuals(&mut self, values: &[f64]) -> Result<Vec<f64>, Self::Error>;

    /// Whether the search shall end for this reason.
    fn is_final(&self, _why: &Self::Error) -> bool {
        false
    }

    /// The same with their derivatives, at values that have been found good.
    ///
    /// # Errors
    /// There is no answer here.
    fn slopes(&mut self, values: &[f64]) -> Result<Slopes, Self::Error>;
}

/// When a search ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stop {
    /// Change of the sum of squares over itself that is none.
    pub squares: f64,
    /// Change of the values over themselves that is none.
    pub values: f64,
    /// Cosine between residuals and a column of derivatives at which they are at right angles.
    pub gradient: f64,
    /// Most evaluations.
    pub evaluations: usize,
}

impl Default for Stop {
    /// For a model that a solver answers to some ten digits.
    fn default() -> Self {
        Self { squares: 1e-9, values: 1e-7, gradient: 1e-9, evaluations: 400 }
    }
}

/// Why a search ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ending {
    /// The sum of squares changes no more.
    Squares,
    /// The values change no more.
    Values,
    /// Neither changes any more.
    Both,
    /// The residuals are at right angles to all that the unknowns do.
    Gradient,
    /// Rounding forbids more.
    RoundOff,
    /// Too many evaluations.
    Evaluations,
    /// The sum of squares falls on, but no step goes there: it is no least sum.
    Stuck {
        /// Number of the unknown along which it falls most.
        unknown: usize,
        /// Why the model has no answer there, where it said so.
        refused: Option<String>,
    },
}

impl Ending {
    /// In words.
    #[must_use]
    pub fn words(&self) -> &'static str {
        match self {
            Self::Squares => "the sum of squares changes no more",
            Self::Values => "the values change no more",
            Self::Both => "neither values nor sum of squares change any more",
            Self::Gradient => "the residuals are at right angles to all that the unknowns do",
            Self::RoundOff => "rounding forbids more",
            Self::Evaluations => "it has not converged within its evaluations",
            Self::Stuck { refused: Some(_), .. } => "stopped where steps have no answer",
            Self::Stuck { refused: None, .. } => {
                "stopped where the sum of squares still falls but no step makes it less"
            }
        }
    }

    /// Whether it ended at a least sum.
    #[must_use]
    pub fn has_converged(&self) -> bool {
        !matches!(self, Self::Evaluations | Self::Stuck { .. })
    }
}

/// What a search found.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The values, in the order of the unknowns.
    pub values: Vec<f64>,
    /// Residuals of the readings there, and their derivatives.
    pub slopes: Slopes,
    /// Unknowns that stand at a bound and would go beyond it.
    pub at_bound: Vec<bool>,
    /// Evaluations of the residuals, and of their derivatives.
    pub evaluations: [usize; 2],
    /// Why it ended.
    pub ending: Ending,
}

/// A search that cannot begin or cannot go on.
#[derive(Debug, Clone, PartialEq)]
pub enum Failure<E> {
    /// The model has no answer where one is needed.
    Model(E),
    /// There are fewer readings and priors than unknowns.
    TooFew {
        /// Readings.
        readings: usize,
        /// Priors.
        priors: usize,
        /// Unknowns.
        unknowns: usize,
    },
    /// The unknown of this number starts outside its bounds, or these are no bounds.
    Bounds(usize),
    /// The model gives what is no number.
    NotANumber,
}

/// How often at most a search is begun anew where another one ended: a step that meets a bound is cut short, and small changes may then pass
/// for none.
const ANEW: usize = 20;

/// The values that make the sum of the squares of all residuals least, those of the priors with them. It is the nearest least sum downhill from
/// the start; another start may find another one.
///
/// # Errors
/// See [`Failure`].
pub fn least_squares<M: Model>(model: &mut M, unknowns: &[Unknown], stop: &Stop) -> Result<Found, Failure<M::Error>> {
    let priors = unknowns.iter().filter(|unknown| unknown.prior.is_some()).count();
    let readings = model.readings();
    if readings + priors < unknowns.len() || unknowns.is_empty() {
        return Err(Failure::TooFew { readings, priors, unknowns: unknowns.len() });
    }
    let outside = |unknown: &Unknown| !(unknown.bounds[0] <= unknown.start && unknown.start <= unknown.bounds[1]);
    if let Some(index) = unknowns.iter().position(|unknown| outside(unknown) || unknown.bounds[0] >= unknown.bounds[1])
    {
        return Err(Failure::Bounds(index));
    }
    let mut search = Search::new(model, unknowns, stop);
    let mut scaled: Vec<f64> = unknowns.iter().zip(&search.scales).map(|(one, scale)| one.start / scale).collect();
    let mut before = f64::INFINITY;
    let mut ending = Ending::Evaluations;
    for _ in 0..ANEW {
        let status = search.mpfit(&mut scaled).map_err(|error| search.failure(error))?;
        ending = match status.success {
            MPSuccess::Chi => Ending::Squares,
            MPSuccess::Par => Ending::Values,
            MPSuccess::Both => Ending::Both,
            MPSuccess::Dir => Ending::Gradient,
            MPSuccess::MaxIter | MPSuccess::NotDone => Ending::Evaluations,
            MPSuccess::Ftol | MPSuccess::Xtol | MPSuccess::Gtol => Ending::RoundOff,
        };
        // Of the values that were accepted, not of a last trial.
        let squares: f64 = status.resid.iter().map(|residual| residual * residual).sum();
        let nothing_gained = before - squares <= stop.squares * before;
        before = squares;
        if ending == Ending::Evaluations {
            break;
        }
        // Where one value leans against what has no answer, all steps with it are cut to nothing: the others go on without it.
        let goes_on = if nothing_gained {
            !search.is_hemmed() && search.hem(&scaled).map_err(|error| search.failure(error))?
        } else {
            search.unhem();
            true
        };
        if !goes_on {
            break;
        }
    }
    let values = search.values(&scaled);
    let slopes = search.slopes(&values).map_err(|error| search.failure(error))?;
    let at_bound = search.held(&values, &slopes);
    if ending.has_converged()
        && let Some(unknown) = search.leaning(&values, &slopes)
    {
        ending = Ending::Stuck { unknown, refused: search.refused(unknown) };
    }
    Ok(Found { values, slopes, at_bound, evaluations: search.evaluations, ending })
}
