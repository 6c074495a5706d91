//! The steady state of a case at a point, without a result file.

use super::Figures;
use crate::case::{Built, Case, Task};
use crate::error::{CaseError, Error, Problem};
use crate::loss::Deviations;
use crate::march::slow::{Steady, steady};
use crate::network::Network;

/// A case at a point in its steady state.
#[derive(Debug)]
pub struct SteadyPoint {
    /// The network.
    pub network: Network,
    /// State.
    pub y: Vec<f64>,
    /// Flows of the joints [kg/s].
    pub z: Vec<f64>,
    /// What it comes to.
    pub figures: Figures,
}

impl SteadyPoint {
    /// The steady state of `case` at `point`, with what holds at the start of a course in time.
    ///
    /// # Errors
    /// The point has phases, the case does not build, or there is no steady state.
    pub fn of(case: &Case, point: &str) -> Result<Self, Error> {
        if let Some(phase) = case.phases(point).first() {
            let problem = Problem {
                location: phase.location.clone(),
                path: format!("points.{point}.phases"),
                found: "a point that is a course of phases".to_owned(),
                expected: "a point that is one state of the car".to_owned(),
                nearest: None,
            };
            return Err(CaseError { problems: vec![problem] }.into());
        }
        let moving = case.points.iter().find(|known| known.name == point).filter(|known| known.task != Task::Hold);
        if let Some(moving) = moving {
            let problem = Problem {
                location: moving.location.clone(),
                path: format!("points.{point}"),
                found: "a point at which the engine or the car changes its speed".to_owned(),
                expected: "a point that is one state of the car".to_owned(),
                nearest: None,
            };
            return Err(CaseError { problems: vec![problem] }.into());
        }
        let Built { network, initial, .. } = case.build(point)?;
        let z = vec![0.0; network.layout.unknowns];
        let found = steady(&network, 0.0, initial, z)?;
        Self::at(network, found)
    }

    /// The steady state of `case`, a neighbour of the case of this one, at `point`: with the same number of cells in each duct, and sought
    /// from this state. The published laws of loss are moved by `deviations`.
    ///
    /// # Errors
    /// As for [`SteadyPoint::of`].
    pub fn neighbour(&self, case: &Case, point: &str, deviations: Deviations) -> Result<Self, Error> {
        let Built { network, initial, .. } = case.build_meshed_as(point, &self.network, deviations)?;
        let from_rest = || steady(&network, 0.0, initial.clone(), vec![0.0; network.layout.unknowns]);
        let found = if network.layout == self.network.layout {
            steady(&network, 0.0, self.y.clone(), self.z.clone()).or_else(|_| from_rest())
        } else {
            from_rest()
        };
        Self::at(network, found?)
    }

    fn at(network: Network, found: Steady) -> Result<Self, Error> {
        let Steady { y, z, .. } = found;
        let mut work = network.work();
        let (mut rates, mut mismatches) = (vec![0.0; y.len()], vec![0.0; z.len()]);
        let evaluated = network.residual(0.0, &y, &z, &mut work, &mut rates, &mut mismatches);
        evaluated.map_err(|fault| fault.at(0.0, 0))?;
        let figures = Figures::of(&network, &y, &work);
        Ok(Self { network, y, z, figures })
    }
}

/// The figures of `case` at `point` in its steady state.
///
/// # Errors
/// As for [`SteadyPoint::of`].
pub fn steady_figures(case: &Case, point: &str) -> Result<Figures, Error> {
    Ok(SteadyPoint::of(case, point)?.figures)
}
