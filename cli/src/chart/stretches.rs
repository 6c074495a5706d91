//! Phases above a field of curves over time: thin lines between them, and the name of each above its stretch.

use super::axis::Axis;
use super::{coloured as text, straight as line};
use tractwright::case::BuiltPhase;

/// Width of a letter, and space between two names [px].
const LETTER: f64 = 6.5;
const GAP: f64 = 6.0;
/// Height of a row of names, and of the lines above the field [px].
const ROW: f64 = 14.0;
const ABOVE: f64 = 14.0;
const COLOUR: &str = "#bcccdc";

/// Lines and names of `phases` over a field from `top` to `bottom` [px], with time in minutes along `across`; nothing for a single phase. Names
/// that would touch stand in rows above each other.
pub(super) fn drawn(phases: &[BuiltPhase], across: &Axis, [top, bottom]: [f64; 2]) -> String {
    let mut out = String::new();
    if phases.len() < 2 {
        return out;
    }
    let spans: Vec<(&BuiltPhase, f64, f64)> = phases
        .iter()
        .filter_map(|phase| Some((phase, across.place(phase.from / 60.0)?, across.place(phase.to / 60.0)?)))
        .collect();
    let wanted: Vec<(f64, f64)> = spans
        .iter()
        .map(|(phase, from, to)| (0.5 * (from + to), LETTER * phase.point.chars().count() as f64))
        .collect();
    for ((phase, from, _), (row, (middle, _))) in spans.iter().zip(rows(&wanted).into_iter().zip(&wanted)) {
        let rise = ROW * row as f64;
        out.push_str(&line([*from, top - ABOVE - rise], [*from, bottom], COLOUR));
        out.push_str(&text(*middle, top - ABOVE - 4.0 - rise, "middle", "#102a43", &phase.point));
    }
    out
}

/// Row of each name, from below, such that no two of a row touch: names are given by their middles and widths [px], from left to right.
fn rows(names: &[(f64, f64)]) -> Vec<usize> {
    let mut taken_to: Vec<f64> = Vec::new();
    names
        .iter()
        .map(|(middle, width)| {
            let (from, to) = (middle - 0.5 * width, middle + 0.5 * width);
            let row = taken_to.iter().position(|taken| taken + GAP <= from).unwrap_or(taken_to.len());
            if row == taken_to.len() {
                taken_to.push(to);
            } else {
                taken_to[row] = to;
            }
            row
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::rows;

    #[test]
    fn names_that_would_touch_stand_above_each_other() {
        assert_eq!(rows(&[(50.0, 40.0), (100.0, 40.0)]), [0, 0]);
        assert_eq!(rows(&[(50.0, 40.0), (80.0, 40.0), (100.0, 40.0), (160.0, 40.0)]), [0, 1, 0, 0]);
        assert_eq!(rows(&[(50.0, 90.0), (55.0, 90.0), (60.0, 90.0)]), [0, 1, 2]);
        assert!(rows(&[]).is_empty());
    }
}
