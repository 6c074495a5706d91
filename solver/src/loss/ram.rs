//! Air in front of a mouth: ram of the road or of a fan, recovery, spill and lip loss.

use super::entry::free_edge_coefficient;
use super::equivalent_diameter;
use super::published::{self, Deviations, PublishedSpread};
use super::table::broken_line;
use crate::gas::Gas;
use std::sync::Arc;

/// The undisturbed air that moves past a mouth, seen from the car.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FreeStream {
    /// Static pressure [Pa].
    pub pressure: f64,
    /// Static temperature [K].
    pub temperature: f64,
    /// Speed past the mouth [m/s].
    pub speed: f64,
    /// Total temperature [K].
    pub total_temperature: f64,
    /// Where it comes from.
    pub source: Source,
}

/// Where the air before a mouth comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Source {
    /// The outside, through which the car moves.
    Road,
    /// A fan.
    Fan,
    /// A bay of given air, under this pressure.
    Bay(Beside),
}

/// Static pressure at a place on a car, which the air stream past the car changes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beside {
    /// Pressure with no air stream [Pa].
    pub still: f64,
    /// Rise over the square of the stream's speed [Pa s^2/m^2]: pressure coefficient times half the density.
    pub per_square: f64,
    /// Speed of the stream [m/s] where the run does not change it.
    pub speed: f64,
}

impl Beside {
    /// The pressure of air at rest, whatever the car does.
    #[must_use]
    pub fn still(pressure: f64) -> Self {
        Self { still: pressure, per_square: 0.0, speed: 0.0 }
    }

    /// The pressure [Pa], at another speed of the stream [m/s] where the run changes that.
    #[must_use]
    pub fn pressure(&self, speed: Option<f64>) -> f64 {
        let speed = speed.unwrap_or(self.speed);
        self.still + self.per_square * speed * speed
    }
}

impl FreeStream {
    /// Air at rest, met by a car at `speed` [m/s]: its total temperature rises by V^2 / (2 cp).
    #[must_use]
    pub fn road(gas: &Gas, pressure: f64, temperature: f64, speed: f64) -> Self {
        let total_temperature = temperature + 0.5 * speed * speed / gas.heat_capacity;
        Self { pressure, temperature, speed, total_temperature, source: Source::Road }
    }

    /// Air of `blown` [K] that a fan blows at `speed` [m/s] at the share `coverage` of a mouth in a room of `temperature` [K], on a car at
    /// rest. The mouth takes the mean over its area (common practice, no source). What the fan adds to the energy of the air is not added
    /// here: its temperature is measured with the fan on.
    #[must_use]
    pub fn fan(pressure: f64, temperature: f64, blown: f64, speed: f64, coverage: f64) -> Self {
        let mean = temperature + coverage * (blown - temperature);
        Self { pressure, temperature: mean, speed: speed * coverage, total_temperature: mean, source: Source::Fan }
    }

    /// Air at rest in a bay, of `temperature` [K].
    #[must_use]
    pub fn bay(beside: Beside, temperature: f64) -> Self {
        let (pressure, source) = (beside.pressure(None), Source::Bay(beside));
        Self { pressure, temperature, speed: 0.0, total_temperature: temperature, source }
    }

    /// Total pressure [Pa]: isentropic stagnation.
    #[must_use]
    pub fn total_pressure(&self, gas: &Gas) -> f64 {
        gas.total_pressure(self.pressure, self.temperature, self.speed)
    }

    /// Dynamic pressure [Pa], half rho V^2.
    #[must_use]
    pub fn dynamic_pressure(&self, gas: &Gas) -> f64 {
        0.5 * self.pressure / (gas.gas_constant * self.temperature) * self.speed * self.speed
    }
}

/// What a mouth is, apart from the air before it.
#[derive(Debug, Clone, Copy)]
pub struct Opening<'a> {
    /// Open area [m^2].
    pub area: f64,
    /// Static pressure at its place above the free stream's, over the dynamic pressure; at most one.
    pub pressure_coefficient: f64,
    /// Share of the local dynamic pressure recovered over inner speed / free speed, rising in the latter; empty for a mouth that does
    /// not face the stream.
    pub recovery: &'a [(f64, f64)],
    /// Radius of the lip [m].
    pub lip_radius: f64,
    /// How far the published law of the lip is moved.
    pub deviations: &'a Deviations,
}

/// A mouth with the air before it: what it offers to the tract.
#[derive(Debug, Clone, PartialEq)]
pub struct MouthAir {
    /// Static pressure at the mouth's place, undisturbed by the mouth [Pa].
    pub static_pressure: f64,
    /// Total pressure of the stream that meets the mouth [Pa]; the static one for a mouth that does not face it.
    pub stream_total_pressure: f64,
    /// Total temperature of the air that enters [K].
    pub total_temperature: f64,
    /// Speed of the stream into the mouth [m/s]; 0 for a mouth that does not face it.
    pub stream_speed: f64,
    /// Recovery over s = Vi / (Vi + V), which needs no division by a speed of zero.
    recovery: Arc<[(f64, f64)]>,
    stream: FreeStream,
    pressure_coefficient: f64,
    area: f64,
    lip_coefficient: f64,
}

impl MouthAir {
    /// A mouth in a free stream.
    #[must_use]
    pub fn new(gas: &Gas, stream: &FreeStream, opening: &Opening<'_>) -> Self {
        let static_pressure = stream.pressure + opening.pressure_coefficient * stream.dynamic_pressure(gas);
        let faces = !opening.recovery.is_empty();
        let (stream_total_pressure, stream_speed) =
            if faces { (stream.total_pressure(gas), stream.speed) } else { (static_pressure, 0.0) };
        let lip = free_edge_coefficient(opening.lip_radius / equivalent_diameter(opening.area));
        Self {
            static_pressure,
            stream_total_pressure,
            total_temperature: stream.total_temperature,
            stream_speed,
            recovery: opening.recovery.iter().map(|&(ratio, share)| (ratio / (1.0 + ratio), share)).collect(),
            stream: *stream,
            pressure_coefficient: opening.pressure_coefficient,
            area: opening.area,
            lip_coefficient: lip * opening.deviations.factor(&published::lip(lip)),
        }
    }

    /// How far the published law of its lip may be off.
    #[must_use]
    pub fn published_spread(&self) -> PublishedSpread {
        published::lip(self.lip_coefficient)
    }

    /// Where its air comes from.
    #[must_use]
    pub fn source(&self) -> Source {
        self.stream.source
    }

    /// The same mouth when the car moves through the same air at `speed` [m/s]; a mouth in a fan's air stays as it is.
    #[must_use]
    pub fn at_speed(&self, gas: &Gas, speed: f64) -> Self {
        let stream = match self.stream.source {
            Source::Fan => return self.clone(),
            Source::Road => FreeStream::road(gas, self.stream.pressure, self.stream.temperature, speed),
            Source::Bay(beside) => FreeStream::bay(Beside { speed, ..beside }, self.stream.temperature),
        };
        let static_pressure = stream.pressure + self.pressure_coefficient * stream.dynamic_pressure(gas);
        let (stream_total_pressure, stream_speed) =
            if self.recovery.is_empty() { (static_pressure, 0.0) } else { (stream.total_pressure(gas), stream.speed) };
        let total_temperature = stream.total_temperature;
        Self { static_pressure, stream_total_pressure, stream_speed, total_temperature, stream, ..self.clone() }
    }

    /// Open area [m^2].
    #[must_use]
    pub fn area(&self) -> f64 {
        self.area
    }

    /// Total pressure [Pa] inside the mouth before the lip loss, at inner speed `inner_speed` [m/s].
    #[must_use]
    pub fn recovered_pressure(&self, inner_speed: f64) -> f64 {
        if self.recovery.is_empty() {
            return self.static_pressure;
        }
        let s = inner_speed / (inner_speed + self.stream_speed).max(f64::MIN_POSITIVE);
        self.static_pressure + broken_line(&self.recovery, s) * (self.stream_total_pressure - self.static_pressure)
    }

    /// Total pressure [Pa] in the mouth's own section at `mass_flow` [kg/s], positive into the tract; `inner_temperature` [K] is the total
    /// temperature of air that comes out.
    ///
    /// Continuous through zero. Falls with the flow, apart from the stretch where a recovery curve rises, which is far flatter than
    /// the wave resistance of a duct (rho V against rho a). Speeds stop at that of sound: the mouth's section itself asks for
    /// more pressure there as a loss ([`super::area_change`]).
    #[must_use]
    pub fn supply(&self, gas: &Gas, mass_flow: f64, inner_temperature: f64) -> f64 {
        if mass_flow >= 0.0 { self.taken(gas, mass_flow) } else { self.expelled(gas, -mass_flow, inner_temperature) }
    }

    /// Lip loss K/2 rho (Vi - V)^2 above matched flow, nothing below it, where the stream only spills around the lip.
    fn taken(&self, gas: &Gas, mass_flow: f64) -> f64 {
        let mut total = self.stream_total_pressure;
        // Two passes bring the density in the mouth to that behind the loss; a third would change the loss by less than M^4 of itself.
        for _ in 0..2 {
            let inner = gas.section_at_total(mass_flow, self.total_temperature, self.area, total);
            let excess = (inner.speed - self.stream_speed).max(0.0);
            let lip_loss = 0.5 * self.lip_coefficient * inner.density * excess * excess;
            total = (self.recovered_pressure(inner.speed) - lip_loss).max(0.5 * self.static_pressure);
        }
        total
    }

    /// Air that comes out loses its velocity head against the local static pressure; as long as that head is below the recovered ram,
    /// the stream holds against it.
    fn expelled(&self, gas: &Gas, mass_flow: f64, inner_temperature: f64) -> f64 {
        let jet = gas.section_at_static(mass_flow, inner_temperature, self.area, self.static_pressure);
        let head = jet.total_pressure - self.static_pressure;
        let ram = self.stream_total_pressure - self.static_pressure;
        let share = self.recovery.first().map_or(0.0, |point| point.1);
        jet.total_pressure + share * (ram - head).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::LazyLock;

    const SCOOP: [(f64, f64); 4] = [(0.0, 0.98), (0.4, 0.97), (0.8, 0.95), (1.0, 0.92)];

    static AS_PUBLISHED: LazyLock<Deviations> = LazyLock::new(Deviations::default);

    fn scoop(recovery: &[(f64, f64)], pressure_coefficient: f64) -> Opening<'_> {
        let deviations = &*AS_PUBLISHED;
        Opening { area: 0.013, pressure_coefficient, recovery, lip_radius: 0.004, deviations }
    }

    #[test]
    fn ram_pressure_and_temperature_meet_the_table() {
        // p0 - p [Pa] and T0 - T [K] at 288.15 K, 101325 Pa: NACA Report 1135 relations, gamma 1.4.
        let gas = Gas::new(1.4, 287.05);
        for (speed, rise, warming) in
            [(30.0, 552.327_455, 0.447_906), (50.0, 1_539.547_87, 1.244_183), (70.0, 3_033.164_15, 2.438_6_f64)]
        {
            let stream = FreeStream::road(&gas, 101_325.0, 288.15, speed);
            assert!((stream.total_pressure(&gas) - 101_325.0 - rise).abs() < 1e-7 * rise, "{speed}");
            assert!((stream.total_temperature - 288.15 - warming).abs() < 1e-5 * warming, "{speed}");
        }
    }

    #[test]
    fn full_recovery_gives_the_total_pressure_wherever_the_mouth_sits() {
        let gas = Gas::dry_air();
        let stream = FreeStream::road(&gas, 99_600.0, 297.0, 45.0);
        for pressure_coefficient in [-0.5, 0.0, 0.6] {
            let air = MouthAir::new(&gas, &stream, &scoop(&[(0.0, 1.0)], pressure_coefficient));
            assert!((air.supply(&gas, 0.1, 300.0) - stream.total_pressure(&gas)).abs() < 1e-6);
        }
    }

    #[test]
    fn a_mouth_beside_the_stream_gets_the_local_static_pressure() {
        let gas = Gas::dry_air();
        let stream = FreeStream::road(&gas, 99_600.0, 297.0, 45.0);
        let air = MouthAir::new(&gas, &stream, &scoop(&[], 0.05));
        let expected = 99_600.0 + 0.05 * stream.dynamic_pressure(&gas);
        assert!((air.supply(&gas, 0.0, 300.0) - expected).abs() < 1e-9);
        assert!(air.supply(&gas, 0.1, 300.0) < expected);
    }

    #[test]
    fn a_sharp_mouth_at_standstill_loses_one_head() {
        let gas = Gas::dry_air();
        let opening = Opening { lip_radius: 0.0, ..scoop(&[], 0.0) };
        let air = MouthAir::new(&gas, &FreeStream::bay(Beside::still(1e5), 300.0), &opening);
        let density = 1e5 / (gas.gas_constant * 300.0);
        let speed = 0.05 / (density * opening.area);
        let lost = 1e5 - air.supply(&gas, 0.05, 300.0);
        // 3.3 m/s: compressibility below 1e-4.
        assert!((lost / (0.5 * density * speed * speed) - 1.0).abs() < 1e-3, "{lost}");
    }

    #[test]
    fn a_lip_loses_as_much_more_as_its_law_is_moved() {
        let gas = Gas::dry_air();
        let moved = Deviations::new(|law| if law == "mouth lip" { 2.0 } else { 0.0 });
        let lost = |deviations: &Deviations| {
            let opening = Opening { lip_radius: 0.0, deviations, ..scoop(&[], 0.0) };
            1e5 - MouthAir::new(&gas, &FreeStream::bay(Beside::still(1e5), 300.0), &opening).supply(&gas, 0.01, 300.0)
        };
        // A sharp lip: one head, of which two standard deviations are a tenth.
        assert!((lost(&moved) / lost(&AS_PUBLISHED) - 1.1).abs() < 1e-4);
    }

    #[test]
    fn supply_is_continuous_and_falls_with_flow() {
        let gas = Gas::dry_air();
        for speed in [0.0, 1e-9, 5.0, 45.0, 90.0] {
            for (recovery, pressure_coefficient) in [(&SCOOP[..], 0.2), (&SCOOP[..], -0.5), (&[][..], 0.2)] {
                let stream = FreeStream::road(&gas, 1e5, 300.0, speed);
                let air = MouthAir::new(&gas, &stream, &scoop(recovery, pressure_coefficient));
                let gap = air.supply(&gas, 1e-12, 310.0) - air.supply(&gas, -1e-12, 310.0);
                assert!(gap.abs() < 1e-6, "{speed}: {gap}");
                let mut last = f64::INFINITY;
                for step in -400..=600 {
                    let offered = air.supply(&gas, 0.01 * f64::from(step), 310.0);
                    assert!(offered.is_finite() && offered <= last * (1.0 + 1e-12), "{speed} {step}");
                    last = offered;
                }
            }
        }
    }

    #[test]
    fn never_offers_more_than_the_free_stream_holds() {
        let gas = Gas::dry_air();
        let stream = FreeStream::road(&gas, 1e5, 300.0, 60.0);
        let air = MouthAir::new(&gas, &stream, &scoop(&SCOOP, 0.3));
        for step in 0..100 {
            assert!(air.supply(&gas, 0.02 * f64::from(step), 300.0) <= stream.total_pressure(&gas));
        }
    }

    #[test]
    fn a_dyno_fan_gives_ram_without_warming_the_air() {
        let gas = Gas::dry_air();
        let stream = FreeStream::fan(1e5, 300.0, 300.0, 12.0, 0.5);
        assert!((stream.speed - 6.0).abs() < 1e-12);
        assert!((stream.total_temperature - 300.0).abs() < 1e-12);
        assert!(stream.total_pressure(&gas) > 1e5);
        let cool = FreeStream::fan(1e5, 312.0, 300.0, 12.0, 0.75);
        assert!((cool.total_temperature - 303.0).abs() < 1e-12, "a quarter of it takes the room's air");
    }

    #[test]
    fn a_mouth_moves_with_the_car_as_one_that_is_built_at_that_speed() {
        let gas = Gas::dry_air();
        let density = 1e5 / (gas.gas_constant * 300.0);
        let bay = |speed| Beside { still: 1e5, per_square: 0.5 * density * 0.3, speed };
        for (at, other) in [
            (FreeStream::road(&gas, 1e5, 300.0, 20.0), FreeStream::road(&gas, 1e5, 300.0, 60.0)),
            (FreeStream::bay(bay(20.0), 330.0), FreeStream::bay(bay(60.0), 330.0)),
        ] {
            for recovery in [&SCOOP[..], &[]] {
                let [at, other] = [at, other].map(|stream| MouthAir::new(&gas, &stream, &scoop(recovery, 0.2)));
                assert!(at != other && at.at_speed(&gas, 60.0) == other, "{other:?}");
            }
        }
        // 0.3 of half rho V^2, V = 60 m/s, rho of the ideal gas at 300 K and 1 bar.
        assert!((bay(0.0).pressure(Some(60.0)) - 1e5 - 0.3 * 0.5 * density * 3600.0).abs() < 1e-9);
        let fan = MouthAir::new(&gas, &FreeStream::fan(1e5, 300.0, 300.0, 12.0, 1.0), &scoop(&SCOOP, 0.2));
        assert_eq!(fan.at_speed(&gas, 60.0), fan);
    }
}
