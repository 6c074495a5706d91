//! How a demand or an inflow changes in time.

use super::{optional, required, rising};
use crate::fields::{Fields, Key, Range, Value};
use crate::loss::table::broken_line;
use crate::quantity::Dimension;

/// How a demand changes in time: a factor on it.
#[derive(Debug, Clone, PartialEq)]
pub enum Course {
    /// It does not.
    Steady,
    /// Factor over time [s], linear between the points, held at both ends.
    Table(Vec<(f64, f64)>),
    /// `1 + amplitude sin(2 pi frequency t + phase)`.
    Pulsed {
        /// Relative amplitude.
        amplitude: f64,
        /// Frequency [Hz].
        frequency: f64,
        /// Phase [rad].
        phase: f64,
    },
}

impl Course {
    /// Factor on the demand at `time` [s].
    #[must_use]
    pub fn factor(&self, time: f64) -> f64 {
        match self {
            Self::Steady => 1.0,
            Self::Table(points) => broken_line(points, time),
            Self::Pulsed { amplitude, frequency, phase } => {
                1.0 + amplitude * libm::sin(2.0 * std::f64::consts::PI * frequency * time + phase)
            }
        }
    }
}

/// Key `table`.
pub(super) const TABLE: Key = optional(
    "table",
    Value::Map(&[
        required("time", Value::Quantities(Dimension::Time, Range::NotNegative), "times, rising"),
        required(
            "factor",
            Value::Quantities(Dimension::Ratio, Range::NotNegative),
            "factor at each time; linear between them, held before the first and after the last",
        ),
    ]),
    "steady",
    "course in time as a factor on the stated value",
);

/// Key `pulse`.
pub(super) const PULSE: Key = optional(
    "pulse",
    Value::Map(&[
        required("amplitude", Value::Quantity(Dimension::Ratio, Range::NotNegative), "relative amplitude"),
        required("frequency", Value::Quantity(Dimension::Frequency, Range::Positive), "frequency"),
        optional("phase", Value::Quantity(Dimension::Angle, Range::Any), "0 deg", "phase of the sine at time zero"),
    ]),
    "steady",
    "course in time as a sine around the stated value",
);

/// Reads `table` or `pulse`; steady when neither stands.
pub(super) fn read(fields: &Fields<'_>) -> Option<Course> {
    match (fields.has("table"), fields.has("pulse")) {
        (false, false) => Some(Course::Steady),
        (true, true) => {
            fields.problem("pulse", "`table` and `pulse`", "at most one of them");
            None
        }
        (true, false) => read_table(&fields.map("table")?),
        (false, true) => {
            let pulse = fields.map("pulse")?;
            let phase = if pulse.has("phase") { pulse.si("phase")? } else { 0.0 };
            Some(Course::Pulsed { amplitude: pulse.si("amplitude")?, frequency: pulse.si("frequency")?, phase })
        }
    }
}

fn read_table(table: &Fields<'_>) -> Option<Course> {
    let (times, factors) = (table.list("time"), table.list("factor"));
    let (times, factors) = (times?, factors?);
    if !rising(&times) {
        table.problem("time", format!("{times:?} s"), "times that rise");
        return None;
    }
    if times.len() != factors.len() || times.is_empty() {
        table.problem("factor", format!("{} values", factors.len()), format!("one for each of {} times", times.len()));
        return None;
    }
    Some(Course::Table(times.into_iter().zip(factors).collect()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_is_linear_between_its_points_and_held_outside() {
        let course = Course::Table(vec![(0.01, 1.0), (0.02, 0.5)]);
        for (time, factor) in [(0.0, 1.0), (0.015, 0.75), (0.02, 0.5), (1.0, 0.5)] {
            assert!((course.factor(time) - factor).abs() < 1e-12, "{time}");
        }
    }

    #[test]
    fn a_pulse_has_its_amplitude_at_a_quarter_period() {
        let course = Course::Pulsed { amplitude: 0.2, frequency: 50.0, phase: 0.0 };
        assert!((course.factor(0.005) - 1.2).abs() < 1e-12);
        assert!((course.factor(0.015) - 0.8).abs() < 1e-12);
    }
}
