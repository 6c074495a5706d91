//! What the library that seeks least squares asks of a model.

use super::least_squares::{Failure, Model, Slopes, Stop, Unknown};
use rmpfit::{MPConfig, MPError, MPFitter, MPPar, MPResult, MPSide};

/// What the library asks: residuals of readings, then those of priors; values over their scales.
pub(super) struct Search<'a, M: Model> {
    model: &'a mut M,
    unknowns: &'a [Unknown],
    /// Size of each unknown.
    pub(super) scales: Vec<f64>,
    limits: Vec<MPPar>,
    config: MPConfig,
    rows: usize,
    /// Evaluations of the residuals, and of their derivatives.
    pub(super) evaluations: [usize; 2],
    started: bool,
    why: Option<M::Error>,
    known: Option<(Vec<f64>, Slopes)>,
}

impl<'a, M: Model> Search<'a, M> {
    pub(super) fn new(model: &'a mut M, unknowns: &'a [Unknown], stop: &Stop) -> Self {
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
    pub(super) fn values(&self, scaled: &[f64]) -> Vec<f64> {
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
    pub(super) fn slopes(&mut self, values: &[f64]) -> MPResult<Slopes> {
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
    pub(super) fn held(&self, values: &[f64], slopes: &Slopes) -> Vec<bool> {
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

    pub(super) fn failure(&mut self, error: MPError) -> Failure<M::Error> {
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
