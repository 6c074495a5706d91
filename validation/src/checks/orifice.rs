//! Sharp-edged openings: the flow they pass, choked or not, and what they lose in a duct.

use crate::bench::Bench;
use crate::case_text::{CaseText, mouth, settled, smooth_duct};
use crate::check::{Check, Failure, Group, Limit, Row, rows_only};
use crate::data;
use crate::marched::{Reading, Tract};
use crate::oracle::handbook::{corner_tap_coefficient, plate_lasting_share};
use crate::oracle::orifice::Opening;
use crate::oracle::perfect_gas::PerfectGas;
use std::f64::consts::PI;
use tractwright::flow::End;
use tractwright::loss::orifice::reader_harris_gallagher;

/// Checks of openings.
pub const GROUP: Group = Group {
    name: "orifice",
    about: "openings and orifice plates, up to choking",
    checks: &[
        Check {
            name: "opening_flow",
            about: "an ideal opening from a duct into a tank, from 500 Pa to beyond choking",
            source: "Heywood (1988), Internal Combustion Engine Fundamentals, appendix C",
            run: || rows_only(DEPRESSIONS.into_iter().map(discharge).collect()),
        },
        Check {
            name: "plate_coefficient",
            about: "discharge coefficient of a plate with corner taps",
            source: "ISO 5167-2:2003, equation 4 (Reader-Harris and Gallagher), evaluated by a public library",
            run: || rows_only(plate_coefficient()),
        },
        Check {
            name: "plate_lasting_loss",
            about: "total pressure lost by a plate in a duct",
            source: "ISO 5167-2:2003, sections 5.3 and 5.4",
            run: || rows_only(Ok(vec![lasting_loss(0.4)?, lasting_loss(0.6)?])),
        },
    ],
};

const GAS: PerfectGas = PerfectGas::AIR;
/// Depressions of the bench [Pa]; the last two choke the opening.
const DEPRESSIONS: [f64; 5] = [500.0, 5e3, 2e4, 5e4, 6e4];
/// Diameter of the opening [m].
const HOLE: f64 = 0.04;

/// Row of the flow through an opening into a tank that a bench holds at a `depression` [Pa].
fn discharge(depression: f64) -> Result<Row, Failure> {
    let text = CaseText::new(1e5, 300.0)
        .part("mouth", mouth(0.08))
        .part("pipe", smooth_duct(0.2, 0.08))
        .part("opening", format!("kind: orifice_plate, diameter: {HOLE} m, discharge_coefficient: 1"))
        .part("tank", "kind: plenum, volume: 3 L")
        .part("hose", smooth_duct(0.2, 0.08))
        .part("bench", format!("kind: draw, depression: {depression} Pa"))
        .line(&["mouth", "pipe", "opening", "tank", "hose", "bench"])
        .run(settled(0.02))
        .text();
    let tract = Tract::read(&text)?;
    let marched = tract.march()?;
    let (pressure, _) = marched.volume("tank")?;
    Ok(opening_row(0.25 * PI * HOLE * HOLE, &marched.rake("pipe", End::Last)?, pressure))
}

/// Row of an opening of an effective area [m^2] that discharges from a duct into a volume at `back_pressure` [Pa].
#[must_use]
pub fn opening_row(effective_area: f64, before: &Reading, back_pressure: f64) -> Row {
    const LIMIT: Limit = Limit { value: 1e-6, why: "the same closed formula, through the linear part of slow flow" };
    let Reading { mass_flow, total_pressure, total_temperature, .. } = *before;
    let opening = Opening { gas: GAS, effective_area, total_pressure, total_temperature };
    let quantity = format!("mass flow at {:.3} of the total pressure [kg/s]", back_pressure / total_pressure);
    Row::relative(quantity, mass_flow, opening.mass_flow(back_pressure), LIMIT)
}

fn plate_coefficient() -> Result<Vec<Row>, Failure> {
    const LIMIT: Limit = Limit { value: 1e-8, why: "the same closed formula; the table has 9 digits" };
    let mut pairs = Vec::new();
    for row in data::rows(data::PLATE_COEFFICIENTS)? {
        if row.text("taps")? == "corner" {
            let value = |column| row.number(column);
            let found = reader_harris_gallagher(value("beta")?, value("D_m")?, value("Re_D")?);
            pairs.push((found, value("C")?));
        }
    }
    Ok(vec![Row::worst("discharge coefficient", pairs, LIMIT)])
}

/// Row of what a plate of a diameter ratio loses in a duct of 100 mm at a tap difference of some hundred pascals.
fn lasting_loss(diameter_ratio: f64) -> Result<Row, Failure> {
    const LIMIT: Limit = Limit { value: 5e-3, why: "the standard's uncertainty of the discharge coefficient" };
    const DIAMETER: f64 = 0.1;
    let hole = diameter_ratio * DIAMETER;
    let area = 0.25 * PI * hole * hole;
    let bench = Bench::straight(DIAMETER, format!("kind: orifice_plate, diameter: {hole} m"), 10.0 * area);
    let [before, behind] = bench.measure()?;
    let coefficient = corner_tap_coefficient(diameter_ratio, DIAMETER, 2e5);
    let density = before.pressure / (GAS.gas_constant * before.total_temperature);
    let approach = 1.0 - libm::pow(diameter_ratio, 4.0);
    let flux = before.mass_flow / (coefficient * area);
    let difference = 0.5 * approach * flux * flux / density;
    let quantity = format!("lasting loss at diameter ratio {diameter_ratio} [Pa]");
    let reference = difference * plate_lasting_share(coefficient, diameter_ratio);
    Ok(Row::relative(quantity, before.total_pressure - behind.total_pressure, reference, LIMIT))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_right_flow_holds_and_the_incompressible_one_does_not() {
        let opening = Opening { gas: GAS, effective_area: 1e-3, total_pressure: 1e5, total_temperature: 300.0 };
        let reading = |mass_flow| Reading { mass_flow, pressure: 1e5, total_pressure: 1e5, total_temperature: 300.0 };
        assert!(opening_row(1e-3, &reading(opening.mass_flow(9e4)), 9e4).holds());
        assert!(!opening_row(1e-3, &reading(opening.incompressible_mass_flow(9e4)), 9e4).holds());
    }
}
