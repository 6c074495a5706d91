//! Friction and heat between a stream and the wall of a duct.

use crate::case_text::{CaseText, draw, mouth, settled};
use crate::check::{Check, Failure, Group, Limit, Row, rows_only};
use crate::data;
use crate::marched::{Marched, Reading, Tract, duct};
use crate::oracle::filter::sutherland;
use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::pipe_flow::{Inlet, Pipe};
use crate::oracle::wall::{churchill, colebrook, entry_factor, gnielinski};
use std::f64::consts::PI;
use tractwright::flow::End;

/// Checks of walls.
pub const GROUP: Group = Group {
    name: "walls",
    about: "friction and heat at the walls of ducts",
    checks: &[
        Check {
            name: "wall_friction",
            about: "total pressure lost by a smooth pipe and by two rough ones",
            source: "Darcy and Weisbach with Colebrook's (1939) and Churchill's (1977) friction factor",
            run: || rows_only(friction()),
        },
        Check {
            name: "heat_pickup",
            about: "how much air warms in a pipe with a hot wall, and where the heat comes from",
            source: "Incropera et al., Fundamentals of Heat and Mass Transfer, 7th ed., equation 8.41b, with Gnielinski's film (1976)",
            run: || rows_only(pickup()),
        },
    ],
};

const GAS: PerfectGas = PerfectGas::AIR;
/// Prandtl number of air. Incropera et al., table A.4.
const PRANDTL: f64 = 0.71;
/// Pressure [Pa] and temperature [K] outside.
const OUTSIDE: (f64, f64) = (1e5, 303.15);

/// A pipe between the outside and a draw, with further keys.
fn pipe(diameter: f64, length: f64, keys: &str, flow: f64) -> Result<Tract, Failure> {
    let text = CaseText::new(OUTSIDE.0, OUTSIDE.1)
        .part("mouth", mouth(diameter))
        .part("pipe", format!("kind: duct, length: {length} m, diameter: {diameter} m, {keys}"))
        .part("draw", draw(flow, OUTSIDE.0, OUTSIDE.1))
        .line(&["mouth", "pipe", "draw"])
        .run(settled(length / 50.0))
        .text();
    Tract::read(&text)
}

fn friction() -> Result<Vec<Row>, Failure> {
    const FORMULA: Limit = Limit { value: 2e-3, why: "the same law, over a table and with the state along the pipe" };
    const SPREAD: Limit = Limit { value: 4e-2, why: "laws of friction differ by 3 %" };
    const DIAMETER: f64 = 0.07;
    let mut rows = Vec::new();
    for roughness in [0.0, 5e-5, 5e-4] {
        let tract = pipe(DIAMETER, 2.0, &format!("roughness: {roughness} m"), 0.15)?;
        let marched = tract.march()?;
        let (inlet, outlet) = (marched.rake("pipe", End::First)?, marched.rake("pipe", End::Last)?);
        let found = inlet.total_pressure - outlet.total_pressure;
        let reynolds = 4.0 * inlet.mass_flow / (PI * DIAMETER * sutherland(inlet.temperature(GAS)));
        for (name, law, limit) in
            [("Churchill", churchill as fn(f64, f64) -> f64, FORMULA), ("Colebrook", colebrook, SPREAD)]
        {
            let exact = loss(&inlet, DIAMETER, law(reynolds, roughness / DIAMETER));
            rows.push(Row::relative(format!("loss at a roughness of {roughness} m, {name} [Pa]"), found, exact, limit));
        }
    }
    Ok(rows)
}

/// Total pressure [Pa] lost along 2 m of a pipe of a friction factor; not a number when it chokes.
fn loss(inlet: &Reading, diameter: f64, friction_factor: f64) -> f64 {
    let pipe =
        Pipe { gas: GAS, inlet_diameter: diameter, outlet_diameter: diameter, length: 2.0, friction_factor, heat: 0.0 };
    let Reading { mass_flow, total_pressure, total_temperature, .. } = *inlet;
    pipe.total_pressure_loss(&Inlet { mass_flow, total_pressure, total_temperature }).unwrap_or(f64::NAN)
}

fn pickup() -> Result<Vec<Row>, Failure> {
    const LIMIT: Limit = Limit { value: 2e-2, why: "one film along the pipe against one that follows the state" };
    const CLOSED: Limit = Limit { value: 1e-8, why: "conservation of energy in a settled march" };
    let (mut rises, mut heats) = (Vec::new(), Vec::new());
    for row in data::rows(data::HEAT_PICKUP)? {
        let (diameter, length, wall) = (row.number("D_m")?, row.number("L_m")?, row.number("T_wall_K")?);
        let keys = format!("friction_factor: 0, wall: {{temperature: {wall} K}}");
        let tract = pipe(diameter, length, &keys, row.number("mdot_kg_s")?)?;
        let marched = tract.march()?;
        let (inlet, outlet) = (marched.rake("pipe", End::First)?, marched.rake("pipe", End::Last)?);
        let rise = outlet.total_temperature - inlet.total_temperature;
        rises.push((rise, exact_rise(&inlet, diameter, length, wall, rise)));
        heats.push((wall_heat(&marched)?, inlet.mass_flow * GAS.heat_capacity() * rise));
    }
    Ok(vec![
        Row::worst(format!("rise of total temperature, worst of {} [K]", rises.len()), rises, LIMIT),
        Row::worst("heat from the wall against what the air gained [W]", heats, CLOSED),
    ])
}

/// Rise [K] by the film at the mean temperature, which lies half the `rise` above that of the inlet.
fn exact_rise(inlet: &Reading, diameter: f64, length: f64, wall: f64, rise: f64) -> f64 {
    let viscosity = sutherland(inlet.temperature(GAS) + 0.5 * rise);
    let reynolds = 4.0 * inlet.mass_flow / (PI * diameter * viscosity);
    let conductivity = viscosity * GAS.heat_capacity() / PRANDTL;
    let film = gnielinski(reynolds, PRANDTL) * entry_factor(length / diameter) * conductivity / diameter;
    let transfer_units = film * PI * diameter * length / (inlet.mass_flow * GAS.heat_capacity());
    -(wall - inlet.total_temperature) * libm::expm1(-transfer_units)
}

/// Heat from the wall of the pipe [W].
fn wall_heat(marched: &Marched<'_>) -> Result<f64, Failure> {
    let network = marched.march.network;
    let pipe = duct(network, "pipe")?;
    let heats = network.arena.wall_heat(&marched.march.work.cells, pipe);
    Ok(heats.iter().zip(network.volumes_of(pipe)).map(|(heat, volume)| heat * volume).sum())
}
