//! An air meter in a duct: a heated film or wire that reads by the mass flux at its place.

use super::{CrossSection, optional, required};
use crate::fields::{Fields, Key, Range, Value};
use crate::loss::equivalent_diameter;
use crate::loss::table::broken_line;
use crate::quantity::Dimension;

/// An air meter.
///
/// It gives off heat with the square root of the mass flux that meets it (King 1914, Phil. Trans. R. Soc. A 214, 373), with a lag of the
/// first order. Its electronics turn that back into a flux, which they take for that of the tube in which it was calibrated (common
/// practice, no source). The flux that meets it here is the mean one of the section: profile and swirl, behind a bend for instance, are not in
/// it, and it is taken to correct for the temperature of the air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirMeter {
    /// Where it sits [m from the duct's first end].
    pub at: f64,
    /// Area of the section in which it sits [m^2].
    pub area: f64,
    /// Area of the tube in which it was calibrated [m^2].
    pub calibrated_area: f64,
    /// Time of its lag [s].
    pub time: f64,
    /// Whether it tells air that flows back from air that flows on.
    pub tells_direction: bool,
}

/// Lag of a heated film. Common practice, no source.
const TIME: f64 = 5e-3;

/// Keys of an air meter.
pub(super) const KEYS: &[Key] = &[
    required("at", Value::Quantity(Dimension::Length, Range::NotNegative), "where it sits, from the first end"),
    required(
        "calibrated_diameter",
        Value::Quantity(Dimension::Length, Range::Positive),
        "bore of the tube in which it was calibrated",
    ),
    optional(
        "time",
        Value::Quantity(Dimension::Time, Range::Positive),
        "5 ms, a heated film (common practice)",
        "time of its lag",
    ),
    optional("tells_direction", Value::Flag, "no", "whether it tells air that flows back from air that flows on"),
];

/// Reads key `air_meter` of a duct of this `length` [m].
///
/// # Errors
/// What is wrong has been noted.
pub(super) fn read(fields: &Fields<'_>, length: f64, sections: &[CrossSection]) -> Result<Option<AirMeter>, ()> {
    let Some(meter) = fields.map("air_meter") else { return Ok(None) };
    let (at, calibrated) = (meter.si("at").ok_or(())?, meter.si("calibrated_diameter").ok_or(())?);
    if at > length * (1.0 + 1e-9) {
        meter.problem("at", format!("{at:.4} m"), format!("inside the length, {length:.4} m"));
        return Err(());
    }
    let areas: Vec<(f64, f64)> = sections.iter().map(|section| (section.at, section.area)).collect();
    Ok(Some(AirMeter {
        at,
        area: broken_line(&areas, at),
        calibrated_area: std::f64::consts::FRAC_PI_4 * calibrated * calibrated,
        time: meter.si_or("time", TIME),
        tells_direction: meter.flag("tells_direction").unwrap_or(false),
    }))
}

impl AirMeter {
    /// Bore of the section in which it sits [m].
    #[must_use]
    pub fn bore(&self) -> f64 {
        equivalent_diameter(self.area)
    }

    /// Bore of the tube in which it was calibrated [m].
    #[must_use]
    pub fn calibrated_bore(&self) -> f64 {
        equivalent_diameter(self.calibrated_area)
    }

    /// Signal [(kg/s)^(1/2)] in the long run of a steady `flow` [kg/s] past it, along the duct.
    #[must_use]
    pub fn signal(&self, flow: f64) -> f64 {
        let seen = flow * self.calibrated_area / self.area;
        if self.tells_direction { seen.abs().sqrt().copysign(seen) } else { seen.abs().sqrt() }
    }

    /// Signal after `step` [s] of a steady `flow` [kg/s], from `signal` at its start, and the reading [kg/s] of the mean signal in it.
    #[must_use]
    pub fn advance(&self, signal: f64, flow: f64, step: f64) -> (f64, f64) {
        let (end, lags) = (self.signal(flow), step / self.time);
        let left = libm::exp(-lags);
        let mean = end + (signal - end) * (1.0 - left) / lags;
        (end + (signal - end) * left, mean * mean.abs())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const METER: AirMeter = AirMeter { at: 0.1, area: 4e-3, calibrated_area: 5e-3, time: 4e-3, tells_direction: false };

    /// Mean reading of 1 + `swing` sin(2 pi f t) [kg/s], after the start has been forgotten.
    fn mean_reading(meter: &AirMeter, swing: f64, frequency: f64) -> f64 {
        let (step, steps) = (1e-3 / frequency, 400_000);
        let (mut signal, mut sum) = (meter.signal(1.0), 0.0);
        for number in 0..steps {
            let phase = std::f64::consts::TAU * (number as f64 + 0.5) * 1e-3;
            let (next, reading) = meter.advance(signal, 1.0 + swing * phase.sin(), step);
            signal = next;
            sum += if number >= steps / 2 { reading } else { 0.0 };
        }
        sum / (steps / 2) as f64
    }

    #[test]
    fn a_steady_flow_reads_by_the_ratio_of_areas() {
        for flow in [0.02, 0.2] {
            let (signal, reading) = METER.advance(METER.signal(flow), flow, 0.01);
            assert!((reading / (1.25 * flow) - 1.0).abs() < 1e-14 && (signal - METER.signal(flow)).abs() < 1e-15);
        }
        // A step of flow: the signal comes to 1 - 1/e of it in the time of the lag.
        let (signal, _) = METER.advance(0.0, 0.1, METER.time);
        assert!((signal / METER.signal(0.1) - (1.0 - (-1.0_f64).exp())).abs() < 1e-14);
    }

    #[test]
    fn pulsation_is_read_low_by_a_slow_meter_and_right_by_a_fast_one() {
        // The mean of sqrt(1 + a sin x) is 1 - a^2/16 - 15 a^4/1024 (binomial series, the means of sin^2 and sin^4 being 1/2 and 3/8); a slow meter
        // reads its square.
        let swing: f64 = 0.4;
        let root = 1.0 - swing.powi(2) / 16.0 - 15.0 * swing.powi(4) / 1024.0;
        let slow = mean_reading(&AirMeter { time: 0.05, ..METER }, swing, 150.0);
        assert!((slow / (1.25 * root * root) - 1.0).abs() < 2e-4, "{slow}");
        let fast = mean_reading(&AirMeter { time: 1e-6, ..METER }, swing, 150.0);
        assert!((fast / 1.25 - 1.0).abs() < 1e-4, "{fast}");
    }

    #[test]
    fn backflow_is_counted_twice_unless_its_direction_is_told() {
        // Of 1 + 2 sin x the mean is one; that of its size is 1/3 + 2 sqrt(3) / pi, the area below nothing turned over.
        let fast = AirMeter { time: 1e-6, calibrated_area: METER.area, ..METER };
        let size = 1.0 / 3.0 + 2.0 * 3.0_f64.sqrt() / std::f64::consts::PI;
        let blind = mean_reading(&fast, 2.0, 100.0);
        assert!((blind / size - 1.0).abs() < 1e-3, "{blind} for {size}");
        let told = mean_reading(&AirMeter { tells_direction: true, ..fast }, 2.0, 100.0);
        assert!((told - 1.0).abs() < 1e-3, "{told}");
    }
}
