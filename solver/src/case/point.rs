//! Operating points.

use crate::error::Location;
use crate::fields::{Fields, Value};

/// Name of the one point of a case that names none: the car at rest.
pub const REST: &str = "rest";

/// A named operating point.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Its name.
    pub name: String,
    /// Where it stands.
    pub location: Location,
    /// Road speed [m/s].
    pub speed: f64,
    /// Head wind [m/s]; a tail wind is negative.
    pub wind: f64,
    /// A fan that blows at mouths.
    pub fan: Option<Fan>,
}

/// A fan in front of the car, as on a dyno.
#[derive(Debug, Clone, PartialEq)]
pub struct Fan {
    /// Speed of its air [m/s].
    pub speed: f64,
    /// Mouths that it reaches, with the share of each that it covers.
    pub reaches: Vec<(String, f64)>,
}

impl Point {
    /// The car at rest in still air.
    #[must_use]
    pub fn rest(location: Location) -> Self {
        Self { name: REST.to_owned(), location, speed: 0.0, wind: 0.0, fan: None }
    }

    /// Speed of the air stream against the car [m/s], without the fan.
    #[must_use]
    pub fn air_speed(&self) -> f64 {
        self.speed + self.wind
    }

    pub(super) fn read(fields: &Fields<'_>) -> Option<Self> {
        Some(Self {
            name: fields.name().to_owned(),
            location: fields.location(""),
            speed: fields.si_or("speed", 0.0),
            wind: fields.si_or("wind", 0.0),
            fan: match fields.map("fan") {
                Some(fan) => Some(Fan { speed: fan.si("speed")?, reaches: reaches(&fan)? }),
                None => None,
            },
        })
    }
}

fn reaches(fan: &Fields<'_>) -> Option<Vec<(String, f64)>> {
    match fan.form("reaches")? {
        Value::Names => Some(fan.names("reaches").into_iter().map(|name| (name, 1.0)).collect()),
        _ => fan.named("reaches"),
    }
}
