//! Least squares with bounds and priors, sought by the library's Levenberg and Marquardt.
//!
//! More 1978, in Numerical Analysis, Lecture Notes in Mathematics 630, 105, as MINPACK has it; bounds as in Markwardt 2009, ASP Conference
//! Series 411, 251.

use rmpfit::{MPConfig, MPError, MPFitter, MPPar, MPResult, MPSide, MPSuccess};

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
    type Error;

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
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
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
}

impl Ending {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Squares => "the sum of squares changes no more",
            Self::Values => "the values change no more",
            Self::Both => "neither values nor sum of squares change any more",
            Self::Gradient => "the residuals are at right angles to all that the unknowns do",
            Self::RoundOff => "rounding forbids more",
            Self::Evaluations => "it has not converged within its evaluations",
        }
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
        let squares = status.best_norm;
        let nothing_gained = before - squares <= stop.squares * before;
        before = squares;
        if nothing_gained || ending == Ending::Evaluations {
            break;
        }
    }
    let values = search.values(&scaled);
    let slopes = search.slopes(&values).map_err(|error| search.failure(error))?;
    let at_bound = search.held(&values, &slopes);
    Ok(Found { values, slopes, at_bound, evaluations: search.evaluations, ending })
}

/// What the library asks: residuals of readings, then those of priors; values over their scales.
struct Search<'a, M: Model> {
    model: &'a mut M,
    unknowns: &'a [Unknown],
    scales: Vec<f64>,
    limits: Vec<MPPar>,
    config: MPConfig,
    rows: usize,
    evaluations: [usize; 2],
    started: bool,
    why: Option<M::Error>,
    known: Option<(Vec<f64>, Slopes)>,
}

impl<'a, M: Model> Search<'a, M> {
    fn new(model: &'a mut M, unknowns: &'a [Unknown], stop: &Stop) -> Self {
        let scales: Vec<f64> = unknowns.iter().map(Unknown::scale).collect();
        let limit = |(unknown, scale): (&Unknown, &f64)| {
            let [least, most] = unknown.bounds;
            MPPar {
                limited_low: least.is_finite(),
                limited_up: most.is_finite(),
                limit_low: if least.is_finite() { least / scale } else { 0.0 },
                limit_up: if most.is_finite() { most / scale } else { 0.0 },
                side: MPSide::User,
                ..MPPar::new()
            }
        };
        let limits = unknowns.iter().zip(&scales).map(limit).collect();
        let config = MPConfig {
            ftol: stop.squares,
            xtol: stop.values,
            gtol: stop.gradient,
            max_iter: stop.evaluations,
            max_fev: rmpfit::MPMaxFev::Limited(stop.evaluations),
            ..MPConfig::new()
        };
        let rows = model.readings() + unknowns.iter().filter(|unknown| unknown.prior.is_some()).count();
        Self {
            model,
            unknowns,
            scales,
            limits,
            config,
            rows,
            evaluations: [0, 0],
            started: false,
            why: None,
            known: None,
        }
    }

    /// Values of the unknowns, on their bounds to the bit where the library stands on them.
    fn values(&self, scaled: &[f64]) -> Vec<f64> {
        let value = |((u, scale), (unknown, limit)): ((&f64, &f64), (&Unknown, &MPPar))| {
            if limit.limited_low && *u <= limit.limit_low {
                unknown.bounds[0]
            } else if limit.limited_up && *u >= limit.limit_up {
                unknown.bounds[1]
            } else {
                (u * scale).clamp(unknown.bounds[0], unknown.bounds[1])
            }
        };
        scaled.iter().zip(&self.scales).zip(self.unknowns.iter().zip(&self.limits)).map(value).collect()
    }

    /// Residuals and derivatives, those of the last values kept.
    fn slopes(&mut self, values: &[f64]) -> MPResult<Slopes> {
        if let Some((_, slopes)) = self.known.as_ref().filter(|known| known.0 == values) {
            return Ok(slopes.clone());
        }
        self.evaluations[1] += 1;
        match self.model.slopes(values) {
            Ok(slopes) => {
                self.known = Some((values.to_vec(), slopes.clone()));
                Ok(slopes)
            }
            Err(why) => {
                self.why = Some(why);
                Err(MPError::Eval)
            }
        }
    }

    /// Which unknowns stand on a bound that they would not leave.
    fn held(&self, values: &[f64], slopes: &Slopes) -> Vec<bool> {
        let held = |(index, value): (usize, &f64)| {
            let unknown = &self.unknowns[index];
            let [on_least, on_most] = unknown.bounds.map(|bound| value.to_bits() == bound.to_bits());
            let of_readings: f64 = slopes.columns[index].iter().zip(&slopes.residuals).map(|(a, b)| a * b).sum();
            let of_prior = unknown.prior_residual(*value).zip(unknown.prior);
            let rise = of_readings + of_prior.map_or(0.0, |(residual, prior)| residual / prior.spread);
            (on_least && rise >= 0.0) || (on_most && rise <= 0.0)
        };
        values.iter().enumerate().map(held).collect()
    }

    fn failure(&mut self, error: MPError) -> Failure<M::Error> {
        self.why.take().map_or(Failure::NotANumber, |why| match error {
            MPError::Eval => Failure::Model(why),
            _ => Failure::NotANumber,
        })
    }
}

impl<M: Model> MPFitter for Search<'_, M> {
    fn eval(&mut self, params: &[f64], deviates: &mut [f64]) -> MPResult<()> {
        let values = self.values(params);
        let known = self.known.as_ref().filter(|known| known.0 == values).map(|known| known.1.residuals.clone());
        let residuals = known.map_or_else(
            || {
                self.evaluations[0] += 1;
                self.model.residuals(&values)
            },
            Ok,
        );
        match residuals {
            Ok(residuals) if residuals.iter().all(|residual| residual.is_finite()) => {
                let priors =
                    self.unknowns.iter().zip(&values).filter_map(|(unknown, value)| unknown.prior_residual(*value));
                deviates.iter_mut().zip(residuals.into_iter().chain(priors)).for_each(|(place, value)| *place = value);
                self.started = true;
                Ok(())
            }
            Err(why) if !self.started || self.model.is_final(&why) => {
                self.why = Some(why);
                Err(MPError::Eval)
            }
            Ok(_) if !self.started => Err(MPError::Nan),
            // Where the model has no answer a step is as bad as can be, and a shorter one is tried.
            _ => {
                deviates.fill(NO_ANSWER);
                Ok(())
            }
        }
    }

    fn number_of_points(&self) -> usize {
        self.rows
    }

    fn config(&self) -> &MPConfig {
        &self.config
    }

    fn parameters(&self) -> &[MPPar] {
        &self.limits
    }

    fn jacobian(&mut self, params: &[f64], deviates: &mut [f64], derivs: &mut [Option<Vec<f64>>]) -> MPResult<()> {
        let values = self.values(params);
        let slopes = self.slopes(&values)?;
        let priors = self.unknowns.iter().zip(&values).filter_map(|(unknown, value)| unknown.prior_residual(*value));
        let readings = slopes.residuals.len();
        deviates.iter_mut().zip(slopes.residuals.into_iter().chain(priors)).for_each(|(place, value)| *place = value);
        let mut prior_row = readings;
        for ((unknown, scale), (column, place)) in
            self.unknowns.iter().zip(&self.scales).zip(slopes.columns.iter().zip(derivs))
        {
            let own_row = unknown.prior.map(|prior| (prior_row, scale / prior.spread));
            prior_row += usize::from(own_row.is_some());
            let Some(place) = place else { continue };
            place.fill(0.0);
            column.iter().zip(place.iter_mut()).for_each(|(slope, place)| *place = slope * scale);
            if let Some((row, slope)) = own_row {
                place[row] = slope;
            }
        }
        Ok(())
    }
}

/// Residual where there is no answer: its square is finite.
const NO_ANSWER: f64 = 1e100;
