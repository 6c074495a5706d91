//! The powertrain as one system: crank, charge, exhaust, wastegates and shafts as states, and what a compressor asks of its inlet.
//!
//! Mean values over the engine's cycle, the manifolds filled and emptied at the temperature of what stands in them: Eriksson and Nielsen,
//! Modeling and Control of Engines and Drivelines (2014), chapters 7 and 8; Guzzella and Onder (2010), chapter 2; both from memory.

mod inlet;
mod look;
mod over_speed;
mod standing;
mod states;
#[cfg(test)]
mod tests;

pub use over_speed::OverSpeed;
pub use standing::{Regime, Standing, TurboStanding};
pub use states::Shared;

use super::compressor::Compressor;
use super::{Cooler, Engine, ExhaustGas, Road, Turbine, Vehicle, Wastegate};
use crate::gas::Gas;
use states::{CRANK, DRIVE, GEAR, HOLD};

/// Most turbochargers, so that an evaluation needs no heap.
pub const MOST_TURBOS: usize = 4;

/// Least shaft speed that divides a power [rad/s].
const LEAST_SHAFT: f64 = 100.0;

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
    /// Temperature of the air that cools the charge [K].
    pub cooling: f64,
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
}
