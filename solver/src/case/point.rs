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

/// What the car does at a point.
#[derive(Debug, Clone, PartialEq)]
pub enum Task {
    /// It stays as it is.
    Hold,
    /// A dyno pull.
    Pull {
        /// Crank turns a second at its end [Hz].
        to: f64,
        /// Their rise [Hz/s].
        rate: f64,
    },
    /// The throttle opens from one position to another at a held crank speed.
    Step {
        /// Throttle before it.
        from: f64,
        /// Time for which it is watched [s].
        time: f64,
    },
    /// A roll-on.
    RollOn {
        /// Road speed at its start [m/s].
        from: f64,
        /// Road speed at its end [m/s].
        to: f64,
        /// Gear at its start, counted from one; zero where the driver chooses.
        gear: usize,
    },
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
                Some(fan) => Some(Fan { speed: fan.si("speed")?, reaches: reaches(&fan)? }),
                None => None,
            },
            slope: fields.si_or("slope", 0.0),
            engine_speed: fields.si("engine_speed").unwrap_or(0.0),
            boost: fields.text("boost"),
            throttle: fields.si("throttle").unwrap_or(1.0),
            task: read_task(fields)?,
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

/// Time of a pull [s]; common practice, no source.
const PULL_TIME: f64 = 10.0;
/// Time for which a throttle step is watched [s].
const STEP_TIME: f64 = 5.0;

fn read_task(fields: &Fields<'_>) -> Option<Task> {
    if let Some(pull) = fields.map("pull") {
        let (from, to, time) = (fields.si("engine_speed"), pull.si("to")?, pull.si_or("in", PULL_TIME));
        let Some(from) = from.filter(|from| *from < to) else {
            pull.problem(
                "to",
                "a pull without an `engine_speed` below its end",
                "`engine_speed: 2000 rpm` beside `pull: {to: 7000 rpm}`",
            );
            return None;
        };
        return Some(Task::Pull { to, rate: (to - from) / time });
    }
    if let Some(step) = fields.map("throttle_step") {
        return Some(Task::Step { from: step.si("from")?, time: step.si_or("watched", STEP_TIME) });
    }
    if let Some(roll_on) = fields.map("roll_on") {
        let (from, to) = (roll_on.si("from")?, roll_on.si("to")?);
        if from >= to {
            roll_on.problem("to", "a speed not above `from`", "a speed above it");
            return None;
        }
        return Some(Task::RollOn { from, to, gear: roll_on.count("gear").unwrap_or(0) });
    }
    Some(Task::Hold)
}

fn reaches(fan: &Fields<'_>) -> Option<Vec<(String, f64)>> {
    match fan.form("reaches")? {
        Value::Names => Some(fan.names("reaches").into_iter().map(|name| (name, 1.0)).collect()),
        _ => fan.named("reaches"),
    }
}
