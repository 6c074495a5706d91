//! Response: charge pressure and torque over time after the throttle opens, and when nine tenths of the wanted charge stand.

use super::curves::{Curve, Look};
use super::drawing::Drawing;
use super::driven::{self, Driven, shared, with_name, wrong};
use super::panels::{Level, Panel, Sheet};
use crate::failure::Failure;
use crate::opened::Opened;
use crate::print::number::{RPM, fixed, signed, trimmed};
use tractwright::case::Task;
use tractwright::run::{EngineFigures, RESPONDED, response_time};

/// A throttle step.
struct Line<'a> {
    driven: Driven<'a>,
    /// Throttle before it.
    from: f64,
    /// Time of the response [s]; nothing where it is not reached.
    time: Option<f64>,
    /// Charge pressure that is wanted in the end [kPa].
    wanted: f64,
}

/// The picture of throttle steps.
///
/// # Errors
/// A result is of something else or has no engine, or cannot be read.
pub(crate) fn drawing(results: &[&Opened]) -> Result<Drawing, Failure> {
    let lines: Vec<Line> = results.iter().map(|opened| line(opened)).collect::<Result<_, _>>()?;
    let (names, title) =
        driven::named(lines.iter().map(|line| &line.driven), "charge pressure after the throttle opens");
    let conditions = |line: &Line| {
        let rpm = line.driven.rows.last().map_or(0.0, |row| RPM * row.crank_speed);
        let from = trimmed(100.0 * line.from, 1);
        format!("throttle step from {from} % at {} rpm | {}", fixed(rpm, 0), line.driven.conditions())
    };
    let sheet = Sheet {
        title,
        conditions: shared(&names, lines.iter().map(conditions).collect()),
        across: "time after the throttle opens, s".to_owned(),
        strips_title: String::new(),
        behind: false,
        strips: Vec::new(),
        panels: panels(&lines, &names),
        key: Vec::new(),
    };
    Ok(sheet.drawing())
}

fn line(opened: &Opened) -> Result<Line<'_>, Failure> {
    let driven = Driven::of(opened)?;
    let Task::Step { from, .. } = opened.point.task else {
        return Err(wrong(opened, driven::task(opened), "a throttle step"));
    };
    let time = response_time(&driven.rows);
    let wanted = driven.rows.last().map_or(0.0, |row| 1e-3 * row.boost_target);
    Ok(Line { driven, from, time, wanted })
}

/// Mean charge pressure of all turbos [kPa].
fn charge(row: &EngineFigures) -> f64 {
    1e-3 * row.turbos.iter().map(|turbo| turbo.charge_pressure).sum::<f64>() / row.turbos.len() as f64
}

/// What the response took; of several by how much it differs from the first.
fn told(lines: &[Line], number: usize) -> String {
    let decimals = if lines.len() > 1 { 3 } else { 2 };
    match (lines[number].time, lines[0].time) {
        (None, _) => "90 % not reached".to_owned(),
        (Some(time), Some(first)) if number > 0 => {
            format!("90 % in {} s ({} s)", fixed(time, decimals), signed(time - first, decimals))
        }
        (Some(time), _) => format!("90 % in {} s", fixed(time, decimals)),
    }
}

fn panels(lines: &[Line], names: &[String]) -> Vec<Panel> {
    let curve = |result: usize, value: fn(&EngineFigures) -> f64, name: String| {
        let rows = &lines[result].driven.rows;
        let start = rows[0].time;
        let points = rows.iter().map(|row| (row.time - start, value(row))).collect();
        Curve { result, look: Look::Line, points, rings: Vec::new(), name }
    };
    let pressure = |result: usize| {
        let mut curve = curve(result, charge, with_name(&names[result], &told(lines, result)));
        let ring = |time| ((time, RESPONDED * lines[result].wanted), String::new());
        curve.rings = lines[result].time.map(ring).into_iter().collect();
        curve
    };
    let torque = |result: usize| {
        let last = lines[result].driven.rows.last().map_or(0.0, |row| row.torque);
        curve(result, |row| row.torque, with_name(&names[result], &format!("{} N m", fixed(last, 0))))
    };
    let mut levels: Vec<Level> = Vec::new();
    for line in lines {
        for (share, words) in [(RESPONDED, "90 % of the wanted"), (1.0, "wanted")] {
            let value = share * line.wanted;
            if levels.iter().all(|level| (level.value - value).abs() > 0.05) {
                let words = format!("{words}: {} kPa", fixed(value, 1));
                // Beside the line where the charge has not come, or has gone by.
                levels.push(Level { value, words, at_start: share >= 1.0 });
            }
        }
    }
    vec![
        Panel {
            title: "charge pressure, kPa absolute, mean of all turbos (ring: 90 % of the wanted)".to_owned(),
            height: 230.0,
            curves: (0..lines.len()).map(pressure).collect(),
            levels,
            ..Panel::default()
        },
        Panel {
            title: "torque at the crank, N m".to_owned(),
            height: 150.0,
            curves: (0..lines.len()).map(torque).collect(),
            ..Panel::default()
        },
    ]
}
