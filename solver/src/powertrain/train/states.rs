//! Where the states of a powertrain stand, and those with which it starts.

use super::{Powertrain, Road};
use std::ops::Range;

/// Crank speed [rad/s].
pub(super) const CRANK: usize = 0;
/// Gear, counted from one; a number that only the driver changes.
pub(super) const GEAR: usize = 1;
/// One, or nothing while the driver shifts.
pub(super) const DRIVE: usize = 2;
/// Share of the charge pressure that the throttle lets into the manifold.
pub(super) const THROTTLE: usize = 3;
/// One while the crank's speed is held, whatever the torque.
pub(super) const HOLD: usize = 4;
/// One on the way out of a road, minus one on the way back: what is a rise becomes a fall, and a head wind a tail wind.
pub(super) const DIRECTION: usize = 5;
/// States that all powertrains have.
const OWN: usize = 6;

/// What the banks of an engine share.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Shared {
    /// One charge manifold.
    pub charge: bool,
    /// One exhaust manifold.
    pub exhaust: bool,
    /// One actuator for all wastegates; also where charge or exhaust is shared: one pressure can only be controlled once, and all wastegates of
    /// one manifold drain the same pressure.
    pub wastegate: bool,
}

impl Powertrain {
    /// Number of states.
    #[must_use]
    pub fn states(&self) -> usize {
        self.shaft(self.turbos.len())
    }

    /// States that only the driver changes: gear, whether it drives, throttle, and whether the speed is held.
    #[must_use]
    pub fn held() -> Range<usize> {
        GEAR..OWN
    }

    /// States that a steady state does not find but is given: the crank's speed, and what only the driver changes.
    #[must_use]
    pub fn given() -> Range<usize> {
        CRANK..OWN
    }

    /// States whose change is slow enough that its error counts: crank, charge pressures and shafts.
    pub fn slow(&self) -> impl Iterator<Item = usize> + '_ {
        [CRANK].into_iter().chain(OWN..self.exhaust(0)).chain(self.shaft(0)..self.states())
    }

    /// Place of the charge pressure of bank `bank` [Pa].
    #[must_use]
    pub fn charge(&self, bank: usize) -> usize {
        OWN + if self.shared.charge { 0 } else { bank }
    }

    /// Place of the pressure before the turbine of bank `bank` [Pa].
    #[must_use]
    pub fn exhaust(&self, bank: usize) -> usize {
        OWN + count(self.shared.charge, self.turbos.len()) + if self.shared.exhaust { 0 } else { bank }
    }

    /// Place of the integral part of the control of bank `bank`: the opening of its wastegate when nothing is left to correct.
    #[must_use]
    pub fn opening(&self, bank: usize) -> usize {
        let banks = self.turbos.len();
        OWN + count(self.shared.charge, banks)
            + count(self.shared.exhaust, banks)
            + if self.one_actuator() { 0 } else { bank }
    }

    /// Place of the speed of the shaft of turbo `index` [rad/s].
    #[must_use]
    pub fn shaft(&self, index: usize) -> usize {
        self.opening(0) + count(self.one_actuator(), self.turbos.len()) + index
    }

    fn one_actuator(&self) -> bool {
        self.shared.wastegate || self.shared.charge || self.shared.exhaust
    }

    /// Banks on one charge manifold.
    pub(super) fn charge_banks(&self) -> f64 {
        banks_on(self.shared.charge, self.turbos.len())
    }

    /// Banks on one exhaust manifold.
    pub(super) fn exhaust_banks(&self) -> f64 {
        banks_on(self.shared.exhaust, self.turbos.len())
    }

    /// Banks on one actuator.
    pub(super) fn wastegate_banks(&self) -> f64 {
        banks_on(self.one_actuator(), self.turbos.len())
    }

    /// Size of each state, for scaling and for differences.
    #[must_use]
    pub fn sizes(&self) -> Vec<f64> {
        let mut sizes = vec![1.0; self.states()];
        sizes[CRANK] = 500.0;
        sizes[OWN..self.opening(0)].fill(self.surroundings.pressure);
        for (index, turbo) in self.turbos.iter().enumerate() {
            sizes[self.shaft(index)] = turbo.compressor.speed_limit();
        }
        sizes
    }

    /// The states with which a search for the steady one begins: the charge as it is wanted, the shafts as fast as that asks for.
    #[must_use]
    pub fn start(&self) -> Vec<f64> {
        let mut states = vec![0.0; self.states()];
        states[CRANK] = self.start_speed;
        states[GEAR] = self.start_gear as f64;
        states[DRIVE] = 1.0;
        states[THROTTLE] = self.start_throttle.unwrap_or(self.throttle);
        states[HOLD] = 1.0;
        states[DIRECTION] = 1.0;
        let target = self.target(self.start_speed, states[THROTTLE]);
        let (outside, banks) = (self.surroundings.pressure, self.turbos.len());
        let engine = super::Engine {
            volumetric_efficiency: self.volumetric_efficiency.at(self.start_speed),
            displacement: self.engine.displacement / banks as f64,
            ..self.engine
        };
        let ports = crate::powertrain::Ports {
            manifold_pressure: states[THROTTLE] * target,
            charge_temperature: self.surroundings.temperature + 20.0,
            exhaust_pressure: target,
            gas_constant: self.gas.gas_constant,
        };
        let flow = engine.air_flow(self.start_speed, &ports);
        for bank in 0..banks {
            states[self.charge(bank)] = target;
            states[self.exhaust(bank)] = outside + 1.1 * (target - outside).max(0.02 * outside);
            states[self.opening(bank)] = 0.2 * self.wastegate.most;
            states[self.shaft(bank)] = self.shaft_for(bank, flow, target / outside);
        }
        states
    }

    /// Shaft speed [rad/s] at which a compressor brings `flow` [kg/s] of outside air to `ratio` times its pressure, at most its limit.
    fn shaft_for(&self, bank: usize, flow: f64, ratio: f64) -> f64 {
        let compressor = &self.turbos[bank].compressor;
        let (pressure, temperature) = (self.surroundings.pressure, self.surroundings.temperature);
        let corrected = compressor.reference().corrected_flow(flow, pressure, temperature);
        let (mut low, mut high) = (0.2 * compressor.speed_limit(), compressor.speed_limit());
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if compressor.pressure_ratio(corrected, middle) < ratio { low = middle } else { high = middle }
        }
        high / compressor.reference().corrected_speed(1.0, temperature)
    }

    /// The driver opens the clutch and takes the next gear: the crank is to turn as the wheels make it.
    pub fn shift(&self, states: &mut [f64]) {
        let Some(vehicle) = &self.vehicle else { return };
        let speed = self.road_speed(states);
        states[GEAR] += 1.0;
        states[CRANK] = vehicle.engine_speed(speed, states[GEAR] as usize - 1);
        states[DRIVE] = 0.0;
    }

    /// The driver closes the clutch again.
    pub fn close_clutch(states: &mut [f64]) {
        states[DRIVE] = 1.0;
    }

    /// Whether the clutch is open.
    #[must_use]
    pub fn shifting(states: &[f64]) -> bool {
        states[DRIVE] < 0.5
    }

    /// The driver sets the throttle; the crank's speed is held from now on, or not.
    pub fn set(states: &mut [f64], throttle: f64, held: bool) {
        states[THROTTLE] = throttle;
        states[HOLD] = f64::from(u8::from(held));
    }

    /// The crank turns as it does at the start.
    pub fn turn_at_start(&self, states: &mut [f64]) {
        states[CRANK] = self.start_speed;
    }

    /// The driver turns round: the same road the other way, in the gear and at the speed of the start.
    pub fn turn_round(&self, states: &mut [f64]) {
        states[DIRECTION] = -1.0;
        states[CRANK] = self.start_speed;
        states[GEAR] = self.start_gear as f64;
        states[DRIVE] = 1.0;
    }

    /// Whether the driver is on the way out.
    #[must_use]
    pub fn on_the_way_out(states: &[f64]) -> bool {
        states[DIRECTION] > 0.0
    }

    /// The road as the car meets it.
    pub(super) fn road(&self, states: &[f64]) -> Road {
        let Road { air_density, slope, wind } = self.surroundings.road;
        Road { air_density, slope: states[DIRECTION] * slope, wind: states[DIRECTION] * wind }
    }

    /// Gear, counted from one; zero where none is engaged.
    #[must_use]
    pub fn gear(states: &[f64]) -> usize {
        states[GEAR] as usize
    }

    /// Crank speed [rad/s].
    #[must_use]
    pub fn crank(states: &[f64]) -> f64 {
        states[CRANK]
    }

    /// Torque at the crank that keeps the road speed [N m]; nothing without a vehicle in gear.
    #[must_use]
    pub fn cruising_torque(&self, states: &[f64]) -> f64 {
        let road = self.road(states);
        match &self.vehicle {
            Some(vehicle) if states[GEAR] > 0.5 => {
                let load = vehicle.road_load(self.road_speed(states), road.air_density, road.slope, road.wind);
                load / vehicle.drive_force(1.0, states[GEAR] as usize - 1)
            }
            _ => 0.0,
        }
    }
}

fn count(shared: bool, banks: usize) -> usize {
    if shared { 1 } else { banks }
}

fn banks_on(shared: bool, banks: usize) -> f64 {
    if shared { banks as f64 } else { 1.0 }
}
