//! An operating point and the outside air in a few words.

use super::number::{celsius, fixed, trimmed};
use tractwright::case::{Outside, Point};

/// `road 162 km/h`, with wind and fan: what layouts of other mouths can share.
pub(crate) fn stream(point: &Point) -> String {
    if !point.phases.is_empty() {
        let minutes = point.phases.iter().map(|phase| phase.length).sum::<f64>() / 60.0;
        return format!("{}, {} phases in {} min", point.name, point.phases.len(), trimmed(minutes, 1));
    }
    let mut text = format!("{} {} km/h", point.name, trimmed(3.6 * point.speed, 1));
    if point.wind.abs() > 0.0 {
        text.push_str(&format!(", head wind {} km/h", trimmed(3.6 * point.wind, 1)));
    }
    if let Some(fan) = &point.fan {
        text.push_str(&format!(", fan {} m/s", trimmed(fan.speed, 1)));
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
