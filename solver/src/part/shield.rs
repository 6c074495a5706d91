//! A heat shield: a sheet with two faces in a bay.

use super::clad::{self, Stand};
use super::{Kind, Part, optional, required};
use crate::fields::{Fields, Range, Value};
use crate::heat::{Layer, Material};
use crate::quantity::Dimension;

/// A heat shield.
#[derive(Debug, Clone)]
pub struct Shield {
    /// Area of one face [m^2].
    pub area: f64,
    /// What it is made of.
    pub material: &'static Material,
    /// Its sheet.
    pub sheet: Layer,
    /// Its front face.
    pub front: Stand,
    /// Emissivity of its back face.
    pub back_emissivity: f64,
    /// What its back face sees.
    pub back_sees: Vec<(String, f64)>,
}

pub(super) const KIND: Kind = Kind {
    name: "shield",
    about: "a heat shield: a sheet with two faces in a bay",
    keys: &[
        required(clad::IN, Value::Text, "bay in which it stands"),
        required("area", Value::Quantity(Dimension::Area, Range::Positive), "area of one face"),
        required("material", Value::Text, "material of the sheet; `kinds` lists those known"),
        required("thickness", Value::Quantity(Dimension::Length, Range::Positive), "thickness of the sheet"),
        clad::FACE,
        clad::SEES,
        optional("back_face", Value::Text, "that of the material", "material of the back face, for its emissivity"),
        optional(
            "back_sees",
            Value::Named(Dimension::Ratio, Range::Share),
            "nothing but the skin of the bay",
            "what its back face sees, as `sees` says it of the front",
        ),
        clad::EXPOSURE,
        clad::START,
    ],
    read,
    example: "{kind: shield, in: engine_bay, area: 600 cm2, material: aluminium, thickness: 0.8 mm}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let (area, thickness) = (fields.si("area"), fields.si("thickness"));
    let material = clad::read_material(fields, "material")?;
    let back_emissivity = if fields.has("back_face") {
        clad::read_material(fields, "back_face")?.emissivity
    } else {
        material.emissivity
    };
    Some(Part::Shield(Shield {
        area: area?,
        material,
        sheet: material.layer(thickness?),
        front: clad::read_stand(fields, material.emissivity)?,
        back_emissivity,
        back_sees: if fields.has("back_sees") { fields.named("back_sees")? } else { Vec::new() },
    }))
}
