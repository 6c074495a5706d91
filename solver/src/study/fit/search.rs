//! What the library that seeks least squares asks of a model.

use super::least_squares::{Failure, Model, Slopes, Stop, Unknown};
use rmpfit::{MPConfig, MPError, MPFitter, MPPar, MPResult, MPSide};

/// What the library asks: residuals of readings, then those of priors; values over their scales.
pub(super) struct Search<'a, M: Model> {
    model: &'a mut M,
    unknowns: &'a [Unknown],
    /// Size of each unknown.
    pub(super) scales: Vec<f64>,
    /// Bounds over the scales.
    bounds: Vec<[f64; 2]>,
    /// What the library is told of them, where a side has no answer of the present value in their place.
    limits: Vec<MPPar>,
    is_hemmed: bool,
    /// Why the side on which the sum falls has no answer, by unknown.
    hems: Vec<Option<String>>,
    /// Why the last step had no answer.
    refused: Option<String>,
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
        let bounds: Vec<[f64; 2]> =
            unknowns.iter().zip(&scales).map(|(unknown, scale)| unknown.bounds.map(|bound| bound / scale)).collect();
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
            limits: bounds.iter().map(limits).collect(),
            bounds,
            is_hemmed: false,
            hems: vec![None; unknowns.len()],
            refused: None,
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
        let value = |((u, scale), (unknown, bounds)): ((&f64, &f64), (&Unknown, &[f64; 2]))| {
            if *u <= bounds[0] {
                unknown.bounds[0]
            } else if *u >= bounds[1] {
                unknown.bounds[1]
            } else {
                (u * scale).clamp(unknown.bounds[0], unknown.bounds[1])
            }
        };
        scaled.iter().zip(&self.scales).zip(self.unknowns.iter().zip(&self.bounds)).map(value).collect()
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

    /// Half of what the sum of squares rises with an unknown.
    fn rise(&self, index: usize, values: &[f64], slopes: &Slopes) -> f64 {
        let unknown = &self.unknowns[index];
        let of_readings: f64 = slopes.columns[index].iter().zip(&slopes.residuals).map(|(a, b)| a * b).sum();
        let of_prior = unknown.prior_residual(values[index]).zip(unknown.prior);
        of_readings + of_prior.map_or(0.0, |(residual, prior)| residual / prior.spread)
    }

    /// Which unknowns stand on a bound that they would not leave.
    pub(super) fn held(&self, values: &[f64], slopes: &Slopes) -> Vec<bool> {
        let held = |(index, value): (usize, &f64)| {
            let [on_least, on_most] = self.unknowns[index].bounds.map(|bound| value.to_bits() == bound.to_bits());
            let rise = self.rise(index, values, slopes);
            (on_least && rise >= 0.0) || (on_most && rise <= 0.0)
        };
        values.iter().enumerate().map(held).collect()
    }

    /// How far from right angles the residuals and the column of each unknown are, the rows of priors with them: the cosine between both; nothing
    /// where the unknown is held by a bound or is within a hundredth of its standard error of the least sum along it, as where all is met to rounding.
    fn cosines(&self, values: &[f64], slopes: &Slopes) -> Vec<f64> {
        let priors = self.unknowns.iter().zip(values).filter_map(|(unknown, value)| unknown.prior_residual(*value));
        let norm = |rows: &mut dyn Iterator<Item = f64>| rows.map(|row| row * row).sum::<f64>().sqrt();
        let whole = norm(&mut slopes.residuals.iter().copied().chain(priors));
        let held = self.held(values, slopes);
        let cosine = |index: usize| {
            let own_row = self.unknowns[index].prior.map(|prior| 1.0 / prior.spread);
            let column = norm(&mut slopes.columns[index].iter().copied().chain(own_row));
            // In standard errors of this value alone.
            let errors = self.rise(index, values, slopes) / column;
            if held[index] || errors.is_nan() || errors.abs() <= LEANING { 0.0 } else { errors / whole }
        };
        (0..values.len()).map(cosine).collect()
    }

    /// The unknown along which the sum of squares still falls most, where it is no least sum.
    pub(super) fn leaning(&self, values: &[f64], slopes: &Slopes) -> Option<usize> {
        let cosines = self.cosines(values, slopes);
        let most = (0..values.len()).max_by(|a, b| cosines[*a].abs().total_cmp(&cosines[*b].abs()))?;
        (cosines[most].abs() > LEANING).then_some(most)
    }

    /// Why there is no answer where the sum of squares falls with this unknown; else why the last step had none.
    pub(super) fn refused(&self, unknown: usize) -> Option<String> {
        self.hems[unknown].clone().or_else(|| self.refused.clone())
    }

    /// Holds each unknown where it stands whose next values downhill have no answer; whether there are such, and others that may still move.
    pub(super) fn hem(&mut self, scaled: &[f64]) -> MPResult<bool> {
        let values = self.values(scaled);
        let slopes = self.slopes(&values)?;
        let cosines = self.cosines(&values, &slopes);
        self.hems.fill(None);
        if self.refused.is_none() {
            return Ok(false);
        }
        let leaning: Vec<usize> = (0..values.len()).filter(|index| cosines[*index].abs() > LEANING).collect();
        for &index in &leaning {
            let [least, most] = self.unknowns[index].bounds;
            let mut moved = values.clone();
            moved[index] = (values[index] - PROBE * self.scales[index].copysign(cosines[index])).clamp(least, most);
            self.evaluations[0] += 1;
            match self.model.residuals(&moved) {
                Err(why) if self.model.is_final(&why) => {
                    self.why = Some(why);
                    return Err(MPError::Eval);
                }
                Err(why) => self.hems[index] = Some(why.to_string()),
                Ok(_) => {}
            }
        }
        for index in leaning.iter().copied().filter(|index| self.hems[*index].is_some()) {
            let ([least, most], here) = (self.bounds[index], scaled[index]);
            let narrow = if cosines[index] > 0.0 { [here, most] } else { [least, here] };
            if narrow[0] < narrow[1] {
                self.limits[index] = limits(&narrow);
                self.is_hemmed = true;
            }
        }
        Ok(self.is_hemmed && leaning.iter().any(|index| self.hems[*index].is_none()))
    }

    /// Whether an unknown is held where it leans against what has no answer.
    pub(super) fn is_hemmed(&self) -> bool {
        self.is_hemmed
    }

    /// Lets all unknowns move again.
    pub(super) fn unhem(&mut self) {
        self.limits = self.bounds.iter().map(limits).collect();
        self.is_hemmed = false;
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
            refused => {
                self.refused = refused.err().map(|why| why.to_string());
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

/// Bounds as the library has them.
fn limits(&[least, most]: &[f64; 2]) -> MPPar {
    MPPar {
        limited_low: least.is_finite(),
        limited_up: most.is_finite(),
        limit_low: if least.is_finite() { least } else { 0.0 },
        limit_up: if most.is_finite() { most } else { 0.0 },
        side: MPSide::User,
        ..MPPar::new()
    }
}

/// Residual where there is no answer: its square is finite.
const NO_ANSWER: f64 = 1e100;

/// Cosine from which residuals and a column of derivatives are not at right angles, and standard errors of a value alone from which it is not where
/// the sum is least along it. A search that ended by its sum of squares leaves cosines of 3e-5, the root of the change that is none; solvers that
/// are not exact leave more. With 0.01 one value alone would take 1e-4 off the sum of squares.
const LEANING: f64 = 0.01;

/// Step downhill that is tried to see whether a value leans against what has no answer, over its scale.
const PROBE: f64 = 1e-3;
