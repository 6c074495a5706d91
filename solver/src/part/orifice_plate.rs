//! An orifice plate: a sharp-edged hole.

use super::{CrossSection, Kind, Part, exactly_one, optional};
use crate::fields::{Fields, Range, Value};
use crate::loss::orifice::Orifice;
use crate::quantity::Dimension;

/// Thickness of a plate [m] when nothing says it. Common practice, no source.
const THICKNESS: f64 = 2e-3;

pub(super) const KIND: Kind = Kind {
    name: "orifice_plate",
    about: "a plate with a sharp-edged hole, between ducts or volumes",
    keys: &[
        optional(
            "diameter",
            Value::Quantity(Dimension::Length, Range::Positive),
            "none: give `area`",
            "bore of a round hole",
        ),
        optional(
            "area",
            Value::Quantity(Dimension::Area, Range::Positive),
            "none: give `diameter`",
            "area of the hole",
        ),
        optional(
            "discharge_coefficient",
            Value::Quantity(Dimension::Ratio, Range::Between(0.3, 1.0)),
            "ISO 5167-2 behind a duct, 0.61 behind a volume",
            "flow over that of an ideal hole, as ISO 5167 defines it",
        ),
        optional(
            "thickness",
            Value::Quantity(Dimension::Length, Range::Positive),
            "2 mm (assumed)",
            "thickness along the flow, for the inertia of the air in it",
        ),
    ],
    read,
    example: "{kind: orifice_plate, diameter: 45 mm}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let hole = match exactly_one(fields, &["diameter", "area"])? {
        "diameter" => CrossSection::round(0.0, fields.si("diameter")?).area,
        _ => fields.si("area")?,
    };
    let thickness = fields.si_or("thickness", THICKNESS);
    Some(Part::Loss(Box::new(Orifice::plate(hole, fields.si("discharge_coefficient"), thickness))))
}
