//! A wye: a junction of three or more duct ends.

use std::f64::consts::PI;

use super::{Kind, Part, required};
use crate::fields::{Fields, Range, Value};
use crate::quantity::Dimension;

/// A wye.
#[derive(Debug, Clone)]
pub struct Wye {
    /// Legs: name and angle [rad] by which air from the first leg (the trunk) is turned on its way into this one. The trunk's own
    /// angle is 0.
    pub legs: Vec<(String, f64)>,
}

/// Sharpest turn from the trunk into a leg [rad]: beyond 165 degrees the leg would lie on the trunk.
const SHARPEST: f64 = 165.0 * PI / 180.0;

pub(super) const KIND: Kind = Kind {
    name: "wye",
    about: "a junction of three or more duct ends; loss by one law for every flow pattern (Hager 1984, Bassett et al. 2001, Idelchik)",
    keys: &[required(
        "legs",
        Value::Named(Dimension::Angle, Range::Between(-SHARPEST, SHARPEST)),
        "names of the legs, the trunk first at 0 deg; each other leg by how far it turns air that comes from the trunk, to the left \
         positive, to the right negative",
    )],
    read,
    example: "{kind: wye, legs: {trunk: 0 deg, left: 35 deg, right: -35 deg}}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let legs = fields.named("legs")?;
    if legs.len() < 3 {
        fields.problem("legs", format!("{} legs", legs.len()), "at least 3");
        return None;
    }
    if legs[0].1.abs() > 0.0 {
        let found = format!("`{}` at {:.1} deg", legs[0].0, legs[0].1 * 180.0 / PI);
        fields.problem("legs", found, "the first leg at 0 deg: it is the trunk, from which the others are measured");
        return None;
    }
    Some(Part::Wye(Wye { legs }))
}
