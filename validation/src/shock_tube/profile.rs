//! Profiles along a shock tube: pictures, and points of the exact solution.

use super::Problem;
use crate::check::{Failure, Limit, Measure, Row};
use crate::data;
use crate::figure::Figure;
use crate::marched::Cell;
use crate::oracle::riemann::State;

/// Cells beside the edge of a wave in which a march does not follow a point of the exact solution: contacts and the corners of fans are
/// smeared over so many.
const WAVE_CELLS: f64 = 16.0;
/// Points of the line of an exact solution.
const LINE: u32 = 800;

/// What of a state is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// Density.
    Density,
    /// Velocity.
    Velocity,
    /// Pressure.
    Pressure,
}

impl Shown {
    /// Name for axes and rows.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Density => "density",
            Self::Velocity => "velocity",
            Self::Pressure => "pressure",
        }
    }

    fn column(self) -> &'static str {
        match self {
            Self::Density => "rho",
            Self::Velocity => "u",
            Self::Pressure => "p",
        }
    }

    /// Its value in a state.
    #[must_use]
    pub fn of(self, state: State) -> f64 {
        match self {
            Self::Density => state.density,
            Self::Velocity => state.velocity,
            Self::Pressure => state.pressure,
        }
    }

    /// Points of a figure: the middles of `cells` and what they hold.
    pub fn points(self, cells: &[Cell]) -> impl Iterator<Item = (f64, f64)> {
        cells.iter().map(move |cell| (cell.middle(), self.of(cell.state)))
    }
}

impl Problem {
    /// A picture of one quantity: the cells over the exact solution.
    #[must_use]
    pub fn figure(&self, title: &str, shown: Shown, cells: &[Cell]) -> Figure {
        let solution = self.solution();
        let place = |point: u32| self.length * (f64::from(point) + 0.5) / f64::from(LINE);
        let exact = (0..LINE).map(place).map(|x| {
            let state = solution.at((x - self.start) / self.end_time);
            // A vacuum has no velocity: the line breaks there.
            (x, if state.density > 0.0 { shown.of(state) } else { f64::NAN })
        });
        Figure::new(format!("{title}: {} at time {}", shown.name(), self.end_time), "place", shown.name())
            .reference("exact", exact)
            .computed(format!("{} cells", cells.len()), shown.points(cells))
    }

    /// Rows of the points in the table of profiles that lie clear of the edges of waves: the largest difference, over the largest
    /// value in the table.
    ///
    /// # Errors
    /// When the table has no such case.
    pub fn profile_rows(&self, case: &str, cells: &[Cell], limit: Limit) -> Result<Vec<Row>, Failure> {
        let mut points = data::case(data::RIEMANN_PROFILES, case)?;
        points.retain(|point| point.number("x").is_ok_and(|place| self.is_clear(place)));
        let row = |shown: Shown| {
            let mut largest = 0.0_f64;
            for point in &points {
                largest = largest.max(point.number(shown.column())?.abs());
            }
            let pairs = points.iter().map(|point| {
                let found = shown.of(self.at(cells, point.number("x")?));
                Ok((found / largest, point.number(shown.column())? / largest))
            });
            let pairs = pairs.collect::<Result<Vec<_>, Failure>>()?;
            let name = format!("{} at points away from waves, over the largest", shown.name());
            Ok(Row::worst_by(Measure::Absolute, name, pairs, limit))
        };
        [Shown::Density, Shown::Velocity, Shown::Pressure].into_iter().map(row).collect()
    }

    /// Whether a place lies clear of the edges of all waves at the end.
    fn is_clear(&self, place: f64) -> bool {
        let solution = self.solution();
        let (left, right) = (solution.left_wave(), solution.right_wave());
        let edges = [left.head, left.tail, solution.star_velocity, right.tail, right.head];
        let distance = |edge: f64| (place - self.start - edge * self.end_time).abs();
        edges.into_iter().all(|edge| distance(edge) > WAVE_CELLS * self.cell())
    }

    /// State at a place: between the middles of cells by straight lines.
    fn at(&self, cells: &[Cell], place: f64) -> State {
        let after = cells.partition_point(|cell| cell.middle() < place).clamp(1, cells.len() - 1);
        let (one, other) = (&cells[after - 1], &cells[after]);
        let share = (place - one.middle()) / self.cell();
        let between = |shown: Shown| (1.0 - share) * shown.of(one.state) + share * shown.of(other.state);
        State {
            density: between(Shown::Density),
            velocity: between(Shown::Velocity),
            pressure: between(Shown::Pressure),
        }
    }
}
