//! Marches the network of a case text and reads from it what a check compares.

use crate::check::Failure;
use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::riemann::State;
use crate::time_series::Series;
use tractwright::case::{Built, Case};
use tractwright::error::Error;
use tractwright::flow::{DuctId, End, Flux, Primitive};
use tractwright::march::{Acoustic, Control, Observer, Outcome, Settings};
use tractwright::network::Network;

/// A cell of a duct.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// Where it begins [m].
    pub low: f64,
    /// Where it ends [m].
    pub high: f64,
    /// Density [kg/m^3], velocity [m/s] and pressure [Pa].
    pub state: State,
}

impl Cell {
    /// Its middle [m].
    #[must_use]
    pub fn middle(&self) -> f64 {
        0.5 * (self.low + self.high)
    }

    /// Mach number.
    #[must_use]
    pub fn mach(&self, gas: PerfectGas) -> f64 {
        let State { density, velocity, pressure } = self.state;
        velocity / (gas.gamma * pressure / density).sqrt()
    }
}

/// What a rake in a duct reads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Mass flow [kg/s].
    pub mass_flow: f64,
    /// Static pressure [Pa].
    pub pressure: f64,
    /// Total pressure [Pa].
    pub total_pressure: f64,
    /// Total temperature [K].
    pub total_temperature: f64,
}

impl Reading {
    /// Mach number.
    #[must_use]
    pub fn mach(&self, gas: PerfectGas) -> f64 {
        gas.mach_of_pressure_ratio(self.pressure / self.total_pressure)
    }

    /// Static temperature [K].
    #[must_use]
    pub fn temperature(&self, gas: PerfectGas) -> f64 {
        self.total_temperature * gas.temperature_ratio(self.mach(gas))
    }

    /// Velocity head, half rho V^2 [Pa].
    #[must_use]
    pub fn head(&self, gas: PerfectGas) -> f64 {
        let mach = self.mach(gas);
        0.5 * gas.gamma * mach * mach * self.pressure
    }

    /// The subsonic stream that carries `flux` [kg/s, N, W] through `area` [m^2]: mass, momentum and energy give its state.
    #[must_use]
    pub fn of_flux(gas: PerfectGas, flux: Flux, area: f64) -> Self {
        // With rho u = m / A, p = (F - m u) / A and the ideal gas, energy is a quadratic in u of which the lower root is subsonic.
        let (enthalpy, thrust) = (flux.energy / flux.mass, flux.momentum / flux.mass);
        let over = gas.gamma / (gas.gamma - 1.0);
        let curvature = 2.0 * over - 1.0;
        let root = (over * over * thrust * thrust - 2.0 * curvature * enthalpy).max(0.0).sqrt();
        let velocity = 2.0 * enthalpy / (over * thrust + f64::copysign(root, thrust));
        let pressure = (flux.momentum - flux.mass * velocity) / area;
        let temperature = (enthalpy - 0.5 * velocity * velocity) / gas.heat_capacity();
        let mach = velocity.abs() / gas.sound_speed(temperature);
        Self {
            mass_flow: flux.mass,
            pressure,
            total_pressure: pressure / gas.pressure_ratio(mach),
            total_temperature: enthalpy / gas.heat_capacity(),
        }
    }
}

/// A case, built and ready to march.
#[derive(Debug)]
pub struct Tract {
    built: Built,
}

impl Tract {
    /// The tract of a case text at its only operating point.
    ///
    /// # Errors
    /// What the solver finds wrong with the case.
    pub fn read(text: &str) -> Result<Self, Failure> {
        let case = Case::from_text("check", text).map_err(Error::from)?;
        Ok(Self { built: case.build(&case.points[0].name).map_err(Error::from)? })
    }

    /// The network.
    #[must_use]
    pub fn network(&self) -> &Network {
        &self.built.network
    }

    /// How it is marched.
    #[must_use]
    pub fn settings(&self) -> Settings {
        self.built.settings
    }

    /// The march before its first step.
    #[must_use]
    pub fn at_start(&self) -> Marched<'_> {
        let Built { network, initial, settings, .. } = &self.built;
        Marched { march: Acoustic::new(network, initial.clone(), *settings) }
    }

    /// The march before its first step, with the states of cells and joints found.
    ///
    /// # Errors
    /// The initial state is not one.
    pub fn at_start_seen(&self) -> Result<Marched<'_>, Failure> {
        let mut marched = self.at_start();
        marched.march.start().map_err(Error::from)?;
        Ok(marched)
    }

    /// The tract at the end of its run.
    ///
    /// # Errors
    /// The physics stopped the run, or it did not settle where it should have.
    pub fn march(&self) -> Result<Marched<'_>, Failure> {
        self.march_recording(|_| 0.0).map(|(marched, _)| marched)
    }

    /// The tract at the end of its run, with what `value` read at each record time.
    ///
    /// # Errors
    /// As for [`Tract::march`].
    pub fn march_recording(&self, value: impl FnMut(&Acoustic<'_>) -> f64) -> Result<(Marched<'_>, Series), Failure> {
        let mut marched = self.at_start();
        let mut recorder = Recorder { value, series: Series::default() };
        match marched.march.run(&mut recorder)? {
            Outcome::Finished | Outcome::Settled | Outcome::Steady => Ok((marched, recorder.series)),
            Outcome::NotSettled | Outcome::Interrupted => Err(Failure::Missing("steady state".to_owned())),
        }
    }

    /// The tract at the end of its run, which `look` has seen after every step.
    ///
    /// # Errors
    /// As for [`Tract::march`].
    pub fn march_watching(&self, look: impl FnMut(&Acoustic<'_>)) -> Result<Marched<'_>, Failure> {
        let mut marched = self.at_start();
        match marched.march.run(&mut Watcher(look))? {
            Outcome::Finished | Outcome::Settled | Outcome::Steady => Ok(marched),
            Outcome::NotSettled | Outcome::Interrupted => Err(Failure::Missing("steady state".to_owned())),
        }
    }
}

struct Watcher<F>(F);

impl<F: FnMut(&Acoustic<'_>)> Observer<Acoustic<'_>> for Watcher<F> {
    fn record(&mut self, _march: &Acoustic<'_>) -> Result<(), Error> {
        Ok(())
    }

    fn step_done(&mut self, march: &Acoustic<'_>) -> Result<Control, Error> {
        (self.0)(march);
        Ok(Control::Continue)
    }
}

struct Recorder<F> {
    value: F,
    series: Series,
}

impl<F: FnMut(&Acoustic<'_>) -> f64> Observer<Acoustic<'_>> for Recorder<F> {
    fn record(&mut self, march: &Acoustic<'_>) -> Result<(), Error> {
        self.series.times.push(march.clock.time);
        self.series.values.push((self.value)(march));
        Ok(())
    }
}

/// A tract that has been marched.
#[derive(Debug)]
pub struct Marched<'a> {
    /// The march.
    pub march: Acoustic<'a>,
}

impl Marched<'_> {
    fn duct(&self, name: &str) -> Result<DuctId, Failure> {
        duct(self.march.network, name)
    }

    /// Cells of the duct `name`, from its first end.
    ///
    /// # Errors
    /// When there is no such duct.
    pub fn cells(&self, name: &str) -> Result<Vec<Cell>, Failure> {
        let (arena, duct) = (&self.march.network.arena, self.duct(name)?);
        let Primitive { density, velocity, pressure } = arena.cell_states(&self.march.work.cells, duct);
        let face = |index: usize| index as f64 * arena.cell_length(duct);
        let cell = |index: usize| Cell {
            low: face(index),
            high: face(index + 1),
            state: State { density: density[index], velocity: velocity[index], pressure: pressure[index] },
        };
        Ok((0..arena.cells(duct)).map(cell).collect())
    }

    /// Cells of all ducts.
    ///
    /// # Errors
    /// None that a sound network has.
    pub fn all_cells(&self) -> Result<Vec<Cell>, Failure> {
        let ducts: Result<Vec<_>, _> = self.march.network.ducts.iter().map(|name| self.cells(name)).collect();
        Ok(ducts?.concat())
    }

    /// Mass flows [kg/s] through the faces of the duct `name`.
    ///
    /// # Errors
    /// When there is no such duct.
    pub fn face_flows(&self, name: &str) -> Result<&[f64], Failure> {
        Ok(self.march.network.arena.face_flows(&self.march.work.cells, self.duct(name)?).mass)
    }

    /// What a rake at an end of the duct `name` reads.
    ///
    /// # Errors
    /// When there is no such duct.
    pub fn rake(&self, name: &str, end: End) -> Result<Reading, Failure> {
        let (arena, duct) = (&self.march.network.arena, self.duct(name)?);
        let flows = arena.face_flows(&self.march.work.cells, duct);
        let face = if end == End::First { 0 } else { flows.mass.len() - 1 };
        let flux = Flux { mass: flows.mass[face], momentum: flows.momentum[face], energy: flows.energy[face] };
        Ok(Reading::of_flux(PerfectGas::AIR, flux, arena.end_area(duct, end)))
    }

    /// Pressure [Pa] and temperature [K] in the volume `name`.
    ///
    /// # Errors
    /// When there is no such volume.
    pub fn volume(&self, name: &str) -> Result<(f64, f64), Failure> {
        let index = volume(self.march.network, name)?;
        let state = self.march.work.volumes[index];
        Ok((state.pressure, state.temperature))
    }
}

/// The duct `name` of a network.
///
/// # Errors
/// When there is no such duct.
pub fn duct(network: &Network, name: &str) -> Result<DuctId, Failure> {
    let found = network.ducts.iter().position(|duct| duct == name);
    found.map(DuctId).ok_or_else(|| Failure::Missing(format!("duct `{name}`")))
}

/// Number of the volume `name` of a network.
///
/// # Errors
/// When there is no such volume.
pub fn volume(network: &Network, name: &str) -> Result<usize, Failure> {
    let found = network.volumes.iter().position(|volume| volume.name == name);
    found.ok_or_else(|| Failure::Missing(format!("volume `{name}`")))
}

#[cfg(test)]
pub(crate) mod perfect;

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_rake_reads_the_stream_that_a_flux_carries() {
        let (gas, area) = (PerfectGas::AIR, 0.004);
        for mach in [-0.9_f64, -1e-3, 0.05, 0.6] {
            let (pressure, temperature) = (9e4, 310.0);
            let velocity = mach * gas.sound_speed(temperature);
            let mass = pressure / (gas.gas_constant * temperature) * velocity * area;
            let enthalpy = gas.heat_capacity() * temperature + 0.5 * velocity * velocity;
            let flux = Flux { mass, momentum: mass * velocity + pressure * area, energy: mass * enthalpy };
            let reading = Reading::of_flux(gas, flux, area);
            assert_relative_eq!(reading.pressure, pressure, max_relative = 1e-12);
            let total = pressure / gas.pressure_ratio(mach.abs());
            assert_relative_eq!(reading.total_pressure, total, max_relative = 1e-12);
        }
    }

    #[test]
    fn an_unknown_part_is_named() {
        let text = crate::checks::symmetry::burst_case();
        let tract = Tract::read(&text).unwrap();
        assert_eq!(tract.at_start().cells("pipe").unwrap_err().to_string(), "found no duct `pipe` in the result");
        assert!(tract.at_start().volume("box").is_err());
        assert!(Tract::read("parts: {}").is_err());
    }
}
