//! A hot part: a turbine housing, a manifold, anything that heats its bay.

use super::clad::{self, Stand};
use super::{Kind, Part, exactly_one, optional, required};
use crate::fields::{Fields, Key, Range, Value};
use crate::heat::Material;
use crate::quantity::Dimension;

/// A hot part.
#[derive(Debug, Clone)]
pub struct HotPart {
    /// Outer surface [m^2].
    pub area: f64,
    /// Heat that it stores [J/K].
    pub capacity: f64,
    /// Material.
    pub material: &'static Material,
    /// What heats it: temperature [K] and conductance [W/K]; none where it cools freely.
    pub drive: Option<(f64, f64)>,
    /// Conductance to parts that it is bolted to [W/K].
    pub touches: Vec<(String, f64)>,
    /// How it stands in its bay.
    pub stand: Stand,
}

/// Time in which a part follows a temperature that is given for it [s].
const FOLLOWS_IN: f64 = 1.0;

const GAS: &[Key] = &[
    required("temperature", Value::Quantity(Dimension::Temperature, Range::Positive), "temperature of the gas inside"),
    required(
        "conductance",
        Value::Quantity(Dimension::Conductance, Range::NotNegative),
        "film coefficient times surface on the side of the gas; 0 when the engine stands",
    ),
];

pub(super) const KIND: Kind = Kind {
    name: "hot_part",
    about: "what heats a bay: a turbine housing, a manifold",
    keys: &[
        required(clad::IN, Value::Text, "bay in which it stands"),
        required("area", Value::Quantity(Dimension::Area, Range::Positive), "outer surface"),
        required("mass", Value::Quantity(Dimension::Mass, Range::Positive), "mass, which stores its heat"),
        required("material", Value::Text, "material; `kinds` lists those known"),
        optional(
            "temperature",
            Value::Quantity(Dimension::Temperature, Range::Positive),
            "none: give `gas`, or `cools: yes`",
            "temperature that it is kept at; it follows within a second",
        ),
        optional("gas", Value::Map(GAS), "none: give `temperature`, or `cools: yes`", "hot gas inside it"),
        optional("cools", Value::Flag, "no", "yes where nothing heats it: it cools from what it was"),
        optional(
            "touches",
            Value::Named(Dimension::Conductance, Range::NotNegative),
            "nothing",
            "parts that it is bolted to, with the conductance of the joint: compressor flange to tube, for instance",
        ),
        clad::FACE,
        clad::SEES,
        clad::EXPOSURE,
        clad::START,
    ],
    read,
    example: "{kind: hot_part, in: engine_bay, area: 900 cm2, mass: 7 kg, material: cast iron, temperature: 650 degC}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let material = clad::read_material(fields, "material")?;
    let (area, mass) = (fields.si("area"), fields.si("mass"));
    let capacity = mass? * material.heat_capacity;
    let drive = match exactly_one(fields, &["temperature", "gas", "cools"])? {
        "temperature" => Some((fields.si("temperature")?, capacity / FOLLOWS_IN)),
        "gas" => {
            let gas = fields.map("gas")?;
            let (temperature, conductance) = (gas.si("temperature"), gas.si("conductance"));
            Some((temperature?, conductance?))
        }
        _ => None,
    };
    Some(Part::HotPart(HotPart {
        area: area?,
        capacity,
        material,
        drive,
        touches: if fields.has("touches") { fields.named("touches")? } else { Vec::new() },
        stand: clad::read_stand(fields, material.emissivity)?,
    }))
}
