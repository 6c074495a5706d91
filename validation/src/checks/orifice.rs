//! Sharp-edged openings: the flow they pass, choked or not, and what they lose in a duct.

use crate::bench::{Bench, CELL, LENGTH};
use crate::case_text::{CaseText, mouth, settled, smooth_duct};
use crate::check::{Check, Failure, Findings, Group, Limit, Row, rows_only};
use crate::data;
use crate::figure::Figure;
use crate::marched::{Reading, Tract};
use crate::oracle::handbook::{corner_tap_coefficient, plate_lasting_share};
use crate::oracle::orifice::{Opening, plate_expansibility};
use crate::oracle::perfect_gas::PerfectGas;
use rayon::prelude::*;
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
            run: openings,
        },
        Check {
            name: "plate_coefficient",
            about: "discharge coefficient of a plate with corner taps",
            source: "ISO 5167-2:2003, equation 4 (Reader-Harris and Gallagher), evaluated by a public library",
            run: || rows_only(plate_coefficient()),
        },
        Check {
            name: "plate_flow",
            about: "flow through plates from a duct of 100 mm into a tank, over pressure ratio: expansibility",
            source: "ISO 5167-2:2003, equations 4 and 5, corner taps",
            run: expansibilities,
        },
        Check {
            name: "gap_flow",
            about: "flow through a gap between the outside and a tank, over pressure ratio",
            source: "ISO 5167-2:2003, equation 5 for a small hole; the coefficient 0.62 is common practice, no source",
            run: gaps,
        },
        Check {
            name: "plate_lasting_loss",
            about: "total pressure lost by a plate in a duct",
            source: "ISO 5167-2:2003, sections 5.3 and 5.4",
            run: lasting_losses,
        },
    ],
};

const GAS: PerfectGas = PerfectGas::AIR;
/// Depressions of the bench [Pa]; the last two choke the opening.
const DEPRESSIONS: [f64; 11] = [500.0, 1e3, 2e3, 5e3, 1e4, 1.5e4, 2e4, 3e4, 4e4, 5e4, 6e4];
/// Diameter of the opening [m].
const HOLE: f64 = 0.04;
/// Diameter of the duct before plates [m].
const DUCT: f64 = 0.1;

/// Flow from parts `line`, added to a case, through their last one into a tank that a bench holds at a depression [Pa]: the marched tract.
fn into_tank(case: CaseText, line: &[&str], depression: f64) -> Result<Tract, Failure> {
    let line = [line, &["tank", "hose", "bench"]].concat();
    let text = case
        .part("tank", "kind: plenum, volume: 1 L")
        .part("hose", smooth_duct(LENGTH, 0.15))
        .part("bench", format!("kind: draw, depression: {depression} Pa"))
        .line(&line)
        .run(settled(CELL))
        .text();
    Tract::read(&text)
}

/// What a rake reads before an opening with these keys in a duct of 80 or 100 mm, and the pressure [Pa] in the tank behind it.
fn discharge(duct: f64, opening: &str, depression: f64) -> Result<(Reading, f64), Failure> {
    let case = CaseText::new(1e5, 300.0)
        .part("mouth", mouth(duct))
        .part("pipe", smooth_duct(LENGTH, duct))
        .part("opening", opening);
    let tract = into_tank(case, &["mouth", "pipe", "opening"], depression)?;
    let marched = tract.march()?;
    Ok((marched.rake("pipe", End::Last)?, marched.volume("tank")?.0))
}

fn openings() -> Result<Findings, Failure> {
    let keys = format!("kind: orifice_plate, diameter: {HOLE} m, discharge_coefficient: 1");
    let area = 0.25 * PI * HOLE * HOLE;
    let found = DEPRESSIONS.into_par_iter().map(|depression| discharge(0.08, &keys, depression));
    let found = found.collect::<Result<Vec<_>, _>>()?;
    let rows: Vec<Row> = found.iter().map(|(before, behind)| opening_row(area, before, *behind)).collect();
    let function = |(before, behind): &(Reading, f64)| {
        let scale = area * before.total_pressure / (GAS.gas_constant * before.total_temperature).sqrt();
        (behind / before.total_pressure, before.mass_flow / scale)
    };
    let mut table = Vec::new();
    for row in data::rows(data::NOZZLE_FLOW)? {
        let scale = 1e-3 * 101_325.0 / (GAS.gas_constant * 293.15).sqrt();
        table.push((row.number("p_p0")?, row.number("mdot_kg_s")? / scale));
    }
    let figure = Figure::new("Ideal opening", "pressure behind / total pressure before", "m sqrt(R T0) / (A p0)")
        .computed("marched network", found.iter().map(function))
        .reference("table", table);
    Ok(Findings::from(rows).with(figure))
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

/// Drops over the pressure before them at which plates and gaps are met.
const DROPS: [f64; 6] = [0.005, 0.02, 0.05, 0.1, 0.2, 0.245];

/// Flow over that of constant density, coefficient taken out: the static pressures before and behind it, and the expansibility.
fn expansibility(ratio: f64, drop: f64) -> Result<(f64, f64), Failure> {
    let hole = ratio * DUCT;
    let (before, behind) = discharge(DUCT, &format!("kind: orifice_plate, diameter: {hole} m"), drop * 1e5)?;
    let density = before.pressure / (GAS.gas_constant * before.temperature(GAS));
    let approach = 1.0 - libm::pow(ratio, 4.0);
    let ideal = 0.25 * PI * hole * hole * (2.0 * density * (before.pressure - behind) / approach).sqrt();
    let coefficient = corner_tap_coefficient(ratio, DUCT, 2e5);
    Ok((behind / before.pressure, before.mass_flow / (coefficient * ideal)))
}

fn expansibilities() -> Result<Findings, Failure> {
    const STANDARD: Limit = Limit {
        value: 7e-3,
        why: "the standard's uncertainty: 0.5 % of C, 3.5 % of the drop over kappa p of the expansibility",
    };
    const WIDE: Limit = Limit {
        value: 1.2e-2,
        why: "the standard's uncertainty, 0.75 % of C and 0.6 %; the jet's law leaves out the approach",
    };
    let mut rows = Vec::new();
    let mut figure = Figure::new("Orifice plate", "pressure behind / before", "expansibility");
    for ratio in [0.2, 0.5, 0.7, 0.75] {
        let points = DROPS.into_par_iter().map(|drop| expansibility(ratio, drop)).collect::<Result<Vec<_>, _>>()?;
        let limit = if ratio > 0.72 { WIDE } else { STANDARD };
        // Where a wide hole empties the duct, the pressure before it falls as well.
        rows.extend(points.iter().map(|&(pressures, found)| {
            let quantity = format!("beta {ratio}, pressure ratio {pressures:.3}: expansibility");
            Row::relative(quantity, found, plate_expansibility(ratio, pressures, GAS.gamma), limit)
        }));
        let line = (0..=20).map(|step| 1.0 - 0.0125 * f64::from(step));
        figure = figure.computed(format!("beta {ratio}"), points).reference(
            format!("ISO 5167-2, {ratio}"),
            line.map(|pressures| (pressures, plate_expansibility(ratio, pressures, GAS.gamma))),
        );
    }
    Ok(Findings::from(rows).with(figure))
}

fn gaps() -> Result<Findings, Failure> {
    const LIMIT: Limit = Limit { value: 7e-3, why: "the standard's uncertainty of its expansibility" };
    const AREA: f64 = 3e-4;
    let measure = |drop: f64| -> Result<(f64, f64), Failure> {
        let case = CaseText::new(1e5, 300.0).part("seam", "kind: gap, width: 1 mm, length: 300 mm");
        let tract = into_tank(case, &["outside", "seam"], drop * 1e5)?;
        let marched = tract.march()?;
        let (behind, _) = marched.volume("tank")?;
        let opening = Opening { gas: GAS, effective_area: 0.62 * AREA, total_pressure: 1e5, total_temperature: 300.0 };
        let flow = marched.rake("hose", End::First)?.mass_flow;
        Ok((behind / 1e5, flow / opening.incompressible_mass_flow(behind)))
    };
    let points = DROPS.into_par_iter().map(measure).collect::<Result<Vec<_>, _>>()?;
    let rows = points.iter().map(|&(ratio, found)| {
        Row::relative(
            format!("pressure ratio {ratio:.3}: expansibility"),
            found,
            plate_expansibility(0.0, ratio, GAS.gamma),
            LIMIT,
        )
    });
    let line = points.iter().map(|&(ratio, _)| (ratio, plate_expansibility(0.0, ratio, GAS.gamma)));
    let figure = Figure::new("Gap", "pressure behind / before", "expansibility")
        .computed("marched network", points.clone())
        .reference("ISO 5167-2, small hole", line);
    Ok(Findings::from(rows.collect::<Vec<_>>()).with(figure))
}

/// What a plate of a diameter ratio loses over what it should, both over the velocity head in the duct, at some hundred pascals.
fn lasting_loss(diameter_ratio: f64) -> Result<(f64, f64), Failure> {
    let hole = diameter_ratio * DUCT;
    let area = 0.25 * PI * hole * hole;
    let bench = Bench::straight(DUCT, format!("kind: orifice_plate, diameter: {hole} m"), 10.0 * area);
    let [before, behind] = bench.measure()?;
    let coefficient = corner_tap_coefficient(diameter_ratio, DUCT, 2e5);
    let density = before.pressure / (GAS.gas_constant * before.total_temperature);
    let approach = 1.0 - libm::pow(diameter_ratio, 4.0);
    let flux = before.mass_flow / (coefficient * area);
    let difference = 0.5 * approach * flux * flux / density;
    let head = before.head(GAS);
    let reference = difference * plate_lasting_share(coefficient, diameter_ratio);
    Ok(((before.total_pressure - behind.total_pressure) / head, reference / head))
}

fn lasting_losses() -> Result<Findings, Failure> {
    const LIMIT: Limit = Limit { value: 5e-3, why: "the standard's uncertainty of the discharge coefficient" };
    const RATIOS: [f64; 6] = [0.2, 0.3, 0.4, 0.5, 0.6, 0.7];
    let pairs = RATIOS.into_par_iter().map(lasting_loss).collect::<Result<Vec<_>, _>>()?;
    let row = |(ratio, pair): (f64, &(f64, f64))| {
        Row::relative(format!("diameter ratio {ratio}: velocity heads lost for good"), pair.0, pair.1, LIMIT)
    };
    let rows: Vec<Row> = RATIOS.into_iter().zip(&pairs).map(row).collect();
    let curve = |of: fn(&(f64, f64)) -> f64| RATIOS.into_iter().zip(pairs.iter().map(of)).collect::<Vec<_>>();
    let figure = Figure::new("Orifice plate in a duct", "diameter ratio", "lasting loss / velocity head")
        .logarithmic(false, true)
        .computed("marched network", curve(|pair| pair.0))
        .reference("ISO 5167-2", curve(|pair| pair.1));
    Ok(Findings::from(rows).with(figure))
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
