//! What a network is built from: the case at one operating point, with every quantity in SI.

use crate::error::Location;
use crate::flow::Scheme;
use crate::gas::Gas;
use crate::loss::Deviations;
use crate::part::Part;
use crate::powertrain::Powertrain;

/// Outside air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outside {
    /// Static pressure [Pa].
    pub pressure: f64,
    /// Temperature [K].
    pub temperature: f64,
}

/// A fan in front of a standing car.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Fan {
    /// Speed of its air [m/s].
    pub speed: f64,
    /// Temperature of its air [K]; the outside's where nothing else is said.
    pub temperature: Option<f64>,
    /// Mouths that it reaches, with the share of each that it covers.
    pub reaches: Vec<(String, f64)>,
}

/// The air stream that the car meets.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct AirStream {
    /// Road speed against the air [m/s].
    pub speed: f64,
    /// Fan of a dyno.
    pub fan: Option<Fan>,
}

/// One name in a flow line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Part, or the word `outside`.
    pub name: String,
    /// Leg of a wye.
    pub leg: Option<String>,
    /// Where it stands in the case.
    pub location: Location,
}

/// Initial state of a stretch of a duct or of a volume, in place of rest at outside pressure and temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Duct or plenum.
    pub part: String,
    /// First end of the stretch [m].
    pub from: f64,
    /// Last end of the stretch [m].
    pub to: f64,
    /// Pressure [Pa].
    pub pressure: Option<f64>,
    /// Temperature [K].
    pub temperature: Option<f64>,
    /// Velocity [m/s].
    pub velocity: Option<f64>,
}

/// Everything that a network is built from.
#[derive(Debug)]
pub struct Blueprint {
    /// The gas.
    pub gas: Gas,
    /// Outside air.
    pub outside: Outside,
    /// Air stream.
    pub stream: AirStream,
    /// Parts by name, with the place of each in the case.
    pub parts: Vec<(String, Location, Part)>,
    /// The engine behind the draws, where the case has one.
    pub powertrain: Option<Powertrain>,
    /// Flow lines.
    pub lines: Vec<Vec<Entry>>,
    /// Initial states that differ from rest.
    pub initial: Vec<Stretch>,
    /// Cell length [m] where a duct does not ask for its own.
    pub cell: f64,
    /// Limiter, Riemann solver and predictor.
    pub scheme: Scheme,
    /// How far the published laws of loss are moved; not at all for an ordinary run.
    pub deviations: Deviations,
}

/// Reserved name of the outside air in a flow line.
pub const OUTSIDE: &str = "outside";
