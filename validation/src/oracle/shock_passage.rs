//! A shock that runs through a change of area or into a wye: what it leaves long after.
//!
//! A wave goes back, the gas then flows steadily through the passage, and a contact and a shock go on. Mass and total enthalpy are kept in
//! the passage; what it loses is a law of its own. Whitham (1974), Linear and Nonlinear Waves, chapter 8; Greatrix and Gottlieb (1982),
//! UTIAS Report 268. The pressure before the passage is halved out of an interval: the more of it, the less gas goes on.
//!
//! Units: pressure and density of the gas at rest ahead are 1.

use crate::oracle::expansion::SuddenExpansion;
use crate::oracle::handbook::sudden_contraction;
use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::riemann::State;
use crate::oracle::root::bisect;
use crate::oracle::shock::{NormalShock, Reflection};

/// Slowest flow that a passage is searched for, as a Mach number.
const SLOWEST: f64 = 1e-12;
/// Mach number below which a gas counts as at rest.
const REST: f64 = 1e-10;

/// How a passage loses total pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Passage {
    /// Gradual: nothing is lost.
    Gradual,
    /// Sudden expansion: the pressure of the narrow side on the annulus (Borda and Carnot).
    Expansion,
    /// Sudden contraction: Idelchik, Handbook of Hydraulic Resistance, 3rd ed., diagram 4-9, on the velocity of the narrow side.
    Contraction,
    /// One static pressure on both sides (Benson 1982).
    StaticPressure,
    /// Each of equal legs turns the stream by an angle [rad]: Hager (1984), Proc. IMechE 198C, 63, with `p0 - p` for the heads.
    Turn(f64),
}

/// States beside a passage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShockPassage {
    /// Behind the first shock.
    pub incident: State,
    /// Before the passage, behind the wave that goes back.
    pub before: State,
    /// Behind it, before the contact.
    pub behind: State,
    /// Mach number of the shock that goes on.
    pub mach: f64,
}

impl ShockPassage {
    /// A shock of `mach` that runs from area 1 into `area` in all; `None` where no subsonic flow fits the passage.
    #[must_use]
    pub fn new(gamma: f64, mach: f64, area: f64, passage: Passage) -> Option<Self> {
        let gas = PerfectGas { gamma, gas_constant: 1.0 };
        let incident = behind_shock(gamma, mach);
        let wall = Reflection::new(gamma, mach).pressure_ratio;
        // Too much gas for the passage or for the shock that goes on: more pressure has to stand before it.
        let spare = |pressure: f64| {
            let Some(behind) = through(gas, behind_wave(gamma, incident, pressure), area, passage) else { return 1.0 };
            behind.velocity - velocity_behind(gamma, behind.pressure)
        };
        let pressure = bisect(1e-3, wall, spare)?;
        let before = behind_wave(gamma, incident, pressure);
        let behind = through(gas, before, area, passage)?;
        let subsonic = before.velocity * before.velocity < gamma * before.pressure / before.density;
        let balanced = spare(pressure).abs() < 1e-9;
        (subsonic && balanced).then(|| Self { incident, before, behind, mach: mach_of(gamma, behind.pressure) })
    }

    /// Density between the contact and the shock that goes on.
    #[must_use]
    pub fn density_behind_shock(&self, gamma: f64) -> f64 {
        behind_shock(gamma, self.mach).density
    }
}

fn behind_shock(gamma: f64, mach: f64) -> State {
    let shock = NormalShock::new(gamma, mach);
    State {
        density: shock.density_ratio,
        velocity: shock.velocity_behind * gamma.sqrt(),
        pressure: shock.pressure_ratio,
    }
}

/// Mach number of the shock that leaves `pressure`.
fn mach_of(gamma: f64, pressure: f64) -> f64 {
    (1.0 + 0.5 * (gamma + 1.0) / gamma * (pressure - 1.0)).max(1.0).sqrt()
}

fn velocity_behind(gamma: f64, pressure: f64) -> f64 {
    behind_shock(gamma, mach_of(gamma, pressure)).velocity
}

/// Gas of state `ahead` behind a wave that runs back through it and leaves `pressure`. Toro (2009), sections 3.1.3 and 4.2.
fn behind_wave(gamma: f64, ahead: State, pressure: f64) -> State {
    let ratio = pressure / ahead.pressure;
    let sound = (gamma * ahead.pressure / ahead.density).sqrt();
    if ratio > 1.0 {
        let mach = (1.0 + 0.5 * (gamma + 1.0) / gamma * (ratio - 1.0)).sqrt();
        let shock = NormalShock::new(gamma, mach);
        let velocity = ahead.velocity - shock.velocity_behind * sound;
        return State { density: ahead.density * shock.density_ratio, velocity, pressure };
    }
    let rise = libm::pow(ratio, 0.5 * (gamma - 1.0) / gamma) - 1.0;
    let velocity = ahead.velocity - 2.0 / (gamma - 1.0) * sound * rise;
    State { density: ahead.density * libm::pow(ratio, 1.0 / gamma), velocity, pressure }
}

/// A steady stream: mass flux, total enthalpy, and what follows from them at a Mach number.
#[derive(Clone, Copy)]
struct Stream {
    gas: PerfectGas,
    flux: f64,
    /// Speed of sound of the gas at rest.
    sound: f64,
}

impl Stream {
    fn at(&self, mach: f64) -> State {
        let sound = self.sound * self.gas.temperature_ratio(mach).sqrt();
        let velocity = mach * sound;
        let density = self.flux / velocity;
        State { density, velocity, pressure: density * sound * sound / self.gas.gamma }
    }

    /// Mach number in (0, 1) at which `excess` vanishes.
    fn solve(&self, excess: impl Fn(State, f64) -> f64) -> Option<State> {
        let mach = bisect(SLOWEST, 1.0, |mach| excess(self.at(mach), self.total_pressure(mach)))?;
        Some(self.at(mach))
    }

    fn total_pressure(&self, mach: f64) -> f64 {
        self.at(mach).pressure / self.gas.pressure_ratio(mach)
    }
}

/// State behind the passage of a stream that comes to it in the state `before`.
fn through(gas: PerfectGas, before: State, area: f64, passage: Passage) -> Option<State> {
    let gamma = gas.gamma;
    let square = gamma * before.pressure / before.density;
    let mach = before.velocity / square.sqrt();
    if mach < REST {
        return Some(State { velocity: 0.0, ..before });
    }
    if mach >= 1.0 {
        return None;
    }
    let total = before.pressure / gas.pressure_ratio(mach);
    let sound = (square / gas.temperature_ratio(mach)).sqrt();
    let stream = Stream { gas, flux: before.density * before.velocity / area, sound };
    let head = total - before.pressure;
    match passage {
        Passage::Gradual => stream.solve(|_, total_behind| total - total_behind),
        Passage::Expansion => {
            let expansion = SuddenExpansion::new(gas, mach, 1.0 / area)?;
            Some(stream.at(expansion.mach_behind))
        }
        Passage::Contraction => {
            let coefficient = sudden_contraction(area);
            stream.solve(|state, total_behind| {
                total - total_behind - coefficient * 0.5 * state.density * state.velocity * state.velocity
            })
        }
        Passage::StaticPressure => stream.solve(|state, _| before.pressure - state.pressure),
        Passage::Turn(angle) => {
            let cosine = libm::cos(0.75 * angle);
            stream.solve(|state, total_behind| {
                let own = total_behind - state.pressure;
                total - total_behind - (head + own - 2.0 * (head * own).sqrt() * cosine)
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data;
    use approx::assert_relative_eq;

    fn agrees(found: State, density: f64, velocity: f64, pressure: f64) {
        assert_relative_eq!(found.density, density, max_relative = 1e-7);
        assert_relative_eq!(found.velocity, velocity, max_relative = 1e-7, epsilon = 1e-9);
        assert_relative_eq!(found.pressure, pressure, max_relative = 1e-7);
    }

    #[test]
    fn shocks_through_a_change_of_area_agree_with_the_table() {
        for row in data::rows(data::SHOCK_AREA_CHANGE).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let borda = row.text("model") == Ok("borda");
            let passage = if borda { Passage::Expansion } else { Passage::Gradual };
            let found = ShockPassage::new(1.4, value("Ms"), value("A2_A1"), passage).unwrap();
            agrees(found.before, value("rho_L"), value("u_L"), value("p_L"));
            agrees(found.behind, value("rho_R"), value("u_R"), value("p_R"));
            assert_relative_eq!(found.mach, value("Mt"), max_relative = 1e-7);
            assert_relative_eq!(found.density_behind_shock(1.4), value("rho_s"), max_relative = 1e-7);
            assert_relative_eq!(found.incident.velocity, value("u_incident"), max_relative = 1e-8);
        }
    }

    #[test]
    fn shocks_into_junctions_agree_with_the_table() {
        let (pressure, density) = (101_325.0_f64, 101_325.0 / (287.05 * 298.15));
        let speed = (pressure / density).sqrt();
        for row in data::rows(data::JUNCTION_WAVES).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let lossless = row.text("mode") == Ok("total");
            let passage = if lossless { Passage::Gradual } else { Passage::StaticPressure };
            let found = ShockPassage::new(1.4, value("Ms"), value("A_out_A1"), passage).unwrap();
            // Pressures of 1e5 Pa written with ten digits leave seven of the velocity behind the weakest shock.
            assert_relative_eq!(found.before.pressure * pressure, value("p_L_Pa"), max_relative = 1e-8);
            assert_relative_eq!(found.before.velocity * speed, value("u_L"), max_relative = 2e-6);
            assert_relative_eq!(found.before.density * density, value("rho_L"), max_relative = 1e-8);
            assert_relative_eq!(found.behind.pressure * pressure, value("p_out_Pa"), max_relative = 1e-8);
            assert_relative_eq!(found.behind.velocity * speed, value("u_out"), max_relative = 2e-6);
            assert_relative_eq!(found.behind.density * density, value("rho_out"), max_relative = 1e-8);
        }
    }

    #[test]
    fn a_turn_without_angle_into_the_same_area_is_no_passage() {
        let found = ShockPassage::new(1.4, 1.3, 1.0, Passage::Turn(0.0)).unwrap();
        assert_relative_eq!(found.before.pressure, found.incident.pressure, max_relative = 1e-9);
        assert_relative_eq!(found.behind.velocity, found.incident.velocity, max_relative = 1e-6);
    }
}
