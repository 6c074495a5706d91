//! Losses without length, measured with rakes before and behind them in a marched network.

use crate::check::{Limit, Row};
use crate::marched::Reading;
use crate::oracle::filter::{AirState, Element};
use crate::oracle::orifice::Opening;
use crate::oracle::perfect_gas::PerfectGas;

/// A law that a march solves exactly, read back through the cells beside it.
const READ_BACK: Limit = Limit { value: 2e-3, why: "rakes stand half a cell away from the loss" };

/// Row of an opening of an effective area [m^2] that discharges from a duct into a volume at `back_pressure` [Pa].
#[must_use]
pub fn opening_row(effective_area: f64, before: &Reading, back_pressure: f64) -> Row {
    let opening = Opening {
        gas: PerfectGas::AIR,
        effective_area,
        total_pressure: before.total_pressure,
        total_temperature: before.total_temperature,
    };
    Row::relative("mass flow [kg/s]", before.mass_flow, opening.mass_flow(back_pressure), READ_BACK)
}

/// Row of a filter element between two rakes, with the air state before it.
#[must_use]
pub fn filter_row(element: Element, air: AirState, before: &Reading, behind: &Reading) -> Row {
    let drop = before.total_pressure - behind.total_pressure;
    Row::relative("total-pressure drop [Pa]", drop, element.drop(air, before.mass_flow), READ_BACK)
}

/// Row of a loss with a coefficient on the velocity head in `area` [m^2] before it, at low Mach number.
#[must_use]
pub fn coefficient_row(coefficient: f64, area: f64, before: &Reading, behind: &Reading) -> Row {
    let gas = PerfectGas::AIR;
    // At the Mach numbers of this check, below 0.1, static and total temperature differ by less than 0.2 %.
    let density = before.pressure / (gas.gas_constant * before.total_temperature);
    let velocity = before.mass_flow / (density * area);
    let found = (before.total_pressure - behind.total_pressure) / (0.5 * density * velocity * velocity);
    Row::relative("loss coefficient", found, coefficient, READ_BACK)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading(mass_flow: f64, total_pressure: f64) -> Reading {
        Reading { mass_flow, pressure: total_pressure, total_pressure, total_temperature: 300.0 }
    }

    #[test]
    fn the_right_flow_holds_and_the_incompressible_one_does_not() {
        let opening =
            Opening { gas: PerfectGas::AIR, effective_area: 1e-3, total_pressure: 1e5, total_temperature: 300.0 };
        assert!(opening_row(1e-3, &reading(opening.mass_flow(9e4), 1e5), 9e4).holds());
        assert!(!opening_row(1e-3, &reading(opening.incompressible_mass_flow(9e4), 1e5), 9e4).holds());
    }

    #[test]
    fn the_right_drop_holds_and_a_purely_quadratic_one_does_not() {
        let air = AirState::dry(287.05, 1e5, 300.0);
        let element = Element::through(air, (0.05, 90.0), (0.2, 510.0));
        let before = reading(0.1, 1e5);
        assert!(filter_row(element, air, &before, &reading(0.1, 1e5 - element.drop(air, 0.1))).holds());
        let quadratic = 510.0 * (0.1 / air.density / 0.2) * (0.1 / air.density / 0.2);
        assert!(!filter_row(element, air, &before, &reading(0.1, 1e5 - quadratic)).holds());
    }

    #[test]
    fn a_coefficient_is_read_back() {
        let (before, area) = (reading(0.05, 1e5), 0.004);
        let density = 1e5 / (287.05 * 300.0);
        let head = 0.5 * density * (0.05 / (density * area)) * (0.05 / (density * area));
        assert!(coefficient_row(0.5, area, &before, &reading(0.05, 1e5 - 0.5 * head)).holds());
        assert!(!coefficient_row(0.5, area, &before, &reading(0.05, 1e5 - 0.51 * head)).holds());
    }
}
