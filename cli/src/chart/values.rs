//! Curves of a picture as a table: all values where they stand each for itself, else at places spread evenly.

use super::drawing::Values;
use super::thin::Point;
use crate::print::number::fixed;

/// Rows of a table of lines.
const ROWS: usize = 21;

/// A curve.
#[derive(Debug)]
pub(super) struct Column<'a> {
    pub(super) head: String,
    /// Rising in the first coordinate, as long as they are not dots.
    pub(super) points: &'a [Point],
    pub(super) dots: bool,
}

/// The table over `across`.
pub(super) fn table(across: &str, columns: &[Column<'_>]) -> Values {
    let places = places(columns);
    let decimals = decimals(places.iter().copied());
    let cells = |column: &Column<'_>| -> Vec<String> {
        let found: Vec<Option<f64>> = places.iter().map(|x| column.at(*x).filter(|value| value.is_finite())).collect();
        let own = self::decimals(found.iter().flatten().copied());
        found.iter().map(|value| value.map_or_else(|| "–".to_owned(), |value| fixed(value, own))).collect()
    };
    let all: Vec<Vec<String>> = columns.iter().map(cells).collect();
    let row = |(number, x): (usize, &f64)| {
        std::iter::once(fixed(*x, decimals)).chain(all.iter().map(|cells| cells[number].clone())).collect()
    };
    Values {
        heads: std::iter::once(across.to_owned()).chain(columns.iter().map(|column| column.head.clone())).collect(),
        rows: places.iter().enumerate().map(row).collect(),
    }
}

impl Column<'_> {
    /// Its value at `x`: on straight lines between its points; of dots only where one stands.
    fn at(&self, x: f64) -> Option<f64> {
        if self.dots {
            return self.points.iter().find(|point| point.0.total_cmp(&x).is_eq()).map(|point| point.1);
        }
        between(self.points, x)
    }
}

/// The value of a line that rises in `x` at a place, on straight lines between its points; none outside.
pub(super) fn between(line: &[Point], at: f64) -> Option<f64> {
    if let [(x, y)] = line {
        return x.total_cmp(&at).is_eq().then_some(*y);
    }
    let pair = line.windows(2).find(|pair| pair[0].0 <= at && at <= pair[1].0 && pair[0].0 < pair[1].0)?;
    let [(from, low), (to, high)] = [pair[0], pair[1]];
    Some(low + (at - from) / (to - from) * (high - low))
}

fn places(columns: &[Column<'_>]) -> Vec<f64> {
    let xs = columns.iter().flat_map(|column| column.points.iter().map(|point| point.0));
    let mut xs: Vec<f64> = xs.filter(|x| x.is_finite()).collect();
    xs.sort_by(f64::total_cmp);
    xs.dedup();
    if xs.len() <= ROWS || columns.iter().all(|column| column.dots) {
        return xs;
    }
    let (first, last) = (xs[0], xs[xs.len() - 1]);
    // The last place is the last value to the bit, or it would lie outside.
    let spread = (0..ROWS - 1).map(|row| first + (last - first) * row as f64 / (ROWS - 1) as f64);
    spread.chain([last]).collect()
}

/// Decimals that tell a thousandth of what the values span.
fn decimals(values: impl Iterator<Item = f64>) -> usize {
    let [low, high] = values.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], v| [low.min(v), high.max(v)]);
    let span = if high > low { high - low } else { high.abs().max(1e-3) };
    if span.is_finite() { (3.0 - span.log10().floor()).clamp(0.0, 9.0) as usize } else { 0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_read_at_even_places_and_dots_where_they_stand() {
        let line: Vec<Point> = (0..100).map(|k| (f64::from(k), 2.0 * f64::from(k))).collect();
        let columns = [Column { head: "y".to_owned(), points: &line, dots: false }];
        let table = table("x", &columns);
        assert_eq!((table.rows.len(), &table.heads[..]), (ROWS, &["x".to_owned(), "y".to_owned()][..]));
        assert_eq!((table.rows[0][1].as_str(), table.rows[ROWS - 1][1].as_str()), ("0.0", "198.0"));
        let dots = [(1.0, 5.0), (3.0, 7.0)];
        let others = [(2.0, 6.0)];
        let columns = [
            Column { head: "a".to_owned(), points: &dots, dots: true },
            Column { head: "b".to_owned(), points: &others, dots: true },
        ];
        let found = super::table("x", &columns);
        assert_eq!(found.rows[1], ["2.000", "–", "6.000"]);
    }

    #[test]
    fn a_line_has_values_between_its_points_alone() {
        let line = [(1.0, 10.0), (1.0, 10.0), (2.0, 30.0), (4.0, 20.0)];
        let at = [0.9, 1.0, 1.5, 3.0, 4.0, 4.1].map(|at| between(&line, at));
        assert_eq!(at, [None, Some(10.0), Some(20.0), Some(25.0), Some(20.0), None]);
    }
}
