//! Friction and heat between a stream and the wall of a duct.

use crate::case_text::{CaseText, draw, mouth, settled};
use crate::check::{Check, Failure, Findings, Group, Limit, Row};
use crate::data;
use crate::figure::Figure;
use crate::marched::{Marched, Reading, Tract, duct, volume};
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
            about: "friction factor of marched pipes, laminar and turbulent, smooth and rough",
            source: "Hagen and Poiseuille; Churchill (1977), Chem. Eng. 84(24), 91; Colebrook (1939), J. Inst. Civ. Eng. 11, 133",
            run: friction,
        },
        Check {
            name: "wall_film",
            about: "Nusselt number of marched pipes, laminar and turbulent",
            source: "Gnielinski (1976), Int. Chem. Eng. 16, 359, with the entry factor of Hausen (1959); laminar 3.66, Incropera et al.",
            run: film,
        },
        Check {
            name: "heat_pickup",
            about: "how much air warms in a pipe with a hot wall, over its transfer units",
            source: "Incropera et al., Fundamentals of Heat and Mass Transfer, 7th ed., equation 8.41b, with Gnielinski's film (1976)",
            run: pickup,
        },
        Check {
            name: "energy_closure",
            about: "a pulsed draw behind a hot duct and a hot box: heat of the walls, energy stored, enthalpy that passed the ends",
            source: "conservation of energy",
            run: closure,
        },
    ],
};

const GAS: PerfectGas = PerfectGas::AIR;
/// Prandtl number of air. Incropera et al., table A.4.
const PRANDTL: f64 = 0.71;
/// Pressure [Pa] and temperature [K] outside.
const OUTSIDE: (f64, f64) = (1e5, 303.15);
/// Reynolds number up to which pipe flow is laminar. Incropera et al., section 8.1.
const LAMINAR: f64 = 2300.0;

/// A pipe between the outside and a draw.
#[derive(Debug, Clone, Copy)]
struct WalledPipe {
    diameter: f64,
    length: f64,
    mass_flow: f64,
}

impl WalledPipe {
    /// A pipe of so many diameters whose stream has about this Reynolds number, at some 30 or, in the widest, 60 m/s: fast enough to settle
    /// soon, slow enough for a Mach number below 0.2.
    fn at_reynolds(reynolds: f64, diameters: f64) -> Self {
        let density = OUTSIDE.0 / (GAS.gas_constant * OUTSIDE.1);
        let speed = if reynolds < LAMINAR {
            10.0
        } else if reynolds < 5e5 {
            30.0
        } else {
            60.0
        };
        let diameter = reynolds * sutherland(OUTSIDE.1) / (density * speed);
        let mass_flow = 0.25 * PI * diameter * reynolds * sutherland(OUTSIDE.1);
        Self { diameter, length: diameters * diameter, mass_flow }
    }

    /// The pipe with further keys, marched as `run` says.
    fn tract(&self, keys: &str, run: String) -> Result<Tract, Failure> {
        let Self { diameter, length, mass_flow } = *self;
        let text = CaseText::new(OUTSIDE.0, OUTSIDE.1)
            .part("mouth", mouth(diameter))
            .part("pipe", format!("kind: duct, length: {length} m, diameter: {diameter} m, {keys}"))
            .part("draw", draw(mass_flow, OUTSIDE.0, OUTSIDE.1))
            .line(&["mouth", "pipe", "draw"])
            .run(run)
            .text();
        Tract::read(&text)
    }

    /// How to march until a friction factor or a film shows to four digits, on 30 cells.
    fn soon(&self) -> String {
        format!("march: acoustic, until: settled, settled_below: 1e-7, at_most: 30 s, cell: {} m", self.length / 30.0)
    }

    /// What rakes at both ends read.
    fn rakes(marched: &Marched<'_>) -> Result<[Reading; 2], Failure> {
        Ok([marched.rake("pipe", End::First)?, marched.rake("pipe", End::Last)?])
    }

    /// Reynolds number of a stream.
    fn reynolds(&self, mass_flow: f64, temperature: f64) -> f64 {
        4.0 * mass_flow / (PI * self.diameter * sutherland(temperature))
    }

    /// The friction factor with which an exact flow from the inlet loses what was lost.
    fn friction_factor(&self, [inlet, outlet]: [Reading; 2]) -> f64 {
        let Reading { mass_flow, total_pressure, total_temperature, .. } = inlet;
        let stream = Inlet { mass_flow, total_pressure, total_temperature };
        let lost = |friction_factor: f64| {
            let (inlet_diameter, outlet_diameter, length) = (self.diameter, self.diameter, self.length);
            let pipe = Pipe { gas: GAS, inlet_diameter, outlet_diameter, length, friction_factor, heat: 0.0 };
            pipe.total_pressure_loss(&stream).unwrap_or(total_pressure)
        };
        // What is lost goes all but straight with the factor, so two secants do.
        let found = total_pressure - outlet.total_pressure;
        let guess = 0.02 * found / lost(0.02);
        guess * found / lost(guess)
    }

    /// Transfer units of a wall at a temperature [K]: of the difference to the wall exp(-NTU) is left.
    fn transfer_units([inlet, outlet]: [Reading; 2], wall: f64) -> f64 {
        -libm::log((wall - outlet.total_temperature) / (wall - inlet.total_temperature))
    }
}

fn friction() -> Result<Findings, Failure> {
    const FORMULA: Limit =
        Limit { value: 1e-3, why: "the same law, over a table of straight lines in the Reynolds number" };
    const LAW: Limit = Limit { value: 2e-3, why: "the same law; at Re 2000 Churchill's turns turbulent by 0.14 %" };
    const SPREAD: Limit = Limit { value: 4e-2, why: "laws of friction differ by 3 %" };
    const ROUGHNESSES: [f64; 3] = [0.0, 1e-3, 1e-2];
    let mut rows = Vec::new();
    let mut figure = Figure::new("Friction factor in marched pipes", "Reynolds number", "Darcy friction factor")
        .logarithmic(true, true);
    for roughness in ROUGHNESSES {
        let mut dots = Vec::new();
        for nominal in [500.0, 1000.0, 2000.0, 1e4, 5e4, 2e5, 1e6] {
            if nominal < LAMINAR && roughness > 0.0 {
                continue;
            }
            let pipe = WalledPipe::at_reynolds(nominal, 30.0);
            let tract = pipe.tract(&format!("roughness: {} m", roughness * pipe.diameter), pipe.soon())?;
            let rakes = WalledPipe::rakes(&tract.march()?)?;
            let found = pipe.friction_factor(rakes);
            let reynolds = pipe.reynolds(rakes[0].mass_flow, rakes[0].temperature(GAS));
            let named = |law: &str| format!("f at Re {nominal}, roughness {roughness} D, {law}");
            rows.push(Row::relative(named("Churchill"), found, churchill(reynolds, roughness), FORMULA));
            rows.push(if nominal < LAMINAR {
                Row::relative(named("64 / Re"), found, 64.0 / reynolds, LAW)
            } else {
                Row::relative(named("Colebrook"), found, colebrook(reynolds, roughness), SPREAD)
            });
            dots.push((reynolds, found));
        }
        let line = (0..=80).map(|step| libm::pow(10.0, 2.5 + 0.05 * f64::from(step)));
        figure = figure.computed(format!("roughness {roughness} D"), dots).reference(
            format!("Churchill, {roughness} D"),
            line.map(|reynolds| (reynolds, churchill(reynolds, roughness))),
        );
    }
    Ok(Findings::from(rows).with(figure))
}

fn film() -> Result<Findings, Failure> {
    const FILM: Limit = Limit { value: 3e-3, why: "one Reynolds number for the pipe, and a table of straight lines" };
    /// Excess of the wall [K], low so that the film is one along the pipe.
    const EXCESS: f64 = 4.0;
    let law = |reynolds: f64| if reynolds < LAMINAR { 3.66 } else { gnielinski(reynolds, PRANDTL) };
    let mut rows = Vec::new();
    let mut dots = Vec::new();
    for nominal in [500.0, 1000.0, 2000.0, 5e3, 1e4, 2e4, 5e4, 1e5, 2e5] {
        let diameters = if nominal < LAMINAR { 20.0 } else { 40.0 };
        let pipe = WalledPipe::at_reynolds(nominal, diameters);
        let wall = OUTSIDE.1 + EXCESS;
        let tract = pipe.tract(&format!("wall: {{temperature: {wall} K}}"), pipe.soon())?;
        let rakes = WalledPipe::rakes(&tract.march()?)?;
        let [inlet, outlet] = rakes;
        let temperature = 0.5 * (inlet.temperature(GAS) + outlet.temperature(GAS));
        // h pi D L / (m cp) with h = Nu k / D and k = mu cp / Pr.
        let per_nusselt = sutherland(temperature) * PI * pipe.length / (PRANDTL * inlet.mass_flow);
        let recovered = recovery_temperature(&inlet, wall);
        let found = WalledPipe::transfer_units(rakes, recovered) / per_nusselt;
        let reynolds = pipe.reynolds(inlet.mass_flow, temperature);
        let factor = entry_factor(diameters);
        rows.push(Row::relative(format!("Nu at Re {nominal}, {diameters} D"), found, law(reynolds) * factor, FILM));
        dots.push((reynolds, found / factor));
    }
    let range = |from: f64, to: f64| (0..=40).map(move |step| from * libm::pow(to / from, f64::from(step) / 40.0));
    let figure = Figure::new("Nusselt number in marched pipes, developed", "Reynolds number", "Nusselt number")
        .logarithmic(true, true)
        .computed("marched, over the entry factor", dots)
        .reference("laminar", range(300.0, LAMINAR).map(|reynolds| (reynolds, law(reynolds))))
        .reference("Gnielinski", range(4e3, 3e5).map(|reynolds| (reynolds, law(reynolds))));
    Ok(Findings::from(rows).with(figure))
}

/// Wall temperature [K] less what the stream at an inlet has below its total temperature when it is stopped at an adiabatic wall, with
/// the recovery factor Pr^(1/3) of turbulent flow (Shapiro, volume 2, chapter 26).
fn recovery_temperature(inlet: &Reading, wall: f64) -> f64 {
    let kinetic = inlet.total_temperature - inlet.temperature(GAS);
    wall + (1.0 - libm::cbrt(PRANDTL)) * kinetic
}

fn pickup() -> Result<Findings, Failure> {
    const RISE: Limit = Limit { value: 1e-3, why: "one film along the pipe against one that follows the state" };
    const CLOSED: Limit = Limit { value: 1e-8, why: "conservation of energy in a settled march" };
    let (mut rows, mut heats, mut dots) = (Vec::new(), Vec::new(), Vec::new());
    for row in data::rows(data::HEAT_PICKUP)? {
        let value = |column| row.number(column);
        let (diameter, length, mass_flow) = (value("D_m")?, value("L_m")?, value("mdot_kg_s")?);
        let wall = value("T_wall_K")?;
        let pipe = WalledPipe { diameter, length, mass_flow };
        let keys = format!("friction_factor: 0, wall: {{temperature: {wall} K}}");
        let tract = pipe.tract(&keys, settled(length / 50.0))?;
        let marched = tract.march()?;
        let [inlet, outlet] = WalledPipe::rakes(&marched)?;
        let rise = outlet.total_temperature - inlet.total_temperature;
        let units = exact_units(&pipe, &inlet, rise);
        let share = rise / (recovery_temperature(&inlet, wall) - inlet.total_temperature);
        let quantity = format!("rise over excess of the wall, {mass_flow} kg/s through {diameter} m by {length} m");
        rows.push(Row::relative(quantity, share, -libm::expm1(-units), RISE));
        heats.push((wall_heat(&marched)?, inlet.mass_flow * GAS.heat_capacity() * rise));
        dots.push((units, share));
    }
    rows.push(Row::worst("heat from the wall against what the air gained [W]", heats, CLOSED));
    let figure = Figure::new("Air in pipes with a hot wall", "transfer units", "rise over excess of the wall")
        .computed("marched", dots)
        .reference(
            "1 - exp(-NTU)",
            (0..=40).map(|step| 0.01 * f64::from(step)).map(|units| (units, -libm::expm1(-units))),
        );
    Ok(Findings::from(rows).with(figure))
}

/// Transfer units by the film at the mean temperature, which lies half the `rise` [K] above that of the inlet.
fn exact_units(pipe: &WalledPipe, inlet: &Reading, rise: f64) -> f64 {
    let temperature = inlet.temperature(GAS) + 0.5 * rise;
    let reynolds = pipe.reynolds(inlet.mass_flow, temperature);
    let conductivity = sutherland(temperature) * GAS.heat_capacity() / PRANDTL;
    let nusselt = gnielinski(reynolds, PRANDTL) * entry_factor(pipe.length / pipe.diameter);
    nusselt * conductivity * PI * pipe.length / (inlet.mass_flow * GAS.heat_capacity())
}

/// Heat from the wall of the pipe [W].
fn wall_heat(marched: &Marched<'_>) -> Result<f64, Failure> {
    let network = marched.march.network;
    let pipe = duct(network, "pipe")?;
    let heats = network.arena.wall_heat(&marched.march.work.cells, pipe);
    Ok(heats.iter().zip(network.volumes_of(pipe)).map(|(heat, volume)| heat * volume).sum())
}

fn closure() -> Result<Findings, Failure> {
    const CLOSED: Limit = Limit { value: 1e-10, why: "conservation of energy in every step" };
    let text = CaseText::new(OUTSIDE.0, OUTSIDE.1)
        .part("mouth", mouth(0.08))
        .part("pipe", "kind: duct, length: 0.6 m, diameter: 0.08 m, wall: {temperature: 380 K}")
        .part("box", "kind: plenum, volume: 6 L, wall: {temperature: 350 K}")
        .part("tube", "kind: duct, length: 0.4 m, diameter: 0.06 m, wall: {heat: 250 W}")
        .part("draw", "kind: draw, flow: 0.12 kg/s, pulse: {amplitude: 0.8, frequency: 60 Hz}")
        .line(&["mouth", "pipe", "box", "tube", "draw"])
        .run("march: acoustic, until: 0.1 s, cell: 10 mm, record_every: 2 ms")
        .text();
    let tract = Tract::read(&text)?;
    let network = tract.network();
    let [pipe, tube] = [duct(network, "pipe")?, duct(network, "tube")?];
    let room = volume(network, "box")?;
    let joint = |before: &str, behind: &str| {
        let found = network.joints.iter().position(|joint| joint.parts == [before, behind]);
        found.ok_or_else(|| Failure::Missing(format!("joint of {before} and {behind}")))
    };
    let (entry, exit) = (joint("mouth", "pipe")?, joint("tube", "draw")?);
    let start = network.stored(&tract.at_start().march.y)[1];
    let mut balance = Vec::new();
    tract.march_recording(|march| {
        let (values, places) = (&march.integrals.values, &march.integrals.places);
        // Behind the entropies of a duct stands its wall heat, behind the mass of a joint its mass times total temperature.
        let heat = values[places.ducts[pipe.0] + 4] + values[places.ducts[tube.0] + 4] + values[places.volumes[room]];
        let enthalpy = |joint: usize| GAS.heat_capacity() * values[places.joints[joint] + 1];
        let stored = network.stored(&march.y)[1] - start;
        balance.push((march.clock.time, heat, stored + enthalpy(exit) - enthalpy(entry)));
        0.0
    })?;
    let (_, heat, gained) = balance.last().copied().unwrap_or((f64::NAN, f64::NAN, f64::NAN));
    let figure = Figure::new("Heat of the walls behind a pulsed draw", "time [s]", "energy [J]")
        .computed("stored and carried out", balance.iter().map(|(time, _, gained)| (*time, *gained)))
        .reference("from the walls", balance.iter().map(|(time, heat, _)| (*time, *heat)));
    let moved =
        Row::at_least("heat from the walls [J]", heat, 10.0, Limit { value: 0.0, why: "something must have warmed" });
    let open = Row::vanishing("what is missing, over the heat", (heat - gained) / heat, CLOSED);
    Ok(Findings::from(vec![moved, open]).with(figure))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::marched::perfect::reading;

    #[test]
    fn a_friction_factor_is_read_back() {
        let pipe = WalledPipe { diameter: 0.05, length: 2.0, mass_flow: 0.1 };
        let (inlet_diameter, outlet_diameter) = (0.05, 0.05);
        let exact = Pipe { gas: GAS, inlet_diameter, outlet_diameter, length: 2.0, friction_factor: 0.03, heat: 0.0 };
        let inlet = reading(0.1, 1e5, 300.0);
        let stream = Inlet { mass_flow: 0.1, total_pressure: 1e5, total_temperature: 300.0 };
        let outlet = reading(0.1, 1e5 - exact.total_pressure_loss(&stream).unwrap(), 300.0);
        assert!((pipe.friction_factor([inlet, outlet]) / 0.03 - 1.0).abs() < 1e-4);
    }

    #[test]
    fn transfer_units_are_read_back() {
        let rakes = [reading(0.1, 1e5, 300.0), reading(0.1, 1e5, 400.0 - 100.0 * libm::exp(-0.3))];
        assert!((WalledPipe::transfer_units(rakes, 400.0) - 0.3).abs() < 1e-14);
    }
}
