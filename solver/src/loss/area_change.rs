//! Sudden change of area: expansion by the balances themselves, contraction by handbook.

use super::published::PublishedSpread;
use super::quadratic::before_head_after;
use super::{Basis, Direction, Loss, Place, Stream, slow_speed};
use crate::gas::{Gas, Section};

/// Total pressure [Pa] before a sudden change from area `from` to area `to` [m^2]; `None` stands for a volume.
#[must_use]
pub fn total_pressure_before(gas: &Gas, stream: &Stream, from: Option<f64>, to: Option<f64>, after: f64) -> f64 {
    match (from, to) {
        (Some(from), Some(to)) if to > from => before_expansion(gas, stream, from, Some(to), after),
        (Some(from), None) => before_expansion(gas, stream, from, None, after),
        (from, Some(to)) => {
            before_head_after(gas, stream, contraction_coefficient(from.map_or(0.0, |from| to / from)), to, after)
        }
        (None, None) => after,
    }
}

/// Heads of the narrow section lost in a sudden contraction to `ratio` of the area. Idelchik, Handbook of Hydraulic Resistance, 3rd ed.,
/// diagram 4-9: 0.5 (1 - A2/A1)^0.75.
#[must_use]
pub fn contraction_coefficient(ratio: f64) -> f64 {
    0.5 * libm::pow((1.0 - ratio).max(0.0), 0.75)
}

/// Total pressure [Pa] before a sudden expansion from `narrow` to `wide` [m^2], or into a volume when `wide` is `None`.
///
/// Borda-Carnot in compressible form: the narrow section's pressure acts on the annulus, so that
/// `p1 A2 + m V1 = p2 A2 + m V2 = F`, with mass and energy. With p1 from continuity this is a quadratic in V1,
/// `(1 - (gamma-1)/(2 gamma) A2/A1) V1^2 - (F/m) V1 + (A2/A1) R T0 = 0`, of which the lower root is the subsonic one. A narrow
/// section that would be supersonic is sonic and takes the pressure it needs. Benedict et al. (1966), Trans. ASME J. Eng. Power 88, 67.
#[must_use]
pub fn before_expansion(gas: &Gas, stream: &Stream, narrow: f64, wide: Option<f64>, after: f64) -> f64 {
    let jet = jet(gas, stream, narrow, wide, after);
    let lost_share = 1.0 - wide.map_or(0.0, |wide| narrow / wide);
    // What the quadratic law lacks at low Reynolds number: K/2 rho V (sqrt(V^2 + s^2) - V), written without cancellation.
    let slow = slow_speed(gas, &jet, narrow);
    let creep = slow * slow / ((jet.speed * jet.speed + slow * slow).sqrt() + jet.speed).max(f64::MIN_POSITIVE);
    jet.total_pressure.max(after) + 0.5 * jet.density * jet.speed * creep * lost_share * lost_share
}

/// The stream in the `narrow` section [m^2] before it expands to `wide` [m^2], or into a volume, where its total pressure is `after` [Pa].
pub(super) fn jet(gas: &Gas, stream: &Stream, narrow: f64, wide: Option<f64>, after: f64) -> Section {
    match wide {
        None => gas.section_at_static(stream.mass_flow, stream.total_temperature, narrow, after),
        Some(wide) => jet_into_duct(gas, stream, narrow, wide, after),
    }
}

fn jet_into_duct(gas: &Gas, stream: &Stream, narrow: f64, wide: f64, after: f64) -> Section {
    let Stream { mass_flow, total_temperature } = *stream;
    let behind = gas.section_at_total(mass_flow, total_temperature, wide, after);
    let force = behind.pressure * wide + mass_flow * behind.speed;
    let ratio = wide / narrow;
    let curvature = 1.0 - 0.5 * (gas.gamma - 1.0) / gas.gamma * ratio;
    let source = ratio * gas.gas_constant * total_temperature;
    let discriminant = (force * force - 4.0 * curvature * source * mass_flow * mass_flow).max(0.0);
    let speed = (2.0 * source * mass_flow / (force + discriminant.sqrt())).min(gas.critical_speed(total_temperature));
    let temperature = total_temperature - 0.5 * speed * speed / gas.heat_capacity;
    let pressure =
        if speed > 0.0 { mass_flow * gas.gas_constant * temperature / (speed * narrow) } else { behind.pressure };
    Section {
        pressure,
        temperature,
        density: pressure / (gas.gas_constant * temperature),
        speed,
        total_pressure: gas.total_pressure(pressure, temperature, speed),
    }
}

/// A sudden change of area between two ducts, or between a duct and a volume.
#[derive(Debug, Clone, Copy)]
pub struct AreaChange {
    place: Place,
}

impl AreaChange {
    /// A change between these areas; what is `None` is taken from the ducts beside it when it is placed, and is a volume otherwise.
    #[must_use]
    pub fn new(place: Place) -> Self {
        Self { place }
    }
}

impl Loss for AreaChange {
    fn total_pressure_before(&self, gas: &Gas, stream: &Stream, direction: Direction, after: f64) -> f64 {
        let (from, to) = match direction {
            Direction::Forward => (self.place.before, self.place.after),
            Direction::Reverse => (self.place.after, self.place.before),
        };
        total_pressure_before(gas, stream, from, to, after)
    }

    fn place(&mut self, place: Place) -> Result<(), String> {
        self.place = Place { before: self.place.before.or(place.before), after: self.place.after.or(place.after) };
        match self.place {
            Place { before: None, after: None } => {
                Err("needs `diameter_before` or `diameter_after`: no duct beside it".to_owned())
            }
            _ => Ok(()),
        }
    }

    fn area(&self) -> f64 {
        let (before, after) = (self.place.before, self.place.after);
        before.unwrap_or(f64::INFINITY).min(after.unwrap_or(f64::INFINITY))
    }

    fn thickness(&self) -> f64 {
        0.0
    }

    fn spans_area_change(&self) -> bool {
        true
    }

    fn spends_its_jet(&self) -> bool {
        true
    }

    fn basis(&self) -> Basis {
        Basis::Handbook(
            "expansion Borda-Carnot from mass, momentum and energy; contraction Idelchik diagram 4-9".to_owned(),
        )
    }

    fn published_spread(&self) -> Option<PublishedSpread> {
        let source = "contractions of Idelchik, Crane and Rennels lie 0.03 heads apart, of 0.3; expansions less";
        Some(PublishedSpread { law: "step", relative: 0.1, source })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::loss::inviscid;

    /// (A1/A2, M1, M2, p2/p1, p02/p01): sudden expansion of a gas of gamma 1.4, solved from mass, momentum and energy; equations
    /// as in Ward-Smith, Internal Fluid Flow (1980).
    const PUBLISHED: [(f64, f64, f64, f64, f64); 6] = [
        (0.25, 0.05, 0.01249472924, 1.000656291, 0.9990162783),
        (0.25, 0.6, 0.1415110766, 1.095292874, 0.8708115781),
        (0.5, 0.1, 0.04986266779, 1.003506993, 0.99824935),
        (0.5, 0.8, 0.335986766, 1.250386482, 0.8869499602),
        (0.75, 0.3, 0.2204595692, 1.0247711, 0.9958954094),
        (0.75, 0.8, 0.5040377506, 1.233333333, 0.9623531745),
    ];

    /// Mass flow [kg/s] of a section from the isentropic relations.
    fn mass_flow(gas: &Gas, mach: f64, area: f64, total_pressure: f64, total_temperature: f64) -> f64 {
        let rise = 0.5 * (gas.gamma - 1.0) * mach * mach;
        let power = -0.5 * (gas.gamma + 1.0) / (gas.gamma - 1.0);
        area * total_pressure
            * (gas.gamma / (gas.gas_constant * total_temperature)).sqrt()
            * mach
            * libm::pow(1.0 + rise, power)
    }

    #[test]
    fn expansion_meets_the_balances_of_mass_momentum_and_energy() {
        let gas = inviscid(Gas::dry_air());
        for (ratio, mach, mach_behind, _, recovered) in PUBLISHED {
            let (wide, after) = (0.01, 9e4);
            let stream =
                Stream { mass_flow: mass_flow(&gas, mach_behind, wide, after, 310.0), total_temperature: 310.0 };
            let before = before_expansion(&gas, &stream, ratio * wide, Some(wide), after);
            assert!((after / before - recovered).abs() < 1e-8, "{ratio} {mach}: {}", after / before);
        }
    }

    #[test]
    fn exit_into_a_volume_loses_the_velocity_head() {
        let gas = inviscid(Gas::dry_air());
        let stream = Stream { mass_flow: 0.2, total_temperature: 300.0 };
        let jet = gas.section_at_static(0.2, 300.0, 0.005, 1e5);
        let before = before_expansion(&gas, &stream, 0.005, None, 1e5);
        assert!((before - jet.total_pressure).abs() < 1e-9);
    }

    #[test]
    fn contraction_coefficients_are_those_of_the_diagram() {
        // Idelchik's formula at A2/A1 = 0, 0.25, 0.5, 1.
        for (ratio, expected) in [(0.0, 0.5), (0.25, 0.402_963_8), (0.5, 0.297_301_8), (1.0, 0.0)] {
            assert!((contraction_coefficient(ratio) - expected).abs() < 1e-6, "{ratio}");
        }
    }

    #[test]
    fn rises_with_flow_and_with_the_pressure_behind_through_choking() {
        let gas = Gas::dry_air();
        for (from, to) in [
            (Some(0.002), Some(0.004)),
            (Some(0.0001), Some(0.004)),
            (Some(0.004), Some(0.002)),
            (Some(0.002), None),
            (None, Some(0.002)),
        ] {
            let needed = |flow: f64, after: f64| {
                total_pressure_before(&gas, &Stream { mass_flow: flow, total_temperature: 300.0 }, from, to, after)
            };
            assert!((needed(0.0, 1e5) - 1e5).abs() < 1e-9);
            for step in 0..150 {
                let flow = 0.01 * f64::from(step);
                assert!(needed(flow + 0.01, 1e5) > needed(flow, 1e5), "{from:?} {to:?} {flow}");
                assert!(needed(flow, 1.001e5) >= needed(flow, 1e5) * (1.0 - 1e-12), "{from:?} {to:?} {flow}");
            }
        }
    }

    #[test]
    fn has_a_finite_slope_at_rest() {
        let gas = Gas::dry_air();
        let needed = |flow: f64| {
            total_pressure_before(
                &gas,
                &Stream { mass_flow: flow, total_temperature: 300.0 },
                Some(0.002),
                Some(0.004),
                0.0,
            )
        };
        // With nothing behind there is only the slope of the law itself.
        assert!(needed(1e-12) > 0.0 && needed(1e-12).is_finite());
    }

    #[test]
    fn refuses_to_stand_between_two_volumes_without_areas() {
        assert!(AreaChange::new(Place::default()).place(Place::default()).is_err());
        assert!(AreaChange::new(Place::default()).place(Place { before: Some(0.01), after: None }).is_ok());
    }
}
