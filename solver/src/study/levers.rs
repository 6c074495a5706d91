//! What each numeric field of a case does to an aim: derivatives by differences of steady states.

use super::workshop::Step;
use super::{Aim, KnownPoint, Measure};
use crate::case::{Case, NewValue, Number};
use crate::error::{CaseError, Error, Problem};
use crate::fields::Range;
use crate::loss::Deviations;

/// Step of the differences over the value, when nobody asks for another: the error of a central difference goes with its square, and what
/// the steady solver leaves, 1e-10, with its inverse.
pub const STEP: f64 = 0.002;
/// Share of each value within which gains are sought, when nobody asks for another.
pub const WITHIN: f64 = 0.1;
/// Change of the aim inside the bounds, over its size, that is taken for none: some ten times what the steady solver may leave; and the same
/// for the time of a roll-on, in which the lengths of steps leave some 1e-7.
const NOTHING: f64 = 1e-7;
const NOTHING_IN_TIME: f64 = 1e-5;
/// Step of a field that is zero, over that of the workshop.
const STEP_FROM_ZERO: f64 = 0.1;

/// On which sides of its value a field has a steady state.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Sides {
    /// On both: the difference is central.
    Both,
    /// Not below, for this reason.
    Above(String),
    /// Not above, for this reason.
    Below(String),
}

/// What a field does.
#[derive(Debug, Clone, PartialEq)]
pub struct Lever {
    /// Change of the aim per change of the field, both in SI.
    pub derivative: f64,
    /// The same from steps twice as long; `None` where these leave what can be built or solved.
    pub check: Option<f64>,
    /// Whether the difference is central.
    pub sides: Sides,
    /// Step that a workshop understands.
    pub step: Step,
    /// Best value inside the bounds if the aim went on in a straight line, in SI.
    pub best: f64,
    /// What the aim would gain there, not negative; in SI.
    pub gain: f64,
}

impl Lever {
    /// Change of the aim with the step of the workshop, if it went on in a straight line; in SI.
    #[must_use]
    pub fn per_step(&self) -> f64 {
        self.derivative * self.step.width
    }

    /// Change of the field that moves the aim by `target`, both in SI; without a sign.
    #[must_use]
    pub fn tolerance(&self, target: f64) -> f64 {
        (target / self.derivative).abs()
    }

    /// How far the derivatives from both steps lie apart, over the derivative.
    #[must_use]
    pub fn disagreement(&self) -> Option<f64> {
        self.check.map(|check| ((check - self.derivative) / self.derivative).abs())
    }
}

/// What becomes of one field.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// It moves the aim.
    Moves(Lever),
    /// It does not.
    Nothing,
    /// There is a steady state on neither side, for this reason.
    Unknown(String),
}

/// The levers of a case at a point. Each is a pure function of its number.
#[derive(Debug)]
pub struct Levers {
    case: Case,
    point: String,
    aim: Aim,
    measure: Measure,
    base: KnownPoint,
    now: f64,
    numbers: Vec<Number>,
    /// Step of the differences over the value.
    pub step: f64,
    /// Share of each value within which gains are sought.
    pub within: f64,
}

impl Levers {
    /// The levers of `case` at `point` on `aim`, for one `draw` or for all.
    ///
    /// # Errors
    /// There is no steady state, or no such draw.
    pub fn new(case: Case, point: &str, aim: Aim, draw: Option<&str>) -> Result<Self, Error> {
        let base = KnownPoint::of(&case, point)?;
        let refused = |(found, expected)| {
            let (location, path) = (case.location("parts"), "parts".to_owned());
            CaseError { problems: vec![Problem { location, path, found, expected, nearest: None }] }
        };
        let measure = Measure::new(aim, draw, &base.figures).map_err(refused)?;
        let now = measure.value(&base.figures).unwrap_or(f64::NAN);
        let numbers = case.numbers();
        let point = point.to_owned();
        Ok(Self { case, point, aim, measure, base, now, numbers, step: STEP, within: WITHIN })
    }

    /// Leaves all fields out whose path does not contain one of these texts.
    pub fn keep_only(&mut self, texts: &[String]) {
        self.numbers.retain(|number| texts.iter().any(|text| number.path.contains(text.as_str())));
    }

    /// The fields, in the order of the case.
    #[must_use]
    pub fn numbers(&self) -> &[Number] {
        &self.numbers
    }

    /// What the aim is measured by.
    #[must_use]
    pub fn measure(&self) -> &Measure {
        &self.measure
    }

    /// Value of the aim as the case stands, in SI.
    #[must_use]
    pub fn now(&self) -> f64 {
        self.now
    }

    /// What the field of this number does.
    #[must_use]
    pub fn lever(&self, index: usize) -> Outcome {
        let number = &self.numbers[index];
        let step = Step::of(number);
        let h = if number.value == 0.0 { STEP_FROM_ZERO * step.width } else { self.step * number.value.abs() };
        let at = |steps: f64| self.aim_at(number, number.value + steps * h);
        let (derivative, check, sides) = match (at(1.0), at(-1.0)) {
            (Ok(up), Ok(down)) => {
                let wide = at(2.0).ok().zip(at(-2.0).ok());
                ((up - down) / (2.0 * h), wide.map(|(up, down)| (up - down) / (4.0 * h)), Sides::Both)
            }
            (Ok(near), Err(why)) => {
                let (derivative, check) = self.one_sided(near, h, &at);
                (derivative, check, Sides::Above(why.to_string()))
            }
            (Err(why), Ok(near)) => {
                let (derivative, check) = self.one_sided(near, -h, &|steps| at(-steps));
                (derivative, check, Sides::Below(why.to_string()))
            }
            (Err(why), Err(_)) => return Outcome::Unknown(why.to_string()),
        };
        let width = self.width(number, &step);
        let nothing = if self.aim == Aim::RollOn { NOTHING_IN_TIME } else { NOTHING };
        if (derivative * width).abs() <= nothing * self.size() {
            return Outcome::Nothing;
        }
        let (best, gain) = self.best(number, derivative, width, &sides);
        Outcome::Moves(Lever { derivative, check, sides, step, best, gain })
    }

    /// Derivative from three values on one side, `h` apart, of which `near` is the one next to the present; and from steps twice as long.
    /// Second order: Abramowitz and Stegun, Handbook of Mathematical Functions, table 25.2.
    fn one_sided(&self, near: f64, h: f64, at: &dyn Fn(f64) -> Result<f64, Error>) -> (f64, Option<f64>) {
        let of = |near: f64, far: f64, h: f64| (4.0 * near - far - 3.0 * self.now) / (2.0 * h);
        let Ok(far) = at(2.0) else { return ((near - self.now) / h, None) };
        (of(near, far, h), at(4.0).ok().map(|farthest| of(far, farthest, 2.0 * h)))
    }

    /// The aim with another value of a field.
    fn aim_at(&self, number: &Number, value: f64) -> Result<f64, Error> {
        let case = self.case.with(&[(&number.path, NewValue::Si(value))])?;
        let there = self.base.neighbour(&case, &self.point, Deviations::default())?;
        Ok(self.measure.value(&there.figures).unwrap_or(f64::NAN))
    }

    /// How far the bounds of a field lie from its value: a share of it as the user writes it, so that 10 % of 40 degC are 4 K; one step of
    /// the workshop from zero.
    fn width(&self, number: &Number, step: &Step) -> f64 {
        match number.unit.difference_to_si(self.within * number.number.abs()) {
            0.0 => step.width,
            width => width,
        }
    }

    /// The best value inside the bounds and what the field allows, on a straight line; and its gain.
    fn best(&self, number: &Number, derivative: f64, width: f64, sides: &Sides) -> (f64, f64) {
        let better = self.aim.better() * derivative;
        let shut = match sides {
            Sides::Both => false,
            Sides::Above(_) => better < 0.0,
            Sides::Below(_) => better > 0.0,
        };
        if shut {
            return (number.value, 0.0);
        }
        let mut change = width;
        if self.aim == Aim::Difference {
            // There is nothing to gain beyond equal draws.
            change = change.min((self.now / derivative).abs());
        }
        let (least, most) = limits(number.range);
        let best = (number.value + change.copysign(better)).clamp(least, most);
        (best, ((best - number.value) * derivative).abs())
    }

    /// Size of the aim, beside which changes are small or not.
    fn size(&self) -> f64 {
        if self.aim == Aim::Difference { 1.0 } else { self.now.abs() }
    }
}

/// Least and largest value of a range.
fn limits(range: Range) -> (f64, f64) {
    match range {
        Range::Any => (f64::NEG_INFINITY, f64::INFINITY),
        Range::Positive | Range::NotNegative => (0.0, f64::INFINITY),
        Range::Share => (0.0, 1.0),
        Range::Between(least, most) => (least, most),
    }
}

#[cfg(test)]
mod tests;
