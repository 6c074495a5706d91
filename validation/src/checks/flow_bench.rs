//! A flow bench: what an opening of 1 cm2 passes at the depressions of the trade.

mod virtual_bench;

use crate::case_text::CaseText;
use crate::check::{Check, Failure, Findings, Group, Limit, Row, rows_only};
use crate::data;
use crate::figure::Figure;
use crate::marched::{Marched, Tract};
use crate::oracle::orifice::Opening;
use crate::oracle::perfect_gas::PerfectGas;
use rayon::prelude::*;

/// Checks of the flow bench.
pub const GROUP: Group = Group {
    name: "flow_bench",
    about: "flow at a given depression",
    checks: &[
        Check {
            name: "bench_flow",
            about: "an ideal opening of 1 cm2 between the outside and a tank that a bench holds at 3 to 28 inH2O",
            source: "isentropic flow: Heywood (1988), Internal Combustion Engine Fundamentals, appendix C; inH2O at 4 degC",
            run: bench,
        },
        Check {
            name: "bench_arithmetic",
            about: "effective areas, their sum in series, conversion between depressions",
            source: "table: incompressible and isentropic flow, Heywood (1988), appendix C; the worked example: an anonymous bench sheet, whose \
                     flows are taken as given: what is checked is arithmetic",
            run: || rows_only(virtual_bench::arithmetic()),
        },
        Check {
            name: "bench_conversion",
            about: "the virtual bench on an ideal opening, at 10 and 28 inH2O and converted from one to the other",
            source: "isentropic flow: Heywood (1988), appendix C",
            run: || rows_only(virtual_bench::conversion()),
        },
        Check {
            name: "bench_plate",
            about: "the virtual bench on sharp-edged plates in a duct of 100 mm with a radiused entry, with the plate and without",
            source: "ISO 5167-2:2003, equations 4 and 5, corner taps; entry K 0.03, Idelchik diagram 3-4",
            run: || rows_only(virtual_bench::plates()),
        },
    ],
};

/// Pressure outside [Pa].
const PRESSURE: f64 = 101_325.0;

/// A row of the table, met by a march.
struct Point {
    depression: f64,
    temperature: f64,
    flow: f64,
    /// Ideal flow at the pressure that stands in the tank.
    exact: f64,
    /// The same if the air did not expand.
    incompressible: f64,
    tabled: f64,
}

/// Mass flow [kg/s] through the joint that the opening stands in.
fn through_opening(marched: &Marched<'_>) -> Result<f64, Failure> {
    let joint =
        marched.march.network.joints.iter().position(|joint| joint.losses.iter().any(|loss| loss.part == "opening"));
    let flow = joint.and_then(|joint| marched.march.work.joints[joint].series()).map(|series| series.mass_flow);
    flow.ok_or_else(|| Failure::Missing("flow through the opening".to_owned()))
}

fn measure(row: &data::Row) -> Result<Point, Failure> {
    let (depression, temperature) = (row.number("dp_inH2O")?, row.number("T_K")?);
    let text = CaseText::new(PRESSURE, temperature)
        .part("opening", "kind: orifice_plate, area: 1 cm2, discharge_coefficient: 1")
        .part("tank", "kind: plenum, volume: 1 L")
        .part("bench", format!("kind: draw, depression: {depression} inH2O, bore: 60 mm"))
        .line(&["outside", "opening", "tank", "bench"])
        .run("until: 0.3 s")
        .text();
    let tract = Tract::read(&text)?;
    let marched = tract.march()?;
    let opening = Opening {
        gas: PerfectGas::AIR,
        effective_area: 1e-4,
        total_pressure: PRESSURE,
        total_temperature: temperature,
    };
    let (behind, _) = marched.volume("tank")?;
    Ok(Point {
        depression,
        temperature,
        flow: through_opening(&marched)?,
        exact: opening.mass_flow(behind),
        incompressible: opening.incompressible_mass_flow(behind),
        tabled: row.number("mdot_1cm2_kg_s")?,
    })
}

fn bench() -> Result<Findings, Failure> {
    const LIMIT: Limit = Limit {
        value: 1e-5,
        why: "the same closed form at the pressure in the tank, through the linear part of slow flow",
    };
    const NOMINAL: Limit =
        Limit { value: 1e-2, why: "the mouth of the bench takes up to 9 Pa, one hundredth of the least depression" };
    let table = data::rows(data::FLOW_BENCH)?;
    let points = table.par_iter().map(measure).collect::<Result<Vec<_>, _>>()?;
    let mut rows = Vec::new();
    for point in &points {
        let name = format!("{} inH2O, {} K: mass flow [kg/s]", point.depression, point.temperature);
        rows.push(Row::relative(name, point.flow, point.exact, LIMIT));
    }
    rows.push(Row::worst("against the table, worst", points.iter().map(|point| (point.flow, point.tabled)), NOMINAL));
    if let Some(point) = points.last() {
        let quantity = "28 inH2O: flow over that of air that does not expand";
        rows.push(Row::relative(
            quantity,
            point.flow / point.incompressible,
            point.exact / point.incompressible,
            LIMIT,
        ));
    }
    let curve = |of: fn(&Point) -> f64| {
        let warm = points.iter().filter(|point| point.temperature > 290.0);
        warm.map(|point| (point.depression, 1e3 * of(point))).collect::<Vec<_>>()
    };
    let figure = Figure::new("Flow bench", "depression [inH2O]", "mass flow through 1 cm2 [g/s]")
        .computed("marched network", curve(|point| point.flow))
        .reference("isentropic, table", curve(|point| point.tabled))
        .reference("constant density", curve(|point| point.incompressible));
    Ok(Findings::from(rows).with(figure))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_ideal_opening_agrees_with_the_table() {
        for row in data::rows(data::FLOW_BENCH).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let (total_pressure, total_temperature) = (PRESSURE, value("T_K"));
            let opening = Opening { gas: PerfectGas::AIR, effective_area: 1e-4, total_pressure, total_temperature };
            let behind = PRESSURE - 249.088_91 * value("dp_inH2O");
            assert_relative_eq!(opening.mass_flow(behind), value("mdot_1cm2_kg_s"), max_relative = 1e-7);
            let incompressible = 1e-4 * value("rho_kg_m3") * value("v_incompressible_m_s");
            assert_relative_eq!(opening.incompressible_mass_flow(behind), incompressible, max_relative = 1e-7);
        }
    }
}
