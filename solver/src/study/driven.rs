//! Pulls, throttle steps and roll-ons, marched in memory.

use super::{Figure, Figures, Of, Quantity};
use crate::case::{Built, Task};
use crate::error::Error;
use crate::march::slow::Slow;
use crate::march::{Marching, Moment, Observer, Until};
use crate::run::{EngineFigures, engine_at, response_time, roll_on_time};

/// A run in which the engine or the car changes its speed.
pub(super) struct Course {
    /// State from which it set off.
    pub(super) y: Vec<f64>,
    /// Flows of the joints in it [kg/s].
    pub(super) z: Vec<f64>,
    /// What was seen on the way.
    pub(super) rows: Vec<Row>,
}

/// An instant of it.
pub(super) struct Row {
    pub(super) engine: EngineFigures,
    figures: Figures,
}

/// Somebody who looks at each instant of a course himself.
pub(super) type Seen<'a> = &'a mut dyn FnMut(&Moment<'_>, &EngineFigures) -> Result<(), Error>;

struct Rows<'a> {
    rows: Vec<Row>,
    seen: Seen<'a>,
}

impl Observer<Slow<'_>> for Rows<'_> {
    fn record(&mut self, march: &Slow<'_>) -> Result<(), Error> {
        let moment = march.moment();
        if let Some(engine) = engine_at(&moment) {
            (self.seen)(&moment, &engine)?;
            self.rows.push(Row { engine, figures: Figures::of(moment.network, moment.y, moment.work) });
        }
        Ok(())
    }
}

impl Course {
    /// The run of `built`, which sets off from the steady state that is found from state `y` and flows `z` [kg/s], with each instant `seen`.
    pub(super) fn of(built: &Built, y: Vec<f64>, z: Vec<f64>, seen: Seen<'_>) -> Result<Self, Error> {
        let mut march = Slow::new(&built.network, 0.0, y, z, built.settings)?;
        march.settle_before_start()?;
        let (y, z) = march.state();
        march.set_off()?;
        let mut rows = Rows { rows: Vec::new(), seen };
        march.record_start(&mut rows)?;
        if let Until::Time(end) = built.settings.until {
            march.run_to(end, &mut rows)?;
        }
        Ok(Self { y, z, rows: rows.rows })
    }

    /// What it comes to; nothing where it does not come to its end.
    pub(super) fn figures(&self, task: &Task) -> Option<Figures> {
        let engine: Vec<EngineFigures> = self.rows.iter().map(|row| row.engine.clone()).collect();
        let of_whole = |quantity, value| Figures(vec![Figure { quantity, of: Of::Whole, value }]);
        match task {
            Task::Hold => None,
            Task::Pull { .. } => self.best(),
            Task::Step { .. } => Some(of_whole(Quantity::ResponseTime, response_time(&engine)?)),
            Task::RollOn { to, .. } => Some(of_whole(Quantity::RollOnTime, roll_on_time(&engine, *to)?)),
        }
    }

    /// What stands where the power is largest, with the largest torque.
    fn best(&self) -> Option<Figures> {
        let most = |of: fn(&EngineFigures) -> f64| Vertex::of(self.rows.iter().map(|row| of(&row.engine)));
        let (at_power, at_torque) = (most(|row| row.power)?, most(|row| row.torque)?);
        let value = |vertex: &Vertex, index: usize| vertex.between(|row| self.rows[row].figures.0[index].value);
        let figures = self.rows[at_power.row].figures.0.iter().enumerate().map(|(index, figure)| {
            let vertex = if figure.quantity == Quantity::Torque { &at_torque } else { &at_power };
            Figure { value: value(vertex, index), ..figure.clone() }
        });
        Some(Figures(figures.collect()))
    }
}

/// The largest of evenly spaced values, between them that of the parabola through it and its neighbours: it moves smoothly where the
/// values do.
struct Vertex {
    /// Number of the largest value.
    row: usize,
    /// From there to the largest of the parabola, in spaces; none at the ends of the values.
    shift: Option<f64>,
}

impl Vertex {
    fn of(values: impl Iterator<Item = f64>) -> Option<Self> {
        let values: Vec<f64> = values.collect();
        let row = (0..values.len()).max_by(|a, b| values[*a].total_cmp(&values[*b]))?;
        let shift = (row > 0 && row + 1 < values.len()).then(|| {
            let [before, most, after] = [values[row - 1], values[row], values[row + 1]];
            let curvature = before - 2.0 * most + after;
            if curvature < 0.0 { 0.5 * (before - after) / curvature } else { 0.0 }
        });
        Some(Self { row, shift })
    }

    /// The value of the parabola through what `of` the three rows is.
    fn between(&self, of: impl Fn(usize) -> f64) -> f64 {
        let Some(shift) = self.shift else { return of(self.row) };
        let [before, here, after] = [of(self.row - 1), of(self.row), of(self.row + 1)];
        here + 0.5 * shift * (after - before + shift * (before - 2.0 * here + after))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_largest_of_a_parabola_is_found_between_its_values() {
        let parabola = |x: f64| 7.0 - 0.5 * (x - 3.3) * (x - 3.3);
        let values: Vec<f64> = (0..8).map(|x| parabola(f64::from(x))).collect();
        let vertex = Vertex::of(values.iter().copied()).expect("values");
        assert!(vertex.row == 3 && (vertex.between(|row| values[row]) - 7.0).abs() < 1e-12);
        // What else stands there, linear here.
        assert!((vertex.between(|row| 2.0 * row as f64) - 6.6).abs() < 1e-12);
        for rising in [vec![1.0, 2.0, 4.0], vec![4.0]] {
            let vertex = Vertex::of(rising.iter().copied()).expect("values");
            assert!((vertex.between(|row| rising[row]) - 4.0).abs() < 1e-15, "{rising:?}");
        }
    }
}
