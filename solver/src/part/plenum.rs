//! A plenum: a stored volume with one state, such as an airbox or one room of it.

use super::{Clad, Kind, Part, clad, optional, required};
use crate::fields::{Fields, Key, Range, Value};
use crate::quantity::Dimension;

/// A plenum.
#[derive(Debug, Clone)]
pub struct Plenum {
    /// Volume [m^3].
    pub volume: f64,
    /// Inner surface [m^2], for wall heat.
    pub surface: f64,
    /// Temperature of a wall that has one [K].
    pub wall_temperature: Option<f64>,
    /// Film coefficient between wall and air [W/(m^2 K)].
    pub film: f64,
    /// A wall that stores heat.
    pub clad: Option<Clad>,
    /// Jets that cross: part they come from, part they go into, share of the jet.
    pub carry_over: Vec<CarryOver>,
}

/// The part of a jet that crosses a plenum with its own total pressure and temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct CarryOver {
    /// Part whose jet enters.
    pub from: String,
    /// Part that it faces.
    pub into: String,
    /// Share of the jet, 0..1.
    pub share: f64,
}

/// Film coefficient inside an airbox [W/(m^2 K)]. Common practice, no source: forced air of some metres a second along a wall.
const FILM_COEFFICIENT: f64 = 20.0;

const WALL: &[Key] = &[
    optional(
        "temperature",
        Value::Quantity(Dimension::Temperature, Range::Positive),
        "adiabatic wall",
        "temperature of the inner wall, held constant; the film is taken as 20 W/(m2 K), common practice",
    ),
    optional(
        clad::IN,
        Value::Text,
        "none: the wall stores no heat",
        "bay in which the plenum stands: its wall then stores heat and exchanges it with both sides",
    ),
    optional("material", Value::Text, "none", "material of the wall"),
    clad::FILM_FACTOR,
    clad::THICKNESS,
    clad::LAYERS,
    clad::FACE,
    clad::SEES,
    clad::EXPOSURE,
    clad::START,
];

const CARRY_OVER: &[Key] = &[
    required("from", Value::Text, "part whose jet enters the plenum"),
    required("into", Value::Text, "part that the jet faces"),
    required(
        "share",
        Value::Quantity(Dimension::Ratio, Range::Share),
        "share of the jet that crosses, at most the flow of the part it faces",
    ),
];

pub(super) const KIND: Kind = Kind {
    name: "plenum",
    about: "a stored volume with one state: an airbox, or one room of it",
    keys: &[
        required("volume", Value::Quantity(Dimension::Volume, Range::Positive), "inner volume"),
        optional(
            "surface",
            Value::Quantity(Dimension::Area, Range::Positive),
            "that of a cube of the same volume",
            "inner surface, for wall heat",
        ),
        optional("wall", Value::Map(WALL), "adiabatic", "what the wall is"),
        optional(
            "carry_over",
            Value::Maps(CARRY_OVER),
            "none: every jet loses its velocity head",
            "jets that cross with their own total pressure and temperature",
        ),
    ],
    read,
    example: "{kind: plenum, volume: 11 L, surface: 0.42 m2}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let volume = fields.si("volume");
    let carry_over: Vec<Option<CarryOver>> = fields.maps("carry_over").iter().map(read_carry_over).collect();
    let (wall_temperature, clad, film_factor) = match fields.map("wall") {
        Some(wall) => {
            let clad = clad::read(&wall).ok()?;
            if clad.is_some() && wall.has("temperature") {
                wall.problem(
                    "temperature",
                    "`temperature` beside `in`",
                    "a wall that is given, or one that stores heat",
                );
                return None;
            }
            (wall.si("temperature"), clad, clad::film_factor(&wall)?)
        }
        None => (None, None, 1.0),
    };
    let surface = fields.si_or("surface", 6.0 * libm::pow(volume?, 2.0 / 3.0));
    let film = FILM_COEFFICIENT * film_factor;
    let carry_over = carry_over.into_iter().collect::<Option<_>>()?;
    Some(Part::Plenum(Plenum { volume: volume?, surface, wall_temperature, film, clad, carry_over }))
}

fn read_carry_over(fields: &Fields<'_>) -> Option<CarryOver> {
    let (from, into, share) = (fields.text("from"), fields.text("into"), fields.si("share"));
    Some(CarryOver { from: from?, into: into?, share: share? })
}
