//! The vehicle on the road. Gillespie, Fundamentals of Vehicle Dynamics (1992), chapters 2 and 4.

use super::root::signed_one;
use crate::gas::STANDARD_GRAVITY;
use crate::heat::ease::larger;

/// Speed [m/s] below which rolling resistance fades to nothing at rest. An own choice: it has a sign, and Newton no use for its jump.
const ROLLING: f64 = 0.1;
/// Share of the traction limit around it within which the drive force bends over. An own choice.
const SLIP: f64 = 0.02;

/// A vehicle that is driven along a straight road.
#[derive(Debug, Clone, PartialEq)]
pub struct Vehicle {
    /// Mass [kg].
    pub mass: f64,
    /// Inertia of all wheels and of what turns with them [kg m^2].
    pub wheel_inertia: f64,
    /// Inertia of the crank and of what turns with it [kg m^2].
    pub engine_inertia: f64,
    /// Ratios of the gears, turns of the crank for one of the drive shaft, first gear first; not empty.
    pub gears: Vec<f64>,
    /// Ratio of the final drive.
    pub final_drive: f64,
    /// Time without drive at a shift [s].
    pub shift_time: f64,
    /// Crank speed [rad/s] at which the driver shifts up.
    pub shift_speed: f64,
    /// Power at the wheels over power at the crank.
    pub driveline_efficiency: f64,
    /// Drag coefficient times frontal area [m^2].
    pub drag_area: f64,
    /// Rolling resistance over weight.
    pub rolling_resistance: f64,
    /// Rolling radius of the driven tyres [m].
    pub tyre_radius: f64,
    /// Largest drive force over weight.
    pub traction_limit: f64,
}

/// What the road and the air do to a vehicle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Road {
    /// Density of the air [kg/m^3].
    pub air_density: f64,
    /// Rise over run, above nothing uphill.
    pub slope: f64,
    /// Head wind [m/s]; a tail wind below nothing.
    pub wind: f64,
}

impl Vehicle {
    /// Force [N] that drag, rolling and the slope put against motion at `speed` [m/s]. Gillespie (1992), eq. 4-1 ff. and 4-12.
    #[must_use]
    pub fn road_load(&self, speed: f64, air_density: f64, slope: f64, wind: f64) -> f64 {
        let weight = self.mass * STANDARD_GRAVITY;
        let along = 1.0 / (1.0 + slope * slope).sqrt();
        let air_speed = speed + wind;
        let drag = 0.5 * air_density * self.drag_area * air_speed * air_speed.abs();
        drag + weight * along * (self.rolling_resistance * signed_one(speed, ROLLING) + slope)
    }

    /// Turns of the crank for one of the wheels in `gear`, counted from nothing; beyond the last gear that of the last.
    #[must_use]
    pub fn ratio(&self, gear: usize) -> f64 {
        self.gears.get(gear).or(self.gears.last()).map_or(0.0, |gear| gear * self.final_drive)
    }

    /// Force [N] at the tyres from crank `torque` [N m] in `gear`, whatever the tyres bear. The driveline takes its share from either
    /// side. Gillespie (1992), eq. 2-9.
    #[must_use]
    pub fn drive_force(&self, torque: f64, gear: usize) -> f64 {
        let kept = if torque > 0.0 { self.driveline_efficiency } else { 1.0 / self.driveline_efficiency };
        torque * kept * self.ratio(gear) / self.tyre_radius
    }

    /// Mass [kg] that resists acceleration in `gear`, with all that must turn faster. Gillespie (1992), eq. 2-10.
    #[must_use]
    pub fn effective_mass(&self, gear: usize) -> f64 {
        let ratio = self.ratio(gear);
        self.mass + (self.wheel_inertia + self.engine_inertia * ratio * ratio) / (self.tyre_radius * self.tyre_radius)
    }

    /// Crank speed [rad/s] at `speed` [m/s] in `gear`, the clutch closed and the tyres without slip.
    #[must_use]
    pub fn engine_speed(&self, speed: f64, gear: usize) -> f64 {
        speed / self.tyre_radius * self.ratio(gear)
    }

    /// Acceleration [m/s^2] at `speed` [m/s] with crank `torque` [N m] in `gear`, as far as the tyres bear.
    #[must_use]
    pub fn acceleration(&self, speed: f64, torque: f64, gear: usize, road: &Road) -> f64 {
        let along = 1.0 / (1.0 + road.slope * road.slope).sqrt();
        let most = self.traction_limit * self.mass * STANDARD_GRAVITY * along;
        let force = -larger(-self.drive_force(torque, gear), -most, SLIP * most);
        (force - self.road_load(speed, road.air_density, road.slope, road.wind)) / self.effective_mass(gear)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::powertrain::finite::{falls, is_smooth};

    const CALM: Road = Road { air_density: 1.2, slope: 0.0, wind: 0.0 };

    fn car() -> Vehicle {
        Vehicle {
            mass: 1600.0,
            wheel_inertia: 4.0,
            engine_inertia: 0.2,
            gears: vec![3.6, 2.1, 1.4, 1.0],
            final_drive: 3.5,
            shift_time: 0.3,
            shift_speed: 680.0,
            driveline_efficiency: 0.88,
            drag_area: 0.65,
            rolling_resistance: 0.012,
            tyre_radius: 0.32,
            traction_limit: 0.6,
        }
    }

    #[test]
    fn road_load_is_the_sum_of_its_parts() {
        let car = car();
        let weight = 1600.0 * 9.806_65;
        let level = 0.012 * weight + 0.5 * 1.2 * 0.65 * 900.0;
        assert!((car.road_load(30.0, 1.2, 0.0, 0.0) - level).abs() < 1e-9);
        assert!((car.road_load(20.0, 1.2, 0.0, 10.0) - level).abs() < 1e-9);
        let angle = 0.05_f64.atan();
        let uphill = weight * (angle.sin() + 0.012 * angle.cos());
        assert!((car.road_load(30.0, 0.0, 0.05, 0.0) - uphill).abs() < 1e-9);
        assert!(car.road_load(0.0, 1.2, 0.0, 0.0).abs() < 1e-12);
        assert!((car.road_load(-30.0, 1.2, 0.0, 0.0) + level).abs() < 1e-9);
    }

    #[test]
    fn power_passes_the_driveline_with_its_efficiency() {
        let car = car();
        for gear in 0..4 {
            let crank = car.engine_speed(25.0, gear);
            assert!((car.drive_force(300.0, gear) * 25.0 / (300.0 * crank) - 0.88).abs() < 1e-14);
            assert!((car.drive_force(-50.0, gear) * 25.0 / (-50.0 * crank) - 1.0 / 0.88).abs() < 1e-14);
        }
        assert!((car.ratio(9) - car.ratio(3)).abs() < 1e-15);
        assert!((car.effective_mass(3) - 1600.0 - (4.0 + 0.2 * 3.5 * 3.5) / 0.1024).abs() < 1e-9);
        assert!(car.effective_mass(0) > car.effective_mass(1));
    }

    #[test]
    fn tyres_bear_their_limit_and_no_more() {
        let car = car();
        let most = 0.6 * 9.806_65 * 1600.0 / car.effective_mass(0);
        let first = |torque| car.acceleration(0.0, torque, 0, &CALM);
        assert!((first(1e4) - most).abs() < 1e-12 && (first(1e3) - most).abs() < 1e-12);
        assert!((first(200.0) - car.drive_force(200.0, 0) / car.effective_mass(0)).abs() < 1e-12);
        is_smooth("traction", [-500.0, 1e3], first);
    }

    #[test]
    fn acceleration_falls_with_speed_and_is_smooth_through_rest() {
        let car = car();
        falls("acceleration", [0.0, 80.0], |speed| car.acceleration(speed, 300.0, 2, &CALM));
        let windy = Road { slope: -0.03, wind: 4.0, ..CALM };
        is_smooth("acceleration", [-5.0, 5.0], |speed| car.acceleration(speed, 100.0, 1, &windy));
    }
}
