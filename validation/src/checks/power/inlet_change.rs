//! A boosted engine of 450 kW whose charge pressure is held while the air before its compressor changes.
//!
//! Stated: 0.44 kg/s of air, 250 kPa behind the compressor, 97 kPa and 25 degC before it, efficiency 0.72, cooler effectiveness 0.70 to
//! ambient air, 950 degC before the turbine, its efficiency 0.68, 130 kPa behind it, all gas through it. Not stated, and therefore
//! assumed: ambient air stays at 25 degC; burnt gas of 1150 J/(kg K) and gamma 1.33 (common practice, no source) and 11.8 kg of
//! air for each of fuel; a shaft without losses. With those every printed digit follows.

use crate::check::{Failure, Limit, Row};
use crate::oracle::root::bisect;
use tractwright::powertrain::compressor::{outlet_temperature, work};
use tractwright::powertrain::{Cooler, ExhaustGas, Turbine};

const GAMMA: f64 = 1.4;
/// 3.5 times the gas constant of dry air [J/(kg K)].
const HEAT_CAPACITY: f64 = 1004.675;
const AIR: f64 = 0.44;
const CHARGE_PRESSURE: f64 = 250e3;
const AMBIENT: f64 = 298.15;
const BURNT: ExhaustGas = ExhaustGas { gamma: 1.33, gas_constant: 1150.0 * 0.33 / 1.33 };
const TURBINE_INLET: f64 = 1223.15;
const TURBINE_OUTLET: f64 = 130e3;
const TURBINE_EFFICIENCY: f64 = 0.68;
const BEST: f64 = 0.65;
const RADIUS: f64 = 0.03;
const AIR_PER_FUEL: f64 = 11.8;

struct State {
    ratio: f64,
    /// Temperature behind the compressor [K].
    compressed: f64,
    /// In the manifold [K].
    charge: f64,
    /// Of the compressor [W].
    power: f64,
    /// Before the turbine [Pa].
    turbine_inlet: f64,
    /// Pressure over temperature of the charge.
    density: f64,
}

fn state(pressure: f64, temperature: f64) -> Result<State, Failure> {
    let no_cooler = |fault: tractwright::powertrain::CoolerFault| Failure::Missing(fault.to_string());
    let cooler = Cooler::new(&[(0.0, 0.7), (1.0, 0.7)], 0.0).map_err(no_cooler)?;
    let ratio = CHARGE_PRESSURE / pressure;
    let compressed = outlet_temperature(GAMMA, temperature, ratio, 0.72);
    let charge = cooler.outlet_temperature(compressed, AMBIENT, 0.5);
    let power = AIR * work(HEAT_CAPACITY, GAMMA, temperature, ratio, 0.72);
    let flow = AIR * (1.0 + 1.0 / AIR_PER_FUEL);
    let turbine =
        Turbine { area: 1e-3, efficiency: TURBINE_EFFICIENCY, best_blade_speed_ratio: BEST, wheel_radius: RADIUS };
    // At the best blade speed ratio, which takes the speed with it: work is the efficiency times half the square of spouting speed.
    let speed = BEST * (2.0 * power / (flow * TURBINE_EFFICIENCY)).sqrt() / RADIUS;
    let gained = |inlet: f64| flow * turbine.work_per_mass(&BURNT, speed, inlet, TURBINE_INLET, TURBINE_OUTLET) - power;
    let turbine_inlet = bisect(TURBINE_OUTLET, 10.0 * TURBINE_OUTLET, gained)
        .ok_or_else(|| Failure::NoSolution("the turbine's balance".to_owned()))?;
    Ok(State { ratio, compressed, charge, power, turbine_inlet, density: CHARGE_PRESSURE / charge })
}

/// Half of a digit that is printed.
const fn digit(value: f64) -> Limit {
    Limit { value: 0.5 * value * (1.0 + 1e-9), why: "half of the last digit that the source prints" }
}

pub(super) fn rows() -> Result<Vec<Row>, Failure> {
    let base = state(97e3, AMBIENT)?;
    let mut rows = vec![
        Row::absolute("base: pressure ratio", base.ratio, 2.58, digit(0.01)),
        Row::absolute("base: behind the compressor [degC]", base.compressed - 273.15, 154.0, digit(1.0)),
        Row::absolute("base: in the manifold [degC]", base.charge - 273.15, 64.0, digit(1.0)),
        Row::absolute("base: compressor power [kW]", 1e-3 * base.power, 57.0, digit(1.0)),
        Row::absolute("base: before the turbine [kPa]", 1e-3 * base.turbine_inlet, 222.0, digit(1.0)),
    ];
    // Ratio; kelvin behind compressor and in the manifold; power [%]; before the turbine [kPa]; density [%].
    let changes = [
        ("1 kPa less", 96e3, AMBIENT, [2.60, 1.6, 0.5, 1.25, 1.6, -0.14], [0.01, 0.1, 0.1, 0.01, 0.1, 0.01]),
        ("5 kPa less", 92e3, AMBIENT, [2.72, 8.3, 2.5, 6.4, 8.4, -0.7], [0.01, 0.1, 0.1, 0.1, 0.1, 0.1]),
        ("10 K more", 97e3, AMBIENT + 10.0, [2.58, 14.3, 4.3, 3.4, 4.3, -1.3], [0.01, 0.1, 0.1, 0.1, 0.1, 0.1]),
    ];
    for (name, pressure, temperature, printed, digits) in changes {
        let changed = state(pressure, temperature)?;
        let percent = |new: f64, old: f64| 100.0 * (new / old - 1.0);
        let cells = [
            ("pressure ratio", changed.ratio),
            ("behind the compressor [K more]", changed.compressed - base.compressed),
            ("in the manifold [K more]", changed.charge - base.charge),
            ("compressor power [% more]", percent(changed.power, base.power)),
            ("before the turbine [kPa more]", 1e-3 * (changed.turbine_inlet - base.turbine_inlet)),
            ("density of the charge [% more]", percent(changed.density, base.density)),
        ];
        for (((cell, computed), printed), last) in cells.into_iter().zip(printed).zip(digits) {
            rows.push(Row::absolute(format!("{name}: {cell}"), computed, printed, digit(last)));
        }
    }
    Ok(rows)
}
