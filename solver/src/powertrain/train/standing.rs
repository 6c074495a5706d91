//! What stands in a powertrain at one instant, and what holds its power where it is.

use super::{Inlet, MOST_TURBOS, Powertrain};

/// Share below its target from which a charge pressure counts as not reached, and share of its limit from which a shaft is at it.
const REACHED: f64 = 5e-3;
/// Opening from which a wastegate counts as open.
const OPEN: f64 = 1e-4;

/// A turbocharger and its bank.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct TurboStanding {
    /// What its compressor takes from the tract.
    pub inlet: Inlet,
    /// Shaft speed [rad/s].
    pub shaft: f64,
    /// Opening of the wastegate, from nothing to one.
    pub opening: f64,
    /// Charge pressure behind the cooler [Pa].
    pub charge_pressure: f64,
    /// Pressure behind the throttle [Pa].
    pub manifold_pressure: f64,
    /// Pressure before the turbine [Pa].
    pub exhaust_pressure: f64,
    /// Pressure behind the turbine [Pa].
    pub back_pressure: f64,
    /// Corrected flow of the compressor [kg/s].
    pub corrected_flow: f64,
    /// Corrected speed of the compressor [rad/s].
    pub corrected_speed: f64,
    /// Total-to-total pressure ratio of the compressor.
    pub pressure_ratio: f64,
    /// Isentropic efficiency of the compressor, its bend included.
    pub efficiency: f64,
    /// Power of the compressor [W].
    pub compressor_power: f64,
    /// Temperature behind the compressor [K].
    pub outlet_temperature: f64,
    /// Temperature of the charge behind the cooler [K].
    pub charge_temperature: f64,
    /// Air that the bank's cylinders take [kg/s].
    pub engine_air: f64,
    /// Burnt gas that they leave [kg/s].
    pub exhaust_flow: f64,
    /// Gas through the turbine [kg/s].
    pub turbine_flow: f64,
    /// Gas past it [kg/s].
    pub wastegate_flow: f64,
    /// Torque of the turbine [N m].
    pub turbine_torque: f64,
}

/// A powertrain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// Crank speed [rad/s].
    pub crank: f64,
    /// Whether the car is on the way out, not on the way back.
    pub outward: bool,
    /// Gear, counted from one; zero where none is engaged.
    pub gear: usize,
    /// Road speed [m/s].
    pub road_speed: f64,
    /// Charge pressure that is wanted [Pa].
    pub target: f64,
    /// Gas temperature before the turbines [K].
    pub exhaust_temperature: f64,
    /// Torque at the crank [N m].
    pub torque: f64,
    /// Fuel [kg/s].
    pub fuel: f64,
    /// Turbochargers.
    pub(super) turbos: [TurboStanding; MOST_TURBOS],
    pub(super) banks: usize,
}

/// What holds the power of a bank where it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Regime {
    /// The wastegate holds the wanted charge pressure: inlet losses cost work, hardly any charge.
    BoostControlled,
    /// The wastegate is shut and the charge below what is wanted: each inlet loss costs charge.
    WastegateShut,
    /// The shaft is at its limit, which the wastegate holds: each inlet loss costs charge.
    SpeedLimited,
    /// The charge is not where it is wanted, and the control is on its way.
    Changing,
}

impl Regime {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::BoostControlled => "boost-controlled",
            Self::WastegateShut => "wastegate shut",
            Self::SpeedLimited => "speed-limited",
            Self::Changing => "changing",
        }
    }
}

impl Standing {
    /// Turbochargers, in the order of the case.
    #[must_use]
    pub fn turbos(&self) -> &[TurboStanding] {
        &self.turbos[..self.banks]
    }

    /// Power at the crank [W].
    #[must_use]
    pub fn power(&self) -> f64 {
        self.torque * self.crank
    }
}

impl Powertrain {
    /// What holds the power of bank `bank`.
    #[must_use]
    pub fn regime(&self, standing: &Standing, bank: usize) -> Regime {
        let now = &standing.turbos[bank];
        if self.speed_margin(standing, bank) < REACHED && now.opening > OPEN {
            return Regime::SpeedLimited;
        }
        if now.charge_pressure > (1.0 - REACHED) * standing.target {
            return if now.charge_pressure < (1.0 + REACHED) * standing.target {
                Regime::BoostControlled
            } else {
                Regime::Changing
            };
        }
        if now.opening <= OPEN { Regime::WastegateShut } else { Regime::Changing }
    }

    /// Share of its flow by which a compressor may fall before it surges at its speed.
    #[must_use]
    pub fn surge_margin(&self, standing: &Standing, bank: usize) -> f64 {
        let now = &standing.turbos[bank];
        1.0 - self.turbos[bank].compressor.surge_flow(now.corrected_speed) / now.corrected_flow
    }

    /// Share of the choking flow that a compressor leaves free at its speed.
    #[must_use]
    pub fn choke_margin(&self, standing: &Standing, bank: usize) -> f64 {
        let now = &standing.turbos[bank];
        1.0 - now.corrected_flow / self.turbos[bank].compressor.choke_flow(now.corrected_speed)
    }

    /// Share of its speed limit that a compressor leaves free.
    #[must_use]
    pub fn speed_margin(&self, standing: &Standing, bank: usize) -> f64 {
        1.0 - standing.turbos[bank].corrected_speed / self.turbos[bank].compressor.speed_limit()
    }
}
