//! Levers of a wire mesh between still air and a chamber from which a given flow is drawn.

use crate::check::{Failure, Findings, Limit, Row, rows_only};
use tractwright::case::{Case, REST};
use tractwright::error::Error;
use tractwright::study::Aim;
use tractwright::study::levers::{Levers, Outcome};

/// Specific gas constant of dry air [J/(kg K)].
const GAS_CONSTANT: f64 = 287.05;

const LIMIT: Limit = Limit { value: 2e-3, why: "the closed form leaves out squares of a Mach number of 0.02 to 0.06" };

/// Share of the mesh that is open, its area [m^2], flow [kg/s], temperature [K] and pressure [Pa] of the air before it.
#[derive(Clone, Copy)]
struct Mesh {
    open: f64,
    area: f64,
    flow: f64,
    temperature: f64,
    pressure: f64,
}

/// The rows.
pub(super) fn mesh() -> Result<Findings, Failure> {
    let meshes = [
        Mesh { open: 0.4, area: 0.02, flow: 0.08, temperature: 290.0, pressure: 97e3 },
        Mesh { open: 0.7, area: 0.012, flow: 0.1, temperature: 305.0, pressure: 101e3 },
    ];
    let rows: Result<Vec<_>, Failure> = meshes.into_iter().map(rows).collect();
    rows_only(Ok(rows?.concat()))
}

fn rows(mesh: Mesh) -> Result<Vec<Row>, Failure> {
    let case = Case::from_text("mesh", &mesh.case()).map_err(Error::from)?;
    let levers = Levers::new(case, REST, Aim::Pressure, None)?;
    let open = mesh.open;
    let named = |path: &str, exact: f64| -> Result<Row, Failure> {
        let found = levers.numbers().iter().position(|number| number.path == path);
        let outcome = found.map(|index| levers.lever(index));
        let Some(Outcome::Moves(lever)) = outcome else { return Err(Failure::Missing(format!("lever {path}"))) };
        Ok(Row::relative(format!("open {open}: dp/d {path}, SI"), lever.derivative, exact, LIMIT))
    };
    let Mesh { area, flow, temperature, pressure, .. } = mesh;
    let (loss, behind) = (mesh.loss(), (pressure * pressure - mesh.loss()).sqrt());
    let per = |value: f64, power: f64| -0.5 * power * loss / (value * behind);
    Ok(vec![
        named("parts.mesh.area", per(area, -2.0))?,
        named("parts.mesh.open_area", -0.5 * loss * heads_slope(open) / (heads(open) * behind))?,
        named("parts.turbo.flow", per(flow, 2.0))?,
        named("outside.temperature", per(temperature, 1.0))?,
        named("outside.pressure", pressure / behind)?,
    ])
}

impl Mesh {
    fn case(&self) -> String {
        let Self { open, area, flow, temperature, pressure } = self;
        format!(
            "outside: {{pressure: {pressure} Pa, temperature: {temperature} K}}\nparts:\n  \
             mesh: {{kind: screen, pattern: wire_mesh, open_area: {open}, area: {area} m2}}\n  \
             chamber: {{kind: plenum, volume: 20 L}}\n  turbo: {{kind: draw, flow: {flow} kg/s, bore: 160 mm}}\n\
             flow: [[outside, mesh, chamber], [chamber, turbo]]\nrun: {{until: steady}}\n"
        )
    }

    /// Fall of the square of the pressure [Pa^2]: at constant temperature p dp = K (m/A)^2 R T / 2.
    fn loss(&self) -> f64 {
        let flux = self.flow / self.area;
        heads(self.open) * GAS_CONSTANT * self.temperature * flux * flux
    }
}

/// Heads of the whole area that the mesh and the end of its jets take.
fn heads(open: f64) -> f64 {
    let jet = 1.0 / open - 1.0;
    1.3 * (1.0 - open) + jet * jet + 1.0 / (open * open)
}

/// Their derivative in the open share.
fn heads_slope(open: f64) -> f64 {
    -1.3 - 2.0 * (1.0 / open - 1.0) / (open * open) - 2.0 / (open * open * open)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slightly_wrong_derivative_is_seen() {
        assert!(!Row::relative("lever", 1.003, 1.0, LIMIT).holds());
        let slope = (heads(0.501) - heads(0.499)) / 0.002;
        assert!((slope / heads_slope(0.5) - 1.0).abs() < 1e-4);
    }
}
