//! A bay: the air space under the bonnet.

use super::{Kind, Part, clad, exactly_one, optional};
use crate::fields::{Fields, Key, Range, Value};
use crate::heat::{Layer, Material, material};
use crate::quantity::Dimension;

/// A bay.
#[derive(Debug, Clone)]
pub struct Bay {
    /// Its air.
    pub air: BayAir,
    /// Static pressure above the outside, over the dynamic pressure of the road speed; of a bay of given temperature.
    pub pressure_coefficient: f64,
}

/// The air of a bay.
#[derive(Debug, Clone)]
pub enum BayAir {
    /// Of given temperature [K], whatever happens.
    Given(f64),
    /// Stored, with what flows and heats deciding its state.
    Stored(StoredBay),
}

/// A bay whose air is stored.
#[derive(Debug, Clone)]
pub struct StoredBay {
    /// Volume of its air [m^3].
    pub volume: f64,
    /// Section across which air flows through it [m^2]: its flow over this is the speed along the parts.
    pub flow_area: f64,
    /// Area of its skin [m^2].
    pub skin_area: f64,
    /// Material of the skin.
    pub skin_material: &'static Material,
    /// Its sheet.
    pub skin: Layer,
}

/// Sheet of a skin that the case does not describe [m]. Common practice, no source.
const SHEET: f64 = 0.8e-3;
const SKIN_MATERIAL: &str = "steel";

const SKIN: &[Key] = &[
    optional(
        "area",
        Value::Quantity(Dimension::Area, Range::Positive),
        "that of a cube of the same volume",
        "area of bonnet, wings and bulkhead",
    ),
    optional("material", Value::Text, "steel", "material"),
    optional("thickness", Value::Quantity(Dimension::Length, Range::Positive), "0.8 mm (common practice)", "thickness"),
];

pub(super) const KIND: Kind = Kind {
    name: "bay",
    about: "the air space under the bonnet: of given temperature, or stored, with heat, vents and a skin",
    keys: &[
        optional(
            "temperature",
            Value::Quantity(Dimension::Temperature, Range::Positive),
            "none: give `volume`",
            "temperature of its air, whatever happens",
        ),
        optional(
            "pressure_coefficient",
            Value::Quantity(Dimension::Ratio, Range::Between(-3.0, 1.0)),
            "0, outside pressure (assumed)",
            "its pressure above the outside, over the dynamic pressure of the road speed, where `temperature` is given",
        ),
        optional(
            "volume",
            Value::Quantity(Dimension::Volume, Range::Positive),
            "none: give `temperature`",
            "volume of its air, whose state follows from what flows and heats",
        ),
        optional(
            "flow_area",
            Value::Quantity(Dimension::Area, Range::Positive),
            "that of one face of a cube of the same volume",
            "section across which air flows through it; its flow over this is the speed of the air along the parts",
        ),
        optional(
            "skin",
            Value::Map(SKIN),
            "steel, 0.8 mm, a cube",
            "the sheet around it, which loses heat to the outside",
        ),
    ],
    read,
    example: "{kind: bay, temperature: 55 degC, pressure_coefficient: 0.1}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let air = match exactly_one(fields, &["temperature", "volume"])? {
        "temperature" => {
            if let Some(key) = ["flow_area", "skin"].into_iter().find(|key| fields.has(key)) {
                fields.problem(key, format!("`{key}` beside `temperature`"), "`volume`, to which it belongs");
                return None;
            }
            BayAir::Given(fields.si("temperature")?)
        }
        _ if fields.has("pressure_coefficient") => {
            let expected = "vents with coefficients of their own: the pressure of a stored bay follows from them";
            fields.problem("pressure_coefficient", "a pressure coefficient beside `volume`", expected);
            return None;
        }
        _ => BayAir::Stored(read_stored(fields)?),
    };
    Some(Part::Bay(Bay { air, pressure_coefficient: fields.si_or("pressure_coefficient", 0.0) }))
}

fn read_stored(fields: &Fields<'_>) -> Option<StoredBay> {
    let volume = fields.si("volume")?;
    let face = libm::pow(volume, 2.0 / 3.0);
    let skin = fields.map("skin");
    let skin = skin.as_ref();
    let skin_material = match skin.filter(|skin| skin.has("material")) {
        Some(skin) => clad::read_material(skin, "material")?,
        None => material::find(SKIN_MATERIAL)?,
    };
    let thickness = skin.map_or(SHEET, |skin| skin.si_or("thickness", SHEET));
    Some(StoredBay {
        volume,
        flow_area: fields.si_or("flow_area", face),
        skin_area: skin.map_or(6.0 * face, |skin| skin.si_or("area", 6.0 * face)),
        skin_material,
        skin: skin_material.layer(thickness),
    })
}
