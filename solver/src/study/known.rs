//! A case at a point and what it comes to, without a result file.

use super::Figures;
use super::driven::{Course, Seen};
use crate::case::{Built, Case, Task};
use crate::error::{CaseError, Error, Problem};
use crate::loss::Deviations;
use crate::march::slow::{Steady, steady};
use crate::network::{Network, Work};

/// A case at a point whose figures are known, from which those of its neighbours are found.
#[derive(Debug)]
pub struct KnownPoint {
    /// The network.
    pub network: Network,
    /// The steady state; of a pull, a throttle step or a roll-on the one from which it sets off.
    pub y: Vec<f64>,
    /// Flows of the joints in it [kg/s].
    pub z: Vec<f64>,
    /// What the point comes to.
    pub figures: Figures,
    /// Of a pull the power [W] over the crank speed [rad/s], row by row; else empty.
    pub power: Vec<[f64; 2]>,
}

impl KnownPoint {
    /// What `case` comes to at `point`, sought from rest.
    ///
    /// # Errors
    /// The point has phases, the case does not build, there is no steady state, or a roll-on does not reach its speed.
    pub fn of(case: &Case, point: &str) -> Result<Self, Error> {
        Self::watched(case, point, None, Deviations::default(), &mut |_, _| Ok(()))
    }

    /// What `case`, a neighbour of the case of this one, comes to at `point`: with the same number of cells in each duct, and sought from the
    /// state of this one. The published laws of loss are moved by `deviations`.
    ///
    /// # Errors
    /// As for [`KnownPoint::of`].
    pub fn neighbour(&self, case: &Case, point: &str, deviations: Deviations) -> Result<Self, Error> {
        Self::watched(case, point, Some(self), deviations, &mut |_, _| Ok(()))
    }

    /// As [`KnownPoint::of`], or where there is a neighbour as [`KnownPoint::neighbour`] of that; each instant of a pull, a throttle step or a
    /// roll-on is `seen`.
    pub(super) fn watched(
        case: &Case,
        point: &str,
        neighbour: Option<&Self>,
        deviations: Deviations,
        seen: Seen<'_>,
    ) -> Result<Self, Error> {
        if let Some(phase) = case.phases(point).first() {
            let problem = Problem {
                location: phase.location.clone(),
                path: format!("points.{point}.phases"),
                found: "a point that is a course of phases".to_owned(),
                expected: "a point that is one state of the car, a pull, a throttle step or a roll-on".to_owned(),
                nearest: None,
            };
            return Err(CaseError { problems: vec![problem] }.into());
        }
        let built = match neighbour {
            Some(known) => case.build_meshed_as(point, &known.network, deviations)?,
            None => case.build_deviating(point, deviations)?,
        };
        let same = neighbour.filter(|known| built.network.layout == known.network.layout);
        let (mut y, z) = same.map_or_else(
            || (built.initial.clone(), vec![0.0; built.network.layout.unknowns]),
            |known| (known.y.clone(), known.z.clone()),
        );
        built.network.give_drive(&built.initial, &mut y);
        Self::find(case, point, built, [y, z], seen)
    }

    /// All that stands in its network.
    ///
    /// # Errors
    /// A state that means nothing.
    pub fn work(&self) -> Result<Work, Error> {
        evaluated(&self.network, &self.y, &self.z)
    }

    /// What `case`, which is `built` at `point`, comes to: sought from the state of `base` where it has the same layout of unknowns, else from rest.
    ///
    /// # Errors
    /// As for [`KnownPoint::of`].
    pub fn near(base: Option<&Self>, case: &Case, point: &str, built: Built) -> Result<Self, Error> {
        let Some(base) = base.filter(|base| base.network.layout == built.network.layout) else {
            let (y, z) = (built.initial.clone(), vec![0.0; built.network.layout.unknowns]);
            return Self::find(case, point, built, [y, z], &mut |_, _| Ok(()));
        };
        let mut y = base.y.clone();
        built.network.give_drive(&built.initial, &mut y);
        Self::find(case, point, built, [y, base.z.clone()], &mut |_, _| Ok(()))
    }

    fn find(case: &Case, point: &str, built: Built, [y, z]: [Vec<f64>; 2], seen: Seen<'_>) -> Result<Self, Error> {
        let task = case.points.iter().find(|known| known.name == point).map_or(&Task::Hold, |known| &known.task);
        match task {
            Task::Hold => Self::steady(built.network, y, z),
            task => {
                let course = Course::of(&built, y, z, seen)?;
                let figures = course.figures(task).ok_or_else(|| not_reached(case, point, &course))?;
                let is_pull = matches!(task, Task::Pull { .. });
                let rows = course.rows.iter().filter(|_| is_pull).map(|row| [row.engine.crank_speed, row.engine.power]);
                let power = rows.collect();
                let Course { y, z, .. } = course;
                Ok(Self { network: built.network, y, z, figures, power })
            }
        }
    }

    fn steady(network: Network, y: Vec<f64>, z: Vec<f64>) -> Result<Self, Error> {
        let Steady { y, z, .. } = steady(&network, 0.0, y, z)?;
        let work = evaluated(&network, &y, &z)?;
        let figures = Figures::of(&network, &y, &work);
        Ok(Self { network, y, z, figures, power: Vec::new() })
    }
}

/// All that stands in `network` in the state `y` with the flows `z`.
fn evaluated(network: &Network, y: &[f64], z: &[f64]) -> Result<Work, Error> {
    let mut work = network.work();
    let (mut rates, mut mismatches) = (vec![0.0; y.len()], vec![0.0; z.len()]);
    let evaluated = network.residual(0.0, y, z, &mut work, &mut rates, &mut mismatches);
    evaluated.map_err(|fault| fault.at(0.0, 0))?;
    Ok(work)
}

/// A roll-on or a throttle step that does not come to where it is measured.
fn not_reached(case: &Case, point: &str, course: &Course) -> Error {
    let ended = course.rows.last().map_or(0.0, |row| row.engine.time);
    let problem = Problem {
        location: case.location(&format!("points.{point}")),
        path: format!("points.{point}"),
        found: format!("a run that has not come to its end after {ended:.1} s"),
        expected: "a road speed, or nine tenths of a charge pressure, that the engine reaches".to_owned(),
        nearest: None,
    };
    CaseError { problems: vec![problem] }.into()
}

/// What `case` comes to at `point`, whatever the point is: in a steady state that state; at a pull its largest power and torque, with what
/// stands at the largest power; at a roll-on its time; at a throttle step the time of the response.
///
/// # Errors
/// As for [`KnownPoint::of`].
pub fn figures_of(case: &Case, point: &str) -> Result<Figures, Error> {
    Ok(KnownPoint::of(case, point)?.figures)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::REST;
    use crate::study::{Of, Quantity};

    /// Rise of the air's temperature [K] over a plenum and a duct with these walls.
    fn rise(of_box: &str, of_tube: &str) -> f64 {
        let text = format!(
            "outside: {{pressure: 100 kPa, temperature: 20 degC}}\nparts:\n  nose: {{kind: mouth, from: outside, area: 60 cm2}}\n  \
             box: {{kind: plenum, volume: 8 L, surface: 0.4 m2{of_box}}}\n  tube: {{kind: duct, length: 300 mm, diameter: 70 mm{of_tube}}}\n  \
             turbo: {{kind: draw, flow: 200 g/s}}\nflow: [[nose, box, tube, turbo]]\n"
        );
        let case = Case::from_text("tract", &text).expect("a case");
        let figures = KnownPoint::of(&case, REST).expect("a state").figures;
        figures.value(Quantity::InletTemperature, &Of::Whole).expect("a temperature") - 293.15
    }

    #[test]
    fn the_air_feels_the_factor_on_the_film_of_a_wall() {
        let wall = |factor: &str| format!(", wall: {{temperature: 80 degC, film_factor: {factor}}}");
        for (once, twice) in
            [(rise(&wall("1"), ""), rise(&wall("2"), "")), (rise("", &wall("1")), rise("", &wall("2")))]
        {
            // A stirred volume takes in `a / (1 + a)` of the difference, a duct `1 - exp(-a)`, with `a` film times surface over flow times heat
            // capacity, some hundredths here.
            assert!(once > 0.3 && twice / once > 1.9 && twice / once < 2.0, "{once} {twice}");
        }
        let plain = rise("", ", wall: {temperature: 80 degC}");
        assert!((rise("", &wall("1")) / plain - 1.0).abs() < 1e-9);
    }
}
