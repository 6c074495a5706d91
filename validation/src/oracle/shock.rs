//! Normal shocks in an ideal gas, and a shock that meets a wall.
//!
//! NACA Report 1135 (1953), equations 93 to 102. Reflection: Liepmann and Roshko (1957), Elements of Gasdynamics, chapter 3.

/// Ratios across a normal shock that stands in a stream of Mach number `mach` (or runs at it into gas at rest).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NormalShock {
    /// Mach number behind, seen from the shock.
    pub mach_behind: f64,
    /// Static pressure behind over ahead.
    pub pressure_ratio: f64,
    /// Density behind over ahead.
    pub density_ratio: f64,
    /// Total pressure behind over ahead, seen from the shock.
    pub total_pressure_ratio: f64,
    /// Speed of the gas behind over the speed of sound ahead, when the gas ahead is at rest.
    pub velocity_behind: f64,
}

impl NormalShock {
    /// The shock at `mach`, not below one.
    #[must_use]
    pub fn new(gamma: f64, mach: f64) -> Self {
        let square = mach * mach;
        let pressure_ratio = 1.0 + 2.0 * gamma / (gamma + 1.0) * (square - 1.0);
        let density_ratio = (gamma + 1.0) * square / ((gamma - 1.0) * square + 2.0);
        Self {
            mach_behind: (((gamma - 1.0) * square + 2.0) / (2.0 * gamma * square - (gamma - 1.0))).sqrt(),
            pressure_ratio,
            density_ratio,
            total_pressure_ratio: libm::pow(density_ratio, gamma / (gamma - 1.0))
                * libm::pow(pressure_ratio, -1.0 / (gamma - 1.0)),
            velocity_behind: 2.0 / (gamma + 1.0) * (mach - 1.0 / mach),
        }
    }
}

/// What a shock leaves behind when it comes back from a wall, over the gas at rest ahead of the first shock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reflection {
    /// Pressure at the wall.
    pub pressure_ratio: f64,
    /// Density at the wall.
    pub density_ratio: f64,
    /// Speed of the reflected shock away from the wall over the first speed of sound.
    pub shock_speed: f64,
}

impl Reflection {
    /// Reflection of a shock that runs at `mach` into gas at rest.
    #[must_use]
    pub fn new(gamma: f64, mach: f64) -> Self {
        let incident = NormalShock::new(gamma, mach);
        let first = incident.pressure_ratio;
        let second = ((3.0 * gamma - 1.0) * first - (gamma - 1.0)) / ((gamma - 1.0) * first + (gamma + 1.0));
        let squeeze = ((gamma + 1.0) * second + gamma - 1.0) / ((gamma - 1.0) * second + gamma + 1.0);
        let shock_speed = if squeeze > 1.0 { incident.velocity_behind / (squeeze - 1.0) } else { 1.0 };
        Self { pressure_ratio: first * second, density_ratio: incident.density_ratio * squeeze, shock_speed }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data;
    use approx::assert_relative_eq;

    #[test]
    fn shocks_and_reflections_agree_with_the_table() {
        for row in data::rows(data::NORMAL_SHOCK).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let shock = NormalShock::new(1.4, value("M_s"));
            let wall = Reflection::new(1.4, value("M_s"));
            for (found, column) in [
                (shock.mach_behind, "M2_shockframe"),
                (shock.pressure_ratio, "p2_p1"),
                (shock.density_ratio, "rho2_rho1"),
                (shock.total_pressure_ratio, "p02_p01"),
                (shock.velocity_behind, "up_a1"),
                (wall.pressure_ratio, "p5_p1"),
                (wall.density_ratio, "rho5_rho1"),
                (wall.shock_speed, "W_R_a1"),
            ] {
                assert_relative_eq!(found, value(column), max_relative = 1e-10, epsilon = 1e-14);
            }
        }
    }
}
