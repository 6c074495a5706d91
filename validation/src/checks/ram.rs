//! Ram: what a mouth or a scoop offers at speed, over the flow that it takes.

use crate::bench::measure_mouth;
use crate::case_text::{CaseText, draw};
use crate::check::{Check, Failure, Findings, Group, Limit, Row, rows_only};
use crate::checks::ram_sweep;
use crate::data;
use crate::figure::{Figure, Role};
use crate::marched::{Reading, Tract};
use crate::oracle::perfect_gas::PerfectGas;
use rayon::prelude::*;
use std::f64::consts::PI;

/// Checks of ram.
pub const GROUP: Group = Group {
    name: "ram",
    about: "stagnation, recovery and pressure at the place of mouths that move through the air",
    checks: &[
        Check {
            name: "ram_pressure",
            about: "total pressure and temperature behind a scoop that recovers all, 10 to 80 m/s",
            source: "isentropic stagnation: NACA Report 1135 (1953), equations 43 and 44",
            run: stagnation,
        },
        Check {
            name: "ram_forms",
            about: "recovery of the named forms over inner / road speed",
            source: "NACA ACR 5I20 (1945), RM A7I30 (1948), TN 2323 (1951), Hoerner (1965): all from memory, within the bands shown",
            run: forms,
        },
        Check {
            name: "ram_curve",
            about: "a scoop's own recovery curve at three speeds, up to matched flow",
            source: "the curve itself: p + eta (p00 - p)",
            run: curve,
        },
        Check {
            name: "ram_place",
            about: "pressure coefficient of a mouth beside the stream, and of a scoop that recovers three quarters of the rest",
            source: "definition of the pressure coefficient, (p_place - p) / q",
            run: places,
        },
        Check {
            name: "ram_fan",
            about: "a dyno's fan that covers a scoop whole or half, the car at rest",
            source: "NACA Report 1135 (1953); that the covered share scales the speed is common practice, no source",
            run: || rows_only(fan()),
        },
        Check {
            name: "ram_regimes",
            about: "from flow out of the scoop through rest and spill to flow beyond the matched one",
            source: "continuity of the flow; second law: no more than stagnation pressure can come in",
            run: ram_sweep::regimes,
        },
        Check {
            name: "ram_altitude",
            about: "pressure of the outside by altitude",
            source: "US Standard Atmosphere 1976 (ISO 2533:1975), equation 33a",
            run: altitude,
        },
    ],
};

const GAS: PerfectGas = PerfectGas::AIR;
/// Outside of the checks at speed [Pa, K].
const OUTSIDE: (f64, f64) = (101_325.0, 288.15);
/// Bore of the mouth and of the duct behind it [m].
pub const BORE: f64 = 0.06;

/// Total pressure [Pa] and temperature [K] of air that a car meets at a speed [m/s].
fn stagnation_at(speed: f64, (pressure, temperature): (f64, f64)) -> (f64, f64) {
    let mach = speed / GAS.sound_speed(temperature);
    (pressure / GAS.pressure_ratio(mach), temperature / GAS.temperature_ratio(mach))
}

/// Keys of a scoop or mouth of the bore, with so round a lip that it costs three hundredths of a head.
fn round_lipped(kind: &str, keys: &str) -> String {
    format!("kind: {kind}, area: {} m2, lip_radius: {BORE} m, {keys}", 0.25 * PI * BORE * BORE)
}

/// What a rake behind a mouth with these keys reads at a speed [m/s], when air comes in at an inner speed [m/s] if `total_pressure` [Pa]
/// is what it offers.
fn behind(mouth: &str, outside: (f64, f64), speed: f64, inner: f64, total_pressure: f64) -> Result<Reading, Failure> {
    let total_temperature = stagnation_at(speed, outside).1;
    let case = CaseText::new(outside.0, outside.1).speed(speed);
    measure_mouth(case, BORE, mouth, &taking(inner, total_pressure, total_temperature))
}

/// Mass flow [kg/s] of air of a total state [Pa, K] that comes in at a speed [m/s].
fn inflow(inner: f64, total_pressure: f64, total_temperature: f64) -> f64 {
    let temperature = total_temperature - 0.5 * inner * inner / GAS.heat_capacity();
    let mach = inner / GAS.sound_speed(temperature);
    GAS.mass_flow(mach, 0.25 * PI * BORE * BORE, total_pressure, total_temperature)
}

/// Keys of a draw that makes this air come in. It takes more at more pressure: where recovery rises with the flow, the mouth feeds what
/// rings, and a draw that throws all of it back would let it grow.
fn taking(inner: f64, total_pressure: f64, total_temperature: f64) -> String {
    let flow = inflow(inner, total_pressure, total_temperature);
    format!("{}, slope: 5", draw(flow, total_pressure, total_temperature))
}

fn stagnation() -> Result<Findings, Failure> {
    const LIMIT: Limit =
        Limit { value: 2e-5, why: "a rise of 61 Pa and more, read where ringing is a ten-thousandth of a pascal" };
    let table = data::rows(data::RAM_PRESSURE)?;
    let measure = |row: &data::Row| -> Result<Option<(f64, [Row; 2], f64)>, Failure> {
        let (speed, temperature) = (row.number("V_m_s")?, row.number("T_K")?);
        if speed <= 0.0 {
            return Ok(None);
        }
        let outside = (OUTSIDE.0, temperature);
        let keys = round_lipped("scoop", "recovery: 1");
        let reading = behind(&keys, outside, speed, 0.5 * speed, stagnation_at(speed, outside).0)?;
        let (rise, warming) = (reading.total_pressure - outside.0, reading.total_temperature - temperature);
        let name = format!("{speed} m/s, {temperature} K");
        let rows = [
            Row::relative(format!("{name}: rise of total pressure [Pa]"), rise, row.number("ram_Pa")?, LIMIT),
            Row::relative(format!("{name}: rise of total temperature [K]"), warming, row.number("ram_dT_K")?, LIMIT),
        ];
        Ok(Some((speed, rows, row.number("q_Pa")?)))
    };
    let found = table.par_iter().map(measure).collect::<Result<Vec<_>, _>>()?;
    let found: Vec<_> = found.into_iter().flatten().collect();
    let cold = || found.iter().step_by(2);
    let figure = Figure::new("Ram at 15 degC", "speed [m/s]", "rise of total pressure [Pa]")
        .computed("marched network", cold().map(|(speed, rows, _)| (*speed, rows[0].computed)))
        .reference("isentropic", cold().map(|(speed, rows, _)| (*speed, rows[0].reference)))
        .reference("dynamic pressure", cold().map(|(speed, _, dynamic)| (*speed, *dynamic)));
    Ok(Findings::from(found.iter().flat_map(|(_, rows, _)| rows.clone()).collect::<Vec<_>>()).with(figure))
}

/// Names of inlets in the table and words of the case.
const FORMS: [(&str, &str); 5] = [
    ("pitot_nose_inlet", "pitot"),
    ("protruding_scoop_outside_BL", "protruding"),
    ("protruding_scoop_in_BL_h=delta", "protruding_in_boundary_layer"),
    ("NACA_flush_divergent_7deg_thin_BL", "flush_diverging_ramp"),
    ("flush_parallel_wall_ramp", "flush_parallel_ramp"),
];

fn forms() -> Result<Findings, Failure> {
    const SPEED: f64 = 50.0;
    let (stagnation, _) = stagnation_at(SPEED, OUTSIDE);
    let ram = stagnation - OUTSIDE.0;
    let table = data::rows(data::INLET_RECOVERY)?;
    let mut findings = Findings::default();
    for (inlet, form) in FORMS {
        // No air can be drawn where recovery rises from rest: the closed tract would ring by itself.
        let flows =
            |row: &&data::Row| form != "flush_diverging_ramp" || row.number("Vi_Vinf").is_ok_and(|ratio| ratio > 0.0);
        let rows: Vec<_> = table.iter().filter(|row| row.text("inlet") == Ok(inlet)).filter(flows).collect();
        let keys = round_lipped("scoop", &format!("form: {form}"));
        let measure = |row: &&data::Row| -> Result<[f64; 4], Failure> {
            let (ratio, recovery) = (row.number("Vi_Vinf")?, row.number("recovery")?);
            // Where the table says no flow, some trickles.
            let reading = behind(&keys, OUTSIDE, SPEED, SPEED * ratio.max(0.01), OUTSIDE.0 + recovery * ram)?;
            Ok([ratio, (reading.total_pressure - OUTSIDE.0) / ram, recovery, row.number("band")?])
        };
        let points = rows.par_iter().map(measure).collect::<Result<Vec<_>, _>>()?;
        for [ratio, found, recovery, band] in &points {
            let limit = Limit { value: *band, why: "the band within which the curve is remembered" };
            findings.rows.push(Row::absolute(format!("{form} at Vi/V {ratio}: recovery"), *found, *recovery, limit));
        }
        let curve = |of: fn(&[f64; 4]) -> f64| points.iter().map(|point| (point[0], of(point))).collect::<Vec<_>>();
        let figure = Figure::new(format!("Recovery, {form}"), "inner speed / road speed", "recovery")
            .computed("marched network", curve(|point| point[1]))
            .reference("remembered", curve(|point| point[2]))
            .curve(Role::Bound, "band", curve(|point| point[2] - point[3]))
            .curve(Role::Bound, "band", curve(|point| point[2] + point[3]));
        findings = findings.with(figure);
    }
    Ok(findings)
}

fn curve() -> Result<Findings, Failure> {
    const LIMIT: Limit = Limit {
        value: 1e-4,
        why: "the curve's own points; at matched flow the density in the mouth is found in two passes",
    };
    const CURVE: [(f64, f64); 5] = [(0.1, 0.7), (0.3, 0.85), (0.6, 0.95), (0.8, 0.9), (1.0, 0.8)];
    let list =
        |of: fn(&(f64, f64)) -> f64| CURVE.iter().map(|point| of(point).to_string()).collect::<Vec<_>>().join(" ");
    let keys = round_lipped(
        "scoop",
        &format!("recovery_curve: {{speed_ratio: {}, recovery: {}}}", list(|point| point.0), list(|point| point.1)),
    );
    let mut findings = Findings::default();
    let mut figure = Figure::new("A scoop's own curve", "inner speed / road speed", "recovery");
    for speed in [15.0, 40.0, 80.0] {
        let ram = stagnation_at(speed, OUTSIDE).0 - OUTSIDE.0;
        let measure = |(ratio, recovery): (f64, f64)| -> Result<(f64, f64), Failure> {
            let reading = behind(&keys, OUTSIDE, speed, ratio * speed, OUTSIDE.0 + recovery * ram)?;
            Ok((ratio, (reading.total_pressure - OUTSIDE.0) / ram))
        };
        let points = CURVE.into_par_iter().map(measure).collect::<Result<Vec<_>, _>>()?;
        for ((ratio, found), (_, recovery)) in points.iter().zip(CURVE) {
            findings.rows.push(Row::absolute(format!("{speed} m/s, Vi/V {ratio}: recovery"), *found, recovery, LIMIT));
        }
        figure = figure.computed(format!("{speed} m/s"), points);
    }
    Ok(findings.with(figure.reference("given", CURVE)))
}

fn places() -> Result<Findings, Failure> {
    const LIMIT: Limit = Limit { value: 2e-5, why: "the lip loss of a trickle of air" };
    const SPEED: f64 = 50.0;
    const COEFFICIENTS: [f64; 6] = [-1.0, -0.5, 0.0, 0.3, 0.6, 1.0];
    let (stagnation, _) = stagnation_at(SPEED, OUTSIDE);
    let dynamic = 0.5 * OUTSIDE.0 / (GAS.gas_constant * OUTSIDE.1) * SPEED * SPEED;
    let measure = |kind: &str, keys: &str, coefficient: f64| -> Result<f64, Failure> {
        let keys = round_lipped(kind, &format!("{keys}pressure_coefficient: {coefficient}"));
        Ok((behind(&keys, OUTSIDE, SPEED, 0.5, OUTSIDE.0)?.total_pressure - OUTSIDE.0) / dynamic)
    };
    let (mut rows, mut mouths, mut scoops, mut expected) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for place in COEFFICIENTS {
        let mouth = measure("mouth", "", place)?;
        let scoop = measure("scoop", "recovery: 0.75, ", place)?;
        let reference = place + 0.75 * ((stagnation - OUTSIDE.0) / dynamic - place);
        rows.push(Row::absolute(format!("mouth at {place}: (p0 - p) / q"), mouth, place, LIMIT));
        rows.push(Row::absolute(format!("scoop at {place}: (p0 - p) / q"), scoop, reference, LIMIT));
        mouths.push((place, mouth));
        scoops.push((place, scoop));
        expected.push((place, reference));
    }
    let figure = Figure::new("Place of a mouth", "pressure coefficient", "(p0 - p) / q")
        .computed("mouth", mouths)
        .computed("scoop, recovery 0.75", scoops)
        .reference("the coefficient", COEFFICIENTS.map(|place| (place, place)))
        .reference("share of the rest", expected);
    Ok(Findings::from(rows).with(figure))
}

fn fan() -> Result<Vec<Row>, Failure> {
    const LIMIT: Limit =
        Limit { value: 5e-5, why: "a rise of 61 Pa and more, read where ringing is a ten-thousandth of a pascal" };
    const NO_WARMING: Limit = Limit { value: 1e-6, why: "the room is measured with the fan on" };
    let mut rows = Vec::new();
    for (speed, coverage) in [(10.0, 1.0), (20.0, 1.0), (20.0, 0.5), (30.0, 1.0), (40.0, 0.5)] {
        let case = CaseText::new(OUTSIDE.0, OUTSIDE.1)
            .point(format!("speed: 0 m/s, fan: {{speed: {speed} m/s, reaches: {{mouth: {coverage}}}}}"));
        let reading = measure_mouth(case, BORE, &round_lipped("scoop", "recovery: 1"), &draw(0.01, 1e5, 300.0))?;
        let rise = stagnation_at(speed * coverage, OUTSIDE).0 - OUTSIDE.0;
        let name = format!("fan at {speed} m/s, {coverage} of the mouth");
        rows.push(Row::relative(format!("{name}: rise [Pa]"), reading.total_pressure - OUTSIDE.0, rise, LIMIT));
        let quantity = format!("{name}: total temperature [K]");
        rows.push(Row::relative(quantity, reading.total_temperature, OUTSIDE.1, NO_WARMING));
    }
    Ok(rows)
}

fn altitude() -> Result<Findings, Failure> {
    const LIMIT: Limit = Limit { value: 2e-6, why: "what libraries of the standard differ by" };
    let (mut rows, mut found, mut expected) = (Vec::new(), Vec::new(), Vec::new());
    for row in data::rows(data::ATMOSPHERE)? {
        let (height, temperature) = (row.number("h_geopotential_m")?, row.number("T_K")?);
        if !(-500.0..=5000.0).contains(&height) {
            continue;
        }
        let keys = format!("airport_pressure: 101325 Pa, altitude: {height} m, temperature: {temperature} K");
        let text = CaseText::in_outside(keys)
            .part("pipe", "kind: duct, length: 100 mm, diameter: 60 mm")
            .part("cap", "kind: wall")
            .line(&["outside", "pipe", "cap"])
            .run("until: 1 ms")
            .text();
        let tract = Tract::read(&text)?;
        let cells = tract.at_start_seen()?.cells("pipe")?;
        let state = cells.first().ok_or_else(|| Failure::Missing("cell".to_owned()))?.state;
        rows.push(Row::relative(format!("{height} m: pressure [Pa]"), state.pressure, row.number("p_Pa")?, LIMIT));
        let density = row.number("rho_kg_m3")?;
        rows.push(Row::relative(format!("{height} m: density [kg/m3]"), state.density, density, LIMIT));
        found.push((height, state.pressure));
        expected.push((height, row.number("p_Pa")?));
    }
    let figure = Figure::new("Outside by altitude", "altitude [m]", "pressure [Pa]")
        .computed("air in a pipe", found)
        .reference("standard atmosphere", expected);
    Ok(Findings::from(rows).with(figure))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_draw_is_set_to_the_speed_that_is_asked() {
        let flow = inflow(30.0, 1e5, 300.0);
        let density = 1e5 / (GAS.gas_constant * 300.0);
        // Mach 0.09: the density falls by 0.4 %.
        assert!((flow / (density * 30.0 * 0.25 * PI * BORE * BORE) - 0.996).abs() < 1e-3);
    }

    #[test]
    fn stagnation_agrees_with_the_table() {
        for row in data::rows(data::RAM_PRESSURE).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let (pressure, temperature) = stagnation_at(value("V_m_s"), (101_325.0, value("T_K")));
            assert!((pressure - 101_325.0 - value("ram_Pa")).abs() <= 1e-7 * value("ram_Pa") + 1e-9);
            assert!((temperature - value("T_K") - value("ram_dT_K")).abs() <= 1e-6 * value("ram_dT_K") + 1e-9);
        }
    }
}
