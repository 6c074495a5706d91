//! The waves that a joint sends into a duct.
//!
//! A duct offers a joint the state reconstructed to its end face. Whatever the joint does, the gas at the face then lies on one
//! curve: an exact rarefaction when it is drawn out faster than it comes, an exact shock when it is held back. All velocities
//! here count positive *out of* the duct, into the joint.
//!
//! Toro, Riemann Solvers and Numerical Methods for Fluid Dynamics, 3rd ed. 2009, sections 3.1.3 and 4.2, solved for the velocity.

use crate::flow::EndState;
use crate::gas::Gas;

/// State of the gas at a duct's end face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Face {
    /// Static pressure [Pa].
    pub pressure: f64,
    /// Density [kg/m^3].
    pub density: f64,
    /// Velocity [m/s], positive out of the duct.
    pub velocity: f64,
    /// Total temperature [K].
    pub total_temperature: f64,
    /// Total pressure [Pa].
    pub total_pressure: f64,
    /// Fall of total pressure per mass flow drawn out, or its rise per mass flow pushed in [Pa s/kg].
    pub impedance: f64,
}

/// Fastest expansion followed, as the fall of the speed of sound over its inner value; beyond it lies vacuum.
const DEEPEST_EXPANSION: f64 = -0.98;
/// Relative change after which an inversion of a flow curve has converged: Newton's next one, and what the curve's tangent misses on the
/// way, would be its square.
const CONVERGED: f64 = 1e-8;
/// Newton steps that an inversion may take. It starts beside its root and takes one or two.
const MOST_STEPS: usize = 50;

/// A duct end as a joint sees it.
#[derive(Debug, Clone, Copy)]
pub struct WaveCurve<'a> {
    gas: &'a Gas,
    inner: EndState,
    sound_speed: f64,
}

/// A point of the curve: pressure, density of the gas that was in the duct, and their slopes over velocity.
struct Point {
    pressure: f64,
    slope: f64,
    density: f64,
    density_slope: f64,
}

impl Point {
    /// The point at a velocity higher by a small `change` [m/s], on the tangent.
    fn moved(self, change: f64) -> Self {
        let (pressure, density) = (self.pressure + self.slope * change, self.density + self.density_slope * change);
        Self { pressure, density, ..self }
    }
}

impl<'a> WaveCurve<'a> {
    /// The curve through the state `inner` at a duct's end.
    #[must_use]
    pub fn new(gas: &'a Gas, inner: EndState) -> Self {
        Self { gas, inner, sound_speed: (gas.gamma * inner.pressure / inner.density).sqrt() }
    }

    /// Rise of total pressure per mass flow held back, for weak waves in slow gas [Pa s/kg]: sound speed over area.
    #[must_use]
    pub fn impedance(&self) -> f64 {
        self.sound_speed / self.inner.area
    }

    fn point(&self, velocity: f64) -> Point {
        let gas = self.gas;
        let held_back = (self.inner.velocity - velocity) / self.sound_speed;
        if held_back <= 0.0 {
            let rise = (0.5 * (gas.gamma - 1.0) * held_back).max(DEEPEST_EXPANSION);
            let pressure = self.inner.pressure * gas.pressure_ratio_of_sound_speed_rise(rise);
            let sound_speed = self.sound_speed * (1.0 + rise);
            let density = gas.gamma * pressure / (sound_speed * sound_speed);
            Point { pressure, slope: -density * sound_speed, density, density_slope: -density / sound_speed }
        } else {
            let strength = 0.25 * (gas.gamma + 1.0) * held_back;
            let root = (1.0 + strength * strength).sqrt();
            let rise = gas.gamma * held_back * (strength + root);
            let pressure = self.inner.pressure * (1.0 + rise);
            let slope = -self.inner.pressure * gas.gamma / self.sound_speed
                * (strength + root + strength * (1.0 + strength / root));
            let spread = 1.0 + 0.5 * (gas.gamma - 1.0) / gas.gamma * rise;
            let density = self.inner.density * (1.0 + rise / (gas.gamma * spread));
            let density_slope = self.inner.density / (gas.gamma * spread * spread) * slope / self.inner.pressure;
            Point { pressure, slope, density, density_slope }
        }
    }

    /// Static pressure [Pa] at the face when the gas there moves at `velocity` [m/s, out of the duct].
    #[must_use]
    pub fn pressure(&self, velocity: f64) -> f64 {
        self.point(velocity).pressure
    }

    fn outflow_face(&self, velocity: f64, point: &Point) -> Face {
        let gas = self.gas;
        let temperature = point.pressure / (point.density * gas.gas_constant);
        let total_temperature = temperature + 0.5 * velocity * velocity / gas.heat_capacity;
        let total_pressure = gas.total_pressure(point.pressure, temperature, velocity);
        // On an isentrope dp0 = rho0 dh0 = -rho0 (c - u) du and dm = A rho (1 - u / c) du.
        let total_density = total_pressure / (gas.gas_constant * total_temperature);
        let impedance = total_density * gas.sound_speed(temperature) / (point.density * self.inner.area);
        Face {
            pressure: point.pressure,
            density: point.density,
            velocity,
            total_temperature,
            total_pressure,
            impedance,
        }
    }

    /// The face at the largest outflow: sonic, or the inner state itself when that is supersonic already.
    fn choked_face(&self) -> Face {
        if self.inner.velocity >= self.sound_speed {
            let (pressure, density) = (self.inner.pressure, self.inner.density);
            let inner = Point { pressure, slope: 0.0, density, density_slope: 0.0 };
            return self.outflow_face(self.inner.velocity, &inner);
        }
        let gas = self.gas;
        let sonic = (2.0 * self.sound_speed + (gas.gamma - 1.0) * self.inner.velocity) / (gas.gamma + 1.0);
        if sonic <= 0.0 {
            // The gas runs away from the joint faster than any rarefaction can turn it round.
            return self.outflow_face(0.0, &self.point(0.0));
        }
        self.outflow_face(sonic, &self.point(sonic))
    }

    /// A mass flow [kg/s] that can leave the duct for certain, found without a power: joints spend their time below it.
    ///
    /// Gas that runs away from the joint at a tenth of the speed of sound can still deliver 0.297 rho c A at Mach one.
    #[must_use]
    pub fn certain(&self) -> f64 {
        let slow = self.inner.velocity > -0.1 * self.sound_speed;
        if slow { 0.25 * self.inner.density * self.sound_speed * self.inner.area } else { 0.0 }
    }

    /// Velocity at which `flux` [kg/(s m^2)] leaves the duct, by the tangent at the inner state; `None` where that would point the wrong way.
    fn nearby(&self, flux: f64) -> Option<f64> {
        let (u, density) = (self.inner.velocity, self.inner.density);
        let velocity = u + (flux - density * u) / (density * (1.0 - u / self.sound_speed));
        (u < 0.5 * self.sound_speed && velocity * flux > 0.0).then_some(velocity)
    }

    /// Largest mass flow [kg/s] that can leave the duct here.
    #[must_use]
    pub fn capacity(&self) -> f64 {
        let face = self.choked_face();
        face.density * face.velocity * self.inner.area
    }

    /// The face when `mass_flow` [kg/s, >= 0] leaves the duct; at and above the capacity the choked face.
    #[must_use]
    pub fn outflow(&self, mass_flow: f64) -> Face {
        let flux = mass_flow / self.inner.area;
        let highest = if mass_flow < self.certain() {
            self.sound_speed
        } else {
            let choked = self.choked_face();
            if flux >= choked.density * choked.velocity {
                return choked;
            }
            choked.velocity
        };
        // rho u over u is concave and rises up to the sonic point: bracketed Newton on its rising branch.
        let (mut low, mut high) = (0.0, highest);
        let mut velocity = self.nearby(flux).unwrap_or(flux / self.inner.density).min(0.999 * high);
        let mut point = self.point(velocity);
        for _ in 0..MOST_STEPS {
            let excess = point.density * velocity - flux;
            if excess > 0.0 {
                high = velocity
            } else {
                low = velocity
            }
            let slope = point.density + point.density_slope * velocity;
            let mut next = velocity - excess / slope;
            if !(next >= low && next <= high) {
                next = 0.5 * (low + high);
            }
            let change = next - velocity;
            velocity = next;
            if change.abs() <= CONVERGED * velocity.abs() {
                point = point.moved(change);
                break;
            }
            point = self.point(velocity);
        }
        self.outflow_face(velocity, &point)
    }

    /// The face when `mass_flow` [kg/s, >= 0] of `total_temperature` [K] enters the duct. When that is more than the wave curve
    /// lets in at the speed of sound, the face is sonic and its pressure whatever the flow needs.
    #[must_use]
    pub fn inflow(&self, mass_flow: f64, total_temperature: f64) -> Face {
        let gas = self.gas;
        if mass_flow <= 0.0 {
            // Nothing enters: the gas that is there stands still, whatever the temperature of what does not come.
            return self.outflow_face(0.0, &self.point(0.0));
        }
        let per_speed = self.inner.area / gas.gas_constant;
        let temperature = |speed: f64| total_temperature - 0.5 * speed * speed / gas.heat_capacity;
        let critical = gas.critical_speed(total_temperature);
        let flow = |speed: f64, pressure: f64| per_speed * pressure * speed / temperature(speed);
        let flux = mass_flow / self.inner.area;
        let incompressible = mass_flow * total_temperature / (per_speed * self.inner.pressure);
        let mut speed = self.nearby(-flux).map_or(incompressible, |velocity| -velocity).min(critical);
        let mut point = self.point(-speed);
        let (mut low, mut high) = (0.0, critical);
        for _ in 0..MOST_STEPS {
            let excess = flow(speed, point.pressure) - mass_flow;
            if excess > 0.0 {
                high = speed
            } else {
                low = speed
            }
            let fall = temperature(speed);
            let slope = per_speed / fall
                * (point.pressure - point.slope * speed + point.pressure * speed * speed / (gas.heat_capacity * fall));
            let mut next = speed - excess / slope;
            if !(next >= low && next <= high) {
                next = if low < critical { 0.5 * (low + high) } else { critical };
            }
            let change = next - speed;
            speed = next;
            if change.abs() <= CONVERGED * speed {
                point = point.moved(-change);
                break;
            }
            point = self.point(-speed);
        }
        // Continuity fixes the pressure, so that the flow that leaves one end is to the last bit the flow that enters another.
        let temperature = temperature(speed);
        let pressure = if speed > 0.0 { mass_flow * temperature / (per_speed * speed) } else { point.pressure };
        let total_pressure = gas.total_pressure(pressure, temperature, speed);
        let density = pressure / (gas.gas_constant * temperature);
        // d ln p0 = dp / p + u du / (R T) at constant T0; dm from continuity.
        let rise = total_pressure * (speed * density - point.slope) / pressure;
        let more = density * (1.0 + speed * speed / (gas.heat_capacity * temperature) - speed * point.slope / pressure);
        let impedance = rise / (self.inner.area * more);
        Face { pressure, density, velocity: -speed, total_temperature, total_pressure, impedance }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn end(velocity: f64) -> EndState {
        EndState { density: 1.2, velocity, pressure: 1e5, area: 0.004 }
    }

    #[test]
    fn outflow_and_inflow_reproduce_the_mass_flow() {
        let gas = Gas::dry_air();
        for velocity in [-400.0, -60.0, 0.0, 30.0, 250.0, 420.0] {
            let curve = WaveCurve::new(&gas, end(velocity));
            for share in [0.0, 1e-12, 0.1, 0.7, 0.999] {
                let flow = share * curve.capacity();
                let face = curve.outflow(flow);
                assert!(
                    (face.density * face.velocity * 0.004 - flow).abs() <= 1e-12 * (1.0 + flow),
                    "{velocity} {share}"
                );
                let face = curve.inflow(flow, 310.0);
                assert!(
                    (face.density * face.velocity * 0.004 + flow).abs() <= 1e-12 * (1.0 + flow),
                    "{velocity} {share}"
                );
            }
        }
    }

    #[test]
    fn a_wall_doubles_a_weak_wave() {
        let gas = Gas::dry_air();
        let curve = WaveCurve::new(&gas, end(0.01));
        let c = gas.sound_speed(1e5 / (1.2 * gas.gas_constant));
        assert!((curve.pressure(0.0) - 1e5 - 1.2 * c * 0.01).abs() < 1e-3);
    }

    #[test]
    fn total_pressure_falls_by_the_impedance() {
        let gas = Gas::dry_air();
        let curve = WaveCurve::new(&gas, end(20.0));
        let flow = 1.2 * 20.0 * 0.004;
        let slope =
            (curve.outflow(flow * 1.001).total_pressure - curve.outflow(flow * 0.999).total_pressure) / (0.002 * flow);
        assert!((slope / curve.impedance() + 1.0).abs() < 0.02);
    }

    #[test]
    fn a_standing_shock_and_the_supersonic_state_carry_the_same_flow() {
        let gas = Gas::dry_air();
        let curve = WaveCurve::new(&gas, end(500.0));
        let just_below = curve.outflow(curve.capacity() * (1.0 - 1e-9));
        let momentum = |face: &Face| face.pressure + face.density * face.velocity * face.velocity;
        assert!((momentum(&just_below) / momentum(&curve.outflow(curve.capacity())) - 1.0).abs() < 1e-6);
    }
}
