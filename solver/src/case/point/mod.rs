//! Operating points.

mod task;

pub use task::Task;

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
    /// Rise of the road over its run.
    pub slope: f64,
    /// Crank turns a second [Hz]; of a pull at its start.
    pub engine_speed: f64,
    /// Which of the engine's charge pressures is wanted.
    pub boost: Option<String>,
    /// Share of the charge pressure that reaches the manifold.
    pub throttle: f64,
    /// What the car does.
    pub task: Task,
    /// Other points that are held one after another, each for a time; empty for a point that is one state of the car.
    pub phases: Vec<Phase>,
}

/// A stretch of time at one operating point.
#[derive(Debug, Clone, PartialEq)]
pub struct Phase {
    /// Name of the point that holds.
    pub point: String,
    /// Where that name stands.
    pub location: Location,
    /// Time for which it holds [s].
    pub length: f64,
    /// Time in which its numbers move from those of the phase before, out of that [s].
    pub ramp: f64,
}

/// A fan in front of the car, as on a dyno.
#[derive(Debug, Clone, PartialEq)]
pub struct Fan {
    /// Speed of its air [m/s].
    pub speed: f64,
    /// Temperature of its air [K]; the outside's where nothing else is said.
    pub temperature: Option<f64>,
    /// Mouths that it reaches, with the share of each that it covers.
    pub reaches: Vec<(String, f64)>,
}

impl Point {
    /// The car at rest in still air.
    #[must_use]
    pub fn rest(location: Location) -> Self {
        Self {
            name: REST.to_owned(),
            location,
            speed: 0.0,
            wind: 0.0,
            fan: None,
            slope: 0.0,
            engine_speed: 0.0,
            boost: None,
            throttle: 1.0,
            task: Task::Hold,
            phases: Vec::new(),
        }
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
                Some(fan) => {
                    Some(Fan { speed: fan.si("speed")?, temperature: fan.si("temperature"), reaches: reaches(&fan)? })
                }
                None => None,
            },
            slope: fields.si_or("slope", 0.0),
            engine_speed: fields.si("engine_speed").unwrap_or(0.0),
            boost: fields.text("boost"),
            throttle: fields.si("throttle").unwrap_or(1.0),
            task: Task::read(fields)?,
            phases: fields.maps("phases").iter().enumerate().map(read_phase).collect::<Option<_>>()?,
        })
    }
}

fn read_phase((number, phase): (usize, &Fields<'_>)) -> Option<Phase> {
    let (point, length, ramp) = (phase.text("point"), phase.si("for"), phase.si("ramp").unwrap_or(0.0));
    let (point, length) = (point?, length?);
    if ramp > 0.0 && number == 0 {
        phase.problem("ramp", "a ramp in the first phase", "no `ramp`: there is no phase before it");
        return None;
    }
    if ramp > length {
        phase.problem("ramp", format!("{ramp} s"), format!("at most the {length} s of `for`"));
        return None;
    }
    Some(Phase { point, location: phase.location("point"), length, ramp })
}

fn reaches(fan: &Fields<'_>) -> Option<Vec<(String, f64)>> {
    match fan.form("reaches")? {
        Value::Names => Some(fan.names("reaches").into_iter().map(|name| (name, 1.0)).collect()),
        _ => fan.named("reaches"),
    }
}
