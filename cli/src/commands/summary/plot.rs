//! A small plot for the terminal: the one curve that a result is looked at for.

use crate::chart::path_of;
use crate::failure::Failure;
use crate::opened::Opened;
use crate::print::WIDTH;
use crate::print::number::{CELSIUS_ZERO, KMH, RPM, trimmed};
use textplots::{Chart, Plot as _, Shape};
use tractwright::case::Task;
use tractwright::run::EngineFigures;

/// Dots of a plot, across and up; a letter has two by four.
const DOTS: [u32; 2] = [2 * (WIDTH as u32 - 20), 60];

/// A curve with its title.
struct Curve {
    title: String,
    points: Vec<(f64, f64)>,
}

/// The plot of a result, with its title; nothing where there is no curve.
///
/// # Errors
/// The file cannot be read.
pub(super) fn of(opened: &Opened) -> Result<String, Failure> {
    let Some(Curve { title, points }) = curve(opened)? else { return Ok(String::new()) };
    let [low, high] =
        points.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], p| [low.min(p.0), high.max(p.0)]);
    if points.len() < 2 || high <= low {
        return Ok(String::new());
    }
    let points: Vec<(f32, f32)> = points.iter().map(|(x, y)| (*x as f32, *y as f32)).collect();
    let shape = Shape::Lines(&points);
    let mut chart = Chart::new(DOTS[0], DOTS[1], low as f32, high as f32);
    let chart = chart.lineplot(&shape);
    chart.axis();
    chart.figures();
    let lines: Vec<String> = chart.to_string().lines().map(|line| line.trim_end().to_owned()).collect();
    Ok(format!("\n{title}\n{}\n", lines.join("\n")))
}

fn curve(opened: &Opened) -> Result<Option<Curve>, Failure> {
    let file = &opened.reading.file;
    let Some(branch) = opened.summary.branches.first() else { return Ok(None) };
    let time = file.time()?;
    if !opened.point.phases.is_empty() {
        let celsius = file.series(&branch.draw, "total_temperature")?;
        let points = time.iter().zip(&celsius).map(|(time, value)| (time / 60.0, value - CELSIUS_ZERO)).collect();
        return Ok(Some(Curve { title: format!("T02 of {}, degC, over minutes", branch.draw), points }));
    }
    let rows = opened.reading.engine_figures()?;
    let over = |across: fn(&EngineFigures) -> f64, up: fn(&EngineFigures) -> f64, title: &str| {
        let points = rows.iter().map(|row| (across(row), up(row))).collect();
        Ok(Some(Curve { title: title.to_owned(), points }))
    };
    match opened.point.task {
        Task::Pull { .. } => return over(|row| RPM * row.crank_speed, |row| 1e-3 * row.power, "power, kW, over rpm"),
        Task::RollOn { .. } => return over(|row| row.time, |row| KMH * row.road_speed, "road speed, km/h, over s"),
        Task::Step { .. } => return over(|row| row.time, |row| row.torque, "torque, N m, over s"),
        Task::Hold => {}
    }
    if opened.reading.outcome == "steady" {
        let points = path_of(opened, branch)?.into_iter().map(|(at, pressure)| (at, 1e-3 * pressure)).collect();
        let end = trimmed(branch.total_pressure * 1e-3, 3);
        return Ok(Some(Curve {
            title: format!("total pressure on the way to {}, kPa, over m; {end} at its end", branch.draw),
            points,
        }));
    }
    let pressure = file.series(&branch.draw, "static_pressure")?;
    let points = time.iter().zip(&pressure).map(|(time, value)| (*time, 1e-3 * value)).collect();
    Ok(Some(Curve { title: format!("static pressure at {}, kPa, over s", branch.draw), points }))
}
