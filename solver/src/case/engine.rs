//! The section `engine`: from its keys to a powertrain at a point.

use super::keys::{optional, required};
use super::point::{Point, Task};
use crate::fields::{Fields, Key, Range, Value};
use crate::powertrain::{
    ChargeSensitivity, Compressor, Cooler, Engine, ExhaustGas, Generic, Load, MOST_TURBOS, MapRow, OverSpeed,
    Powertrain, Reference, Road, Shared, SpeedLines, Surroundings, Turbine, Turbo, Vehicle, Wastegate,
};
use crate::quantity::Dimension;
use std::f64::consts::PI;

/// Radians a second of a turn a second.
const TURN: f64 = 2.0 * PI;
/// Burnt gas of a rich petrol mixture: gamma and gas constant [J/(kg K)]. Heywood (1988), section 4.7, from memory.
const BURNT: ExhaustGas = ExhaustGas { gamma: 1.33, gas_constant: 288.0 };
/// Reference of corrected flow and speed: 25 degC and 100 kPa, the usual one of compressor maps (SAE J1826 leaves it free) [K, Pa].
const REFERENCE: [f64; 2] = [298.15, 1e5];
/// Petrol: lower heating value [J/kg] and stoichiometric air. Heywood (1988), appendix D.
const HEATING_VALUE: f64 = 42.9e6;
const STOICHIOMETRIC: f64 = 14.6;
const LAMBDA: f64 = 0.85;
/// Gross indicated efficiency of the fuel that burns. Common practice, no source.
const INDICATED_EFFICIENCY: f64 = 0.40;
/// Blade speed ratio of best efficiency. Watson and Janota (1982), from memory.
const BLADE_SPEED_RATIO: f64 = 0.7;
const MECHANICAL_EFFICIENCY: f64 = 0.97;
const WASTEGATE_TIME: f64 = 0.4;
const CHARGE_VOLUME: f64 = 4e-3;
const EXHAUST_VOLUME: f64 = 1e-3;

const SPEEDS: Value = Value::Quantities(Dimension::Frequency, Range::Positive);

/// The engine.
pub(super) const ENGINE_KEYS: &[Key] = &[
    required("displacement", Value::Quantity(Dimension::Volume, Range::Positive), "Displacement of all cylinders."),
    required("turbos", Value::Names, "The draws that its compressors are, one a bank: each a draw with `engine: yes`."),
    optional("shared", Value::Names, "nothing", "What the banks share, out of: charge, exhaust, wastegate."),
    required(
        "volumetric_efficiency",
        Value::Map(&[
            required("engine_speed", SPEEDS, "Rising crank speeds."),
            required("value", Value::Quantities(Dimension::Ratio, Range::Between(0.1, 1.5)), "The value at each."),
        ]),
        "Air taken over that which fills the displacement at the manifold's state.",
    ),
    required(
        "boost",
        Value::NamedMaps(&[
            required("engine_speed", SPEEDS, "Rising crank speeds."),
            required("pressure", Value::Quantities(Dimension::Pressure, Range::Positive), "Absolute charge pressure."),
        ]),
        "Charge pressures that are wanted, by name, such as `stock` and `raised`; a point's `boost` names one, else the first holds.",
    ),
    required(
        "exhaust_temperature",
        Value::Map(&[
            required("engine_speed", SPEEDS, "Rising crank speeds."),
            required("temperature", Value::Quantities(Dimension::Temperature, Range::Positive), "Before the turbine."),
        ]),
        "Temperature of the gas before the turbines at full load.",
    ),
    required("compressor", Value::Map(COMPRESSOR_KEYS), "The compressor of each turbo."),
    required("turbine", Value::Map(TURBINE_KEYS), "The turbine of each turbo."),
    required(
        "wastegate",
        Value::Map(&[
            required(
                "diameter",
                Value::Quantity(Dimension::Length, Range::Positive),
                "Of its effective area, wide open.",
            ),
            optional(
                "time",
                Value::Quantity(Dimension::Time, Range::Positive),
                "400 ms",
                "Time in which its control takes an error back.",
            ),
        ]),
        "The wastegate of each turbo.",
    ),
    required(
        "cooler",
        Value::Map(&[
            required("air_speed", Value::Quantities(Dimension::Speed, Range::NotNegative), "Rising speeds of its air."),
            required("effectiveness", Value::Quantities(Dimension::Ratio, Range::Share), "The effectiveness at each."),
            required(
                "loss",
                Value::Quantity(Dimension::PressureDifference, Range::NotNegative),
                "Loss of the charge at `flow`.",
            ),
            required(
                "flow",
                Value::Quantity(Dimension::MassFlow, Range::Positive),
                "The flow at which it loses `loss`.",
            ),
        ]),
        "The charge cooler of each bank, with the pipes before and behind it; its air is that of the road, or the fan's.",
    ),
    required(
        "exhaust",
        Value::Map(&[
            required(
                "back_pressure",
                Value::Quantity(Dimension::PressureDifference, Range::NotNegative),
                "Behind the turbine at `flow`.",
            ),
            required("flow", Value::Quantity(Dimension::MassFlow, Range::Positive), "Exhaust flow of one bank there."),
        ]),
        "The exhaust behind each turbine.",
    ),
    optional(
        "charge_volume",
        Value::Quantity(Dimension::Volume, Range::Positive),
        "4 L",
        "Between compressor and cylinders, each bank.",
    ),
    optional(
        "exhaust_volume",
        Value::Quantity(Dimension::Volume, Range::Positive),
        "1 L",
        "Between cylinders and turbine, each bank.",
    ),
    optional(
        "fuel",
        Value::Map(&[
            optional(
                "heating_value",
                Value::Quantity(Dimension::SpecificEnergy, Range::Positive),
                "42.9 MJ/kg",
                "Lower heating value.",
            ),
            optional(
                "stoichiometric",
                Value::Quantity(Dimension::Ratio, Range::Between(5.0, 20.0)),
                "14.6",
                "Air over fuel that just burns.",
            ),
            optional(
                "lambda",
                Value::Quantity(Dimension::Ratio, Range::Between(0.6, 2.0)),
                "0.85",
                "Air over the air that burns the fuel.",
            ),
        ]),
        "petrol, lambda 0.85",
        "The fuel.",
    ),
    optional(
        "indicated_efficiency",
        Value::Quantity(Dimension::Ratio, Range::Between(0.1, 0.6)),
        "40 % (common practice, no source)",
        "Gross indicated work over the heat of the fuel that finds air.",
    ),
    required(
        "friction",
        Value::Map(&[
            required("engine_speed", SPEEDS, "Three crank speeds."),
            required(
                "pressure",
                Value::Quantities(Dimension::PressureDifference, Range::Positive),
                "Friction mean effective pressure at each.",
            ),
        ]),
        "Friction and auxiliaries, a parabola through three points.",
    ),
    optional(
        "warm_charge",
        Value::Map(&[
            required(
                "above",
                Value::Quantity(Dimension::Temperature, Range::Positive),
                "Charge temperature up to which nothing is lost.",
            ),
            required(
                "loss",
                Value::Quantity(Dimension::Ratio, Range::Share),
                "Share of indicated work lost by later sparks ...",
            ),
            required(
                "each",
                Value::Quantity(Dimension::TemperatureDifference, Range::Positive),
                "... for each of these.",
            ),
        ]),
        "no loss",
        "What a charge warmer than the fuel bears costs.",
    ),
];

const COMPRESSOR_KEYS: &[Key] = &[
    optional(
        "flow",
        Value::Quantity(Dimension::MassFlow, Range::Positive),
        "none: give `lines`",
        "Corrected flow at the design point.",
    ),
    optional(
        "pressure_ratio",
        Value::Quantity(Dimension::Ratio, Range::Between(1.2, 6.0)),
        "none: give `lines`",
        "Pressure ratio there.",
    ),
    optional(
        "efficiency",
        Value::Quantity(Dimension::Ratio, Range::Between(0.45, 0.9)),
        "none: give `lines`",
        "Isentropic efficiency there.",
    ),
    optional(
        "speed",
        Value::Quantity(Dimension::Frequency, Range::Positive),
        "none: give `lines`",
        "Corrected speed there.",
    ),
    optional(
        "lines",
        Value::Maps(&[
            required("speed", Value::Quantity(Dimension::Frequency, Range::Positive), "Corrected speed of the line."),
            required(
                "flow",
                Value::Quantities(Dimension::MassFlow, Range::Positive),
                "Corrected flows, from surge to choke.",
            ),
            required(
                "pressure_ratio",
                Value::Quantities(Dimension::Ratio, Range::Positive),
                "Total-to-total pressure ratio at each.",
            ),
            required("efficiency", Value::Quantities(Dimension::Ratio, Range::Share), "Isentropic efficiency at each."),
        ]),
        "none: give a design point",
        "Speed lines of a measured map, at least three; or the name of a CSV file with the columns corrected_speed, corrected_flow, pressure_ratio, efficiency.",
    ),
    optional(
        "speed_limit",
        Value::Quantity(Dimension::Frequency, Range::Positive),
        "the highest line; of a design point 1.1 times its speed",
        "Highest corrected speed; goes with `lines`.",
    ),
    optional(
        "at",
        Value::Tuple(&[Dimension::Temperature, Dimension::Pressure]),
        "25 degC, 100 kPa",
        "Reference of corrected flow and speed.",
    ),
    optional(
        "bend_penalty",
        Value::Quantity(Dimension::Ratio, Range::Share),
        "0",
        "Share of the efficiency that a bend close before the inlet costs.",
    ),
];

const TURBINE_KEYS: &[Key] = &[
    required("flow", Value::Quantity(Dimension::MassFlow, Range::Positive), "Gas that it passes ..."),
    required(
        "inlet_pressure",
        Value::Quantity(Dimension::Pressure, Range::Positive),
        "... from this total pressure ...",
    ),
    required(
        "inlet_temperature",
        Value::Quantity(Dimension::Temperature, Range::Positive),
        "... and total temperature ...",
    ),
    required("outlet_pressure", Value::Quantity(Dimension::Pressure, Range::Positive), "... to this static one."),
    required(
        "efficiency",
        Value::Quantity(Dimension::Ratio, Range::Between(0.2, 0.9)),
        "Best efficiency, total to static.",
    ),
    required("wheel", Value::Quantity(Dimension::Length, Range::Positive), "Diameter of the wheel's inducer."),
    required("inertia", Value::Quantity(Dimension::Inertia, Range::Positive), "Inertia of the whole rotor."),
    optional(
        "blade_speed_ratio",
        Value::Quantity(Dimension::Ratio, Range::Between(0.4, 0.9)),
        "0.7",
        "Where it is best.",
    ),
    optional(
        "mechanical_efficiency",
        Value::Quantity(Dimension::Ratio, Range::Between(0.5, 1.0)),
        "97 %",
        "Of the shaft's bearings.",
    ),
];

/// What the section says, whatever the point.
pub(super) fn read(fields: &Fields<'_>, gas: crate::gas::Gas) -> Option<(Powertrain, Vec<(String, OverSpeed)>)> {
    let turbos = fields.names("turbos");
    if turbos.is_empty() || turbos.len() > MOST_TURBOS {
        fields.problem("turbos", format!("{} turbos", turbos.len()), format!("1 to {MOST_TURBOS} draws"));
        return None;
    }
    let turbo = read_turbo(fields);
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

/// A turbo without its draw.
fn read_turbo(fields: &Fields<'_>) -> Option<Turbo> {
    let (compressor, turbine) = (fields.map("compressor")?, fields.map("turbine")?);
    let bend_penalty = compressor.si_or("bend_penalty", 0.0);
    let compressor = read_compressor(&compressor);
    let (pressure, behind) = (turbine.si("inlet_pressure")?, turbine.si("outlet_pressure")?);
    if pressure <= behind {
        turbine.problem("inlet_pressure", "a pressure not above `outlet_pressure`", "a pressure above it");
        return None;
    }
    let turbine_of = Turbine::matched(
        turbine.si("flow")?,
        &BURNT,
        [pressure, turbine.si("inlet_temperature")?, behind],
        [turbine.si("efficiency")?, turbine.si_or("blade_speed_ratio", BLADE_SPEED_RATIO), 0.5 * turbine.si("wheel")?],
    );
    Some(Turbo {
        draw: String::new(),
        compressor: compressor?,
        bend_penalty,
        turbine: turbine_of,
        inertia: turbine.si("inertia")?,
        mechanical_efficiency: turbine.si_or("mechanical_efficiency", MECHANICAL_EFFICIENCY),
    })
}

fn read_compressor(fields: &Fields<'_>) -> Option<Compressor> {
    let reference = if fields.has("at") { fields.tuple("at")? } else { REFERENCE.to_vec() };
    let [temperature, pressure] = reference[..] else { return None };
    let reference = Reference { pressure, temperature };
    let design = ["flow", "pressure_ratio", "efficiency", "speed"];
    let given = design.iter().filter(|key| fields.has(key)).count();
    if fields.has("lines") {
        if given > 0 {
            fields.problem("lines", "speed lines beside a design point", "one of them");
            return None;
        }
        let mut rows = Vec::new();
        for line in fields.maps("lines") {
            let speed = TURN * line.si("speed")?;
            let (flow, ratio, efficiency) =
                (line.list("flow")?, line.list("pressure_ratio")?, line.list("efficiency")?);
            if ratio.len() != flow.len() || efficiency.len() != flow.len() {
                let found =
                    format!("{} flows, {} pressure ratios, {} efficiencies", flow.len(), ratio.len(), efficiency.len());
                line.problem("flow", found, "as many of each");
                return None;
            }
            rows.extend(flow.iter().zip(&ratio).zip(&efficiency).map(|((flow, ratio), efficiency)| MapRow {
                corrected_speed: speed,
                corrected_flow: *flow,
                pressure_ratio: *ratio,
                efficiency: *efficiency,
            }));
        }
        let limit = fields.si("speed_limit").map(|limit| TURN * limit);
        return match SpeedLines::new(&rows, reference, limit) {
            Ok(lines) => Some(Compressor::Map(lines)),
            Err(fault) => {
                fields.problem("lines", fault.found, fault.expected);
                None
            }
        };
    }
    if given < design.len() {
        fields.problem(
            "",
            "neither `lines` nor a whole design point",
            "`flow`, `pressure_ratio`, `efficiency` and `speed`, or `lines`",
        );
        return None;
    }
    let [flow, ratio, efficiency, speed] =
        [fields.si("flow")?, fields.si("pressure_ratio")?, fields.si("efficiency")?, fields.si("speed")?];
    Some(Compressor::Generic(Generic::at_design(flow, ratio, efficiency, TURN * speed, reference)))
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

/// The vehicle.
pub(super) const VEHICLE_KEYS: &[Key] = &[
    required("mass", Value::Quantity(Dimension::Mass, Range::Positive), "With driver and fuel."),
    required("gears", Value::Quantities(Dimension::Ratio, Range::Positive), "Ratios of the gears, the first first."),
    required("final_drive", Value::Quantity(Dimension::Ratio, Range::Positive), "Ratio of the final drive."),
    required("tyre_radius", Value::Quantity(Dimension::Length, Range::Positive), "Rolling radius of the driven tyres."),
    required("drag_area", Value::Quantity(Dimension::Area, Range::NotNegative), "Drag coefficient times frontal area."),
    required("rolling_resistance", Value::Quantity(Dimension::Ratio, Range::Between(0.0, 0.1)), "Over weight."),
    required(
        "shift_speed",
        Value::Quantity(Dimension::Frequency, Range::Positive),
        "Crank speed at which the driver shifts up.",
    ),
    optional("shift_time", Value::Quantity(Dimension::Time, Range::Positive), "200 ms", "Time without drive."),
    optional(
        "driveline_efficiency",
        Value::Quantity(Dimension::Ratio, Range::Between(0.5, 1.0)),
        "87 %",
        "Power at the wheels over that at the crank.",
    ),
    optional(
        "wheel_inertia",
        Value::Quantity(Dimension::Inertia, Range::NotNegative),
        "5 kg m2",
        "Of all wheels together.",
    ),
    optional(
        "engine_inertia",
        Value::Quantity(Dimension::Inertia, Range::NotNegative),
        "0.25 kg m2",
        "Of the crank and what turns with it.",
    ),
    optional("traction", Value::Quantity(Dimension::Ratio, Range::Positive), "0.6", "Largest drive force over weight."),
];

/// Values of a vehicle that a case leaves out; common practice, no source.
const SHIFT_TIME: f64 = 0.2;
const DRIVELINE: f64 = 0.87;
const WHEEL_INERTIA: f64 = 5.0;
const ENGINE_INERTIA: f64 = 0.25;
const TRACTION: f64 = 0.6;

pub(super) fn read_vehicle(fields: &Fields<'_>) -> Option<Vehicle> {
    Some(Vehicle {
        mass: fields.si("mass")?,
        wheel_inertia: fields.si_or("wheel_inertia", WHEEL_INERTIA),
        engine_inertia: fields.si_or("engine_inertia", ENGINE_INERTIA),
        gears: fields.list("gears")?,
        final_drive: fields.si("final_drive")?,
        shift_time: fields.si_or("shift_time", SHIFT_TIME),
        shift_speed: TURN * fields.si("shift_speed")?,
        driveline_efficiency: fields.si_or("driveline_efficiency", DRIVELINE),
        drag_area: fields.si("drag_area")?,
        rolling_resistance: fields.si("rolling_resistance")?,
        tyre_radius: fields.si("tyre_radius")?,
        traction_limit: fields.si_or("traction", TRACTION),
    })
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
