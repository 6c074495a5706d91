//! The powertrain as one system: crank, charge, exhaust, wastegates and shafts as states, and what a compressor asks of its inlet.
//!
//! Mean values over the engine's cycle, the manifolds filled and emptied at the temperature of what stands in them: Eriksson and Nielsen,
//! Modeling and Control of Engines and Drivelines (2014), chapters 7 and 8; Guzzella and Onder (2010), chapter 2; both from memory.

mod standing;
mod states;
#[cfg(test)]
mod tests;

pub use standing::{Regime, Standing, TurboStanding};
pub use states::Shared;

use super::compressor::{self, Compressor};
use super::monotone::{EndSlope, MonotoneCurve};
use super::{Cooler, Engine, ExhaustGas, Ports, Road, Turbine, Vehicle, Wastegate};
use crate::gas::Gas;
use crate::heat::ease::larger;
use states::{CRANK, DRIVE, GEAR, HOLD, THROTTLE};

/// Most turbochargers, so that an evaluation needs no heap.
pub const MOST_TURBOS: usize = 4;

/// Opening of the wastegate over the relative error of what it controls: the proportional part of the control. Like the time of its integral
/// part it has no part in any steady state. Common practice, no source.
const CONTROL_GAIN: f64 = 8.0;
/// Relative error within which the control goes over from charge pressure to speed.
const HANDOVER: f64 = 1e-4;
/// Least shaft speed that divides a power [rad/s].
const LEAST_SHAFT: f64 = 100.0;
/// Relative accuracy of the inlet pressure that a compressor asks for: Newton's differences must not see it.
const EXACT: f64 = 1e-15;

/// A curve over crank speed, from points: monotone between them and level outside.
#[derive(Debug, Clone, PartialEq)]
pub struct OverSpeed(MonotoneCurve);

impl OverSpeed {
    /// From points of crank speed [rad/s], rising, with the values there; at least one.
    #[must_use]
    pub fn new(points: &[(f64, f64)]) -> Self {
        let mut points = points.to_vec();
        if let [(speed, value)] = points[..] {
            points.push((speed + 1.0, value));
        }
        Self(MonotoneCurve::new(points, EndSlope::Given(0.0), EndSlope::Given(0.0)))
    }

    /// Value at crank `speed` [rad/s].
    #[must_use]
    pub fn at(&self, speed: f64) -> f64 {
        self.0.at(speed).0
    }
}

/// A turbocharger.
#[derive(Debug, Clone, PartialEq)]
pub struct Turbo {
    /// Draw of the tract that is its compressor's inlet.
    pub draw: String,
    /// Its compressor.
    pub compressor: Compressor,
    /// Share of the compressor's efficiency that a bend before its inlet costs.
    pub bend_penalty: f64,
    /// Its turbine.
    pub turbine: Turbine,
    /// Inertia of its rotor [kg m^2].
    pub inertia: f64,
    /// Share of the turbine's torque that the bearings leave.
    pub mechanical_efficiency: f64,
}

/// What is around the powertrain at an operating point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surroundings {
    /// Static pressure of the outside [Pa].
    pub pressure: f64,
    /// Temperature of the outside [K].
    pub temperature: f64,
    /// Speed of the air that cools the charge where the run does not change it: the fan's, or that which the car meets [m/s].
    pub fan: f64,
    /// What road and air do to the vehicle.
    pub road: Road,
}

/// What holds the crank's speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Load {
    /// A brake that lets it rise by this rate [rad/s^2]; none for a steady point.
    Brake(f64),
    /// The vehicle on the road.
    Road {
        /// Road speed at which the run ends [m/s].
        until: f64,
    },
}

/// An engine with its turbochargers, one a bank, and the vehicle that it drives.
#[derive(Debug, Clone, PartialEq)]
pub struct Powertrain {
    /// The engine; its volumetric efficiency is that of the table.
    pub engine: Engine,
    /// Volumetric efficiency over crank speed.
    pub volumetric_efficiency: OverSpeed,
    /// Gas temperature before the turbine over crank speed [K].
    pub exhaust_temperature: OverSpeed,
    /// Absolute charge pressure that is wanted over crank speed [Pa].
    pub boost: OverSpeed,
    /// Share of the charge pressure that the throttle lets into the manifold when it is as the point says.
    pub throttle: f64,
    /// Turbochargers, one a bank.
    pub turbos: Vec<Turbo>,
    /// What the banks share.
    pub shared: Shared,
    /// The charge cooler of a bank.
    pub cooler: Cooler,
    /// Volume between compressor and cylinders of a bank [m^3].
    pub charge_volume: f64,
    /// Volume between cylinders and turbine of a bank [m^3].
    pub exhaust_volume: f64,
    /// The wastegate of a bank.
    pub wastegate: Wastegate,
    /// Time in which its control takes an error back [s].
    pub wastegate_time: f64,
    /// Pressure behind the turbine above the outside's, over the square of the exhaust flow of a bank [Pa s^2/kg^2].
    pub back_pressure: f64,
    /// The burnt gas.
    pub exhaust_gas: ExhaustGas,
    /// What holds the crank's speed.
    pub load: Load,
    /// The vehicle, where there is one.
    pub vehicle: Option<Vehicle>,
    /// What is around it.
    pub surroundings: Surroundings,
    /// The air.
    pub gas: Gas,
    /// Crank speed at the start [rad/s].
    pub start_speed: f64,
    /// Gear at the start, counted from one; zero where none is engaged.
    pub start_gear: usize,
    /// Throttle before a throttle step; that of the point where there is none.
    pub start_throttle: Option<f64>,
}

/// What a compressor takes from the tract.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Inlet {
    /// Mass flow [kg/s].
    pub mass_flow: f64,
    /// Total pressure [Pa].
    pub total_pressure: f64,
    /// Total temperature [K].
    pub total_temperature: f64,
}

impl Powertrain {
    /// Speed of the car [m/s] at these states; nothing without a vehicle in gear.
    #[must_use]
    pub fn road_speed(&self, states: &[f64]) -> f64 {
        let gear = states[GEAR];
        match &self.vehicle {
            Some(vehicle) if gear > 0.5 => states[CRANK] / vehicle.engine_speed(1.0, gear as usize - 1),
            _ => 0.0,
        }
    }

    /// Speed of the air that the car meets [m/s], where the run changes it.
    #[must_use]
    pub fn air_speed(&self, states: &[f64]) -> Option<f64> {
        matches!(self.load, Load::Road { .. }).then(|| self.road_speed(states) + self.road(states).wind)
    }

    /// Speed of the air before the charge cooler [m/s].
    fn cooling_air(&self, states: &[f64]) -> f64 {
        self.air_speed(states).unwrap_or(self.surroundings.fan)
    }

    /// Total pressure [Pa] before the compressor of turbo `index` at which it takes `mass_flow` [kg/s] of `total_temperature` [K].
    ///
    /// What must stand behind it is the charge's pressure and what the cooler costs; the pressure before it is the root of `p01 PR(m / p01) =
    /// p02`, whose left side rises with `p01`.
    #[must_use]
    pub fn inlet_pressure(&self, index: usize, states: &[f64], mass_flow: f64, total_temperature: f64) -> f64 {
        let compressor = &self.turbos[index].compressor;
        let reference = compressor.reference();
        let behind = states[self.charge(index)] + self.cooler.pressure_loss(mass_flow);
        let speed = reference.corrected_speed(states[self.shaft(index)], total_temperature);
        let excess = |p01: f64| {
            let flow = reference.corrected_flow(mass_flow, p01, total_temperature);
            p01 * compressor.pressure_ratio(flow, speed) - behind
        };
        let (mut low, mut high) = (0.0, behind);
        while excess(high) < 0.0 && high < 1e3 * behind {
            low = high;
            high *= 2.0;
        }
        // Illinois' form of the false position (Dowell and Jarratt 1971): no slope is asked of a map.
        let (mut below, mut above) = (if low > 0.0 { excess(low) } else { -behind }, excess(high));
        let mut side = 0;
        for _ in 0..200 {
            if high - low <= EXACT * high || above - below <= 0.0 {
                break;
            }
            let middle = high - above * (high - low) / (above - below);
            // An end that the line meets is the root, as where nothing flows through a wheel at rest.
            if middle >= high {
                return high;
            }
            if middle <= low {
                return low;
            }
            let value = excess(middle);
            if value.abs() <= EXACT * behind {
                return middle;
            }
            if value > 0.0 {
                (high, above) = (middle, value);
                if side == 1 {
                    below *= 0.5;
                }
                side = 1;
            } else {
                (low, below) = (middle, value);
                if side == -1 {
                    above *= 0.5;
                }
                side = -1;
            }
        }
        0.5 * (low + high)
    }

    /// Writes the rates of the states: what stands before the compressors is in `inlets`.
    pub fn rates(&self, states: &[f64], inlets: &[Inlet], rates: &mut [f64]) {
        rates.fill(0.0);
        let banks = self.turbos.len();
        let standing = self.look(states, inlets);
        for bank in 0..banks {
            let turbo = &self.turbos[bank];
            let now = &standing.turbos[bank];
            let charge = self.gas.gas_constant * now.charge_temperature / (self.charge_volume * self.charge_banks());
            rates[self.charge(bank)] += charge * (now.inlet.mass_flow - now.engine_air);
            let exhaust = self.exhaust_gas.gas_constant * standing.exhaust_temperature
                / (self.exhaust_volume * self.exhaust_banks());
            rates[self.exhaust(bank)] += exhaust * (now.exhaust_flow - now.turbine_flow - now.wastegate_flow);
            let braking = now.compressor_power / states[self.shaft(bank)].max(LEAST_SHAFT);
            rates[self.shaft(bank)] = (turbo.mechanical_efficiency * now.turbine_torque - braking) / turbo.inertia;
            // A shared control follows the mean of what its banks ask for; where the opening is at an end, so is its integral part.
            let integral = states[self.opening(bank)];
            rates[self.opening(bank)] += (now.opening - integral) / (self.wastegate_time * self.wastegate_banks());
        }
        rates[CRANK] = self.crank_rate(states, standing.torque);
    }

    fn crank_rate(&self, states: &[f64], torque: f64) -> f64 {
        if states[HOLD] > 0.5 {
            return 0.0;
        }
        match (self.load, &self.vehicle) {
            (Load::Brake(rate), _) => rate,
            (Load::Road { .. }, Some(vehicle)) if states[GEAR] > 0.5 => {
                let gear = states[GEAR] as usize - 1;
                let torque = states[DRIVE] * torque;
                let speed = self.road_speed(states);
                vehicle.engine_speed(vehicle.acceleration(speed, torque, gear, &self.road(states)), gear)
            }
            (Load::Road { .. }, _) => 0.0,
        }
    }

    /// All that stands at these states.
    #[must_use]
    pub fn look(&self, states: &[f64], inlets: &[Inlet]) -> Standing {
        let banks = self.turbos.len();
        let crank = states[CRANK];
        let engine = Engine {
            displacement: self.engine.displacement / banks as f64,
            volumetric_efficiency: self.volumetric_efficiency.at(crank),
            ..self.engine
        };
        let cold = self.surroundings.temperature;
        let air_speed = self.cooling_air(states);
        let target = self.target(crank, states[THROTTLE]);
        let mut turbos = [TurboStanding::default(); MOST_TURBOS];
        for (bank, now) in turbos.iter_mut().enumerate().take(banks) {
            self.look_at_compressor(bank, states, inlets[bank], air_speed, now);
        }
        if self.shared.charge {
            let mean = mixed(&turbos[..banks], cold);
            turbos[..banks].iter_mut().for_each(|now| now.charge_temperature = mean);
        }
        let exhaust_temperature = self.exhaust_temperature.at(crank);
        let mut torque = 0.0;
        for (bank, now) in turbos.iter_mut().enumerate().take(banks) {
            let ports = Ports {
                manifold_pressure: states[THROTTLE] * states[self.charge(bank)],
                charge_temperature: now.charge_temperature,
                exhaust_pressure: states[self.exhaust(bank)],
                gas_constant: self.gas.gas_constant,
            };
            let speed_error = now.corrected_speed / self.turbos[bank].compressor.speed_limit() - 1.0;
            let error = larger(states[self.charge(bank)] / target - 1.0, speed_error, HANDOVER);
            now.opening = (states[self.opening(bank)] + CONTROL_GAIN * error).clamp(0.0, self.wastegate.most);
            now.manifold_pressure = ports.manifold_pressure;
            now.engine_air = engine.air_flow(crank, &ports);
            now.exhaust_flow = now.engine_air + engine.fuel_flow(now.engine_air);
            torque += engine.brake_torque(crank, &ports);
            self.look_at_turbine(bank, states, exhaust_temperature, now);
        }
        Standing {
            crank,
            outward: Self::on_the_way_out(states),
            gear: states[GEAR] as usize,
            road_speed: self.road_speed(states),
            target,
            exhaust_temperature,
            torque: torque * states[DRIVE],
            fuel: turbos[..banks].iter().map(|now| now.exhaust_flow - now.engine_air).sum(),
            turbos,
            banks,
        }
    }

    /// Charge pressure that is wanted at crank speed `crank` [rad/s]: with the throttle closed no more than the outside's.
    fn target(&self, crank: f64, throttle: f64) -> f64 {
        let outside = self.surroundings.pressure;
        outside + throttle * (self.boost.at(crank) - outside)
    }

    fn look_at_compressor(&self, bank: usize, states: &[f64], inlet: Inlet, air_speed: f64, now: &mut TurboStanding) {
        let Turbo { compressor, bend_penalty, .. } = &self.turbos[bank];
        let reference = compressor.reference();
        now.inlet = inlet;
        now.shaft = states[self.shaft(bank)];
        now.charge_pressure = states[self.charge(bank)];
        now.exhaust_pressure = states[self.exhaust(bank)];
        now.corrected_flow = reference.corrected_flow(inlet.mass_flow, inlet.total_pressure, inlet.total_temperature);
        now.corrected_speed = reference.corrected_speed(now.shaft, inlet.total_temperature);
        now.pressure_ratio = compressor.pressure_ratio(now.corrected_flow, now.corrected_speed);
        now.efficiency = (1.0 - bend_penalty) * compressor.efficiency(now.corrected_flow, now.corrected_speed);
        let work = compressor::work(
            self.gas.heat_capacity,
            self.gas.gamma,
            inlet.total_temperature,
            now.pressure_ratio,
            now.efficiency,
        );
        now.compressor_power = inlet.mass_flow * work;
        now.outlet_temperature = inlet.total_temperature + work / self.gas.heat_capacity;
        now.charge_temperature =
            self.cooler.outlet_temperature(now.outlet_temperature, self.surroundings.temperature, air_speed);
    }

    fn look_at_turbine(&self, bank: usize, states: &[f64], hot: f64, now: &mut TurboStanding) {
        let turbine = &self.turbos[bank].turbine;
        let gas = &self.exhaust_gas;
        let behind = self.surroundings.pressure + self.back_pressure * now.exhaust_flow * now.exhaust_flow;
        now.back_pressure = behind;
        now.turbine_flow = turbine.flow(gas, now.exhaust_pressure, hot, behind);
        now.wastegate_flow = self.wastegate.flow(gas, now.opening, now.exhaust_pressure, hot, behind);
        now.turbine_torque = turbine.torque(gas, states[self.shaft(bank)], now.exhaust_pressure, hot, behind);
    }
}

/// Temperature of the streams of all compressors together [K].
fn mixed(turbos: &[TurboStanding], cold: f64) -> f64 {
    let flow: f64 = turbos.iter().map(|now| now.inlet.mass_flow).sum();
    if flow <= 0.0 {
        return cold;
    }
    turbos.iter().map(|now| now.inlet.mass_flow * now.charge_temperature).sum::<f64>() / flow
}
