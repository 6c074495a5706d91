//! Compressors, engines and corrections, row by row of their tables.

use super::FORMULA;
use crate::check::{Failure, Limit, Measure, Row};
use crate::data;
use std::f64::consts::PI;
use tractwright::powertrain::compressor::{outlet_temperature, work};
use tractwright::powertrain::{ExhaustGas, Reference, Standard, Turbine, weather, work as engine};

const GAMMA: f64 = 1.4;
const GAS_CONSTANT: f64 = 287.05;
const HEAT_CAPACITY: f64 = 1004.675;
/// State to which the flows of the table are corrected.
const REFERENCE: Reference = Reference { pressure: 1e5, temperature: 298.15 };

pub(super) fn compressors() -> Result<Vec<Row>, Failure> {
    const REAL: Limit = Limit { value: 3e-3, why: "a constant heat capacity for one that grows with temperature" };
    let (mut temperatures, mut powers, mut flows) = (Vec::new(), Vec::new(), Vec::new());
    let (mut real_temperatures, mut real_powers) = (Vec::new(), Vec::new());
    for row in data::rows(data::COMPRESSORS)? {
        let (p01, t01) = (row.number("p01_Pa")?, row.number("T01_K")?);
        let (ratio, efficiency) = (row.number("p02_Pa")? / p01, row.number("eta_is")?);
        let flow = row.number("mdot_kg_s")?;
        let temperature = outlet_temperature(GAMMA, t01, ratio, efficiency);
        let power = flow * work(HEAT_CAPACITY, GAMMA, t01, ratio, efficiency);
        temperatures.push((temperature, row.number("T02_K")?));
        powers.push((power, row.number("W_W")?));
        flows.push((REFERENCE.corrected_flow(flow, p01, t01), row.number("mdot_corr_kg_s")?));
        real_temperatures.push((temperature, row.number("T02_real_K")?));
        real_powers.push((power, row.number("W_real_W")?));
    }
    Ok(vec![
        Row::worst("outlet temperature [K]", temperatures, FORMULA),
        Row::worst("power [W]", powers, FORMULA),
        Row::worst("corrected flow [kg/s]", flows, FORMULA),
        Row::worst("outlet temperature of real air [K]", real_temperatures, REAL),
        Row::worst("power with real air [W]", real_powers, REAL),
    ])
}

pub(super) fn turbines() -> Result<Vec<Row>, Failure> {
    const EFFICIENCY: f64 = 0.68;
    const BEST: f64 = 0.65;
    const RADIUS: f64 = 0.03;
    const MEAN: Limit =
        Limit { value: 1e-3, why: "a heat capacity that falls on the way, taken at the mean temperature" };
    const TAKEN: Limit = Limit {
        value: 5e-2,
        why: "a rounded heat capacity for any mixture; three points of the turbine's efficiency, which is given, make up for it",
    };
    /// Burnt gas as a case takes it.
    const BURNT: ExhaustGas = ExhaustGas { gamma: 1.33, gas_constant: 288.0 };
    let (mut mean, mut taken) = (Vec::new(), Vec::new());
    for row in data::rows(data::TURBINES)? {
        let [before, temperature, behind, work] =
            [row.number("p03_Pa")?, row.number("T03_K")?, row.number("p4_Pa")?, row.number("w_is_J_kg")?];
        let at_mean = ExhaustGas { gamma: row.number("gamma_mean")?, gas_constant: row.number("R_J_kg_K")? };
        // At the best blade speed ratio for the ideal work, where the efficiency is flat.
        let speed = BEST * (2.0 * work).sqrt() / RADIUS;
        let turbine =
            Turbine { area: 1e-3, efficiency: EFFICIENCY, best_blade_speed_ratio: BEST, wheel_radius: RADIUS };
        let given = |gas: &ExhaustGas| turbine.work_per_mass(gas, speed, before, temperature, behind);
        mean.push((given(&at_mean), EFFICIENCY * work));
        taken.push((given(&BURNT), EFFICIENCY * work));
    }
    Ok(vec![
        Row::worst("work, gamma at the mean temperature [J/kg]", mean, MEAN),
        Row::worst("work, gamma 1.33 and 288 J/(kg K), as a case takes it [J/kg]", taken, TAKEN),
    ])
}

pub(super) fn engines() -> Result<Vec<Row>, Failure> {
    let (mut airs, mut fuels, mut powers) = (Vec::new(), Vec::new(), Vec::new());
    for row in data::rows(data::ENGINES)? {
        let speed = row.number("rpm")? / 60.0 * 2.0 * PI;
        let (displacement, efficiency) = (row.number("Vd_m3")?, row.number("VE")?);
        let (pressure, temperature) = (row.number("p_Pa")?, row.number("T_K")?);
        let air = engine::air_flow(efficiency, displacement, speed, pressure, temperature, GAS_CONSTANT);
        let fuel = engine::fuel_flow(air, 1.0, row.number("AFR")?);
        let power = engine::brake_power(fuel, row.number("BSFC_g_kWh")? / 3.6e9);
        airs.push((air, row.number("mdot_kg_s")?));
        fuels.push((fuel, row.number("fuel_kg_s")?));
        powers.push((power, row.number("P_W")?));
    }
    Ok(vec![
        Row::worst("air [kg/s]", airs, FORMULA),
        Row::worst("fuel [kg/s]", fuels, FORMULA),
        Row::worst("brake power [W]", powers, FORMULA),
    ])
}

pub(super) fn corrections() -> Result<Vec<Row>, Failure> {
    const STANDARDS: [(Standard, &str, &str); 3] = [
        (Standard::SaeJ1349Of1990, "j1349_jun90", "factor, SAE J1349 JUN90"),
        (Standard::SaeJ1349Of2004, "j1349_2004", "factor, SAE J1349 AUG2004"),
        (Standard::Iso1585SparkIgnition, "iso1585_si", "factor, ISO 1585, spark ignition"),
    ];
    const PRINTED: Limit = Limit { value: 1e-7, why: "the same closed formula; the table has eight digits" };
    const SAME: Limit = Limit { value: 0.0, why: "inside or not" };
    let table = data::rows(data::DYNO_CORRECTIONS)?;
    let (mut dry, mut inside) = (Vec::new(), Vec::new());
    let mut factors: [Vec<(f64, f64)>; 3] = Default::default();
    for row in &table {
        let (celsius, known_dry) = (row.number("t_C")?, row.number("p_dry_Pa")?);
        let temperature = celsius + 273.15;
        let own = weather::dry_pressure(row.number("p_baro_Pa")?, temperature, row.number("RH")?);
        dry.push((own, known_dry));
        for ((standard, column, _), pairs) in STANDARDS.iter().zip(&mut factors) {
            let known = row.number(column)?;
            let found = standard.correction(known_dry, temperature);
            pairs.push((found.factor, known));
            let lowest = if *standard == Standard::Iso1585SparkIgnition { 80e3 } else { 90e3 };
            let expected = (15.0..=35.0).contains(&celsius) && (0.93..=1.07).contains(&known) && known_dry >= lowest;
            inside.push((f64::from(u8::from(found.inside)), f64::from(u8::from(expected))));
        }
    }
    let mut rows = vec![Row::worst("pressure of dry air [Pa]", dry, FORMULA)];
    let named = STANDARDS.iter().zip(factors);
    rows.extend(named.map(|((_, _, name), pairs)| Row::worst(*name, pairs, PRINTED)));
    rows.push(Row::worst_by(Measure::Absolute, "inside the window, 1 for yes", inside, SAME));
    Ok(rows)
}
