//! A check, the rows it gives, and how all checks are run.

use crate::checks::GROUPS;
use crate::data::DataError;
use crate::figure::Figure;
use crate::tally::Verdict;
use rayon::prelude::*;

/// Checks of one subject, in one file.
#[derive(Debug)]
pub struct Group {
    /// Name, taken by `--only`.
    pub name: &'static str,
    /// One line of help.
    pub about: &'static str,
    /// The checks, in the order they are printed.
    pub checks: &'static [Check],
}

/// Something that the solver answers and that is known from elsewhere.
#[derive(Debug)]
pub struct Check {
    /// Name, taken by `--only`; no two checks or groups share one.
    pub name: &'static str,
    /// What of the solver it exercises.
    pub about: &'static str,
    /// Where the reference values come from.
    pub source: &'static str,
    /// Asks the solver and compares.
    pub run: fn() -> Result<Findings, Failure>,
}

/// What a check found: compared values, and curves where one value does not tell the whole.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Findings {
    /// Compared values.
    pub rows: Vec<Row>,
    /// Pictures of what was computed over what is known.
    pub figures: Vec<Figure>,
}

impl Findings {
    /// The same with one more picture.
    #[must_use]
    pub fn with(mut self, figure: Figure) -> Self {
        self.figures.push(figure);
        self
    }
}

impl From<Vec<Row>> for Findings {
    fn from(rows: Vec<Row>) -> Self {
        Self { rows, figures: Vec::new() }
    }
}

/// Findings of a check that has rows and no pictures.
///
/// # Errors
/// That which the check gave.
pub fn rows_only(rows: Result<Vec<Row>, Failure>) -> Result<Findings, Failure> {
    rows.map(Findings::from)
}

/// Why a check gave no rows. It then does not hold.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Failure {
    /// A reference table is damaged.
    #[error(transparent)]
    Data(#[from] DataError),
    /// The solver refused or stopped.
    #[error(transparent)]
    Solver(#[from] tractwright::error::Error),
    /// The exact solution does not exist for what was asked.
    #[error("found no exact solution of {0}")]
    NoSolution(String),
    /// The solver's result lacks something that the check reads.
    #[error("found no {0} in the result")]
    Missing(String),
}

/// How far a value may be off, and why so far.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Largest error that holds.
    pub value: f64,
    /// Why this and not less.
    pub why: &'static str,
}

/// What is called the error of a value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Measure {
    /// |computed - reference| / |reference|.
    Relative,
    /// |computed - reference|, in the unit of the quantity.
    Absolute,
    /// What is missing to the reference, nothing when the value lies above it.
    Shortfall,
    /// How far the value lies outside a band, nothing when it lies inside. The reference is the value of the band that lies nearest.
    Outside {
        /// Lowest and highest value of the band, in the unit of the quantity.
        band: [f64; 2],
    },
}

impl Measure {
    /// Error of `computed` against `reference`; not a number when either is not.
    #[must_use]
    pub fn error(self, computed: f64, reference: f64) -> f64 {
        match self {
            Self::Relative => ((computed - reference) / reference).abs(),
            Self::Absolute | Self::Outside { .. } => (computed - reference).abs(),
            Self::Shortfall if computed >= reference => 0.0,
            Self::Shortfall => reference - computed,
        }
    }

    /// One word for tables.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Relative => "relative",
            Self::Absolute => "absolute",
            Self::Shortfall => "shortfall",
            Self::Outside { .. } => "outside",
        }
    }
}

impl Limit {
    /// No limit: the value informs and judges nothing.
    #[must_use]
    pub const fn none(why: &'static str) -> Self {
        Self { value: f64::INFINITY, why }
    }
}

/// One compared value.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// What is compared, with its unit.
    pub quantity: String,
    /// The solver's value.
    pub computed: f64,
    /// The value from elsewhere.
    pub reference: f64,
    /// What is called the error.
    pub measure: Measure,
    /// Largest error that holds.
    pub limit: Limit,
}

impl Row {
    /// A value that is compared relative to its reference.
    #[must_use]
    pub fn relative(quantity: impl Into<String>, computed: f64, reference: f64, limit: Limit) -> Self {
        Self { quantity: quantity.into(), computed, reference, measure: Measure::Relative, limit }
    }

    /// A value that is compared in its own unit.
    #[must_use]
    pub fn absolute(quantity: impl Into<String>, computed: f64, reference: f64, limit: Limit) -> Self {
        Self { quantity: quantity.into(), computed, reference, measure: Measure::Absolute, limit }
    }

    /// A value that should be nothing, such as an error norm.
    #[must_use]
    pub fn vanishing(quantity: impl Into<String>, computed: f64, limit: Limit) -> Self {
        Self::absolute(quantity, computed, 0.0, limit)
    }

    /// A value that may exceed its reference but not fall short of it.
    #[must_use]
    pub fn at_least(quantity: impl Into<String>, computed: f64, reference: f64, limit: Limit) -> Self {
        Self { quantity: quantity.into(), computed, reference, measure: Measure::Shortfall, limit }
    }

    /// A value that should lie in a band.
    #[must_use]
    pub fn within(quantity: impl Into<String>, computed: f64, band: [f64; 2], limit: Limit) -> Self {
        // What is not a number becomes an edge here, and an error that is not a number.
        let nearest = computed.max(band[0]).min(band[1]);
        Self { quantity: quantity.into(), computed, reference: nearest, measure: Measure::Outside { band }, limit }
    }

    /// Of many pairs of computed and reference value the one with the largest relative error; no pairs at all do not hold.
    #[must_use]
    pub fn worst(quantity: impl Into<String>, pairs: impl IntoIterator<Item = (f64, f64)>, limit: Limit) -> Self {
        Self::worst_by(Measure::Relative, quantity, pairs, limit)
    }

    /// The same with another measure of the error.
    #[must_use]
    pub fn worst_by(
        measure: Measure,
        quantity: impl Into<String>,
        pairs: impl IntoIterator<Item = (f64, f64)>,
        limit: Limit,
    ) -> Self {
        // Errors have no sign, so what is not a number sorts last and stays.
        let error = |pair: &(f64, f64)| measure.error(pair.0, pair.1).abs();
        let worst = pairs.into_iter().max_by(|one, other| error(one).total_cmp(&error(other)));
        let (computed, reference) = worst.unwrap_or((f64::NAN, f64::NAN));
        Self { quantity: quantity.into(), computed, reference, measure, limit }
    }

    /// The error.
    #[must_use]
    pub fn error(&self) -> f64 {
        self.measure.error(self.computed, self.reference)
    }

    /// Whether the value only informs. Such a row is never counted among those that hold.
    #[must_use]
    pub fn informs(&self) -> bool {
        self.limit.value.is_infinite()
    }

    /// Whether the value holds. An error that is not a number does not.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.error() <= self.limit.value
    }

    /// What becomes of the value. One that should inform and is not a number does not hold.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        match (self.holds(), self.informs()) {
            (false, _) => Verdict::DoesNotHold,
            (true, true) => Verdict::Informs,
            (true, false) => Verdict::Holds,
        }
    }
}

/// What a check gave.
#[derive(Debug)]
pub struct Outcome {
    /// Its group.
    pub group: &'static Group,
    /// The check.
    pub check: &'static Check,
    /// What it found.
    pub findings: Result<Findings, Failure>,
}

impl Outcome {
    /// Its values; none when it failed.
    #[must_use]
    pub fn rows(&self) -> &[Row] {
        self.findings.as_ref().map_or(&[], |found| &found.rows)
    }

    /// Whether the check ran, compared something, and no value fails to hold.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.verdict() != Verdict::DoesNotHold
    }

    /// What becomes of the check: it holds when every value that is judged does, and only informs when none is.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        Verdict::of(self.rows().iter().map(Row::verdict))
    }
}

/// No check and no group has the name that was asked for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("found no check or group `{0}`")]
pub struct UnknownName(pub String);

/// The checks in the order they are printed: all of them, or those of the group or the one check that `only` names.
///
/// # Errors
/// When nothing has that name.
pub fn select(only: Option<&str>) -> Result<Vec<(&'static Group, &'static Check)>, UnknownName> {
    let all = GROUPS.iter().flat_map(|group| group.checks.iter().map(move |check| (group, check)));
    let chosen: Vec<_> =
        all.filter(|(group, check)| only.is_none_or(|name| name == group.name || name == check.name)).collect();
    match only {
        Some(name) if chosen.is_empty() => Err(UnknownName(name.to_owned())),
        _ => Ok(chosen),
    }
}

/// Runs the checks that `only` names, or all, see [`run`].
///
/// # Errors
/// When nothing has the name that `only` gives. A check that fails is an outcome, not an error.
pub fn run_all(only: Option<&str>, done: impl Fn(&Outcome) + Sync) -> Result<Vec<Outcome>, UnknownName> {
    Ok(run(select(only)?, done))
}

/// Runs `checks` side by side; `done` is called as each ends, the outcomes keep the order of the checks.
pub fn run(checks: Vec<(&'static Group, &'static Check)>, done: impl Fn(&Outcome) + Sync) -> Vec<Outcome> {
    let one = |(group, check): (&'static Group, &'static Check)| {
        let outcome = Outcome { group, check, findings: (check.run)() };
        done(&outcome);
        outcome
    };
    checks.into_par_iter().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIMIT: Limit = Limit { value: 0.01, why: "test" };

    #[test]
    fn a_row_holds_by_its_error_alone() {
        assert!(Row::relative("p", 100.5, 100.0, LIMIT).holds());
        assert!(!Row::relative("p", 102.0, 100.0, LIMIT).holds());
        assert!(Row::absolute("u", 0.005, 0.0, LIMIT).holds());
        assert!(!Row::absolute("u", -0.02, 0.0, LIMIT).holds());
        assert!(Row::at_least("order", 3.0, 2.0, LIMIT).holds());
        assert!(!Row::at_least("order", 1.9, 2.0, LIMIT).holds());
    }

    #[test]
    fn a_band_is_left_by_what_lies_outside() {
        let band = |value| Row::within("v", value, [0.06, 0.12], LIMIT);
        assert!(band(0.06).holds() && band(0.125).holds() && !band(0.131).holds() && !band(0.04).holds());
        assert!((band(0.15).error() - 0.03).abs() < 1e-15 && band(0.1).error() < 1e-15);
        assert!(!band(f64::NAN).holds());
    }

    #[test]
    fn a_row_without_limit_informs_unless_it_is_not_a_number() {
        let row = |value| Row::relative("p", value, 1.0, Limit::none("test")).verdict();
        assert_eq!((row(7.0), row(f64::NAN)), (Verdict::Informs, Verdict::DoesNotHold));
    }

    #[test]
    fn what_is_not_a_number_does_not_hold() {
        assert!(!Row::relative("p", f64::NAN, 1.0, LIMIT).holds());
        assert!(!Row::relative("p", 0.0, 0.0, LIMIT).holds());
        assert!(!Row::at_least("order", f64::NAN, 2.0, LIMIT).holds());
        assert!(!Row::vanishing("u", f64::NAN, LIMIT).holds());
    }

    #[test]
    fn the_worst_pair_is_kept() {
        assert!((Row::worst("p", [(1.0, 1.0), (1.2, 1.0), (0.9, 1.0)], LIMIT).computed - 1.2).abs() < 1e-15);
        assert!(!Row::worst("p", [(1.0, 1.0), (-f64::NAN, 1.0), (0.9, 1.0)], LIMIT).holds());
        assert!(!Row::worst("p", [], LIMIT).holds());
    }

    #[test]
    fn names_are_unique_and_select() {
        let checks = GROUPS.iter().flat_map(|group| group.checks.iter().map(|check| check.name));
        let mut names: Vec<_> = GROUPS.iter().map(|group| group.name).chain(checks).collect();
        names.sort_unstable();
        let count = names.len();
        names.dedup();
        assert_eq!(names.len(), count);
        for group in GROUPS {
            assert_eq!(select(Some(group.name)).unwrap().len(), group.checks.len());
        }
        assert_eq!(select(Some("nothing")).unwrap_err(), UnknownName("nothing".to_owned()));
    }
}
