//! What stands on one side of a joint, and which total pressure it supplies or demands at a given mass flow.

use super::radiation::{Radiation, STATES};
use super::wave::{Face, WaveCurve};
use super::{Jet, View, VolumeState};
use crate::gas::Gas;
use crate::loss::Basis;
use crate::loss::ram::{Beside, MouthAir};
use crate::part::{Course, Demand, Radiator};

/// Lowest total pressure in a mouth over the static pressure before it, so that no trial flow asks for vacuum.
const LEAST_SHARE: f64 = 0.05;

/// Share of a jet that an outlet takes in directly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Faced {
    /// Number of the jet in [`View::jets`].
    pub jet: usize,
    /// Share of the jet that crosses, 0..1.
    pub share: f64,
}

/// The rim of an opening in a volume.
#[derive(Debug, Clone)]
pub enum Rim {
    /// Of a hole, a loss or a duct's end: it has no part of its own.
    Plain,
    /// Of a mouth, with how sound leaves through it; `None` for an ideal end. What its lip costs stands among the losses of the joint.
    Mouth(Option<Box<Radiation>>),
}

/// One side of a joint.
#[derive(Debug, Clone)]
pub enum Side {
    /// A duct's end, by its number in [`View::ends`].
    Duct {
        /// Number of the end.
        end: usize,
    },
    /// A stored volume that is left or entered through `area` [m^2].
    Volume {
        /// Number of the volume.
        volume: usize,
        /// Area of the opening [m^2].
        area: f64,
        /// Height of the opening above the level at which the volume's pressure stands [m].
        height: f64,
        /// Jets that this opening faces.
        faced: Vec<Faced>,
        /// Its rim.
        rim: Rim,
    },
    /// Air at rest whose state is given: a bay, or the outside behind a gap.
    Still {
        /// Static pressure.
        beside: Beside,
        /// Temperature [K].
        temperature: f64,
        /// Area of the opening [m^2].
        area: f64,
    },
    /// A mouth or scoop in the air stream.
    Mouth {
        /// The air before it.
        air: Box<MouthAir>,
        /// How sound leaves through it; `None` for an ideal end, which holds its pressure.
        radiation: Option<Box<Radiation>>,
        /// Where its numbers come from.
        basis: Basis,
    },
    /// A draw.
    Draw {
        /// What it asks for.
        demand: Demand,
        /// How that changes in time.
        course: Course,
        /// Area of its inlet [m^2].
        area: f64,
        /// Static pressure of the outside [Pa].
        outside: f64,
        /// Temperature of air that comes back out of it [K].
        backflow_temperature: f64,
    },
    /// An inflow.
    Inflow {
        /// What is fed in.
        fed: Fed,
        /// How the flow changes in time.
        course: Course,
    },
    /// A closed end.
    Wall,
}

/// What an inflow feeds in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fed {
    /// A stream of given numbers.
    Given {
        /// Mass flow [kg/s].
        flow: f64,
        /// Total temperature [K].
        temperature: f64,
    },
    /// What a fan and the road drive through a radiator.
    Radiator {
        /// The radiator.
        radiator: Radiator,
        /// Road speed [m/s] where the run does not change it.
        speed: f64,
        /// Temperature of the outside [K].
        outside: f64,
    },
}

impl Fed {
    /// Mass flow [kg/s], at another road speed [m/s] where the run changes that.
    #[must_use]
    pub fn flow(&self, road_speed: Option<f64>) -> f64 {
        match self {
            Self::Given { flow, .. } => *flow,
            Self::Radiator { radiator, speed, .. } => radiator.flow(road_speed.unwrap_or(*speed)),
        }
    }

    /// Total temperature [K], likewise.
    #[must_use]
    pub fn temperature(&self, gas: &Gas, road_speed: Option<f64>) -> f64 {
        match self {
            Self::Given { temperature, .. } => *temperature,
            Self::Radiator { radiator, speed, outside } => {
                radiator.temperature_behind(road_speed.unwrap_or(*speed), *outside, gas.heat_capacity)
            }
        }
    }
}

/// What a side supplies or demands.
#[derive(Debug, Clone, Copy)]
pub struct Reach {
    /// Total pressure [Pa].
    pub total_pressure: f64,
    /// Total temperature [K] of a stream that comes from here.
    pub total_temperature: f64,
    /// Rise of demanded, or fall of supplied, total pressure per mass flow [Pa s/kg], as a first guess.
    pub impedance: f64,
    /// State at the face, where the side is a duct.
    pub face: Option<Face>,
}

impl Side {
    /// Mass flow [kg/s] that this side fixes, positive *into* the joint.
    #[must_use]
    pub fn prescribed(&self, view: &View<'_>) -> Option<f64> {
        let time = view.time;
        match self {
            Self::Wall => Some(0.0),
            Self::Inflow { fed, course } => Some(fed.flow(view.road_speed) * course.factor(time)),
            Self::Draw { demand: Demand::Flow(flow), course, .. } => Some(-flow * course.factor(time)),
            Self::Draw { demand: Demand::CorrectedFlow { .. }, course, .. } if course.factor(time) <= 0.0 => Some(0.0),
            _ => None,
        }
    }

    /// The air before it that takes part in its sound, where it radiates.
    #[must_use]
    pub fn radiation(&self) -> Option<&Radiation> {
        match self {
            Self::Mouth { radiation, .. } | Self::Volume { rim: Rim::Mouth(radiation), .. } => radiation.as_deref(),
            _ => None,
        }
    }

    /// A mass flow [kg/s] that this side can give for certain, cheaply found.
    #[must_use]
    pub fn certain(&self, view: &View<'_>) -> f64 {
        match self {
            Self::Duct { end } => WaveCurve::new(view.gas, view.ends[*end]).certain(),
            _ => 0.0,
        }
    }

    /// Mass flow [kg/s] at which the opening of this side chokes: what a forced flow can take from it at the very most.
    #[must_use]
    pub fn choking_flow(&self, view: &View<'_>) -> f64 {
        let through = |pressure: f64, temperature: f64, area: f64| {
            view.gas.choking_flow_function() * area * pressure / (view.gas.gas_constant * temperature).sqrt()
        };
        match self {
            Self::Volume { volume, area, .. } => {
                let state = view.volumes[*volume];
                through(state.pressure, state.temperature, *area)
            }
            Self::Still { beside, temperature, area } => through(beside.pressure(view.road_speed), *temperature, *area),
            _ => self.capacity(view),
        }
    }

    /// Largest mass flow [kg/s] that can come from this side; infinite when nothing but losses limits it.
    #[must_use]
    pub fn capacity(&self, view: &View<'_>) -> f64 {
        match self {
            Self::Duct { end } => WaveCurve::new(view.gas, view.ends[*end]).capacity(),
            Self::Wall => 0.0,
            Self::Draw { demand: Demand::CorrectedFlow { .. } | Demand::Engine(_), .. } => 0.0,
            _ => f64::INFINITY,
        }
    }

    /// Total temperature [K] of air that comes from this side, where that is given; at another road speed [m/s] where the run changes that.
    #[must_use]
    pub fn given_temperature(&self, gas: &Gas, road_speed: Option<f64>) -> Option<f64> {
        match self {
            Self::Still { temperature, .. } => Some(*temperature),
            Self::Inflow { fed, .. } => Some(fed.temperature(gas, road_speed)),
            Self::Mouth { air, .. } => {
                let moved = road_speed.map(|speed| air.at_speed(gas, speed).total_temperature);
                Some(moved.unwrap_or(air.total_temperature))
            }
            Self::Draw { backflow_temperature, .. } => Some(*backflow_temperature),
            Self::Duct { .. } | Self::Volume { .. } | Self::Wall => None,
        }
    }

    /// What this side supplies when `mass_flow` [kg/s, >= 0] comes from it.
    #[must_use]
    pub fn supply(&self, view: &View<'_>, mass_flow: f64) -> Reach {
        match self {
            Self::Duct { end } => {
                let curve = WaveCurve::new(view.gas, view.ends[*end]);
                let face = curve.outflow(mass_flow);
                Reach {
                    total_pressure: face.total_pressure,
                    total_temperature: face.total_temperature,
                    impedance: face.impedance,
                    face: Some(face),
                }
            }
            Self::Volume { volume, faced, height, .. } => {
                let state = view.volumes[*volume];
                let mut reach = Reach::at_rest(at_height(view.gas, state, *height), state.temperature);
                for (carried, jet) in
                    faced.iter().map(|faced| (faced.carried(view.jets, mass_flow), view.jets[faced.jet]))
                {
                    reach.total_pressure += carried * (jet.total_pressure - state.pressure).max(0.0);
                    reach.total_temperature += carried * (jet.total_temperature - state.temperature);
                }
                self.radiate(view, reach, mass_flow, state.pressure)
            }
            Self::Still { beside, temperature, .. } => Reach::at_rest(beside.pressure(view.road_speed), *temperature),
            Self::Mouth { air, .. } => {
                let temperature = self.given_temperature(view.gas, view.road_speed).unwrap_or(air.total_temperature);
                self.radiate(view, mouth(view, air, mass_flow, temperature), mass_flow, air.static_pressure)
            }
            Self::Draw { demand, outside, backflow_temperature, course, .. } => {
                let total_pressure = match demand {
                    Demand::Depression(depression) => outside - depression * course.factor(view.time),
                    // It only takes. At rest nothing stands behind it, as `demand` has it, whichever side is asked.
                    Demand::CorrectedFlow { .. } | Demand::Engine(_) => 0.0,
                    Demand::Flow(_) => *outside,
                };
                Reach::at_rest(total_pressure, *backflow_temperature)
            }
            Self::Inflow { fed, .. } => Reach::at_rest(0.0, fed.temperature(view.gas, view.road_speed)),
            Self::Wall => Reach::at_rest(0.0, 0.0),
        }
    }

    /// What this side demands to take `mass_flow` [kg/s, >= 0] of `total_temperature` [K].
    #[must_use]
    pub fn demand(&self, view: &View<'_>, mass_flow: f64, total_temperature: f64) -> Reach {
        let gas = view.gas;
        let exit = |pressure: f64, area: f64| {
            let total_pressure = gas.section_at_static(mass_flow, total_temperature, area, pressure).total_pressure;
            // The velocity head that is lost rises with the square of the flow.
            let impedance = if mass_flow > 0.0 { 2.0 * (total_pressure - pressure) / mass_flow } else { 0.0 };
            Reach { impedance, ..Reach::at_rest(total_pressure, total_temperature) }
        };
        match self {
            Self::Duct { end } => {
                let curve = WaveCurve::new(gas, view.ends[*end]);
                let face = curve.inflow(mass_flow, total_temperature);
                Reach {
                    total_pressure: face.total_pressure,
                    total_temperature,
                    impedance: face.impedance,
                    face: Some(face),
                }
            }
            Self::Volume { volume, area, height, .. } => {
                let state = view.volumes[*volume];
                self.radiate(view, exit(at_height(gas, state, *height), *area), -mass_flow, state.pressure)
            }
            Self::Still { beside, area, .. } => exit(beside.pressure(view.road_speed), *area),
            Self::Mouth { air, .. } => {
                let far = mouth(view, air, -mass_flow, total_temperature);
                self.radiate(view, far, -mass_flow, air.static_pressure)
            }
            Self::Draw { demand, course, area, outside, .. } => match demand {
                Demand::CorrectedFlow { flow, slope, pressure, temperature } => {
                    let corrected =
                        mass_flow * (total_temperature / temperature).sqrt() / (flow * course.factor(view.time));
                    let ratio = inlet_pressure_ratio(corrected, *slope);
                    Reach {
                        impedance: if mass_flow > 0.0 { ratio * pressure / mass_flow } else { 0.0 },
                        ..Reach::at_rest(ratio * pressure, total_temperature)
                    }
                }
                Demand::Depression(depression) => exit(outside - depression * course.factor(view.time), *area),
                Demand::Flow(_) => Reach::at_rest(0.0, total_temperature),
                Demand::Engine(turbo) => {
                    let asked = view.powertrain.map_or(0.0, |(powertrain, states)| {
                        powertrain.inlet_pressure(*turbo, states, mass_flow, total_temperature)
                    });
                    let impedance = if mass_flow > 0.0 { asked / mass_flow } else { 0.0 };
                    Reach { impedance, ..Reach::at_rest(asked, total_temperature) }
                }
            },
            Self::Inflow { .. } | Self::Wall => Reach::at_rest(0.0, total_temperature),
        }
    }

    /// What stands before the air that takes part in the sound of this side, when `far` stands beyond it and `inflow` [kg/s] comes in; that air
    /// rests at `pressure` [Pa].
    fn radiate(&self, view: &View<'_>, far: Reach, inflow: f64, pressure: f64) -> Reach {
        let Some(radiation) = self.radiation() else { return far };
        let stored = &view.radiation[STATES * radiation.index..][..STATES];
        let near = far.total_pressure + radiation.pressure(view.gas, stored, -inflow);
        // Only trial flows far from balance come down to the least share.
        let total_pressure = near.max(LEAST_SHARE * pressure);
        Reach { total_pressure, impedance: far.impedance + radiation.impedance(), ..far }
    }
}

impl Reach {
    fn at_rest(total_pressure: f64, total_temperature: f64) -> Self {
        Self { total_pressure, total_temperature, impedance: 0.0, face: None }
    }
}

/// Pressure [Pa] in a volume at a height [m] above the level at which its own stands.
fn at_height(gas: &Gas, state: VolumeState, height: f64) -> f64 {
    state.pressure - height * gas.fall_with_height(state.pressure, state.temperature)
}

/// What a mouth supplies to `inflow` [kg/s] or, where that is negative, demands to take it back at `total_temperature` [K].
fn mouth(view: &View<'_>, air: &MouthAir, inflow: f64, total_temperature: f64) -> Reach {
    let moved = view.road_speed.map(|speed| air.at_speed(view.gas, speed));
    let air = moved.as_ref().unwrap_or(air);
    let supplied = air.supply(view.gas, inflow, total_temperature);
    // What the lip costs air that enters, and the exit a jet that leaves, goes with the square of the flow.
    let change = (supplied - air.recovered_pressure(0.0)).abs();
    let impedance = if inflow.abs() > 0.0 { 2.0 * change / inflow.abs() } else { 0.0 };
    Reach { impedance, ..Reach::at_rest(supplied, total_temperature) }
}

impl Faced {
    /// Share of the outlet's `mass_flow` [kg/s] that comes straight from the jet: at most the facing outlet's whole flow.
    #[must_use]
    pub fn carried(&self, jets: &[Jet], mass_flow: f64) -> f64 {
        let offered = self.share * jets[self.jet].mass_flow;
        if offered <= 0.0 {
            0.0
        } else if offered < mass_flow {
            offered / mass_flow
        } else {
            1.0
        }
    }
}

/// Inlet total pressure over its reference, at which a compressor takes `corrected` times its corrected flow when that rises by
/// `slope` per relative rise of inlet pressure: the root of `y (1 + slope (y - 1)) = corrected`.
///
/// With a falling slope no pressure gives more than `(1 - slope)^2 / (-4 slope)`; beyond that the answer goes on rising with the flow.
fn inlet_pressure_ratio(corrected: f64, slope: f64) -> f64 {
    let linear = 1.0 - slope;
    let root = (linear * linear + 4.0 * slope * corrected).max(0.0).sqrt();
    // Of the two ways to write the root, the one whose terms do not cancel.
    if linear > 0.0 { 2.0 * corrected / (linear + root) } else { 0.5 * (root - linear) / slope }
}

/// Total state of a stream of `mass_flow` [kg/s] at a draw's own `area` [m^2]: static pressure [Pa] a wall tap would read there.
#[must_use]
pub fn tap_pressure(gas: &Gas, mass_flow: f64, total_temperature: f64, area: f64, total_pressure: f64) -> f64 {
    gas.section_at_total(mass_flow.abs(), total_temperature, area, total_pressure).pressure
}

#[cfg(test)]
mod tests {
    use super::inlet_pressure_ratio;

    #[test]
    fn a_draw_of_any_slope_has_one_finite_pressure_at_any_flow() {
        for slope in [-0.5, -0.1, 0.0, 0.5, 1.0, 1.5, 5.0] {
            assert!((inlet_pressure_ratio(1.0, slope) - 1.0).abs() < 1e-15, "{slope}");
            let mut last = inlet_pressure_ratio(0.0, slope);
            assert!(last >= 0.0, "{slope}");
            for step in 1..=300 {
                let now = inlet_pressure_ratio(0.01 * f64::from(step), slope);
                assert!(now.is_finite() && now > last, "{slope} {step}: {now} after {last}");
                last = now;
            }
        }
    }
}
