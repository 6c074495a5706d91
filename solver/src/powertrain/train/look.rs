//! What stands in a powertrain whose states are known.

use super::states::{CRANK, DRIVE, GEAR, THROTTLE};
use super::{Inlet, MOST_TURBOS, Powertrain, Standing, Turbo, TurboStanding};
use crate::heat::ease::larger;
use crate::powertrain::{Engine, Ports, compressor};

/// Opening of the wastegate over the relative error of what it controls: the proportional part of the control. Like the time of its integral
/// part it has no part in any steady state. Common practice, no source.
const CONTROL_GAIN: f64 = 8.0;
/// Relative error within which the control goes over from charge pressure to speed.
const HANDOVER: f64 = 1e-4;

impl Powertrain {
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
    pub(super) fn target(&self, crank: f64, throttle: f64) -> f64 {
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
            self.cooler.outlet_temperature(now.outlet_temperature, self.surroundings.cooling, air_speed);
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
