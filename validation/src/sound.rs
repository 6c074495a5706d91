//! Weak sound in air at rest: how it is put into a case, and how it is heard.

use crate::case_text::{CaseText, InitialState, Stretch};
use crate::check::Failure;
use crate::marched::{Tract, duct};
use crate::oracle::perfect_gas::PerfectGas;
use std::f64::consts::TAU;

/// State of the air at rest [Pa], [K].
pub const STILL: (f64, f64) = (101_325.0, 293.15);

/// Speed of sound [m/s].
#[must_use]
pub fn sound_speed() -> f64 {
    PerfectGas::AIR.sound_speed(STILL.1)
}

/// Density times speed of sound: pressure over velocity in a wave [Pa s/m].
fn wave_impedance() -> f64 {
    STILL.0 / (PerfectGas::AIR.gas_constant * STILL.1) * sound_speed()
}

/// Gas at rest at a pressure [Pa] on the isentrope through the air at rest.
#[must_use]
pub fn compressed(pressure: f64) -> InitialState {
    let exponent = (PerfectGas::AIR.gamma - 1.0) / PerfectGas::AIR.gamma;
    InitialState { pressure, temperature: STILL.1 * libm::pow(pressure / STILL.0, exponent), velocity: 0.0 }
}

/// Gas of that pressure [Pa] in a simple wave that runs forward into the air at rest.
#[must_use]
pub fn travelling(pressure: f64) -> InitialState {
    let still = compressed(pressure);
    let rise = PerfectGas::AIR.sound_speed(still.temperature) - sound_speed();
    InitialState { velocity: 2.0 * rise / (PerfectGas::AIR.gamma - 1.0), ..still }
}

/// Sets every cell of the duct `part` of `length` [m] in which the share `shape` of the `amplitude` [Pa], asked at the middle of the cell
/// [m], can be told from nothing; `state` says which gas has a pressure.
#[must_use]
pub fn with_shape(
    mut case: CaseText,
    (part, length, cells): (&str, f64, u32),
    amplitude: f64,
    state: fn(f64) -> InitialState,
    shape: impl Fn(f64) -> f64,
) -> CaseText {
    let width = length / f64::from(cells);
    for index in 0..cells {
        let stretch = Stretch { from: f64::from(index) * width, to: f64::from(index + 1) * width };
        let share = shape(0.5 * (stretch.from + stretch.to));
        if share.abs() > 1e-9 {
            case = case.initial(part, stretch, state(STILL.0 + amplitude * share));
        }
    }
    case
}

/// The two waves that a place in a duct has heard.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Heard {
    /// Time from sample to sample [s].
    pub step: f64,
    /// Pressure of the wave that runs forward [Pa].
    pub forward: Vec<f64>,
    /// Pressure of the wave that runs back [Pa].
    pub backward: Vec<f64>,
}

impl Heard {
    fn note(&mut self, overpressure: f64, velocity: f64) {
        let moved = wave_impedance() * velocity;
        self.forward.push(0.5 * (overpressure + moved));
        self.backward.push(0.5 * (overpressure - moved));
    }
}

/// Marches a tract that records every `step` [s] and listens in the cells of that number in the ducts of that name.
///
/// # Errors
/// The march stopped, or there is no such duct.
pub fn listen(tract: &Tract, step: f64, places: &[(&str, usize)]) -> Result<Vec<Heard>, Failure> {
    let network = tract.network();
    let ducts = places.iter().map(|place| duct(network, place.0)).collect::<Result<Vec<_>, _>>()?;
    let mut heard = vec![Heard { step, ..Heard::default() }; places.len()];
    tract.march_recording(|march| {
        for ((own, duct), (_, cell)) in heard.iter_mut().zip(&ducts).zip(places) {
            let states = network.arena.cell_states(&march.work.cells, *duct);
            own.note(states.pressure[*cell] - STILL.0, states.velocity[*cell]);
        }
        0.0
    })?;
    Ok(heard)
}

/// Amplitude and phase of one frequency, as a complex number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Phasor {
    /// In phase.
    pub real: f64,
    /// Leading by a quarter turn.
    pub imaginary: f64,
}

impl Phasor {
    /// Fourier's integral of `values`, `step` [s] apart and nothing before and after, at a frequency [Hz].
    #[must_use]
    pub fn of(values: &[f64], step: f64, frequency: f64) -> Self {
        let mut sum = Self { real: 0.0, imaginary: 0.0 };
        for (value, index) in values.iter().zip(0_u32..) {
            let (sine, cosine) = libm::sincos(TAU * frequency * step * f64::from(index));
            sum.real += step * value * cosine;
            sum.imaginary -= step * value * sine;
        }
        sum
    }

    /// Modulus.
    #[must_use]
    pub fn modulus(self) -> f64 {
        libm::hypot(self.real, self.imaginary)
    }

    /// Phase [rad], -pi to pi.
    #[must_use]
    pub fn phase(self) -> f64 {
        libm::atan2(self.imaginary, self.real)
    }

    /// This over another one.
    #[must_use]
    pub fn over(self, other: Self) -> Self {
        let square = other.real * other.real + other.imaginary * other.imaginary;
        Self {
            real: (self.real * other.real + self.imaginary * other.imaginary) / square,
            imaginary: (self.imaginary * other.real - self.real * other.imaginary) / square,
        }
    }

    /// This one turned by an angle [rad].
    #[must_use]
    pub fn turned(self, angle: f64) -> Self {
        let (sine, cosine) = libm::sincos(angle);
        Self { real: self.real * cosine - self.imaginary * sine, imaginary: self.real * sine + self.imaginary * cosine }
    }
}

/// Gauss's bell about `middle` [m] with the standard deviation `width` [m], of height one.
#[must_use]
pub fn bell(place: f64, middle: f64, width: f64) -> f64 {
    let off = (place - middle) / width;
    libm::exp(-0.5 * off * off)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_travelling_wave_is_heard_running_forward_only() {
        let mut heard = Heard::default();
        let state = travelling(STILL.0 + 10.0);
        heard.note(10.0, state.velocity);
        assert_relative_eq!(heard.forward[0], 10.0, max_relative = 1e-4);
        assert!(heard.backward[0].abs() < 1e-3);
    }

    #[test]
    fn delay_and_strength_of_an_echo_are_read() {
        let step = 1e-4;
        let echo = |delay: f64| -> Vec<f64> {
            (0..400).map(|index| bell(f64::from(index) * step, 0.01 + delay, 4e-4)).collect()
        };
        let there = Phasor::of(&echo(0.0), step, 200.0);
        let back: Vec<f64> = echo(0.001).iter().map(|value| -0.5 * value).collect();
        let answer = Phasor::of(&back, step, 200.0).over(there);
        assert_relative_eq!(answer.modulus(), 0.5, max_relative = 1e-9);
        assert_relative_eq!(answer.turned(TAU * 0.2).phase().abs(), std::f64::consts::PI, max_relative = 1e-9);
    }
}
