//! Losses of K velocity heads, asked backwards: explicit, and monotone up to choking.
//!
//! At a given mass flow the head grows without bound in slope as the section nears the speed of sound, so that below some pressure
//! a *lower* total pressure after the loss would ask for a *higher* one before it. No passage works there: the flow it passes
//! from a given total pressure before the loss is largest exactly at that point, and a lower pressure behind changes nothing. The
//! pressure after the loss is therefore never taken below that point. For K = 0 this is ordinary choking at Mach one.

use super::{Stream, head};
use crate::gas::{Gas, Section};

/// Total pressure [Pa] before a loss of `coefficient` heads of the section of `area` [m^2] that stands *after* it.
pub(super) fn before_head_after(gas: &Gas, stream: &Stream, coefficient: f64, area: f64, after: f64) -> f64 {
    let section = section_behind(gas, stream, coefficient, area, after, |_| 1.0);
    section.total_pressure + coefficient * head(gas, &section, area)
}

/// Total pressure [Pa] before a loss of `coefficient` heads that is spread along a passage of constant `area` [m^2].
///
/// At constant mass flow the head is inverse to the pressure, so that p dp = K (head p) integrates to a difference of squares:
/// the head is taken at the mean density of both sides, and a large loss needs no iteration.
pub(super) fn before_head_along(gas: &Gas, stream: &Stream, coefficient: f64, area: f64, after: f64) -> f64 {
    let section = section_behind(gas, stream, coefficient, area, after, |mach| mach * mach);
    let total = section.total_pressure;
    (total * total + 2.0 * coefficient * head(gas, &section, area) * total).sqrt()
}

/// The section of `area` [m^2] behind the loss, at total pressure `after` [Pa] or, when that is higher, at the one that asks for least.
///
/// With h(M) the head over the total pressure, the head falls by h / (1 - M^2) per total pressure at constant flow, so the least stands where
/// `K h weight = 1 - M^2`; the weight is 1 for a head taken after the loss and M^2 for one spread along it.
fn section_behind(
    gas: &Gas,
    stream: &Stream,
    coefficient: f64,
    area: f64,
    after: f64,
    weight: impl Fn(f64) -> f64,
) -> Section {
    let beyond = |mach: f64| coefficient * loading(gas, mach) * weight(mach) >= 1.0 - mach * mach;
    let section = gas.section_at_total(stream.mass_flow, stream.total_temperature, area, after);
    let mach = section.speed / gas.sound_speed(section.temperature);
    // The loading is never above gamma/2 M^2: far from choking that settles it without a power.
    let far = 0.5 * gas.gamma * mach * mach * coefficient * weight(mach) < 1.0 - mach * mach;
    if far || !beyond(mach) {
        return section;
    }
    let (mut low, mut high) = (0.0, 1.0);
    // Sixty halvings bring an interval of one below round-off.
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if beyond(middle) { high = middle } else { low = middle }
    }
    let least = total_at_mach(gas, stream, area, high);
    gas.section_at_total(stream.mass_flow, stream.total_temperature, area, after.max(least))
}

/// Velocity head over total pressure at `mach`: gamma/2 M^2 p/p0.
fn loading(gas: &Gas, mach: f64) -> f64 {
    let rise = 0.5 * (gas.gamma - 1.0) * mach * mach;
    0.5 * gas.gamma * mach * mach / gas.pressure_ratio_of_temperature_rise(rise)
}

/// Total pressure [Pa] at which `stream` passes `area` [m^2] at `mach`. NACA Report 1135.
fn total_at_mach(gas: &Gas, stream: &Stream, area: f64, mach: f64) -> f64 {
    let rise = 0.5 * (gas.gamma - 1.0) * mach * mach;
    let flow_function = gas.gamma.sqrt() * mach * (1.0 + rise).sqrt() / gas.pressure_ratio_of_temperature_rise(rise);
    stream.mass_flow * (gas.gas_constant * stream.total_temperature).sqrt() / (area * flow_function)
}

#[cfg(test)]
mod tests {
    use super::*;

    const AREA: f64 = 0.004;

    fn stream(mass_flow: f64) -> Stream {
        Stream { mass_flow, total_temperature: 300.0 }
    }

    #[test]
    fn rises_with_flow_and_with_the_pressure_behind_up_to_choking_and_beyond() {
        let gas = Gas::dry_air();
        for before in [before_head_after, before_head_along] {
            for coefficient in [0.0, 0.5, 3.0, 50.0] {
                for step in 1..200 {
                    let flow = 0.01 * f64::from(step);
                    let here = before(&gas, &stream(flow), coefficient, AREA, 1e5);
                    assert!(here.is_finite() && here >= 1e5);
                    assert!(before(&gas, &stream(flow + 0.01), coefficient, AREA, 1e5) >= here);
                    assert!(before(&gas, &stream(flow), coefficient, AREA, 1.001e5) >= here * (1.0 - 1e-12));
                }
            }
        }
    }

    #[test]
    fn a_lossless_section_chokes_where_the_flow_function_peaks() {
        let gas = Gas::dry_air();
        let flow = 2.0;
        let peak = gas.choking_flow_function() * AREA / (gas.gas_constant * 300.0).sqrt();
        let before = before_head_after(&gas, &stream(flow), 0.0, AREA, 1e4);
        assert!((before * peak / flow - 1.0).abs() < 1e-9);
    }

    #[test]
    fn both_forms_agree_with_half_rho_v_squared_at_low_speed() {
        let gas = Gas::dry_air();
        // 4 m/s: the density changes by less than a ten-thousandth. Area large enough that the Reynolds number is 2e5.
        let (area, pressure) = (0.5, 1e5);
        let density = pressure / (gas.gas_constant * 300.0);
        let flow = stream(density * area * 4.0);
        for before in [before_head_after, before_head_along] {
            let loss = before(&gas, &flow, 2.0, area, pressure) - pressure;
            assert!((loss / (density * 16.0) - 1.0).abs() < 3e-4, "{loss}");
        }
    }
}
