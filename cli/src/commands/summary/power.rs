//! What the engine makes: at a point, over a pull, in a roll-on, after a throttle step.

use crate::failure::Failure;
use crate::opened::Opened;
use crate::print::names::sides;
use crate::print::number::{RPM, celsius, fixed, grams, signed, trimmed};
use crate::print::{Row, Table};
use tractwright::case::Task;
use tractwright::powertrain::Standard;
use tractwright::powertrain::weather::dry_pressure;
use tractwright::run::{Direction, EngineFigures, TurboFigures, directions, response_time, roll_on_time};

/// Crank speed between two rows of a pull [1/min], and road speed between two rows of a roll-on [km/h].
const PULL_STEP: f64 = 500.0;
const ROLL_ON_STEP: f64 = 10.0;

/// Tables and sentences, in the order in which they are printed; nothing without an engine.
///
/// # Errors
/// The file cannot be read.
pub(super) fn of(opened: &Opened) -> Result<Vec<Told>, Failure> {
    let rows = opened.reading.engine_figures()?;
    let Some(last) = rows.last() else { return Ok(Vec::new()) };
    let boost = opened.point.boost.as_deref().map_or_else(String::new, |name| format!(", boost `{name}`"));
    Ok(match opened.point.task {
        Task::Hold => held(opened, last, &boost),
        Task::Pull { .. } => pulled(opened, &rows, &boost),
        Task::RollOn { from, to, .. } => both_ways(&rows, from, to, &boost),
        Task::Step { .. } => stepped(&rows, last, &boost),
    })
}

/// A table, or words to be wrapped.
pub(super) enum Told {
    Table(String),
    Words(String),
}

fn held(opened: &Opened, now: &EngineFigures, boost: &str) -> Vec<Told> {
    let mut heads = sides(&now.turbos.iter().map(|turbo| turbo.draw.as_str()).collect::<Vec<_>>());
    let pair = now.turbos.len() == 2;
    if pair {
        heads.push(format!("{}-{}", heads[1], heads[0]));
    }
    let row = |label: &str, value: &dyn Fn(usize) -> f64, factor: f64, offset: f64, decimals: usize| {
        let mut cells: Vec<String> =
            (0..now.turbos.len()).map(|bank| fixed(factor * (value(bank) - offset), decimals)).collect();
        if pair {
            cells.push(signed(factor * (value(1) - value(0)), decimals));
        }
        Row::new(label, cells)
    };
    let of = |bank: usize| &now.turbos[bank];
    let regimes: Vec<String> = now.turbos.iter().map(TurboFigures::regime_words).collect();
    let rows = vec![
        Row::new("regime", regimes),
        row("charge pressure, kPa", &|b| of(b).charge_pressure, 1e-3, 0.0, 1)
            .noted(format!("wanted {} kPa", fixed(1e-3 * now.boost_target, 1))),
        row("compressor pressure ratio", &|b| of(b).pressure_ratio, 1.0, 0.0, 3),
        row("compressor efficiency, %", &|b| of(b).efficiency, 100.0, 0.0, 1),
        row("behind the compressor, degC", &|b| of(b).outlet_temperature, 1.0, 273.15, 1),
        row("charge, degC", &|b| of(b).charge_temperature, 1.0, 273.15, 1),
        row("before the turbine, kPa", &|b| of(b).exhaust_pressure, 1e-3, 0.0, 1),
        row("back pressure behind it, kPa", &|b| of(b).back_pressure, 1e-3, 0.0, 1),
        row("wastegate open, %", &|b| of(b).wastegate_opening, 100.0, 0.0, 1),
        row("shaft, krpm", &|b| of(b).shaft_speed, 1e-3 * RPM, 0.0, 1),
        row("  free to its limit, %", &|b| of(b).speed_margin, 100.0, 0.0, 1),
        row("margin to surge, %", &|b| of(b).surge_margin, 100.0, 0.0, 1).noted("of the flow"),
        row("margin to choking, %", &|b| of(b).choke_margin, 100.0, 0.0, 1).noted("of the choking flow"),
    ];
    let power = format!(
        "ENGINE at {} rpm{boost}: {} kW, {} N m at the crank, uncorrected{}; fuel {} g/s; {}.",
        fixed(RPM * now.crank_speed, 0),
        fixed(1e-3 * now.power, 1),
        fixed(now.torque, 1),
        at_the_wheels(opened, now.power),
        fixed(1e3 * now.fuel_flow, 2),
        now.regime_words()
    );
    let head = Row::new("turbochargers", heads).noted("basis");
    let mut told = vec![Told::Words(power), Told::Table(Table { head, rows }.render())];
    told.extend(warnings(std::slice::from_ref(now)));
    told.push(Told::Words(corrections(opened, now.power)));
    told
}

/// What of the power reaches the wheels, in words; nothing without a vehicle.
fn at_the_wheels(opened: &Opened, power: f64) -> String {
    let vehicle = opened.reading.built.network.drive.as_ref().and_then(|drive| drive.powertrain.vehicle.as_ref());
    vehicle.map_or_else(String::new, |vehicle| {
        let share = vehicle.driveline_efficiency;
        let power = fixed(1e-3 * share * power, 1);
        format!(" ({power} kW at the wheels by a driveline of {} %)", trimmed(100.0 * share, 1))
    })
}

fn pulled(opened: &Opened, rows: &[EngineFigures], boost: &str) -> Vec<Told> {
    let mut next = 0.0;
    let mut listed = Vec::new();
    for (number, row) in rows.iter().enumerate() {
        let rpm = RPM * row.crank_speed;
        if rpm >= next - 1e-6 * rpm || number + 1 == rows.len() {
            listed.push(row);
            next = PULL_STEP * (rpm / PULL_STEP + 1e-6).floor() + PULL_STEP;
        }
    }
    let table = listed.into_iter().map(|row| {
        let worst = |value: fn(&TurboFigures) -> f64| row.turbos.iter().map(value).fold(f64::INFINITY, f64::min);
        let air: f64 = row.turbos.iter().map(|turbo| turbo.air).sum();
        let charge = row.turbos.iter().map(|turbo| turbo.charge_pressure).sum::<f64>() / row.turbos.len() as f64;
        let cells = vec![
            fixed(1e-3 * row.power, 1),
            fixed(row.torque, 0),
            grams(air),
            fixed(1e-3 * charge, 1),
            fixed(1e-3 * row.boost_target, 1),
            celsius(row.turbos[0].charge_temperature),
            fixed(100.0 * worst(|turbo| turbo.speed_margin), 1),
            fixed(100.0 * worst(|turbo| turbo.surge_margin), 0),
        ];
        Row::new(format!("{} rpm", fixed(RPM * row.crank_speed, 0)), cells).noted(row.regime_words())
    });
    let heads = ["kW", "N m", "g/s", "kPa", "wanted", "degC", "shaft", "surge"];
    let head = Row::new("crank", heads.map(str::to_owned).to_vec()).noted("regime");
    let best = rows.iter().max_by(|a, b| a.power.total_cmp(&b.power));
    let mut told = Vec::new();
    if let Some(best) = best {
        told.push(Told::Words(format!(
            "DYNO PULL{boost}: {} kW at {} rpm at most, at the crank, uncorrected{}; zero ram.",
            fixed(1e-3 * best.power, 1),
            fixed(RPM * best.crank_speed, 0),
            at_the_wheels(opened, best.power)
        )));
    }
    told.push(Told::Table(Table { head, rows: table.collect() }.render()));
    told.push(Told::Words("g/s: air of all turbos; kPa, degC: the charge; shaft, surge: smallest margin of any turbo to its speed limit and to surge, %.".to_owned()));
    told.extend(warnings(rows));
    if let Some(best) = best {
        told.push(Told::Words(corrections(opened, best.power)));
    }
    told
}

fn both_ways(rows: &[EngineFigures], from: f64, to: f64, boost: &str) -> Vec<Told> {
    let [out, back] = directions(rows);
    let mut told = Vec::new();
    if back.rows.is_empty() {
        told.extend(rolled(&out, from, to, &format!("{boost}, one way")));
    } else {
        if let Some(time) = roll_on_time(rows, to) {
            told.push(Told::Words(format!("ROLL-ON{boost}: {} s, the mean of both directions.", fixed(time, 2))));
        }
        told.extend(rolled(&out, from, to, &format!("{boost}, on the way out")));
        told.extend(rolled(&back, from, to, &format!("{boost}, on the way back")));
    }
    told.extend(warnings(rows));
    told.push(Told::Words(
        "On closed roads only. A slope of half a percent or a light wind moves such a time by as much as a good intake.".to_owned(),
    ));
    told
}

fn rolled(direction: &Direction<'_>, from: f64, to: f64, boost: &str) -> Vec<Told> {
    let speeds =
        (0..).map(|step| 3.6 * from + ROLL_ON_STEP * f64::from(step)).take_while(|speed| *speed < 3.6 * to - 1e-9);
    let table = speeds.chain([3.6 * to]).filter_map(|speed| {
        let time = direction.time_at_speed(speed / 3.6)?;
        let row =
            direction.rows.iter().rev().find(|row| row.time - direction.begun <= time).or(direction.rows.first())?;
        let cells =
            vec![fixed(time, 2), row.gear.to_string(), fixed(RPM * row.crank_speed, 0), fixed(1e-3 * row.power, 0)];
        Some(Row::new(format!("{} km/h", trimmed(speed, 1)), cells).noted(row.regime_words()))
    });
    let head = Row::new("road", ["s", "gear", "rpm", "kW"].map(str::to_owned).to_vec()).noted("regime");
    let table = Table { head, rows: table.collect() }.render();
    let (first, last) = (trimmed(3.6 * from, 1), trimmed(3.6 * to, 1));
    let words = match direction.time_at_speed(to) {
        Some(time) => format!("ROLL-ON{boost}: {first} to {last} km/h in {} s.", fixed(time, 2)),
        None => format!("ROLL-ON{boost}: {last} km/h are NOT REACHED from {first} km/h."),
    };
    vec![Told::Words(words), Told::Table(table)]
}

fn stepped(rows: &[EngineFigures], last: &EngineFigures, boost: &str) -> Vec<Told> {
    let rpm = fixed(RPM * last.crank_speed, 0);
    let charge = |row: &EngineFigures| {
        row.turbos.iter().map(|turbo| turbo.charge_pressure).sum::<f64>() / row.turbos.len() as f64
    };
    let start = rows.first().map_or(f64::NAN, charge);
    let words = match response_time(rows) {
        Some(time) => format!(
            "RESPONSE at {rpm} rpm{boost}: from {} kPa to 90 % of the wanted {} kPa in {} s after the throttle opens; {} kPa after {} s, {}.",
            fixed(1e-3 * start, 1),
            fixed(1e-3 * last.boost_target, 1),
            fixed(time, 2),
            fixed(1e-3 * charge(last), 1),
            fixed(last.time, 1),
            last.regime_words()
        ),
        None => format!(
            "RESPONSE at {rpm} rpm{boost}: 90 % of the wanted {} kPa are NOT REACHED in {} s: {} kPa, {}.",
            fixed(1e-3 * last.boost_target, 1),
            fixed(last.time, 1),
            fixed(1e-3 * charge(last), 1),
            last.regime_words()
        ),
    };
    let mut told = vec![Told::Words(words)];
    told.extend(warnings(rows));
    told
}

/// What the compressors do not bear.
fn warnings(rows: &[EngineFigures]) -> Vec<Told> {
    let mut told = Vec::new();
    let count = rows.first().map_or(0, |row| row.turbos.len());
    for bank in 0..count {
        let lowest = |value: fn(&TurboFigures) -> f64| {
            let loaded = rows.iter().filter(|row| row.turbos[bank].loaded());
            loaded.min_by(|a, b| value(&a.turbos[bank]).total_cmp(&value(&b.turbos[bank])))
        };
        if let Some(row) = lowest(|turbo| turbo.surge_margin).filter(|row| row.turbos[bank].near_surge()) {
            let turbo = &row.turbos[bank];
            let verb = if turbo.surge_margin < 0.0 { "runs BEYOND its surge line" } else { "comes NEAR SURGE" };
            told.push(Told::Words(format!(
                "WARNING: the compressor of {} {verb} at {} rpm ({} % of the flow left); the map there is continued, not measured.",
                turbo.draw,
                fixed(RPM * row.crank_speed, 0),
                fixed(100.0 * turbo.surge_margin, 0)
            )));
        }
        if let Some(row) = lowest(|turbo| turbo.speed_margin).filter(|row| row.turbos[bank].speed_margin < 0.0) {
            let turbo = &row.turbos[bank];
            told.push(Told::Words(format!(
                "WARNING: the shaft of {} is {} % above its speed limit at {} rpm.",
                turbo.draw,
                fixed(-100.0 * turbo.speed_margin, 1),
                fixed(RPM * row.crank_speed, 0)
            )));
        }
    }
    told
}

fn corrections(opened: &Opened, power: f64) -> String {
    let outside = &opened.outside;
    let dry = dry_pressure(outside.pressure, outside.temperature, outside.relative_humidity);
    let corrected = [(Standard::SaeJ1349Of2004, "SAE J1349 (2004)"), (Standard::Iso1585SparkIgnition, "ISO 1585")].map(
        |(standard, name)| {
            let correction = standard.correction(dry, outside.temperature);
            let window = if correction.inside { "" } else { ", OUTSIDE its window" };
            format!(
                "{name} {} kW (x {}{window})",
                fixed(1e-3 * power * correction.factor, 1),
                fixed(correction.factor, 4)
            )
        },
    );
    format!(
        "Corrected: {}. These factors are made for unboosted engines; one that holds its charge pressure is over-corrected by them.",
        corrected.join(", ")
    )
}
