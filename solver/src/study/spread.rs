//! How the difference between layouts spreads with what is not known of them.
//!
//! Samples are paired: a draw belongs to the path of a field, or to the law of a handbook loss, so that what is the same in two layouts is
//! equally wrong in both and falls out of their difference.

use super::plan::Draws;
use super::{Figures, KnownPoint, Of, Quantity};
use crate::case::Case;
use crate::error::Error;

/// Layouts whose inputs are drawn together.
#[derive(Debug)]
pub struct Samples {
    layouts: Vec<Layout>,
    point: String,
    seed: u64,
}

#[derive(Debug)]
struct Layout {
    case: Case,
    base: KnownPoint,
    /// Paths of the fields that spread.
    uncertain: Vec<String>,
}

impl Samples {
    /// The layouts `cases` at `point`, with the draws of `seed`.
    ///
    /// # Errors
    /// A layout has no steady state as it stands.
    pub fn new(cases: Vec<Case>, point: &str, seed: u64) -> Result<Self, Error> {
        let layout = |case: Case| {
            let base = KnownPoint::of(&case, point)?;
            let spreading = case.numbers().into_iter().filter(|number| number.spread.is_some());
            let uncertain = spreading.map(|number| number.path).collect();
            Ok(Layout { case, base, uncertain })
        };
        let layouts = cases.into_iter().map(layout).collect::<Result<_, Error>>()?;
        Ok(Self { layouts, point: point.to_owned(), seed })
    }

    /// Paths of the fields that spread in any layout.
    #[must_use]
    pub fn paths(&self) -> Vec<&str> {
        let mut paths: Vec<&str> = Vec::new();
        for path in self.layouts.iter().flat_map(|layout| &layout.uncertain) {
            if !paths.contains(&path.as_str()) {
                paths.push(path);
            }
        }
        paths
    }

    /// The figures of all layouts with their inputs as they stand.
    #[must_use]
    pub fn nominal(&self) -> Vec<&Figures> {
        self.layouts.iter().map(|layout| &layout.base.figures).collect()
    }

    /// The figures of all layouts in the sample of this number, which no other sample has a say in.
    ///
    /// # Errors
    /// A layout cannot be built with these inputs, or has no steady state.
    pub fn sample(&self, number: usize) -> Result<Sample, Error> {
        let draws = Draws::new(self.seed, number);
        let of_layout = |layout: &Layout| {
            let case = draws.case(&layout.case)?;
            let known = layout.base.neighbour(&case, &self.point, draws.deviations())?;
            Ok((known.figures, known.power))
        };
        let (figures, power) =
            self.layouts.iter().map(of_layout).collect::<Result<Vec<_>, Error>>()?.into_iter().unzip();
        Ok(Sample { figures, power })
    }
}

/// What one sample comes to, by layout.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    /// The figures.
    pub figures: Vec<Figures>,
    /// Of a pull the power [W] over the crank speed [rad/s]; else empty.
    pub power: Vec<Vec<[f64; 2]>>,
}

/// How power over crank speed spreads: at each crank speed [rad/s] the 10 % and 90 % quantiles of a layout's power, and of what it has more than the
/// first one [W].
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PowerRange {
    /// Of the power itself.
    pub power: Vec<(f64, [f64; 2])>,
    /// Of the difference to the first layout.
    pub difference: Vec<(f64, [f64; 2])>,
}

/// The range of the power of `layout` at the crank speeds of its first sample; empty where nothing was pulled.
#[must_use]
pub fn power_range(samples: &[Sample], layout: usize) -> PowerRange {
    let mut range = PowerRange::default();
    let Some(first) = samples.first().and_then(|sample| sample.power.get(layout)) else { return range };
    for [speed, _] in first {
        let of = |sample: &Sample, layout: usize| power_at(sample.power.get(layout)?, *speed);
        let powers: Option<Vec<f64>> = samples.iter().map(|sample| of(sample, layout)).collect();
        let apart: Option<Vec<f64>> = samples.iter().map(|sample| Some(of(sample, layout)? - of(sample, 0)?)).collect();
        let ends = |values: Vec<f64>| {
            let values = sorted(values.into_iter());
            [quantile(&values, 0.1), quantile(&values, 0.9)]
        };
        range.power.extend(powers.map(|powers| (*speed, ends(powers))));
        range.difference.extend(apart.map(|apart| (*speed, ends(apart))));
    }
    range
}

/// Power at a crank speed, in a straight line between rows; `None` beyond them.
fn power_at(rows: &[[f64; 2]], speed: f64) -> Option<f64> {
    let next = rows.iter().position(|row| row[0] >= speed)?;
    let [speed_behind, power_behind] = rows[next];
    if speed_behind <= speed {
        return Some(power_behind);
    }
    let [speed_before, power_before] = *rows.get(next.checked_sub(1)?)?;
    Some(power_before + (speed - speed_before) / (speed_behind - speed_before) * (power_behind - power_before))
}

/// How a figure of a layout differs from that of the first one.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// What it measures.
    pub quantity: Quantity,
    /// Whose it is.
    pub of: Of,
    /// Median of the first layout's figure.
    pub first: f64,
    /// Median of the difference.
    pub median: f64,
    /// Its 10 % and 90 % quantiles.
    pub range: [f64; 2],
}

impl Difference {
    /// Whether both signs lie in the range: nobody knows then which layout has more.
    #[must_use]
    pub fn includes_zero(&self) -> bool {
        self.range[0] <= 0.0 && self.range[1] >= 0.0
    }

    /// The median over the first layout's figure, without a sign.
    #[must_use]
    pub fn relative(&self) -> f64 {
        (self.median / self.first).abs()
    }
}

/// The differences of `layout` to the first layout over `samples`, one for each figure that both have.
#[must_use]
pub fn differences(samples: &[Vec<Figures>], layout: usize) -> Vec<Difference> {
    let Some(figures) = samples.first().and_then(|sample| sample.first()) else { return Vec::new() };
    let of_figure = |figure: &super::Figure| {
        let (quantity, of) = (figure.quantity, &figure.of);
        let pairs = samples.iter().map(|sample| {
            let value = |layout: usize| sample.get(layout)?.value(quantity, of);
            Some((value(0)?, value(layout)?))
        });
        let pairs: Vec<(f64, f64)> = pairs.collect::<Option<_>>()?;
        let apart = sorted(pairs.iter().map(|(first, other)| other - first));
        Some(Difference {
            quantity,
            of: of.clone(),
            first: quantile(&sorted(pairs.iter().map(|pair| pair.0)), 0.5),
            median: quantile(&apart, 0.5),
            range: [quantile(&apart, 0.1), quantile(&apart, 0.9)],
        })
    };
    figures.0.iter().filter_map(of_figure).collect()
}

fn sorted(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values
}

/// Quantile of sorted values, linear between them: definition 7 of Hyndman and Fan 1996, The American Statistician 50, 361.
fn quantile(sorted: &[f64], share: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else { return f64::NAN };
    let place = share * last as f64;
    let below = (place.floor() as usize).min(last);
    let above = (below + 1).min(last);
    sorted[below] + (place - below as f64) * (sorted[above] - sorted[below])
}

#[cfg(test)]
mod tests;
