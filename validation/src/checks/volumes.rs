//! Vessels that empty and fill, and two rooms with a doorway between them.

use crate::case_text::{CaseText, settled, smooth_duct};
use crate::check::{Check, Failure, Group, Limit, Row, rows_only};
use crate::data;
use crate::marched::Tract;
use crate::oracle::orifice::Opening;
use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::root::bisect;
use std::f64::consts::PI;

/// Checks of volumes.
pub const GROUP: Group = Group {
    name: "volumes",
    about: "stored volumes and the openings between them",
    checks: &[
        Check {
            name: "blowdown",
            about: "a vessel of 10 litres that empties through a choked opening of 1 cm2",
            source: "closed form of the ideal gas, as in Moran and Shapiro, Fundamentals of Engineering Thermodynamics, section 4.12",
            run: || rows_only(blowdown()),
        },
        Check {
            name: "filling",
            about: "temperature and mass of a vessel that air fills without heat loss",
            source: "m = m_i + (p - p_i) V / (gamma R T_in): Moran and Shapiro, section 4.12",
            run: || rows_only(filling()),
        },
        Check {
            name: "two_rooms",
            about: "two rooms of 3 litres joined by a doorway of 300 cm2 that 0.4 kg/s pass, at three lengths of step",
            source: "one velocity head, isentropic: Heywood (1988), appendix C",
            run: || rows_only([0.8, 0.4, 0.1].into_iter().map(doorway).collect()),
        },
    ],
};

const GAS: PerfectGas = PerfectGas::AIR;

/// A vessel of 10 litres with an ideal opening of 1 cm2 to the outside at 101325 Pa and 300 K, marched from a state [Pa], [K] until a
/// time [s].
fn vessel(pressure: f64, temperature: f64, until: f64) -> String {
    CaseText::new(101_325.0, 300.0)
        .part("vessel", "kind: plenum, volume: 10 L")
        .part("opening", "kind: orifice_plate, area: 1 cm2, discharge_coefficient: 1")
        .line(&["vessel", "opening", "outside"])
        .initial_volume("vessel", pressure, temperature)
        .run(format!("march: acoustic, until: {until} s"))
        .text()
}

/// Pressure [Pa] and temperature [K] of a vessel at the end of a case, and the mass in it [kg].
fn ended(text: &str) -> Result<(f64, f64, f64), Failure> {
    let tract = Tract::read(text)?;
    let marched = tract.march()?;
    let (pressure, temperature) = marched.volume("vessel")?;
    Ok((pressure, temperature, marched.march.network.stored(&marched.march.y)[0]))
}

fn blowdown() -> Result<Vec<Row>, Failure> {
    const LIMIT: Limit = Limit { value: 3e-3, why: "the air in the opening needs its time to start" };
    let mut rows = Vec::new();
    for row in data::case(data::VESSELS, "blowdown_choked")? {
        let time = row.number("t_s")?;
        if time > 0.0 {
            let (pressure, temperature, _) = ended(&vessel(5e5, 300.0, time))?;
            rows.push(Row::relative(format!("pressure after {time} s [Pa]"), pressure, row.number("p_Pa")?, LIMIT));
            rows.push(Row::relative(format!("temperature after {time} s [K]"), temperature, row.number("T_K")?, LIMIT));
        }
    }
    Ok(rows)
}

fn filling() -> Result<Vec<Row>, Failure> {
    const LIMIT: Limit = Limit { value: 1e-10, why: "the balances of mass and energy, whatever the flow" };
    const START: (f64, f64) = (5e4, 300.0);
    let (pressure, temperature, mass) = ended(&vessel(START.0, START.1, 0.1))?;
    let at_start = START.0 * 0.01 / (GAS.gas_constant * START.1);
    let filled = at_start + (pressure - START.0) * 0.01 / (GAS.gamma * GAS.gas_constant * 300.0);
    let warmed = pressure * 0.01 / (filled * GAS.gas_constant);
    const PROGRESS: Limit = Limit { value: 0.0, why: "the vessel must have filled, or nothing is compared" };
    Ok(vec![
        Row::at_least("pressure that was reached [Pa]", pressure, 7e4, PROGRESS),
        Row::relative("mass [kg]", mass, filled, LIMIT),
        Row::relative("temperature [K]", temperature, warmed, LIMIT),
    ])
}

/// Row of the pressure between two rooms at a Courant number.
fn doorway(courant: f64) -> Result<Row, Failure> {
    const FLOW: f64 = 0.4;
    const AREA: f64 = 0.03;
    let text = CaseText::new(101_325.0, 300.0)
        .part("feed", format!("kind: inflow, flow: {FLOW} kg/s, temperature: 300 K"))
        .part("first", "kind: plenum, volume: 3 L")
        .part("doorway", format!("kind: orifice_plate, area: {AREA} m2, discharge_coefficient: 1"))
        .part("second", "kind: plenum, volume: 3 L")
        .part("pipe", smooth_duct(0.3, 2.0 * (AREA / PI).sqrt()))
        .part("bench", "kind: draw, depression: 0 Pa")
        .line(&["feed", "first", "doorway", "second", "pipe", "bench"])
        .run(format!("{}, courant: {courant}", settled(0.03)))
        .text();
    let tract = Tract::read(&text)?;
    let marched = tract.march()?;
    let ((before, temperature), (behind, _)) = (marched.volume("first")?, marched.volume("second")?);
    let quantity = format!("pressure between the rooms, Courant number {courant} [Pa]");
    const LIMIT: Limit =
        Limit { value: 1e-5, why: "the same closed form; a steady state must not carry the step in it" };
    let exact = rise(FLOW, AREA, behind, temperature).unwrap_or(f64::NAN);
    Ok(Row::relative(quantity, before - behind, exact, LIMIT))
}

/// Total pressure before an opening over the pressure [Pa] behind it, at a mass flow [kg/s] of a total temperature [K].
fn rise(mass_flow: f64, effective_area: f64, behind: f64, total_temperature: f64) -> Option<f64> {
    bisect(0.0, behind, |rise| {
        Opening { gas: GAS, effective_area, total_pressure: behind + rise, total_temperature }.mass_flow(behind)
            - mass_flow
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_doorway_takes_one_head() {
        // 0.4 kg/s of 1.1766 kg/m^3 through 0.03 m^2 is 11.33 m/s, of which the head is 75.6 Pa.
        assert!((rise(0.4, 0.03, 101_325.0, 300.0).unwrap() - 75.6).abs() < 0.1);
    }
}
