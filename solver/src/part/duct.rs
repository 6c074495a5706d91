//! A duct: a part with length, solved in x and t.

use super::{
    AirMeter, Clad, CrossSection, Edge, Kind, Part, air_meter, clad, edge, exactly_one, optional, required, rising,
    section,
};
use crate::fields::{Fields, Key, Range, Value};
use crate::loss::table::broken_line;
use crate::loss::{Basis, equivalent_diameter};
use crate::quantity::Dimension;

/// A bend of a duct.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bend {
    /// Where the bend begins [m from the first end].
    pub at: f64,
    /// Angle [rad].
    pub angle: f64,
    /// Radius of the centre line [m].
    pub radius: f64,
    /// Factor on its loss, where that is known better than by the law.
    pub loss_factor: Option<f64>,
}

impl Bend {
    /// Where the bend ends [m from the first end].
    #[must_use]
    pub fn end(&self) -> f64 {
        self.at + self.angle * self.radius
    }
}

/// A duct.
#[derive(Debug, Clone)]
pub struct Duct {
    /// Length of the centre line [m].
    pub length: f64,
    /// Cross-sections, rising in `at`; at least one.
    pub sections: Vec<CrossSection>,
    /// Bends, rising in `at`.
    pub bends: Vec<Bend>,
    /// Sand roughness of the wall [m].
    pub roughness: f64,
    /// Corrugation: depth and pitch [m].
    pub corrugation: Option<(f64, f64)>,
    /// Darcy friction factor held constant, in place of the law.
    pub friction_factor: Option<f64>,
    /// Whether widening stretches lose total pressure by separation (Idelchik's diffuser law).
    pub separation: bool,
    /// Wall temperature [K]; `None` for an adiabatic wall.
    pub wall_temperature: Option<f64>,
    /// Factor on the film between wall and air.
    pub film_factor: f64,
    /// Heat that the wall gives to the air whatever the temperatures [W], spread evenly over the length.
    pub wall_heat: f64,
    /// A wall that stores heat.
    pub clad: Option<Clad>,
    /// Edge at the first end.
    pub inlet: Edge,
    /// Edge at the last end.
    pub outlet: Edge,
    /// An air meter in it.
    pub air_meter: Option<Box<AirMeter>>,
    /// Cell length that this duct asks for [m].
    pub cell: Option<f64>,
    /// Where the friction comes from.
    pub friction_basis: Basis,
    /// Where the loss of the bends comes from, and whether they stand too close to add up.
    pub bend_basis: Basis,
}

/// Sand roughness of a smooth moulding or drawn tube [m]. Moody (1944), Trans. ASME 66, 671: drawn tubing 5e-6 ft.
const SMOOTH_WALL: f64 = 1.5e-6;

/// Straight length between two bends, in bores, below which their losses are no longer the sum of both. Miller, Internal Flow Systems,
/// 2nd ed. (1990), chapter 9; from memory.
const FREE_SPACING: f64 = 4.0;

/// Sharpest turn of one bend: half a turn.
const WIDEST_ANGLE: f64 = std::f64::consts::PI;

const BEND: &[Key] = &[
    optional(
        "loss_factor",
        Value::Quantity(Dimension::Ratio, Range::NotNegative),
        "1, with the published spread of the law",
        "factor on its loss, such as a bend close behind it makes; then `loss_factors` has no say in it",
    ),
    required("at", Value::Quantity(Dimension::Length, Range::NotNegative), "where the bend begins, from the first end"),
    required("angle", Value::Quantity(Dimension::Angle, Range::Between(0.0, WIDEST_ANGLE)), "angle of the turn"),
    required("radius", Value::Quantity(Dimension::Length, Range::Positive), "radius of the centre line"),
];

const CORRUGATION: &[Key] = &[
    required("depth", Value::Quantity(Dimension::Length, Range::Positive), "depth of a corrugation, crest to root"),
    required("pitch", Value::Quantity(Dimension::Length, Range::Positive), "distance from crest to crest"),
];

const WALL: &[Key] = &[
    optional(
        "temperature",
        Value::Quantity(Dimension::Temperature, Range::Positive),
        "adiabatic wall",
        "temperature of the inner wall, held constant",
    ),
    optional(
        "heat",
        Value::Quantity(Dimension::Power, Range::Any),
        "none: that of the film beside `temperature`",
        "heat that the wall gives to the air, as measured, spread evenly over the length; negative where it cools",
    ),
    optional(
        clad::IN,
        Value::Text,
        "none: the wall stores no heat",
        "bay in which the duct stands: its wall then stores heat and exchanges it with both sides",
    ),
    optional("material", Value::Text, "none", "material of the wall; kept with the case where it stores no heat"),
    clad::FILM_FACTOR,
    clad::THICKNESS,
    clad::LAYERS,
    clad::FACE,
    clad::SEES,
    clad::EXPOSURE,
    clad::START,
];

pub(super) const KIND: Kind = Kind {
    name: "duct",
    about: "a part with length, solved in x and t: area, friction, bends, wall heat",
    keys: &[
        required("length", Value::Quantity(Dimension::Length, Range::Positive), "length along the centre line"),
        optional(
            "diameter",
            Value::Quantity(Dimension::Length, Range::Positive),
            "none: give `sections`",
            "bore of a round duct of constant area",
        ),
        optional(
            "sections",
            Value::Maps(section::KEYS),
            "none: give `diameter`",
            "cross-sections rising in `at`; area and perimeter run linearly between them and are held outside them",
        ),
        optional(
            "bends",
            Value::Maps(BEND),
            "straight",
            "bends in the order in which they stand; loss by Rennels and Hudson",
        ),
        optional(
            "roughness",
            Value::Quantity(Dimension::Length, Range::NotNegative),
            "0.0015 mm, smooth moulding or drawn tube (Moody 1944)",
            "sand roughness of the wall",
        ),
        optional("corrugation", Value::Map(CORRUGATION), "none", "corrugated hose"),
        optional(
            "friction_factor",
            Value::Quantity(Dimension::Ratio, Range::NotNegative),
            "Churchill's law",
            "Darcy friction factor held constant",
        ),
        optional(
            "separation",
            Value::Flag,
            "yes",
            "whether widening stretches lose by separation (Idelchik's diffuser law)",
        ),
        optional("wall", Value::Map(WALL), "adiabatic", "what the wall is"),
        optional(
            "inlet",
            Value::Map(edge::KEYS),
            "sharp",
            "edge of the first end, where it stands on a volume or outside",
        ),
        optional(
            "outlet",
            Value::Map(edge::KEYS),
            "sharp",
            "edge of the last end, where it stands on a volume or outside",
        ),
        optional(
            "air_meter",
            Value::Map(air_meter::KEYS),
            "none",
            "a heated film or wire in it, which reads by the mass flux at its place",
        ),
        optional("cell", Value::Quantity(Dimension::Length, Range::Positive), "that of the run", "cell length"),
    ],
    read,
    example: "{kind: duct, length: 620 mm, sections: [{at: 0 mm, diameter: 102 mm}, {at: 180 mm, diameter: 70 mm}], \
              bends: [{at: 250 mm, angle: 60 deg, radius: 105 mm}], inlet: {shape: flared, radius: 14 mm}}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let length = fields.si("length");
    let sections = read_sections(fields, length);
    let bends = read_bends(fields, length);
    let (inlet, outlet) = (edge::read(fields, "inlet"), edge::read(fields, "outlet"));
    let Wall { temperature: wall_temperature, heat: wall_heat, clad, film_factor } = read_wall(fields)?;
    let friction_factor = fields.si("friction_factor");
    let (sections, bends) = (sections?, bends?);
    let air_meter = air_meter::read(fields, length?, &sections).ok()?;
    Some(Part::Duct(Duct {
        length: length?,
        friction_basis: friction_basis(friction_factor),
        bend_basis: bend_basis(&sections, &bends),
        sections,
        bends,
        roughness: fields.si_or("roughness", SMOOTH_WALL),
        corrugation: read_corrugation(fields),
        friction_factor,
        separation: fields.flag("separation").unwrap_or(true),
        wall_temperature,
        film_factor,
        wall_heat,
        clad,
        inlet: inlet?,
        outlet: outlet?,
        air_meter: air_meter.map(Box::new),
        cell: fields.si("cell"),
    }))
}

fn friction_basis(friction_factor: Option<f64>) -> Basis {
    match friction_factor {
        Some(value) => Basis::Assumed(format!("friction factor {value} as given")),
        None => Basis::Handbook("friction Churchill (1977)".to_owned()),
    }
}

fn bend_basis(sections: &[CrossSection], bends: &[Bend]) -> Basis {
    let close = if stand_close(sections, bends) { ", closer than 4 D" } else { "" };
    let factors = if bends.iter().any(|bend| bend.loss_factor.is_some()) { ", times factors as given" } else { "" };
    Basis::Handbook(format!("Rennels and Hudson{factors}{close}"))
}

/// Whether two bends stand so close that their losses do not add.
fn stand_close(sections: &[CrossSection], bends: &[Bend]) -> bool {
    let areas: Vec<(f64, f64)> = sections.iter().map(|section| (section.at, section.area)).collect();
    bends.windows(2).any(|pair| {
        let bore = equivalent_diameter(broken_line(&areas, pair[1].at));
        pair[1].at - pair[0].end() < FREE_SPACING * bore
    })
}

fn read_sections(fields: &Fields<'_>, length: Option<f64>) -> Option<Vec<CrossSection>> {
    if exactly_one(fields, &["diameter", "sections"])? == "diameter" {
        return Some(vec![CrossSection::round(0.0, fields.si("diameter")?)]);
    }
    let read: Vec<Option<CrossSection>> = fields.maps("sections").iter().map(section::read).collect();
    let sections = read.into_iter().collect::<Option<Vec<_>>>()?;
    let places: Vec<f64> = sections.iter().map(|section| section.at).collect();
    places_fit(fields, "sections", &places, &places, length?).then_some(sections)
}

fn read_bends(fields: &Fields<'_>, length: Option<f64>) -> Option<Vec<Bend>> {
    let read = |bend: &Fields<'_>| {
        let (at, angle, radius) = (bend.si("at"), bend.si("angle"), bend.si("radius"));
        Some(Bend { at: at?, angle: angle?, radius: radius?, loss_factor: bend.si("loss_factor") })
    };
    let read: Vec<Option<Bend>> = fields.maps("bends").iter().map(read).collect();
    let bends = read.into_iter().collect::<Option<Vec<_>>>()?;
    if bends.is_empty() {
        return Some(bends);
    }
    let starts: Vec<f64> = bends.iter().map(|bend| bend.at).collect();
    let ends: Vec<f64> = bends.iter().map(Bend::end).collect();
    if let Some(index) =
        (1..bends.len()).find(|&index| starts[index] < ends[index - 1] && starts[index] > starts[index - 1])
    {
        fields.problem(
            "bends",
            format!("bend {} at {:.4} m", index + 1, starts[index]),
            format!("not before the end of bend {index}, {:.4} m", ends[index - 1]),
        );
        return None;
    }
    places_fit(fields, "bends", &starts, &ends, length?).then_some(bends)
}

/// Whether `starts` rise and `ends` stay within `length`; notes the first that does not.
fn places_fit(fields: &Fields<'_>, key: &'static str, starts: &[f64], ends: &[f64], length: f64) -> bool {
    if starts.is_empty() {
        fields.problem(key, "an empty list", "at least one entry");
        return false;
    }
    if !rising(starts) {
        fields.problem(key, format!("`at` {starts:?} m"), "places that rise");
        return false;
    }
    // Lengths typed in other units meet only to round-off.
    match ends.iter().find(|&&end| end > length * (1.0 + 1e-9)) {
        Some(end) => {
            fields.problem(key, format!("one that reaches {end:.4} m"), format!("inside the length, {length:.4} m"));
            false
        }
        None => true,
    }
}

/// What a case says of the wall: its temperature [K], its heat [W] or its layers, of which at most one is given.
struct Wall {
    temperature: Option<f64>,
    heat: f64,
    clad: Option<Clad>,
    film_factor: f64,
}

fn read_wall(fields: &Fields<'_>) -> Option<Wall> {
    let Some(wall) = fields.map("wall") else {
        return Some(Wall { temperature: None, heat: 0.0, clad: None, film_factor: 1.0 });
    };
    if wall.has("temperature") && wall.has("heat") {
        wall.problem("heat", "`heat` beside `temperature`", "at most one of `temperature`, `heat`");
        return None;
    }
    let clad = clad::read(&wall).ok()?;
    if let (Some(given), true) = (["temperature", "heat"].into_iter().find(|key| wall.has(key)), clad.is_some()) {
        wall.problem(given, format!("`{given}` beside `in`"), "a wall that is given, or one that stores heat");
        return None;
    }
    let film_factor = clad::film_factor(&wall)?;
    Some(Wall { temperature: wall.si("temperature"), heat: wall.si("heat").unwrap_or(0.0), clad, film_factor })
}

fn read_corrugation(fields: &Fields<'_>) -> Option<(f64, f64)> {
    let corrugation = fields.map("corrugation")?;
    let (depth, pitch) = (corrugation.si("depth"), corrugation.si("pitch"));
    Some((depth?, pitch?))
}
