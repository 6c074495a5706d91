//! Which numbers of a case are fitted, from where, and between which bounds.

use super::least_squares::{Prior, Unknown};
use crate::case::measured::Channel;
use crate::case::{Case, LossFactors, NewValue, Number};
use crate::error::{CaseError, Problem};
use crate::fields::Range;
use crate::quantity::{self, Shape, quote};
use crate::suggest;

/// A value that is fitted, and the numbers of a case that take it.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// Paths of the numbers; the first one gives unit, start and prior.
    pub paths: Vec<String>,
    /// The offsets among them: paths out of [`Case::offsets`].
    offsets: Vec<String>,
    /// The first number, as the case has it or as it was given anew.
    pub number: Number,
    /// What the search is told of it [SI].
    pub unknown: Unknown,
    /// Values that all of the numbers allow.
    pub(super) ranges: Vec<Range>,
}

/// Number below which it is written with a power of ten.
const SMALL: f64 = 1e-4;
/// Least value of what must be above zero, over its start.
const ABOVE_ZERO: f64 = 1e-6;

impl Fitted {
    /// What `text` asks for: paths with a comma between them, which share one value, and where wanted a value to start from:
    /// `parts.box_exit.loss`, `parts.left_filter.media_area,parts.right_filter.media_area`, `parts.nose.recovery=0.8 +- 0.1`. A spread is the
    /// prior; a `uniform` one gives bounds instead.
    ///
    /// # Errors
    /// A path that is no number of the case, numbers that measure different things, a text that is no such value.
    pub fn of(case: &Case, text: &str) -> Result<Self, CaseError> {
        let numbers = all_numbers(case);
        let (paths, value) = text.split_once('=').map_or((text, None), |(paths, value)| (paths, Some(value.trim())));
        let found: Vec<&Number> =
            paths.split(',').map(|path| known(case, &numbers, path.trim())).collect::<Result<_, _>>()?;
        let first = found[0];
        let refuse = |found: String, expected: String| {
            let (location, path) = (first.location.clone(), first.path.clone());
            CaseError { problems: vec![Problem { location, path, found, expected, nearest: None }] }
        };
        if let Some(other) = found.iter().find(|other| other.dimension != first.dimension) {
            let found = format!("`{}`, {}, to share its value", other.path, other.dimension.name());
            return Err(refuse(found, first.dimension.name().to_owned()));
        }
        let mut number = first.clone();
        if let Some(value) = value {
            let written =
                quantity::written(value, first.dimension).map_err(|fault| refuse(fault.found, fault.expected))?;
            let [one] = written.numbers[..] else { return Err(refuse(quote(value), "one value".to_owned())) };
            (number.number, number.unit, number.spread) = (one, written.unit, written.spread);
            (number.value, number.text) = (written.unit.to_si(one), value.to_owned());
        }
        let ranges: Vec<Range> = found.iter().map(|number| number.range).collect();
        if let Some(range) = ranges.iter().find(|range| !range.allows(number.value)) {
            return Err(refuse(quote(&number.text), range.words(number.dimension)));
        }
        let paths = found.iter().map(|number| number.path.clone()).collect();
        let fitted = Self::new(case, paths, number, ranges);
        if fitted.unknown.bounds[0] >= fitted.unknown.bounds[1] {
            return Err(refuse(quote(&fitted.number.text), "a value with room on both sides".to_owned()));
        }
        Ok(fitted)
    }

    fn new(case: &Case, paths: Vec<String>, number: Number, ranges: Vec<Range>) -> Self {
        let is_offset = |path: &&String| case.offsets().any(|offset| offset.path == **path);
        let offsets = paths.iter().filter(is_offset).cloned().collect();
        let unknown = unknown(&number, &ranges);
        Self { paths, offsets, number, unknown, ranges }
    }

    /// One for each number of the case that has a spread above zero, in the order of the case, and then for each such offset of a gauge.
    #[must_use]
    pub fn all_that_spread(case: &Case) -> Vec<Self> {
        let numbers = all_numbers(case).into_iter();
        let spreading = numbers.filter(|number| number.spread.is_some_and(|spread| spread.width > 0.0));
        let fitted = |number: Number| {
            let (paths, ranges) = (vec![number.path.clone()], vec![number.range]);
            Self::new(case, paths, number, ranges)
        };
        spreading.map(fitted).filter(|fitted| fitted.unknown.bounds[0] < fitted.unknown.bounds[1]).collect()
    }

    /// Size of its values, over which they are moved for derivatives [SI].
    pub(super) fn size(&self, value: f64) -> f64 {
        match value.abs() {
            0.0 => 0.1 * self.unknown.scale(),
            size => size,
        }
    }

    /// Whether all of the numbers may have this value [SI].
    pub(super) fn allows(&self, value: f64) -> bool {
        self.ranges.iter().all(|range| range.allows(value))
    }

    /// The numbers of the car with this value [SI]; offsets change nothing of it.
    pub fn changes(&self, value: f64) -> impl Iterator<Item = (&str, NewValue)> {
        let of_car = self.paths.iter().filter(|path| !self.offsets.contains(path));
        of_car.map(move |path| (path.as_str(), NewValue::Si(value)))
    }

    /// Whether it is nothing but offsets, so that no state of the air feels it.
    pub(super) fn is_of_gauges_alone(&self) -> bool {
        self.offsets.len() == self.paths.len()
    }

    /// Whether this value is the offset of the gauge.
    pub(super) fn is_offset_of(&self, channel: &Channel) -> bool {
        channel.offset.as_ref().is_some_and(|offset| self.offsets.contains(&offset.path))
    }

    /// Text of a value [SI] in the unit of the first number, with its standard error [SI] as a spread where there is one.
    #[must_use]
    pub fn text(&self, value: f64, error: Option<f64>) -> String {
        let [number, spread] = self.numbers(value, error);
        let spread = spread.map_or_else(String::new, |spread| format!(" +- {spread}"));
        format!("{}{spread} {}", number.unwrap_or_default(), self.number.unit.symbol).trim_end().to_owned()
    }

    /// The numbers of both without the unit. Three digits of the error, so that rounding costs nothing, and four of the value at least.
    #[must_use]
    pub fn numbers(&self, value: f64, error: Option<f64>) -> [Option<String>; 2] {
        let unit = self.number.unit;
        let number = unit.from_si(value);
        let error = error.map(|error| unit.difference_from_si(error)).filter(|error| error.is_finite() && *error > 0.0);
        let Some(error) = error else { return [Some(number.to_string()), None] };
        let digits =
            |of: f64, count: i32| if of == 0.0 { 0 } else { count - libm::floor(libm::log10(of.abs())) as i32 };
        // Both with one power of ten, where zeros alone would stand behind the point.
        let power = if number != 0.0 && number.abs() < SMALL { -digits(number, 0) } else { 0 };
        let scale = libm::pow(10.0, f64::from(-power));
        let decimals = (digits(error, 2).max(digits(number, 3)) + power).clamp(0, 15) as usize;
        let text = |of: f64| match power {
            0 => format!("{of:.decimals$}"),
            _ => format!("{:.decimals$}e{power}", scale * of),
        };
        [Some(text(number)), Some(text(error))]
    }
}

/// The numbers of the car and the offsets of its gauges.
fn all_numbers(case: &Case) -> Vec<Number> {
    case.numbers().into_iter().chain(case.offsets().cloned()).collect()
}

fn known<'a>(case: &Case, numbers: &'a [Number], path: &str) -> Result<&'a Number, CaseError> {
    numbers.iter().find(|number| number.path == path).ok_or_else(|| {
        let problem = Problem {
            location: case.location(path),
            path: path.to_owned(),
            found: "no number of this case to fit".to_owned(),
            expected: expected(case, path),
            nearest: suggest::nearest(path, numbers.iter().map(|number| number.path.as_str())),
        };
        CaseError { problems: vec![problem] }
    })
}

/// What would be a number to fit; of one that the case may leave out, how it would say it.
fn expected(case: &Case, path: &str) -> String {
    if path.starts_with("loss_factors.") {
        return format!("one of: {}", LossFactors::laws().collect::<Vec<_>>().join(", "));
    }
    if path.ends_with(".loss_factor") {
        return "a bend that the case has, such as `parts.tube.bends[0].loss_factor`".to_owned();
    }
    let column = path.strip_prefix("measured.columns.").and_then(|rest| rest.strip_suffix(".offset"));
    let channels = case.measured.iter().flat_map(|measured| &measured.channels);
    let own = column.and_then(|column| channels.into_iter().find(|channel| channel.name == column));
    match own {
        Some(channel) if channel.counts() => {
            let unit = channel.dimension().map_or("", |dimension| dimension.difference().si_symbol());
            format!("`offset: 0 +- 20 {unit}` in that column, with how well it is known")
        }
        Some(_) => "a column whose readings count: one that sets nothing and says its accuracy".to_owned(),
        None => "a path such as `parts.box.volume`".to_owned(),
    }
}

fn unknown(number: &Number, ranges: &[Range]) -> Unknown {
    let start = number.value;
    let mut bounds = [f64::NEG_INFINITY, f64::INFINITY];
    let mut narrow = |least: f64, most: f64| bounds = [bounds[0].max(least), bounds[1].min(most)];
    for range in ranges {
        match *range {
            Range::Any => {}
            Range::Positive => narrow(ABOVE_ZERO * start, f64::INFINITY),
            Range::NotNegative => narrow(0.0, f64::INFINITY),
            Range::Share => narrow(0.0, 1.0),
            Range::Between(least, most) => narrow(least, most),
        }
    }
    let prior = match number.spread.filter(|spread| spread.width > 0.0) {
        Some(spread) if spread.shape == Shape::Uniform => {
            narrow(start - spread.width, start + spread.width);
            None
        }
        Some(spread) => Some(Prior { value: start, spread: spread.width }),
        None => None,
    };
    Unknown { start, bounds, prior }
}
