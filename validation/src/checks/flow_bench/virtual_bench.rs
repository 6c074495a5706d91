//! The virtual flow bench: its arithmetic, and what it reads on parts whose flow is known.

use super::PRESSURE;
use crate::case_text::{CaseText, settled, smooth_duct};
use crate::check::{Failure, Limit, Row};
use crate::data;
use crate::oracle::handbook::corner_tap_coefficient;
use crate::oracle::orifice::plate_expansibility;
use crate::oracle::perfect_gas::PerfectGas;
use std::f64::consts::FRAC_PI_4;
use tractwright::case::{BenchEntry, BenchSetup, Case};
use tractwright::error::Error;
use tractwright::study::flow_bench::{
    Air, BenchReading, Convention, FlowBench, Formula, Setting, series_area, series_share,
};

/// Inch of water at 4 degC [Pa].
const INCH_OF_WATER: f64 = 249.088_91;
/// Cubic foot a minute [m^3/s].
const CUBIC_FOOT_A_MINUTE: f64 = 4.719_474_432e-4;
/// Square inch [m^2].
const SQUARE_INCH: f64 = 6.4516e-4;

fn air(temperature: f64) -> Air {
    let PerfectGas { gas_constant, gamma, .. } = PerfectGas::AIR;
    Air { pressure: PRESSURE, temperature, gas_constant, gamma }
}

/// Worked example and table.
pub(super) fn arithmetic() -> Result<Vec<Row>, Failure> {
    const PRINTED: Limit = Limit { value: 0.05, why: "the example gives areas to a tenth of a square centimetre" };
    const SHARE: Limit = Limit { value: 0.5, why: "the example gives the share to a whole per cent" };
    const TABLE: Limit = Limit { value: 1e-7, why: "the same closed formulas; the table has 8 digits" };
    let area = |feet: f64| {
        let (air, depression) = (air(293.15), 28.0 * INCH_OF_WATER);
        Formula::Incompressible.effective_area(&air, feet * CUBIC_FOOT_A_MINUTE * air.density(), depression)
    };
    let (with, without) = (area(340.0), area(527.0));
    let elbow = series_area(with, without).ok_or_else(|| Failure::NoSolution("areas in series".to_owned()))?;
    let mut rows = vec![
        Row::absolute("340 cfm at 28 inH2O: effective area [cm2]", 1e4 * with, 14.9, PRINTED),
        Row::absolute("527 cfm without the elbow: effective area [cm2]", 1e4 * without, 23.1, PRINTED),
        Row::absolute("the elbow alone [cm2]", 1e4 * elbow, 19.5, PRINTED),
        Row::absolute(
            "share of the loss that goes with the elbow [%]",
            100.0 * series_share(with, without),
            58.0,
            SHARE,
        ),
    ];
    let (mut flows, mut factors) = ([Vec::new(), Vec::new(), Vec::new()], Vec::new());
    for row in data::rows(data::FLOW_BENCH)? {
        let (air, depression) = (air(row.number("T_K")?), row.number("dp_Pa")?);
        let feet =
            |formula: Formula| formula.flux(&air, depression) / air.density() * SQUARE_INCH / CUBIC_FOOT_A_MINUTE;
        flows[0].push((feet(Formula::Incompressible), row.number("cfm_in2_inc")?));
        flows[1].push((feet(Formula::Compressible), row.number("cfm_in2_comp")?));
        flows[2].push((1e-4 * Formula::Compressible.flux(&air, depression), row.number("mdot_1cm2_kg_s")?));
        let to = (&air, 28.0 * INCH_OF_WATER);
        factors.push((Formula::Incompressible.converted(1.0, [(&air, depression), to]), row.number("factor_to_28")?));
    }
    let [incompressible, compressible, mass] = flows;
    rows.push(Row::worst("incompressible cfm through a square inch, worst of the table", incompressible, TABLE));
    rows.push(Row::worst("compressible cfm through a square inch, worst of the table", compressible, TABLE));
    rows.push(Row::worst("compressible mass flow through 1 cm2, worst of the table", mass, TABLE));
    rows.push(Row::worst("conversion to 28 inH2O, worst of the table", factors, TABLE));
    Ok(rows)
}

/// What the virtual bench reads of a case in air of a temperature [K].
fn read(case: &Case, inches: f64, convention: Convention, setup: &BenchSetup) -> Result<BenchReading, Failure> {
    let setting = Setting::Depression(inches * INCH_OF_WATER);
    Ok(FlowBench { convention, setting }.test(case, setup)?)
}

fn case_of(text: &CaseText) -> Result<Case, Failure> {
    Ok(Case::from_text("bench.yaml", &text.text()).map_err(Error::from)?)
}

/// Keys of a draw with a bore so wide that its head does not count.
const WIDE_DRAW: &str = "kind: draw, flow: 1 g/s, bore: 400 mm";

/// An ideal opening at two depressions.
pub(super) fn conversion() -> Result<Vec<Row>, Failure> {
    const LIMIT: Limit = Limit { value: 1e-5, why: "the same closed form; the head in the wide exit is a millionth" };
    const RULE: Limit =
        Limit::none("the incompressible rule on air that does expand: it shows by how much the rule is off");
    let mut rows = Vec::new();
    for temperature in [288.706, 293.15] {
        let text = CaseText::new(PRESSURE, temperature)
            .part("opening", "kind: orifice_plate, area: 1 cm2, discharge_coefficient: 1")
            .part("tank", "kind: plenum, volume: 1 L")
            .part("bench", WIDE_DRAW)
            .line(&["outside", "opening", "tank", "bench"])
            .run("until: 0.3 s");
        let case = case_of(&text)?;
        let at = |inches| read(&case, inches, Convention::SettlingChamber, &BenchSetup::default());
        let tabled = |inches: f64| -> Result<f64, Failure> {
            let table = data::rows(data::FLOW_BENCH)?;
            let same = |row: &&data::Row| row.number("dp_inH2O") == Ok(inches) && row.number("T_K") == Ok(temperature);
            let row = table.iter().find(same).ok_or_else(|| Failure::Missing("row of the table".to_owned()))?;
            Ok(row.number("mdot_1cm2_kg_s")?)
        };
        let (ten, full) = (at(10.0)?, at(28.0)?);
        let mut add = |what: &str, found: f64, exact: f64, limit: Limit| {
            rows.push(Row::relative(format!("{temperature} K: {what}"), found, exact, limit));
        };
        add("mass flow at 10 inH2O [kg/s]", ten.mass_flow, tabled(10.0)?, LIMIT);
        add("mass flow at 28 inH2O [kg/s]", full.mass_flow, tabled(28.0)?, LIMIT);
        add("effective area, compressible [m2]", full.effective_area(Formula::Compressible), 1e-4, LIMIT);
        let converted = |formula: Formula| {
            formula.converted(ten.mass_flow, [(&ten.air, ten.depression), (&full.air, full.depression)])
        };
        add("10 to 28 inH2O, compressible [kg/s]", converted(Formula::Compressible), tabled(28.0)?, LIMIT);
        add("10 to 28 inH2O, incompressible [kg/s]", converted(Formula::Incompressible), tabled(28.0)?, RULE);
    }
    Ok(rows)
}

/// Diameter of the duct before the plates [m].
const DUCT: f64 = 0.1;
/// Depression of the plates' bench [inH2O]: so low that air hardly expands.
const LOW: f64 = 3.0;
/// Depression of a duct without a plate, at which much more flows [inH2O].
const GENTLE: f64 = 0.3;
/// Coefficient of the widest radius. Idelchik, diagram 3-4.
const RADIUSED: f64 = 0.03;

/// Plates in a duct between the room and a tank.
pub(super) fn plates() -> Result<Vec<Row>, Failure> {
    const STANDARD: Limit =
        Limit { value: 7e-3, why: "the standard's uncertainty: 0.5 % of C, and of the expansibility" };
    let duct = FRAC_PI_4 * DUCT * DUCT;
    let setup = BenchSetup { entry: BenchEntry::Radiused, ..BenchSetup::default() };
    let mut rows = Vec::new();
    for ratio in [0.2, 0.5, 0.7] {
        let hole = ratio * DUCT;
        let text = CaseText::new(PRESSURE, 293.15)
            .part("pipe", smooth_duct(0.1, DUCT))
            .part("plate", format!("kind: orifice_plate, diameter: {hole} m"))
            .part("tank", "kind: plenum, volume: 1 L")
            .part("bench", WIDE_DRAW)
            .line(&["outside", "pipe", "plate", "tank", "bench"])
            .run(settled(0.05));
        let case = case_of(&text)?;
        let with = read(&case, LOW, Convention::SettlingChamber, &setup)?;
        let bench =
            FlowBench { convention: Convention::SettlingChamber, setting: Setting::Depression(with.depression) };
        let without = bench.without(&case, &setup, &with, "plate", Formula::Incompressible)?;
        let pressures = 1.0 - with.depression / PRESSURE;
        let expansibility = plate_expansibility(ratio, pressures, PerfectGas::AIR.gamma);
        let approach = (1.0 - libm::pow(ratio, 4.0)).sqrt();
        let passed = expansibility * corner_tap_coefficient(ratio, DUCT, 2e5) * FRAC_PI_4 * hole * hole / approach;
        let whole = 1.0 / (1.0 / (passed * passed) + (1.0 + RADIUSED) / (duct * duct)).sqrt();
        let found = with.effective_area(Formula::Incompressible);
        rows.push(Row::relative(
            format!("beta {ratio}: effective area of duct and plate [cm2]"),
            1e4 * found,
            1e4 * whole,
            STANDARD,
        ));
        if ratio < 0.6 {
            // The head before a wide plate is no longer small, and is lost in another place without it.
            let alone = without.area.ok_or_else(|| Failure::NoSolution("areas in series".to_owned()))?;
            let exact = 1.0 / (1.0 / (whole * whole) - (1.0 + RADIUSED) / (duct * duct)).sqrt();
            rows.push(Row::relative(
                format!("beta {ratio}: the plate alone, in series [cm2]"),
                1e4 * alone,
                1e4 * exact,
                STANDARD,
            ));
        }
        if ratio < 0.3 {
            rows.extend(conventions(&case, &setup)?);
        }
    }
    Ok(rows)
}

/// The duct alone, by both conventions and with a sharp edge: its entry loses 0.03 heads or half a head, its exit one.
fn conventions(case: &Case, setup: &BenchSetup) -> Result<Vec<Row>, Failure> {
    const LIMIT: Limit = Limit { value: 2e-3, why: "the density still falls by 0.05 % on the way to the exit" };
    let span =
        |entry| BenchSetup { entry, from: Some("pipe".to_owned()), to: Some("pipe".to_owned()), ..setup.clone() };
    let mut rows = Vec::new();
    for (entry, edge, heads) in [(BenchEntry::Radiused, "radiused", RADIUSED), (BenchEntry::Sharp, "sharp", 0.5)] {
        for (convention, name, exit) in
            [(Convention::SettlingChamber, "settling chamber", 1.0), (Convention::TubeTap, "tube tap", 0.0)]
        {
            // A depression in proportion to what is lost keeps the flow, and with it the fall of density.
            let inches = GENTLE * (heads + exit) / 1.5;
            let reading = read(case, inches, convention, &span(entry))?;
            let found = reading.loss_coefficient(Formula::Incompressible);
            let found = found.ok_or_else(|| Failure::Missing("loss coefficient".to_owned()))?;
            rows.push(Row::absolute(format!("duct, {edge} edge, {name}: K"), found, heads + exit, LIMIT));
        }
    }
    Ok(rows)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::SQRT_2;

    #[test]
    fn a_wrong_density_does_not_hold() {
        // At 15 degC the example comes to 15.0 cm2.
        let air = air(288.15);
        let area = Formula::Incompressible.effective_area(
            &air,
            340.0 * CUBIC_FOOT_A_MINUTE * air.density(),
            28.0 * INCH_OF_WATER,
        );
        let limit = Limit { value: 0.05, why: "test" };
        assert!(!Row::absolute("area", 1e4 * area, 14.9, limit).holds());
    }

    #[test]
    fn a_forgotten_square_root_does_not_hold() {
        let rows = arithmetic().unwrap();
        assert!(rows.iter().all(Row::holds), "{rows:?}");
        let worst = rows.last().unwrap();
        assert!(!Row { computed: worst.computed / SQRT_2, ..worst.clone() }.holds());
    }
}
