//! Sound that leaves through an open end.
//!
//! The air before an end takes part in its oscillations: it moves along with them, which lengthens the pipe, and carries sound away, which
//! damps it. An electrical analogue with two stored states stands for both (its form: Beranek 1954, Acoustics, section 5.2): what leaves the
//! end divides between an inertance `M`, which a steady flow passes freely, and a resistance of one wave impedance followed by a second one
//! `R` beside a compliance `C`. All elements are passive, so that no end gives back more than it gets, and none answers to a steady flow.
//!
//! Over the impedance `c / S` and the time `a / c` of an end of radius `a` (area `S`, speed of sound `c`) the elements are fitted to the exact
//! reflection. Unflanged, Levine and Schwinger 1948, Physical Review 73, 383: modulus within 0.004, end correction within 0.0055 a up to
//! ka = 1, and within 0.005 and 0.01 a up to 1.5. Flanged, by mode matching: within 0.0013 and 0.002 a up to 1, 0.003 and 0.007 a up to 1.5.
//!
//! To a jump that it has had no time to answer, the air outside is an endless duct: the first resistance is the exact wave curve.

use super::wave::WaveCurve;
use crate::flow::EndState;
use crate::gas::Gas;
use crate::part::OpenEnd;

/// Elements over impedance and time of the end.
#[derive(Debug, Clone, Copy)]
struct Elements {
    inertance: f64,
    resistance: f64,
    compliance: f64,
}

const UNFLANGED: Elements = Elements { inertance: 0.6133, resistance: 0.63, compliance: 0.90 };
const FLANGED: Elements = Elements { inertance: 0.8217, resistance: 0.372, compliance: 1.396 };

/// Stored states of an end: mass flow through the inertance [kg/s], positive outward, and pressure of the compliance [Pa].
pub const STATES: usize = 2;

/// The air before an open end.
#[derive(Debug, Clone)]
pub struct Radiation {
    /// Number of the end among those that radiate.
    pub index: usize,
    /// The air at rest, with the area of the end.
    still: EndState,
    /// Wave impedance [Pa s/kg].
    impedance: f64,
    /// Inertance [1/m].
    inertance: f64,
    /// Second resistance [Pa s/kg].
    resistance: f64,
    /// Compliance [kg/Pa].
    compliance: f64,
}

impl Radiation {
    /// End number `index`, of `area` [m^2], in air of `pressure` [Pa] and `temperature` [K].
    #[must_use]
    pub fn new(index: usize, kind: OpenEnd, gas: &Gas, pressure: f64, temperature: f64, area: f64) -> Self {
        let elements = match kind {
            OpenEnd::Unflanged => UNFLANGED,
            OpenEnd::Flanged => FLANGED,
        };
        let sound_speed = gas.sound_speed(temperature);
        let (impedance, time) = (sound_speed / area, (area / std::f64::consts::PI).sqrt() / sound_speed);
        let density = pressure / (gas.gas_constant * temperature);
        Self {
            index,
            still: EndState { density, velocity: 0.0, pressure, area },
            impedance,
            inertance: elements.inertance * impedance * time,
            resistance: elements.resistance * impedance,
            compliance: elements.compliance * time / impedance,
        }
    }

    /// Pressure before the end above that far from it [Pa], when `outflow` [kg/s] leaves it and the states are `stored`.
    #[must_use]
    pub fn pressure(&self, gas: &Gas, stored: &[f64], outflow: f64) -> f64 {
        let speed = (outflow - stored[0]) / (self.still.density * self.still.area);
        WaveCurve::new(gas, self.still).pressure(-speed) - self.still.pressure + stored[1]
    }

    /// Rates of the states [kg/s^2, Pa/s] when `outflow` [kg/s] leaves the end.
    #[must_use]
    pub fn rates(&self, gas: &Gas, stored: &[f64], outflow: f64) -> [f64; STATES] {
        let through = outflow - stored[0] - stored[1] / self.resistance;
        [self.pressure(gas, stored, outflow) / self.inertance, through / self.compliance]
    }

    /// Rise of the pressure with a sudden outflow [Pa s/kg].
    #[must_use]
    pub fn impedance(&self) -> f64 {
        self.impedance
    }

    /// Fastest rate at which the states change [1/s], whatever the tract behind the end: that of the compliance with both resistances beside
    /// it. The inertance with them is slower.
    #[must_use]
    pub fn fastest_rate(&self) -> f64 {
        (1.0 / self.impedance + 1.0 / self.resistance) / self.compliance
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const AIR: (f64, f64) = (1e5, 300.0);

    fn end(kind: OpenEnd) -> Radiation {
        Radiation::new(0, kind, &Gas::dry_air(), AIR.0, AIR.1, 0.002)
    }

    #[test]
    fn still_air_and_a_steady_flow_raise_no_pressure() {
        let gas = Gas::dry_air();
        for flow in [-0.2, 0.0, 0.1] {
            let end = end(OpenEnd::Unflanged);
            let answers =
                [end.pressure(&gas, &[flow, 0.0], flow)].into_iter().chain(end.rates(&gas, &[flow, 0.0], flow));
            assert!(answers.into_iter().all(|answer| answer.abs() <= 0.0), "{flow}");
        }
    }

    #[test]
    fn a_steady_flow_is_reached_from_any_state() {
        let gas = Gas::dry_air();
        for kind in [OpenEnd::Unflanged, OpenEnd::Flanged] {
            let end = end(kind);
            let (mut stored, step) = ([0.3, -2e4], 0.5 / end.fastest_rate());
            for _ in 0..200 {
                let rates = end.rates(&gas, &stored, 0.1);
                stored = [stored[0] + step * rates[0], stored[1] + step * rates[1]];
            }
            assert!((stored[0] - 0.1).abs() < 1e-12 && stored[1].abs() < 1e-7, "{stored:?}");
        }
    }

    #[test]
    fn no_outflow_and_back_gives_back_more_than_it_got() {
        let gas = Gas::dry_air();
        let end = end(OpenEnd::Unflanged);
        for steps in [10, 100, 1000] {
            let (mut stored, mut work) = ([0.0, 0.0], 0.0);
            let step = 0.02 / end.fastest_rate();
            for number in 0..3 * steps {
                let flow = if number < steps { 0.2 } else { -0.1 * f64::from(u8::from(number < 2 * steps)) };
                work += step * flow * end.pressure(&gas, &stored, flow);
                let rates = end.rates(&gas, &stored, flow);
                stored = [stored[0] + step * rates[0], stored[1] + step * rates[1]];
                assert!(work >= 0.0, "{steps} {number}: {work}");
            }
        }
    }

    #[test]
    fn no_inflow_brings_the_air_below_vacuum() {
        let pressure = end(OpenEnd::Unflanged).pressure(&Gas::dry_air(), &[0.0, 0.0], -5.0);
        assert!(pressure > -AIR.0, "{pressure}");
    }
}
