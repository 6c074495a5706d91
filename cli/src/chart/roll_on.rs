//! Roll-on: road speed and power over time, gear by gear, and the time from one speed to the other.

use super::curves::{Curve, Look};
use super::drawing::Drawing;
use super::driven::{self, Driven, shared, with_name, wrong};
use super::panels::{Level, Panel, Sheet, Stretch, Strip};
use crate::failure::Failure;
use crate::opened::Opened;
use crate::print::number::{KMH, fixed, signed, trimmed};
use tractwright::case::Task;
use tractwright::run::{EngineFigures, directions};

/// Shades of gears in turn, and of the time in which none is engaged.
const GEARS: [&str; 2] = ["#f6f9fc", "#e8eff6"];
const NONE: &str = "#c3d3e3";

/// A roll-on.
struct Line<'a> {
    driven: Driven<'a>,
    /// Road speeds from and to [km/h].
    speeds: [f64; 2],
    /// Time from the one to the other [s]; nothing where it was not reached.
    time: Option<f64>,
    /// Whether it was driven back too.
    both: bool,
}

/// The picture of roll-ons.
///
/// # Errors
/// A result is of something else or has no engine, or cannot be read.
pub(crate) fn drawing(results: &[&Opened]) -> Result<Drawing, Failure> {
    let lines: Vec<Line> = results.iter().map(|opened| line(opened)).collect::<Result<_, _>>()?;
    let (names, title) = driven::named(lines.iter().map(|line| &line.driven), "road speed and power over time");
    let conditions = |line: &Line| {
        let [from, to] = line.speeds.map(|speed| trimmed(speed, 1));
        format!(
            "roll-on, {from} to {to} km/h{} | {}",
            if line.both { ", on the way out" } else { "" },
            line.driven.conditions()
        )
    };
    let mut conditions = shared(&names, lines.iter().map(conditions).collect());
    conditions.push("power at the crank, not corrected to a standard air".to_owned());
    let free = lines.iter().flat_map(|line| &line.driven.rows).any(|row| row.gear == 0);
    let strip = |(line, name): (&Line, &String)| Strip { name: name.clone(), stretches: gears(&line.driven.rows) };
    let sheet = Sheet {
        title,
        conditions,
        across: "time, s".to_owned(),
        strips_title: if free { "gear (dark: none engaged)" } else { "gear" }.to_owned(),
        behind: lines.len() == 1,
        strips: lines.iter().zip(&names).map(strip).collect(),
        panels: panels(&lines, &names),
        key: Vec::new(),
    };
    Ok(sheet.drawing())
}

fn line(opened: &Opened) -> Result<Line<'_>, Failure> {
    let mut driven = Driven::of(opened)?;
    let Task::RollOn { from, to, .. } = opened.point.task else {
        return Err(wrong(opened, driven::task(opened), "a roll-on"));
    };
    let [out, back] = directions(&driven.rows);
    let both = !back.rows.is_empty();
    let (time, count) = (out.time_at_speed(to), out.rows.len());
    driven.rows.truncate(count);
    Ok(Line { driven, speeds: [KMH * from, KMH * to], time, both })
}

/// The time that a line took and, where there are several, by how much it differs from that of the first; to the millisecond
/// then, for layouts lie close together.
fn told(lines: &[Line], number: usize) -> String {
    let (line, first) = (&lines[number], &lines[0]);
    let decimals = if lines.len() > 1 { 3 } else { 2 };
    let Some(time) = line.time else {
        let last = line.driven.rows.last();
        let [speed, time] = last.map_or([0.0; 2], |row| [KMH * row.road_speed, row.time]);
        return format!("not reached, {} km/h after {} s", fixed(speed, 1), fixed(time, decimals));
    };
    let alike = line.speeds.iter().zip(first.speeds).all(|(one, other)| (one - other).abs() < 1e-9);
    let taken = format!("{} s", fixed(time, decimals));
    match first.time {
        Some(other) if number > 0 && alike => {
            format!("{taken} ({} s)", signed(time - other, decimals))
        }
        _ => taken,
    }
}

fn panels(lines: &[Line], names: &[String]) -> Vec<Panel> {
    let curve = |result: usize, value: &dyn Fn(&EngineFigures) -> f64, name: String, marked: bool| {
        let rows = &lines[result].driven.rows;
        let at = |row: &EngineFigures| (row.time, value(row));
        let changes = rows.windows(2).filter(|pair| marked && pair[1].gear != pair[0].gear && pair[0].gear > 0);
        // Words beside several lines would lie over each other; the strips name the gears too.
        let words = |pair: &[EngineFigures]| match lines.len() {
            1 if pair[1].gear > 0 => format!("{} to {}", pair[0].gear, pair[1].gear),
            _ => String::new(),
        };
        Curve {
            result,
            look: Look::Line,
            points: rows.iter().map(at).collect(),
            rings: changes.map(|pair| (at(&pair[1]), words(pair))).collect(),
            name,
        }
    };
    let results = 0..lines.len();
    let speed = |result: usize| {
        let line = &lines[result];
        let told = told(lines, result);
        let [from, to] = line.speeds.map(|speed| trimmed(speed, 1));
        let name = match (line.time, lines.len()) {
            (Some(_), 1) => format!("{from} to {to} km/h in {told}"),
            _ => with_name(&names[result], &told),
        };
        curve(result, &|row| KMH * row.road_speed, name, true)
    };
    let power = |result: usize| {
        let most = lines[result].driven.rows.iter().map(|row| 1e-3 * row.power).fold(f64::NEG_INFINITY, f64::max);
        let name = with_name(&names[result], &format!("most {} kW", fixed(most, 1)));
        curve(result, &|row| 1e-3 * row.power, name, false)
    };
    let mut levels: Vec<Level> = Vec::new();
    for line in lines {
        for (end, (word, value)) in ["from", "to"].into_iter().zip(line.speeds).enumerate() {
            if levels.iter().all(|level| (level.value - value).abs() > 1e-9) {
                let words = format!("{word} {} km/h", trimmed(value, 1));
                levels.push(Level { value, words, at_start: end == 1 });
            }
        }
    }
    vec![
        Panel {
            title: "road speed, km/h (ring: gear change)".to_owned(),
            height: 230.0,
            curves: results.clone().map(speed).collect(),
            levels,
            ..Panel::default()
        },
        Panel {
            title: "power, kW".to_owned(),
            height: 170.0,
            curves: results.map(power).collect(),
            ..Panel::default()
        },
    ]
}

/// Stretches of time in one gear.
fn gears(rows: &[EngineFigures]) -> Vec<Stretch> {
    let mut stretches = Vec::new();
    let (mut from, last) = (rows[0].time, rows.len() - 1);
    for (number, row) in rows.iter().enumerate() {
        if number == last || row.gear != rows[number + 1].gear {
            let to = if number == last { row.time } else { rows[number + 1].time };
            let (words, short, shade) = match row.gear {
                0 => (String::new(), String::new(), NONE),
                gear => (format!("gear {gear}"), gear.to_string(), GEARS[gear % GEARS.len()]),
            };
            stretches.push(Stretch { from, to, words, short, told: String::new(), shade });
            from = to;
        }
    }
    stretches
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(time: f64, road_speed: f64, gear: usize) -> EngineFigures {
        EngineFigures {
            time,
            crank_speed: 400.0,
            road_speed,
            gear,
            torque: 300.0,
            power: 120e3,
            fuel_flow: 0.01,
            boost_target: 180e3,
            outward: true,
            turbos: Vec::new(),
        }
    }

    #[test]
    fn each_gear_has_its_stretch() {
        let rows = [row(0.0, 20.0, 2), row(1.0, 24.0, 2), row(1.5, 24.0, 0), row(2.0, 23.0, 3), row(3.0, 27.0, 3)];
        let stretches = gears(&rows);
        let found: Vec<_> = stretches.iter().map(|of| (of.from, of.to, of.words.as_str())).collect();
        assert_eq!(found, [(0.0, 1.5, "gear 2"), (1.5, 2.0, ""), (2.0, 3.0, "gear 3")]);
    }
}
