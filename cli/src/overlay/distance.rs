//! How far the numbers that a log sets lie from those of a case.

use tractwright::case::Case;
use tractwright::quantity::Dimension;

/// Relative distance between the numbers of a station and those of a result, beyond which they are two states.
pub(super) const SAME_STATE: f64 = 0.03;

/// Speed below which differences are held against it instead of the speed itself [m/s].
const CREEPING: f64 = 10.0;

/// Largest relative distance between a number of the case and what a log `sets` [SI], and which it is in words.
pub(super) fn distance(case: &Case, sets: &[(String, f64)]) -> (f64, String) {
    let numbers = case.numbers();
    let mut largest = (0.0, String::new());
    for (path, value) in sets {
        let Some(number) = numbers.iter().find(|number| number.path == *path) else { continue };
        // A car that stands is one that creeps.
        let least = if number.dimension == Dimension::Speed { CREEPING } else { f64::MIN_POSITIVE };
        let apart = (value - number.value).abs() / number.value.abs().max(least);
        if apart > largest.0 {
            let there = number.unit.from_si(*value);
            let words = format!(
                "{path} is {} {} there and {} here",
                (1e4 * there).round() / 1e4,
                number.unit.symbol,
                number.text
            );
            largest = (apart, words);
        }
    }
    largest
}
