//! Filters: the law of the medium, and a measured curve carried to other air.

use crate::bench::Bench;
use crate::check::{Check, Failure, Group, Limit, Row, rows_only};
use crate::data;
use crate::oracle::filter::Slab;
use crate::oracle::perfect_gas::PerfectGas;

/// Checks of filters.
pub const GROUP: Group = Group {
    name: "filter",
    about: "pressure drop of filters between two ducts",
    checks: &[
        Check {
            name: "filter_medium",
            about: "media given by permeability and form coefficient",
            source: "Forchheimer (1901); Ward (1964); Nield and Bejan, Convection in Porous Media, 4th ed., section 1.5",
            run: || rows_only(media()),
        },
        Check {
            name: "filter_curve",
            about: "a curve measured on a bench, met on the bench and in hot and in thin air",
            source: "the same law, isothermal: what is viscous goes with viscosity over density, what is inertial with 1 over density",
            run: || rows_only(curve()),
        },
    ],
};

const GAS: PerfectGas = PerfectGas::AIR;
const DROP: Limit = Limit { value: 5e-4, why: "the part's law leaves out that the air speeds up inside the medium" };
/// Area of the medium [m^2].
const AREA: f64 = 0.02;

fn media() -> Result<Vec<Row>, Failure> {
    let rows = data::rows(data::POROUS_SLABS)?;
    let mut drops = Vec::new();
    for row in &rows {
        let value = |column| row.number(column);
        let slab = Slab { permeability: value("K_m2")?, form_coefficient: value("C_F")?, thickness: value("L_m")? };
        let density = value("p1_Pa")? / (GAS.gas_constant * value("T_K")?);
        let keys = format!(
            "kind: filter, media_area: {AREA} m2, \
             medium: {{permeability: {} m2, thickness: {} m, inertial_coefficient: {}}}",
            slab.permeability, slab.thickness, slab.form_coefficient
        );
        drops.push(measured(keys, &slab, (value("p1_Pa")?, value("T_K")?), density * value("v_m_s")? * AREA)?);
    }
    Ok(vec![Row::worst(format!("drop, worst of {} [Pa]", drops.len()), drops, DROP)])
}

/// Drop [Pa] of a filter with these `keys` in air of a pressure [Pa] and a temperature [K], and that of the `slab` at the same flow.
fn measured(keys: String, slab: &Slab, air: (f64, f64), flow: f64) -> Result<(f64, f64), Failure> {
    let (pressure, temperature) = air;
    let [before, behind] = Bench { pressure, temperature, ..Bench::straight(0.15, keys, flow) }.measure()?;
    let exact = slab.isothermal_drop(GAS, before.total_pressure, before.total_temperature, before.mass_flow / AREA);
    Ok((before.total_pressure - behind.total_pressure, exact.unwrap_or(f64::NAN)))
}

fn curve() -> Result<Vec<Row>, Failure> {
    const SLAB: Slab = Slab { permeability: 3e-10, form_coefficient: 0.55, thickness: 0.002 };
    const BENCH: (f64, f64) = (101_300.0, 293.15);
    const FLOWS: [f64; 4] = [0.006, 0.012, 0.018, 0.024];
    let drop = |flow: &f64| SLAB.isothermal_drop(GAS, BENCH.0, BENCH.1, flow / AREA).unwrap_or(f64::NAN);
    let list = |values: Vec<f64>| values.iter().map(f64::to_string).collect::<Vec<_>>().join(" ");
    let keys = format!(
        "kind: filter, media_area: {AREA} m2, \
         curve: {{flow: {} kg/s, drop: {} Pa, at: [{} K, {} Pa]}}",
        list(FLOWS.to_vec()),
        list(FLOWS.iter().map(drop).collect()),
        BENCH.1,
        BENCH.0
    );
    let airs = [("on the bench", BENCH), ("at 60 degC", (BENCH.0, 333.15)), ("at 80 kPa", (8e4, BENCH.1))];
    let row = |(name, air): (&str, (f64, f64))| {
        let pairs: Result<Vec<_>, Failure> =
            FLOWS.iter().map(|flow| measured(keys.clone(), &SLAB, air, 0.9 * flow)).collect();
        Ok(Row::worst(format!("drop {name} [Pa]"), pairs?, DROP))
    };
    airs.into_iter().map(row).collect()
}
