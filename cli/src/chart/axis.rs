//! An axis: where values stand on it, and its ticks.

use crate::print::number::fixed;
use std::fmt;

/// Share of the axis that stays free beyond the values at each end.
const MARGIN: f64 = 0.04;
/// Values this close together, relative to their size, are one value to the eye of a figure.
const ONE_VALUE: f64 = 1e-9;
/// Plain numbers are written for powers of ten in this range.
const PLAIN: std::ops::RangeInclusive<i32> = -3..=4;

/// A tick.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Tick {
    /// Where it stands [px].
    pub(crate) place: f64,
    /// What is written beside it; nothing for those between.
    pub(crate) label: String,
}

/// An axis.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Axis {
    /// Ends in values, or in their logarithms to base ten.
    ends: [f64; 2],
    /// The same ends [px].
    pixels: [f64; 2],
    logarithmic: bool,
    /// Its ticks.
    pub(crate) ticks: Vec<Tick>,
    /// Power of ten by which the labels are to be multiplied.
    pub(crate) power: i32,
}

/// Two pixels and the values that stand there, or their logarithms to base ten, for the script of a page.
impl fmt::Display for Axis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [[from, to], [low, high]] = [self.pixels, self.ends];
        let logarithmic = if self.logarithmic { " log" } else { "" };
        write!(f, "{from:.1} {low:e} {to:.1} {high:e}{logarithmic}")
    }
}

impl Axis {
    /// Over `values` between two pixels, with about so many labels.
    pub(crate) fn over(values: impl Iterator<Item = f64>, logarithmic: bool, pixels: [f64; 2], labels: usize) -> Self {
        let scaled =
            values.map(|value| if logarithmic { value.log10() } else { value }).filter(|value| value.is_finite());
        let [low, high] = scaled.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], v| [low.min(v), high.max(v)]);
        let [low, high] = if low <= high { [low, high] } else { [0.0, 1.0] };
        let (size, length) = (low.abs().max(high.abs()), high - low);
        let room = match length {
            length if length > ONE_VALUE * size => MARGIN * length,
            _ if logarithmic => 0.5,
            _ if size > 0.0 => 0.1 * size,
            _ => 1.0,
        };
        let ends = [low - room, high + room];
        let mut axis = Self { ends, pixels, logarithmic, ticks: Vec::new(), power: 0 };
        if logarithmic {
            axis.mark_decades(labels)
        } else {
            axis.mark_steps(labels)
        }
        axis
    }

    /// From one value to another without room beyond them, between two pixels, with about so many labels.
    pub(crate) fn exactly(ends: [f64; 2], pixels: [f64; 2], labels: usize) -> Self {
        let mut axis = Self { ends, pixels, logarithmic: false, ticks: Vec::new(), power: 0 };
        axis.mark_steps(labels);
        axis
    }

    /// Where a value stands [px]; nowhere when it has no place on the axis.
    pub(crate) fn place(&self, value: f64) -> Option<f64> {
        let scaled = if self.logarithmic { value.log10() } else { value };
        scaled.is_finite().then(|| self.of_scaled(scaled))
    }

    fn of_scaled(&self, scaled: f64) -> f64 {
        let share = (scaled - self.ends[0]) / (self.ends[1] - self.ends[0]);
        self.pixels[0] + share * (self.pixels[1] - self.pixels[0])
    }

    fn mark_steps(&mut self, labels: usize) {
        let [low, high] = self.ends;
        let step = round_step((high - low) / labels as f64);
        let largest = power_of(low.abs().max(high.abs()));
        self.power = if PLAIN.contains(&largest) { 0 } else { 3 * largest.div_euclid(3) };
        let scale = 10_f64.powi(self.power);
        let decimals = (self.power - power_of(step * 1.000_001)).clamp(0, 12) as usize;
        let first = (low / step).ceil();
        let count = ((high / step).floor() - first).max(0.0) as u32;
        let tick = |number: u32| {
            let value = (first + f64::from(number)) * step;
            Tick { place: self.of_scaled(value), label: fixed(value / scale, decimals) }
        };
        self.ticks = (0..=count).map(tick).collect();
    }

    fn mark_decades(&mut self, labels: usize) {
        let [low, high] = self.ends;
        let decades = (high - low).ceil() as i32;
        let every = (decades as usize).div_ceil(labels).max(1) as i32;
        // On a short axis numbers between the powers of ten are written too.
        let written: &[f64] = match high - low {
            length if length > 1.7 => &[1.0],
            length if length > 0.7 => &[1.0, 2.0, 5.0],
            _ => &[1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0],
        };
        let between: &[f64] = if every == 1 { &[2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0] } else { &[] };
        let powers = low.floor() as i32..=high.ceil() as i32;
        let powers_are_plain = PLAIN.contains(powers.start()) && PLAIN.contains(powers.end());
        for power in powers {
            let unlabelled = between.iter().filter(|factor| !written.contains(factor)).map(|factor| (factor, false));
            for (factor, label) in written.iter().map(|factor| (factor, true)).chain(unlabelled) {
                let scaled = f64::from(power) + factor.log10();
                if !(low..=high).contains(&scaled) {
                    continue;
                }
                let label = match label && power.rem_euclid(every) == 0 {
                    true if powers_are_plain => fixed(factor * 10_f64.powi(power), (-power).max(0) as usize),
                    true if *factor > 1.0 => format!("{factor}·10{}", superscript(power)),
                    true if power == 0 => "1".to_owned(),
                    true => format!("10{}", superscript(power)),
                    false => String::new(),
                };
                self.ticks.push(Tick { place: self.of_scaled(scaled), label });
            }
        }
    }
}

/// Power of ten of a value.
fn power_of(value: f64) -> i32 {
    if value > 0.0 { value.log10().floor() as i32 } else { 0 }
}

/// One, two or five times a power of ten, not below `least`.
fn round_step(least: f64) -> f64 {
    let power = 10_f64.powi(power_of(least));
    let factor = [1.0, 2.0, 5.0].into_iter().find(|factor| factor * power >= least).unwrap_or(10.0);
    factor * power
}

/// A whole number as an exponent.
pub(crate) fn superscript(number: i32) -> String {
    const DIGITS: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    let raised = |letter: char| letter.to_digit(10).map_or('⁻', |digit| DIGITS[digit as usize]);
    number.to_string().chars().map(raised).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn labels(values: &[f64], logarithmic: bool) -> Vec<String> {
        let axis = Axis::over(values.iter().copied(), logarithmic, [0.0, 100.0], 5);
        axis.ticks.into_iter().map(|tick| tick.label).filter(|label| !label.is_empty()).collect()
    }

    #[test]
    fn ticks_are_round() {
        assert_eq!(labels(&[0.0, 1.0], false), ["0.0", "0.5", "1.0"]);
        assert_eq!(
            labels(&[99_990.0, 100_010.0, f64::NAN], false),
            ["99.990", "99.995", "100.000", "100.005", "100.010"]
        );
        assert_eq!(labels(&[-1.0, 1.0], false), ["-1.0", "-0.5", "0.0", "0.5", "1.0"]);
        assert_eq!(labels(&[0.01, 100.0], true), ["0.01", "0.1", "1", "10", "100"].map(str::to_owned)[..5]);
        assert_eq!(labels(&[1e-12, 1.0], true).len(), 5);
        assert_eq!(labels(&[20.0, 90.0], true), ["20", "50"]);
        assert_eq!(labels(&[30.0, 90.0], true), ["30", "40", "50", "60", "70", "80", "90"]);
    }

    #[test]
    fn an_axis_of_one_value_or_none_has_a_length() {
        for values in [&[3.0][..], &[0.0], &[1.0, 1.0 + 1e-15], &[]] {
            let axis = Axis::over(values.iter().copied(), false, [0.0, 100.0], 5);
            assert!(!axis.ticks.is_empty() && axis.ticks.len() < 12, "{axis:?}");
            assert!(axis.ends[0] < axis.ends[1]);
        }
    }

    #[test]
    fn a_value_stands_where_it_belongs() {
        let axis = Axis::over([1.0, 100.0].into_iter(), true, [0.0, 108.0], 5);
        assert!((axis.place(10.0).unwrap() - 54.0).abs() < 1e-9);
        assert_eq!((axis.place(0.0), axis.place(-1.0), axis.place(f64::NAN)), (None, None, None));
    }

    #[test]
    fn exponents_are_raised() {
        assert_eq!(superscript(-12), "⁻¹²");
    }
}
