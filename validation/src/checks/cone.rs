//! Steady flow with friction through a cone: a small loss between large pressures, which shows every error of cells and joints.
//!
//! The exact flow starts from what a rake reads at the first face, so that the loss of the mouth is not laid to the duct.

use crate::bench_pipe::total_pressure;
use crate::case_text::{CaseText, draw, duct, mouth, sections_at_faces, settled};
use crate::check::{Check, Failure, Findings, Group, Limit, Row};
use crate::figure::Figure;
use crate::marched::{Reading, Tract};
use crate::oracle::pipe_flow::{Inlet, Pipe};
use tractwright::flow::End;

/// Checks of the cone.
pub const GROUP: Group = Group {
    name: "cone",
    about: "a small loss between large pressures, and what the time step does to it",
    checks: &[Check {
        name: "cone_loss",
        about: "total-pressure loss of a cone with friction, at two Courant numbers",
        source: "Shapiro (1953), The Dynamics and Thermodynamics of Compressible Fluid Flow, volume 1, table 8.1, integrated",
        run: || {
            let (coarse, fine) = (measured(0.8)?, measured(0.4)?);
            Ok(Findings::from(BenchCone.rows(coarse.rakes, fine.rakes)?).with(along(&coarse)?))
        },
    }],
};

/// What was measured at the cone.
struct Measured {
    /// Rakes at both ends.
    rakes: [Reading; 2],
    /// Places [m] and total pressures [Pa] of the cells.
    total_pressures: Vec<(f64, f64)>,
}

fn measured(courant: f64) -> Result<Measured, Failure> {
    let tract = Tract::read(&BenchCone.case(courant))?;
    let marched = tract.march()?;
    let rakes = [marched.rake("cone", End::First)?, marched.rake("cone", End::Last)?];
    let total_pressures = marched.cells("cone")?.iter().map(|cell| (cell.middle(), total_pressure(cell))).collect();
    Ok(Measured { rakes, total_pressures })
}

/// Picture of what is lost up to each place.
fn along(measured: &Measured) -> Result<Figure, Failure> {
    let inlet = inlet(&measured.rakes[0]);
    let places = measured.total_pressures.iter().map(|(place, _)| *place);
    let exact = Pipe::CONE.along(&inlet, places).ok_or_else(|| Failure::NoSolution("the cone".to_owned()))?;
    let lost = |(place, pressure): &(f64, f64)| (*place, inlet.total_pressure - pressure);
    let line = measured.total_pressures.iter().zip(&exact);
    Ok(Figure::new("Total pressure lost along a cone", "place [m]", "lost [Pa]")
        .computed("cells", measured.total_pressures.iter().map(lost))
        .reference("exact", line.map(|((place, _), exact)| lost(&(*place, exact.total_pressure)))))
}

fn inlet(rake: &Reading) -> Inlet {
    let Reading { mass_flow, total_pressure, total_temperature, .. } = *rake;
    Inlet { mass_flow, total_pressure, total_temperature }
}

/// The cone of 0.6 m from 100 mm to 70 mm with f = 0.018 that 0.2 kg/s pass from 98586 Pa and 300 K, both total.
#[derive(Debug, Clone, Copy, Default)]
pub struct BenchCone;

impl BenchCone {
    /// Cells of the cone.
    pub const CELLS: u32 = 60;

    /// The case file at a Courant number: parts `mouth`, `cone`, `draw`.
    #[must_use]
    pub fn case(&self, courant: f64) -> String {
        let Pipe { inlet_diameter, length, friction_factor, .. } = Pipe::CONE;
        let cell = length / f64::from(Self::CELLS);
        let sections = sections_at_faces(length, Self::CELLS, |at| Pipe::CONE.diameter(at));
        CaseText::new(98_586.0, 300.0)
            .part("mouth", mouth(inlet_diameter))
            .part("cone", duct(length, &sections, friction_factor))
            .part("draw", draw(0.2, 98_495.7, 300.0))
            .line(&["mouth", "cone", "draw"])
            .run(format!("{}, courant: {courant}", settled(cell)))
            .text()
    }

    /// Rows from rakes at the first and last face, at Courant numbers 0.8 and 0.4.
    ///
    /// # Errors
    /// When the flow that was read would choke the cone.
    pub fn rows(&self, coarse: [Reading; 2], fine: [Reading; 2]) -> Result<Vec<Row>, Failure> {
        const LOSS: Limit = Limit { value: 1e-3, why: "a second-order scheme on 60 cells, joints included" };
        const SAME: Limit = Limit { value: 1e-6, why: "a steady state must not carry the step in it" };
        let loss = |[inlet, outlet]: [Reading; 2]| inlet.total_pressure - outlet.total_pressure;
        let inlet = inlet(&coarse[0]);
        let exact = Pipe::CONE.total_pressure_loss(&inlet).ok_or_else(|| Failure::NoSolution("the cone".to_owned()))?;
        Ok(vec![
            Row::relative("total-pressure loss [Pa]", loss(coarse), exact, LOSS),
            Row::relative("the same, Courant 0.8 against 0.4 [Pa]", loss(coarse), loss(fine), SAME),
        ])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::marched::perfect::reading;

    #[test]
    fn the_exact_cone_holds_and_a_step_in_its_loss_does_not() {
        let inlet = reading(0.2, 98_586.0, 300.0);
        let outlet = |loss: f64| reading(0.2, 98_586.0 - loss, 300.0);
        let good = BenchCone.rows([inlet, outlet(81.754)], [inlet, outlet(81.754)]).unwrap();
        assert!(good.iter().all(Row::holds));
        let bad = BenchCone.rows([inlet, outlet(82.42)], [inlet, outlet(82.0)]).unwrap();
        assert!(!bad.iter().any(Row::holds));
    }
}
