//! The section `engine`: from its keys to a powertrain at a point.

mod compressor;
mod keys;
mod turbo;

pub(super) use keys::ENGINE_KEYS;

use super::point::{Point, Task};
use crate::fields::Fields;
use crate::powertrain::{
    ChargeSensitivity, Cooler, Engine, Load, MOST_TURBOS, OverSpeed, Powertrain, Road, Shared, Surroundings, Turbo,
    Vehicle, Wastegate,
};
use std::f64::consts::PI;
use turbo::BURNT;

/// Radians a second of a turn a second.
const TURN: f64 = 2.0 * PI;
/// Petrol: lower heating value [J/kg] and stoichiometric air. Heywood (1988), appendix D.
const HEATING_VALUE: f64 = 42.9e6;
const STOICHIOMETRIC: f64 = 14.6;
const LAMBDA: f64 = 0.85;
/// Gross indicated efficiency of the fuel that burns. Common practice, no source.
const INDICATED_EFFICIENCY: f64 = 0.40;
const WASTEGATE_TIME: f64 = 0.4;
const CHARGE_VOLUME: f64 = 4e-3;
const EXHAUST_VOLUME: f64 = 1e-3;

/// What the section says, whatever the point.
pub(super) fn read(fields: &Fields<'_>, gas: crate::gas::Gas) -> Option<(Powertrain, Vec<(String, OverSpeed)>)> {
    let turbos = fields.names("turbos");
    if turbos.is_empty() || turbos.len() > MOST_TURBOS {
        fields.problem("turbos", format!("{} turbos", turbos.len()), format!("1 to {MOST_TURBOS} draws"));
        return None;
    }
    let turbo = turbo::read(fields);
    let cooler = read_cooler(fields);
    let friction = read_friction(fields);
    let boosts = fields.named_maps("boost");
    let boosts = boosts.iter().map(|boost| Some((boost.name().to_owned(), over_speed(boost, "pressure")?)));
    let boosts: Vec<_> = boosts.collect::<Option<_>>()?;
    let Some((_, boost)) = boosts.first().cloned() else {
        fields.problem(
            "boost",
            "no charge pressure",
            "at least one, such as `stock: {engine_speed: ..., pressure: ...}`",
        );
        return None;
    };
    let (wastegate, exhaust) = (fields.map("wastegate")?, fields.map("exhaust")?);
    let diameter = wastegate.si("diameter")?;
    let back_flow = exhaust.si("flow")?;
    let fuel = fields.map("fuel");
    let of_fuel = |key: &'static str, default: f64| fuel.as_ref().map_or(default, |fuel| fuel.si_or(key, default));
    let powertrain = Powertrain {
        engine: Engine {
            displacement: fields.si("displacement")?,
            volumetric_efficiency: 1.0,
            lambda: of_fuel("lambda", LAMBDA),
            stoichiometric: of_fuel("stoichiometric", STOICHIOMETRIC),
            heating_value: of_fuel("heating_value", HEATING_VALUE),
            indicated_efficiency: fields.si_or("indicated_efficiency", INDICATED_EFFICIENCY),
            charge: match fields.map("warm_charge") {
                Some(warm) => {
                    ChargeSensitivity { threshold: warm.si("above")?, per_kelvin: warm.si("loss")? / warm.si("each")? }
                }
                None => ChargeSensitivity { threshold: f64::MAX, per_kelvin: 0.0 },
            },
            friction: friction?,
        },
        volumetric_efficiency: over_speed(&fields.map("volumetric_efficiency")?, "value")?,
        exhaust_temperature: over_speed(&fields.map("exhaust_temperature")?, "temperature")?,
        boost,
        throttle: 1.0,
        turbos: {
            let turbo = turbo?;
            turbos.into_iter().map(|draw| Turbo { draw, ..turbo.clone() }).collect()
        },
        shared: read_shared(fields)?,
        cooler: cooler?,
        charge_volume: fields.si_or("charge_volume", CHARGE_VOLUME),
        exhaust_volume: fields.si_or("exhaust_volume", EXHAUST_VOLUME),
        wastegate: Wastegate { area: 0.25 * PI * diameter * diameter, most: 1.0 },
        wastegate_time: wastegate.si_or("time", WASTEGATE_TIME),
        back_pressure: exhaust.si("back_pressure")? / (back_flow * back_flow),
        exhaust_gas: BURNT,
        load: Load::Brake(0.0),
        vehicle: None,
        surroundings: Surroundings {
            pressure: 0.0,
            temperature: 0.0,
            cooling: 0.0,
            fan: 0.0,
            road: Road { air_density: 0.0, slope: 0.0, wind: 0.0 },
        },
        gas,
        start_speed: 0.0,
        start_gear: 0,
        start_throttle: None,
    };
    Some((powertrain, boosts))
}

fn read_shared(fields: &Fields<'_>) -> Option<Shared> {
    let mut shared = Shared::default();
    for name in fields.names("shared") {
        match name.as_str() {
            "charge" => shared.charge = true,
            "exhaust" => shared.exhaust = true,
            "wastegate" => shared.wastegate = true,
            other => {
                fields.problem("shared", format!("`{other}`"), "out of: charge, exhaust, wastegate");
                return None;
            }
        }
    }
    Some(shared)
}

fn read_cooler(fields: &Fields<'_>) -> Option<Cooler> {
    let cooler = fields.map("cooler")?;
    let (speeds, effectiveness) = (cooler.list("air_speed")?, cooler.list("effectiveness")?);
    if speeds.len() != effectiveness.len() {
        cooler.problem(
            "effectiveness",
            format!("{} for {} speeds", effectiveness.len(), speeds.len()),
            "one for each speed",
        );
        return None;
    }
    let points: Vec<_> = speeds.into_iter().zip(effectiveness).collect();
    let flow = cooler.si("flow")?;
    match Cooler::new(&points, cooler.si("loss")? / (flow * flow)) {
        Ok(cooler) => Some(cooler),
        Err(fault) => {
            cooler.problem("air_speed", fault.found, fault.expected);
            None
        }
    }
}

/// Coefficients of the parabola through the three points.
fn read_friction(fields: &Fields<'_>) -> Option<[f64; 3]> {
    let friction = fields.map("friction")?;
    let (speeds, pressures) = (friction.list("engine_speed")?, friction.list("pressure")?);
    let ([one, two, three], [first, second, third]) =
        (speeds[..].try_into().unwrap_or([0.0; 3]), pressures[..].try_into().unwrap_or([0.0; 3]))
            as ([f64; 3], [f64; 3]);
    if !(one > 0.0 && one < two && two < three && first > 0.0) {
        friction.problem(
            "engine_speed",
            format!("{} speeds and {} pressures", speeds.len(), pressures.len()),
            "three rising speeds with a pressure each",
        );
        return None;
    }
    let [one, two, three] = [TURN * one, TURN * two, TURN * three];
    // Newton's divided differences.
    let (lower, upper) = ((second - first) / (two - one), (third - second) / (three - two));
    let square = (upper - lower) / (three - one);
    let linear = lower - square * (one + two);
    Some([first - one * (linear + square * one), linear, square])
}

/// A table over crank speed.
fn over_speed(fields: &Fields<'_>, key: &'static str) -> Option<OverSpeed> {
    let (speeds, values) = (fields.list("engine_speed")?, fields.list(key)?);
    if speeds.len() != values.len() || speeds.is_empty() || speeds.windows(2).any(|pair| pair[0] >= pair[1]) {
        let found = format!("{} speeds and {} values", speeds.len(), values.len());
        fields.problem("engine_speed", found, "rising speeds, as many as values");
        return None;
    }
    let points: Vec<_> = speeds.iter().map(|speed| TURN * speed).zip(values).collect();
    Some(OverSpeed::new(&points))
}

/// The powertrain of the section at `point`.
pub(super) fn at_point(
    read: &(Powertrain, Vec<(String, OverSpeed)>),
    vehicle: Option<Vehicle>,
    outside: &super::Outside,
    point: &Point,
) -> Powertrain {
    let (base, boosts) = read;
    let named = point.boost.as_ref().and_then(|name| boosts.iter().find(|boost| boost.0 == *name));
    let density = outside.pressure / (outside.gas.gas_constant * outside.temperature);
    let (load, start_speed, start_gear) = match (&point.task, &vehicle) {
        (Task::Pull { rate, .. }, _) => (Load::Brake(TURN * rate), TURN * point.engine_speed, 0),
        (Task::RollOn { from, to, gear }, Some(vehicle)) => {
            (Load::Road { until: *to }, vehicle.engine_speed(*from, gear - 1), *gear)
        }
        _ => (Load::Brake(0.0), TURN * point.engine_speed, 0),
    };
    Powertrain {
        boost: named.map_or_else(|| base.boost.clone(), |boost| boost.1.clone()),
        throttle: point.throttle,
        load,
        surroundings: Surroundings {
            pressure: outside.pressure,
            temperature: outside.temperature,
            cooling: point.fan.as_ref().and_then(|fan| fan.temperature).unwrap_or(outside.temperature),
            fan: point.fan.as_ref().map_or(point.air_speed(), |fan| fan.speed),
            road: Road { air_density: density, slope: point.slope, wind: point.wind },
        },
        gas: outside.gas,
        vehicle,
        start_speed,
        start_gear,
        start_throttle: match point.task {
            Task::Step { from, .. } => Some(from),
            _ => None,
        },
        ..base.clone()
    }
}
