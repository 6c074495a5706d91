//! Small waves in a [`SharedBox`] about its steady flow: what one draw does to the other.
//!
//! [`SharedBox::waves`] has plane waves that the stream carries along, two of sound and one of entropy in each tube (Munjal, Acoustics of
//! Ducts and Mufflers, 2nd ed. (2014), chapter 3), between the linearised laws of inlets, box and draws. [`SharedBox::lumped`] is its limit at
//! low frequency: inertance of feed and right tube, compliance of box and tubes, and resistance, the slope of what is lost.
//! All amplitudes are factors of exp(i omega t) for one kg/s of the left draw.

use crate::oracle::linear_system::solve;
use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::shared_box::{SharedBox, SteadyFlow, Stream, Tube};
use num_complex::Complex64;
use std::f64::consts::PI;

/// Response to the left draw's mass flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Response {
    /// Total pressure at the right draw [Pa s/kg].
    pub pressure: Complex64,
    /// Mass flow of the right draw.
    pub flow: Complex64,
}

/// Unknowns: the three waves of feed, left and right tube, and pressure and temperature in the box.
const UNKNOWNS: usize = 11;
const BOX_PRESSURE: usize = 9;
const BOX_TEMPERATURE: usize = 10;

/// One linear equation, or one linear quantity: a factor of each unknown.
type Linear = [Complex64; UNKNOWNS];

fn combine(terms: &[(Complex64, &Linear)]) -> Linear {
    std::array::from_fn(|k| terms.iter().map(|(factor, linear)| factor * linear[k]).sum())
}

fn unknown(index: usize) -> Linear {
    std::array::from_fn(|k| Complex64::from(if k == index { 1.0 } else { 0.0 }))
}

/// What varies at one place of a tube, in terms of its waves.
struct Varying {
    pressure: Linear,
    mass_flow: Linear,
    total_pressure: Linear,
    total_temperature: Linear,
    head: Linear,
}

impl Varying {
    /// At a place [m] of the `tube` whose waves begin at unknown `first`.
    fn new(gas: PerfectGas, tube: &Tube, stream: &Stream, first: usize, omega: f64, place: f64) -> Self {
        let (rho, u, sound) = (stream.density(gas), stream.velocity(gas), gas.sound_speed(stream.temperature));
        let wave = |delay: f64| Complex64::from_polar(1.0, -omega * delay);
        let (along, against, carried) = (wave(place / (sound + u)), wave(-place / (sound - u)), wave(place / u));
        let of = |values: [Complex64; 3]| {
            std::array::from_fn(|k| if (first..first + 3).contains(&k) { values[k - first] } else { Complex64::ZERO })
        };
        let (pressure, velocity): (Linear, Linear) = (
            of([along, against, Complex64::ZERO]),
            of([along / (rho * sound), -against / (rho * sound), Complex64::ZERO]),
        );
        let density: Linear = of([along / (sound * sound), against / (sound * sound), carried]);
        let real = |terms: &[(f64, &Linear)]| -> Linear {
            combine(&terms.iter().map(|(factor, linear)| (Complex64::from(*factor), *linear)).collect::<Vec<_>>())
        };
        let temperature =
            real(&[(stream.temperature / stream.pressure, &pressure), (-stream.temperature / rho, &density)]);
        let total_temperature = real(&[(1.0, &temperature), (u / gas.heat_capacity(), &velocity)]);
        // ln p0 = ln p + gamma/(gamma-1) (ln T0 - ln T).
        let exponent = gas.gamma / (gas.gamma - 1.0) * stream.total_pressure;
        let total_pressure = real(&[
            (stream.total_pressure / stream.pressure, &pressure),
            (exponent / stream.total_temperature, &total_temperature),
            (-exponent / stream.temperature, &temperature),
        ]);
        Self {
            mass_flow: real(&[(tube.area() * rho, &velocity), (tube.area() * u, &density)]),
            head: real(&[(0.5 * u * u, &density), (rho * u, &velocity)]),
            pressure,
            total_pressure,
            total_temperature,
        }
    }

    /// Total pressure before the inlet of the tube that begins here.
    fn before(&self, tube: &Tube) -> Linear {
        combine(&[(Complex64::ONE, &self.total_pressure), (tube.inlet_loss.into(), &self.head)])
    }
}

impl SharedBox {
    /// Response at a frequency [Hz] by plane waves about the `steady` flow; `None` at an undamped resonance.
    #[must_use]
    pub fn waves(&self, steady: &SteadyFlow, frequency: f64) -> Option<Response> {
        let omega = 2.0 * PI * frequency;
        let at = |tube: &Tube, stream: &Stream, first: usize| {
            [0.0, tube.length].map(|place| Varying::new(self.gas, tube, stream, first, omega, place))
        };
        let [mouth, feed] = at(&self.feed, &steady.feed, 0);
        let [left_inlet, left_end] = at(&self.left, &steady.left, 3);
        let [right_inlet, right_end] = at(&self.right, &steady.right, 6);
        let (pressure, temperature) = (unknown(BOX_PRESSURE), unknown(BOX_TEMPERATURE));
        let less = |one: &Linear, other: &Linear| combine(&[(Complex64::ONE, one), (-Complex64::ONE, other)]);
        let right = &steady.right;
        let corrected = combine(&[
            ((1.0 / right.mass_flow).into(), &right_end.mass_flow),
            ((-1.0 / right.total_pressure).into(), &right_end.total_pressure),
            ((0.5 / right.total_temperature).into(), &right_end.total_temperature),
        ]);
        let rows = [
            mouth.before(&self.feed),
            mouth.total_temperature,
            less(&feed.pressure, &pressure),
            self.box_mass(steady, omega, [&feed, &left_inlet, &right_inlet]),
            self.box_energy(steady, omega, [&feed, &left_inlet, &right_inlet]),
            less(&left_inlet.before(&self.left), &pressure),
            less(&left_inlet.total_temperature, &temperature),
            less(&right_inlet.before(&self.right), &pressure),
            less(&right_inlet.total_temperature, &temperature),
            left_end.mass_flow,
            corrected,
        ];
        let drawn = std::array::from_fn(|k| Complex64::from(if k == 9 { 1.0 } else { 0.0 }));
        let found = solve(rows, drawn)?;
        let value = |linear: &Linear| linear.iter().zip(found).map(|(factor, value)| factor * value).sum();
        Some(Response { pressure: value(&right_end.total_pressure), flow: value(&right_end.mass_flow) })
    }

    /// i omega V rho' less what flows in.
    fn box_mass(&self, steady: &SteadyFlow, omega: f64, [feed, left, right]: [&Varying; 3]) -> Linear {
        let density = steady.box_pressure() / (self.gas.gas_constant * self.temperature);
        let rate = Complex64::new(0.0, omega * self.volume * density);
        combine(&[
            (rate / steady.box_pressure(), &unknown(BOX_PRESSURE)),
            (-rate / self.temperature, &unknown(BOX_TEMPERATURE)),
            (-Complex64::ONE, &feed.mass_flow),
            (Complex64::ONE, &left.mass_flow),
            (Complex64::ONE, &right.mass_flow),
        ])
    }

    /// i omega V p' / (gamma - 1) less the enthalpy that flows in, over cp T.
    fn box_energy(&self, steady: &SteadyFlow, omega: f64, [feed, left, right]: [&Varying; 3]) -> Linear {
        let enthalpy = self.gas.heat_capacity() * self.temperature;
        let over = 1.0 / self.temperature;
        combine(&[
            (Complex64::new(0.0, omega * self.volume / ((self.gas.gamma - 1.0) * enthalpy)), &unknown(BOX_PRESSURE)),
            (-Complex64::ONE, &feed.mass_flow),
            ((-steady.feed.mass_flow * over).into(), &feed.total_temperature),
            (Complex64::ONE, &left.mass_flow),
            (Complex64::ONE, &right.mass_flow),
            ((steady.feed.mass_flow * over).into(), &unknown(BOX_TEMPERATURE)),
        ])
    }

    /// Response at a frequency [Hz] with lumped elements about the `steady` flow.
    #[must_use]
    pub fn lumped(&self, steady: &SteadyFlow, frequency: f64) -> Response {
        let omega = 2.0 * PI * frequency;
        let inertance = |tube: &Tube| tube.length / tube.area();
        let resistance = |heads: f64, stream: &Stream| 2.0 * heads * stream.head(self.gas) / stream.mass_flow;
        let sound = self.gas.sound_speed(self.temperature);
        let air = self.volume + [&self.left, &self.right].map(|tube| tube.area() * tube.length).iter().sum::<f64>();
        let compliance = air / (sound * sound);
        let feed = Complex64::new(resistance(1.0 + self.feed.inlet_loss, &steady.feed), omega * inertance(&self.feed));
        let way = Complex64::new(resistance(self.right.inlet_loss, &steady.right), omega * inertance(&self.right));
        // m goes with p0 / sqrt(T0), and T0 with p0^((gamma-1)/gamma) in sound.
        let isentropic = 1.0 - 0.5 * (self.gas.gamma - 1.0) / self.gas.gamma;
        let draw = steady.right.total_pressure / (steady.right.mass_flow * isentropic);
        let admittance = Complex64::new(0.0, omega * compliance) + feed.inv() + (way + draw).inv();
        let flow = -(admittance * (way + draw)).inv();
        Response { pressure: flow * draw, flow }
    }
}

impl SharedBox {
    /// Change of total pressure [Pa] at the right draw a time [s] after the left draw's flow has begun to fall, evenly within `ramp` [s], by one
    /// kg/s for good: harmonics of a flow that falls and rises again by turns, each half a second long, which is longer than anything rings.
    /// `None` when a harmonic meets an undamped resonance.
    #[must_use]
    pub fn fall(&self, steady: &SteadyFlow, ramp: f64, times: &[f64]) -> Option<Vec<f64>> {
        /// Harmonics [Hz]: the odd ones of a period of a second, up to where the ramp has none left.
        const HARMONICS: std::ops::Range<u32> = 0..600;
        let mean = self.waves(steady, 1e-3)?.pressure.re;
        let harmonic = |index: u32| {
            let frequency = f64::from(2 * index + 1);
            let half = PI * frequency * ramp;
            let share = 2.0 / (PI * frequency) * libm::sin(half) / half;
            self.waves(steady, frequency).map(|response| (2.0 * PI * frequency, share * response.pressure))
        };
        let harmonics = HARMONICS.map(harmonic).collect::<Option<Vec<_>>>()?;
        let fallen = |time: &f64| {
            let since = time - 0.5 * ramp;
            let waves = harmonics.iter().map(|(omega, part)| (part * Complex64::from_polar(1.0, omega * since)).im);
            -0.5 * mean - waves.sum::<f64>()
        };
        Some(times.iter().map(fallen).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BOX: SharedBox = SharedBox::EXAMPLE;

    #[test]
    fn waves_become_the_slope_of_the_steady_flow_at_rest() {
        let steady = BOX.steady().unwrap();
        let step = 1e-5;
        let more = SharedBox { left_flow: BOX.left_flow + step, ..BOX }.steady().unwrap();
        let slope = (more.right.total_pressure - steady.right.total_pressure) / step;
        let found = BOX.waves(&steady, 1e-3).unwrap();
        assert!((found.pressure.re / slope - 1.0).abs() < 2e-3, "{} {slope}", found.pressure);
        let slope = (more.right.mass_flow - steady.right.mass_flow) / step;
        assert!((found.flow.re / slope - 1.0).abs() < 2e-3, "{} {slope}", found.flow);
    }

    #[test]
    fn a_fall_begins_at_nothing_and_ends_at_the_slope() {
        let steady = BOX.steady().unwrap();
        let course = BOX.fall(&steady, 5e-3, &[-0.01, 0.35]).unwrap();
        let slope = -BOX.waves(&steady, 1e-3).unwrap().pressure.re;
        assert!(course[0].abs() < 1e-3 * slope && (course[1] / slope - 1.0).abs() < 1e-3, "{course:?} {slope}");
    }

    #[test]
    fn lumps_and_waves_agree_at_low_frequency() {
        let steady = BOX.steady().unwrap();
        let off = |frequency: f64| {
            let (waves, lumped) = (BOX.waves(&steady, frequency).unwrap(), BOX.lumped(&steady, frequency));
            (waves.pressure.norm() / lumped.pressure.norm() - 1.0).abs()
        };
        assert!(off(8.0) < 0.03, "{}", off(8.0));
        assert!(off(150.0) > 0.1, "{}", off(150.0));
    }
}
