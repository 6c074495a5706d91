//! Losses in series and in parallel in incompressible flow: the textbook arithmetic that slow flow must meet.
//!
//! White, Fluid Mechanics, 7th ed., section 6.10, multiple-pipe systems.

/// A loss: half rho V^2 in `area` times `coefficient`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resistance {
    /// Loss coefficient.
    pub coefficient: f64,
    /// Area to which it belongs [m^2].
    pub area: f64,
}

impl Resistance {
    /// Loss over mass flow squared [1/(kg m)] at `density` [kg/m^3].
    fn stiffness(&self, density: f64) -> f64 {
        0.5 * self.coefficient / (density * self.area * self.area)
    }
}

/// Total-pressure loss [Pa] of losses one behind the other at `mass_flow` [kg/s] and `density` [kg/m^3].
#[must_use]
pub fn series_loss(losses: &[Resistance], density: f64, mass_flow: f64) -> f64 {
    losses.iter().map(|loss| loss.stiffness(density)).sum::<f64>() * mass_flow * mass_flow.abs()
}

/// Mass flow [kg/s] through each of several ways beside each other at a common `loss` [Pa] and `density` [kg/m^3].
#[must_use]
pub fn parallel_flows(ways: &[Vec<Resistance>], density: f64, loss: f64) -> Vec<f64> {
    ways.iter().map(|way| (loss / series_loss(way, density, 1.0)).sqrt()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn an_exit_loses_its_velocity_head() {
        let exit = Resistance { coefficient: 1.0, area: 0.01 };
        // 0.12 kg/s of 1.2 kg/m^3 through 0.01 m^2 is 10 m/s, of which the head is 60 Pa.
        assert_relative_eq!(series_loss(&[exit], 1.2, 0.12), 60.0, max_relative = 1e-12);
        assert_relative_eq!(series_loss(&[exit], 1.2, -0.12), -60.0, max_relative = 1e-12);
    }

    #[test]
    fn parallel_ways_share_the_loss() {
        let narrow = Resistance { coefficient: 1.0, area: 0.01 };
        let wide = Resistance { coefficient: 1.0, area: 0.03 };
        let flows = parallel_flows(&[vec![narrow], vec![wide]], 1.2, 60.0);
        assert_relative_eq!(flows[1] / flows[0], 3.0, max_relative = 1e-12);
        assert_relative_eq!(series_loss(&[wide], 1.2, flows[1]), 60.0, max_relative = 1e-12);
    }
}
