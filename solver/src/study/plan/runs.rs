//! The runs of a plan by number.

use super::{Draws, Id, Layout, Plan, Sample};
use crate::case::{Case, NewValue};
use crate::error::CaseError;
use crate::run::PROGRAM;

/// Samples and axes that the Sobol sequence has: Burley's tables hold so many.
pub(super) const MOST_SOBOL: usize = 1 << 16;
pub(super) const MOST_AXES: usize = 256;
/// Offset between the seeds of neighbouring groups of four axes of the Sobol sequence, which are correlated under one seed.
const AXES_A_SEED: u32 = 4;

/// A run: a layout at a point with values of the inputs.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Number of the layout.
    pub layout: usize,
    /// Number of the point.
    pub point: usize,
    /// Values of the inputs, each in its unit.
    pub numbers: Vec<f64>,
    /// Number of the draw from the spreads, where there is one.
    pub draw: Option<usize>,
}

impl Plan {
    /// Number of runs that the plan lists; those that a search adds are not among them.
    #[must_use]
    pub fn count(&self) -> usize {
        self.combinations().saturating_mul(self.places())
    }

    /// Layouts times points.
    #[must_use]
    pub fn places(&self) -> usize {
        self.layouts.len() * self.points.len()
    }

    /// Number of combinations of inputs for each layout and point.
    #[must_use]
    pub fn combinations(&self) -> usize {
        if let Some(search) = self.search {
            return search.starts;
        }
        match self.sample {
            Sample::Grid => {
                let counts = self.variables.iter().map(|variable| variable.values.count().unwrap_or(1));
                counts.fold(1, usize::saturating_mul)
            }
            Sample::Sobol { count, .. } | Sample::Spread { count, .. } => count,
        }
    }

    /// The run of this number: layouts change slowest, then points, then the inputs, the last of them fastest.
    #[must_use]
    pub fn run(&self, number: usize) -> Run {
        let combinations = self.combinations();
        let (place, combination) = (number / combinations, number % combinations);
        let (layout, point) = (place / self.points.len(), place % self.points.len());
        let (numbers, draw) = match (self.search, self.sample) {
            (Some(search), _) => (self.sobol(combination, search.seed), None),
            (None, Sample::Grid) => (self.combination(combination), None),
            (None, Sample::Sobol { seed, .. }) => (self.sobol(combination, seed), None),
            (None, Sample::Spread { .. }) => (Vec::new(), Some(combination)),
        };
        Run { layout, point, numbers, draw }
    }

    fn combination(&self, mut number: usize) -> Vec<f64> {
        let mut numbers = vec![0.0; self.variables.len()];
        for (variable, slot) in self.variables.iter().zip(&mut numbers).rev() {
            let count = variable.values.count().unwrap_or(1);
            *slot = variable.values.at(number % count);
            number /= count;
        }
        numbers
    }

    fn sobol(&self, number: usize, seed: u32) -> Vec<f64> {
        let share = |axis: usize| {
            let (sample, axis) = (u32::try_from(number).unwrap_or(u32::MAX), u32::try_from(axis).unwrap_or(u32::MAX));
            f64::from(sobol_burley::sample(sample, axis, seed.wrapping_add(axis / AXES_A_SEED)))
        };
        self.variables.iter().enumerate().map(|(axis, variable)| variable.values.through(share(axis))).collect()
    }

    /// The run of this number of an even spread over the bounds of the inputs, for layout and point number `place`; it goes on where the plan's own
    /// samples end. Nothing where no input varies, or beyond the last sample there is.
    #[must_use]
    pub fn spread_evenly(&self, place: usize, number: usize) -> Option<Run> {
        let (seed, used) = match (self.search, self.sample) {
            (Some(search), _) => (search.seed, search.starts),
            (None, Sample::Sobol { count, seed }) => (seed, count),
            _ => (1, 0),
        };
        let number = used + number;
        if self.variables.is_empty() || number >= MOST_SOBOL {
            return None;
        }
        let (layout, point) = (place / self.points.len(), place % self.points.len());
        Some(Run { layout, point, numbers: self.sobol(number, seed), draw: None })
    }

    /// The layout of a run.
    #[must_use]
    pub fn layout_of(&self, run: &Run) -> &Layout {
        &self.layouts[run.layout]
    }

    /// Name of the point of a run.
    #[must_use]
    pub fn point_of(&self, run: &Run) -> &str {
        &self.points[run.point]
    }

    /// The case of a run; what the spreads move of the published losses is not in it.
    ///
    /// # Errors
    /// Everything that is wrong with its inputs.
    pub fn case_of(&self, run: &Run) -> Result<Case, CaseError> {
        let layout = self.layout_of(run);
        if let (Some(draw), Sample::Spread { seed, .. }) = (run.draw, self.sample) {
            return Draws::new(seed, draw).case(&layout.case);
        }
        let changes = self.changes(run);
        let changes: Vec<_> =
            changes.iter().map(|(path, text)| (path.as_str(), NewValue::Text(text.clone()))).collect();
        if changes.is_empty() { Ok(layout.case.clone()) } else { layout.case.with(&changes) }
    }

    /// The identity of a run, where `anchor` is that of its layout at its point ([`Plan::anchor`]).
    #[must_use]
    pub fn id(&self, run: &Run, anchor: Id) -> Id {
        let mut texts = vec![anchor.to_string()];
        texts.extend(self.changes(run).into_iter().flat_map(|(path, text)| [path, text]));
        if let (Some(draw), Sample::Spread { seed, .. }) = (run.draw, self.sample) {
            texts.push(format!("draw {draw} of seed {seed}"));
        }
        Id::of(texts.iter().map(String::as_str))
    }

    /// The identity of a layout at a point as it stands, from which its runs differ in their inputs.
    #[must_use]
    pub fn anchor(&self, layout: usize, point: usize) -> Id {
        let point = &self.points[point];
        Id::of([PROGRAM, point, &self.layouts[layout].case.text_at(point)])
    }

    /// Fields that differ from the layout's, each with its text.
    fn changes(&self, run: &Run) -> Vec<(String, String)> {
        let point = self.point_of(run);
        let fields = &self.layouts[run.layout].fields;
        let mut changes = Vec::new();
        for (variable, number) in self.variables.iter().zip(&run.numbers) {
            let known = variable.fields_at(point).filter(|field| fields.contains(field));
            changes.extend(known.map(|field| (field, variable.text_of(*number))));
        }
        changes
    }
}
