//! Where a gauge sits: in a duct at a length, in a volume, at a draw.

use super::{JointKind, JointState, Network, Work};
use crate::flow::DuctId;
use crate::joint::side::{Side, tap_pressure};
use crate::quantity::{self, Dimension, Fault, quote};
use crate::suggest;

/// Share of a duct's length by which a place may lie behind its end, for the sake of rounding.
const ROUNDING: f64 = 1e-9;

/// A place in the air of a network, where a gauge may sit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Tap {
    /// Between the middles of two cells of a duct, with the weight of the second; the end cells reach to the ends.
    Duct {
        /// The duct.
        duct: DuctId,
        /// Cell whose middle lies at or before the place.
        lower: usize,
        /// Cell behind it.
        upper: usize,
        /// Weight of `upper`.
        weight: f64,
    },
    /// In a volume, by its number.
    Volume(usize),
    /// The plane of a draw: its joint, and the side on which it stands.
    Draw {
        /// The joint.
        joint: usize,
        /// Its side.
        side: usize,
    },
}

/// The state of the air at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirAt {
    /// Static pressure [Pa], as a hole in the wall reads it; of a draw in its own area.
    pub pressure: f64,
    /// Total pressure [Pa].
    pub total_pressure: f64,
    /// Total temperature [K], as a slow thermometer in the stream nearly reads it.
    pub total_temperature: f64,
    /// Mass flow [kg/s] from the first end to the last; of a draw into it, of a volume none.
    pub mass_flow: f64,
}

impl Tap {
    /// The place that `text` names in `network`: `box`, `left_turbo`, `snout:120mm`.
    ///
    /// # Errors
    /// No such part, a duct without a length, a length outside it, or one where none can be.
    pub fn find(network: &Network, text: &str) -> Result<Self, Fault> {
        let (part, x) = match text.split_once(':') {
            Some((part, x)) => (part.trim(), Some(x)),
            None => (text.trim(), None),
        };
        let fault = |found: String, expected: String| Fault { found, expected, nearest: None };
        let alone = |place: Self| match x {
            None => Ok(place),
            Some(x) => {
                Err(fault(format!("a length {} in {}", quote(x.trim()), quote(part)), format!("{} alone", quote(part))))
            }
        };
        if let Some(volume) = network.volumes.iter().position(|volume| volume.name == part) {
            return alone(Self::Volume(volume));
        }
        if let Some(joint) = network.draws().into_iter().find(|joint| network.draw_name(*joint) == part) {
            return alone(draw(network, joint));
        }
        let Some(duct) = network.arena.ducts().find(|duct| network.arena.name(*duct) == part) else {
            return Err(unknown(network, part));
        };
        let (cells, step) = (network.arena.cells(duct), network.arena.cell_length(duct));
        let length = cells as f64 * step;
        let Some(x) = x else {
            return Err(fault(format!("no length in duct {}", quote(part)), format!("one such as `{part}:120mm`")));
        };
        let x = quantity::parse(x, Dimension::Length)?;
        if !(0.0..=length * (1.0 + ROUNDING)).contains(&x) {
            let found = format!("{} mm in duct {}", 1e3 * x, quote(part));
            return Err(fault(found, format!("0 to {:.1} mm", 1e3 * length)));
        }
        Ok(Self::between(duct, x / step, cells))
    }

    /// The draws of `network`, in the order of the case.
    pub fn draws(network: &Network) -> impl Iterator<Item = Self> + '_ {
        network.draws().into_iter().map(|joint| draw(network, joint))
    }

    /// The place `x` [cell lengths] from the first end of a duct.
    fn between(duct: DuctId, x: f64, cells: usize) -> Self {
        let last = cells.saturating_sub(1) as f64;
        let place = (x - 0.5).clamp(0.0, last);
        let lower = place.floor();
        Self::Duct { duct, lower: lower as usize, upper: (lower + 1.0).min(last) as usize, weight: place - lower }
    }

    /// The air there, in the state that stands in `work`.
    #[must_use]
    pub fn air(&self, network: &Network, work: &Work) -> AirAt {
        let gas = &network.gas;
        match *self {
            Self::Duct { duct, .. } => {
                let state = network.arena.cell_states(&work.cells, duct);
                self.air_in_duct(network, |cell| {
                    let (pressure, density) = (state.pressure[cell], state.density[cell]);
                    (pressure, state.velocity[cell], pressure / (density * gas.gas_constant))
                })
            }
            Self::Volume(volume) => {
                let state = &work.volumes[volume];
                AirAt::at_rest(state.pressure, state.temperature)
            }
            Self::Draw { joint, side } => {
                let JointState::Series(state) = &work.joints[joint] else {
                    return AirAt {
                        pressure: f64::NAN,
                        total_pressure: f64::NAN,
                        total_temperature: f64::NAN,
                        mass_flow: f64::NAN,
                    };
                };
                let mass_flow = if side == 1 { state.mass_flow } else { -state.mass_flow };
                let total = if side == 1 { state.total_pressures.last() } else { state.total_pressures.first() };
                let (total_pressure, total_temperature) = (total.copied().unwrap_or(f64::NAN), state.total_temperature);
                let area = network.draw_area(joint);
                let pressure = tap_pressure(gas, mass_flow, total_temperature, area, total_pressure);
                AirAt { pressure, total_pressure, total_temperature, mass_flow }
            }
        }
    }

    /// The air at a place in a duct, whose `cell`s have pressure [Pa], velocity [m/s] and temperature [K]; of any other place nothing.
    pub(crate) fn air_in_duct(&self, network: &Network, cell: impl Fn(usize) -> (f64, f64, f64)) -> AirAt {
        let Self::Duct { duct, lower, upper, weight } = *self else { return AirAt::at_rest(f64::NAN, f64::NAN) };
        let gas = &network.gas;
        let mixed = |first: f64, second: f64| (1.0 - weight) * first + weight * second;
        let (before, behind) = (cell(lower), cell(upper));
        let pressure = mixed(before.0, behind.0);
        let (speed, temperature) = (mixed(before.1, behind.1), mixed(before.2, behind.2));
        let step = network.arena.cell_length(duct);
        let flow = |cell: usize, (pressure, speed, temperature): (f64, f64, f64)| {
            pressure / (gas.gas_constant * temperature) * speed * network.arena.volume(duct, cell) / step
        };
        AirAt {
            pressure,
            total_pressure: gas.total_pressure(pressure, temperature, speed),
            total_temperature: temperature + 0.5 * speed * speed / gas.heat_capacity,
            mass_flow: mixed(flow(lower, before), flow(upper, behind)),
        }
    }
}

impl AirAt {
    /// Air of `pressure` [Pa] and `temperature` [K] in a volume.
    pub(crate) fn at_rest(pressure: f64, temperature: f64) -> Self {
        Self { pressure, total_pressure: pressure, total_temperature: temperature, mass_flow: 0.0 }
    }
}

fn draw(network: &Network, joint: usize) -> Tap {
    let stands_first = match &network.joints[joint].kind {
        JointKind::Series(series) => matches!(series.sides[0], Side::Draw { .. }),
        JointKind::Wye(_) => false,
    };
    Tap::Draw { joint, side: usize::from(!stands_first) }
}

fn unknown(network: &Network, part: &str) -> Fault {
    let draws = network.draws();
    let known: Vec<&str> = network
        .ducts
        .iter()
        .chain(network.volumes.iter().map(|volume| &volume.name))
        .map(String::as_str)
        .chain(draws.iter().map(|joint| network.draw_name(*joint)))
        .collect();
    Fault {
        found: quote(part),
        expected: format!("a duct, volume or draw: {}", known.join(", ")),
        nearest: suggest::nearest(part, known.iter().copied()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_lies_between_the_middles_of_two_cells() {
        let duct = DuctId(0);
        let at = |x| Tap::between(duct, x, 4);
        assert_eq!(at(1.0), Tap::Duct { duct, lower: 0, upper: 1, weight: 0.5 });
        assert_eq!(at(0.2), Tap::Duct { duct, lower: 0, upper: 1, weight: 0.0 });
        assert_eq!(at(4.0), Tap::Duct { duct, lower: 3, upper: 3, weight: 0.0 });
        assert_eq!(Tap::between(duct, 0.5, 1), Tap::Duct { duct, lower: 0, upper: 0, weight: 0.0 });
    }
}
