//! A wall that stores heat: layers of material between the air inside a part and the bay that the part stands in.

use super::{optional, required};
use crate::fields::{Fields, Key, Range, Value};
use crate::heat::{Layer, Material, material};
use crate::quantity::Dimension;

/// A wall that stores heat.
#[derive(Debug, Clone, PartialEq)]
pub struct Clad {
    /// Layers from the inside to the outside.
    pub layers: Vec<(&'static Material, Layer)>,
    /// How it stands in its bay.
    pub stand: Stand,
}

/// How a surface stands in a bay.
#[derive(Debug, Clone, PartialEq)]
pub struct Stand {
    /// Name of the bay.
    pub bay: String,
    /// Emissivity of the face towards the bay.
    pub emissivity: f64,
    /// What the face sees of other parts in the bay: share of the radiation that leaves it and reaches them.
    pub sees: Vec<(String, f64)>,
    /// Speed of the air along it over the mean speed of the air in the bay.
    pub exposure: f64,
    /// Temperature at the start of a run that does not start steady [K]; the outside's when absent.
    pub start: Option<f64>,
}

/// Key `in`.
pub(super) const IN: &str = "in";

pub(super) const FACE: Key = optional(
    "face",
    Value::Text,
    "that of the material",
    "material of the face towards the bay, for its emissivity: `gold-faced foil`, for instance",
);

pub(super) const SEES: Key = optional(
    "sees",
    Value::Named(Dimension::Ratio, Range::Share),
    "nothing but the skin of the bay",
    "share of the radiation leaving its face that reaches other parts of the bay, by name (view factors)",
);

pub(super) const EXPOSURE: Key = optional(
    "exposure",
    Value::Quantity(Dimension::Ratio, Range::NotNegative),
    "1",
    "speed of the air along it over the mean speed of the air through the bay",
);

pub(super) const START: Key = optional(
    "start",
    Value::Quantity(Dimension::Temperature, Range::Positive),
    "the outside's",
    "temperature at the start of a run that does not start steady",
);

/// Key `film_factor`.
pub(super) const FILM_FACTOR: Key = optional(
    "film_factor",
    Value::Quantity(Dimension::Ratio, Range::NotNegative),
    "1",
    "factor on the film between the wall and the air inside, where heat is known better than by the law",
);

/// Key `thickness`.
pub(super) const THICKNESS: Key =
    optional("thickness", Value::Quantity(Dimension::Length, Range::Positive), "none", "thickness of the wall");

/// Key `layers`.
pub(super) const LAYERS: Key =
    optional("layers", Value::Maps(LAYER), "one, of `material` and `thickness`", "layers from inside to outside");

const LAYER: &[Key] = &[
    required("material", Value::Text, "material of the layer"),
    required("thickness", Value::Quantity(Dimension::Length, Range::Positive), "thickness of the layer"),
];

/// Reads the factor on the film inside a wall, which must have a temperature.
pub(super) fn film_factor(fields: &Fields<'_>) -> Option<f64> {
    let factor = fields.si("film_factor").unwrap_or(1.0);
    if fields.has("film_factor") && !fields.has("temperature") && !fields.has(IN) {
        let found = "a factor on the film of a wall that has no temperature";
        fields.problem("film_factor", found, "`temperature` or `in` beside it");
        return None;
    }
    Some(factor)
}

/// Reads the wall of a duct or plenum; `None` when it stores no heat, which is when it does not say in which bay it stands.
pub(super) fn read(fields: &Fields<'_>) -> Result<Option<Clad>, ()> {
    if !fields.has(IN) {
        return Ok(None);
    }
    let layers = read_layers(fields).ok_or(())?;
    let outer = layers.last().map(|layer| layer.0.emissivity).ok_or(())?;
    Ok(Some(Clad { stand: read_stand(fields, outer).ok_or(())?, layers }))
}

/// How the part stands in its bay, with the `emissivity` of its material.
pub(super) fn read_stand(fields: &Fields<'_>, emissivity: f64) -> Option<Stand> {
    let face = if fields.has("face") { read_material(fields, "face")?.emissivity } else { emissivity };
    Some(Stand {
        bay: fields.text(IN)?,
        emissivity: face,
        sees: if fields.has("sees") { fields.named("sees")? } else { Vec::new() },
        exposure: fields.si_or("exposure", 1.0),
        start: fields.si("start"),
    })
}

fn read_layers(fields: &Fields<'_>) -> Option<Vec<(&'static Material, Layer)>> {
    let one = |fields: &Fields<'_>| {
        let (material, thickness) = (read_material(fields, "material"), fields.si("thickness"));
        let material = material?;
        Some((material, material.layer(thickness?)))
    };
    if fields.has("layers") {
        if let Some(key) = ["material", "thickness"].into_iter().find(|key| fields.has(key)) {
            fields.problem(key, format!("`{key}` beside `layers`"), "one way to say what the wall is made of");
            return None;
        }
        return fields.maps("layers").iter().map(one).collect();
    }
    if let Some(key) = ["material", "thickness"].into_iter().find(|key| !fields.has(key)) {
        fields.problem(key, format!("no `{key}` beside `in`"), "what the wall is made of, so that it stores heat");
        return None;
    }
    Some(vec![one(fields)?])
}

/// The material that `key` names.
pub(super) fn read_material(fields: &Fields<'_>, key: &'static str) -> Option<&'static Material> {
    let name = fields.text(key)?;
    let found = material::find(&name);
    if found.is_none() {
        let known: Vec<&str> = material::MATERIALS.iter().map(|material| material.name).collect();
        fields.problem(key, crate::quantity::quote(&name), format!("one of: {}", known.join(", ")));
    }
    found
}
