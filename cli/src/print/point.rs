//! An operating point and the outside air in a few words.

use super::number::{celsius, fixed, trimmed};
use tractwright::case::{Fan, Outside, Point, Task};

/// `road 162 km/h`, with wind and fan: what layouts of other mouths can share.
pub(crate) fn stream(point: &Point) -> String {
    if !point.phases.is_empty() {
        let minutes = point.phases.iter().map(|phase| phase.length).sum::<f64>() / 60.0;
        return format!("{}, {} phases in {} min", point.name, point.phases.len(), trimmed(minutes, 1));
    }
    let mut text = format!("{} {}", point.name, motion(point));
    if point.wind.abs() > 0.0 {
        text.push_str(&format!(", head wind {} km/h", trimmed(3.6 * point.wind, 1)));
    }
    if let Some(fan) = &point.fan {
        text.push_str(&format!(", fan {}", blown(fan)));
    }
    text
}

/// `12 m/s of 20.0 degC`: speed of a fan's air, and its temperature where it is not the room's.
pub(crate) fn blown(fan: &Fan) -> String {
    let speed = format!("{} m/s", trimmed(fan.speed, 1));
    fan.temperature.map_or_else(|| speed.clone(), |temperature| format!("{speed} of {} degC", celsius(temperature)))
}

/// How fast the car moves, and what its engine does.
fn motion(point: &Point) -> String {
    let kilometres = |speed: f64| trimmed(3.6 * speed, 1);
    let turns = |speed: f64| trimmed(60.0 * speed, 0);
    let mut text = match point.task {
        Task::RollOn { from, to, .. } => format!("{} to {} km/h", kilometres(from), kilometres(to)),
        Task::Hold | Task::Pull { .. } | Task::Step { .. } => format!("{} km/h", kilometres(point.speed)),
    };
    match point.task {
        Task::Pull { to, .. } => text.push_str(&format!(", {} to {} rpm", turns(point.engine_speed), turns(to))),
        _ if point.engine_speed > 0.0 => text.push_str(&format!(", {} rpm", turns(point.engine_speed))),
        _ => {}
    }
    if let Some(boost) = &point.boost {
        text.push_str(&format!(", boost {boost}"));
    }
    text
}

/// The same with the mouths that the fan reaches.
pub(crate) fn describe(point: &Point) -> String {
    let name = |(mouth, share): &(String, f64)| {
        if *share < 1.0 { format!("{} % of {mouth}", trimmed(100.0 * share, 1)) } else { mouth.clone() }
    };
    match &point.fan {
        Some(fan) => format!("{} at {}", stream(point), fan.reaches.iter().map(name).collect::<Vec<_>>().join(", ")),
        None => stream(point),
    }
}

/// `99.6 kPa 24.0 degC 45 % RH`.
pub(crate) fn air(outside: &Outside) -> String {
    format!(
        "{} kPa {} degC {} % RH",
        trimmed(1e-3 * outside.pressure, 3),
        celsius(outside.temperature),
        fixed(100.0 * outside.relative_humidity, 0)
    )
}
