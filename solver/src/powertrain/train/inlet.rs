//! What a compressor asks of its inlet.

use super::Powertrain;

/// Relative accuracy of the inlet pressure that a compressor asks for: Newton's differences must not see it.
const EXACT: f64 = 1e-15;

impl Powertrain {
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
}
