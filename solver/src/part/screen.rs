//! A screen: wire mesh, perforated plate or grille across a passage.

use super::{Kind, Part, optional, required};
use crate::fields::{Fields, Range, Value};
use crate::loss::screen::{Pattern, Screen};
use crate::quantity::Dimension;

/// Thickness of a screen [m] when nothing says it. Common practice, no source.
const THICKNESS: f64 = 1e-3;

pub(super) const KIND: Kind = Kind {
    name: "screen",
    about: "wire mesh, perforated plate or grille across a passage",
    keys: &[
        required(
            "pattern",
            Value::Word(&["wire_mesh", "perforated_plate"]),
            "woven round wires, or a thin plate with sharp holes (Idelchik diagrams 8-6 and 8-1)",
        ),
        required("open_area", Value::Quantity(Dimension::Ratio, Range::Between(0.05, 0.99)), "open share of its area"),
        optional(
            "area",
            Value::Quantity(Dimension::Area, Range::Positive),
            "that of the duct beside it",
            "area of the screen, open and blocked",
        ),
        optional(
            "thickness",
            Value::Quantity(Dimension::Length, Range::Positive),
            "1 mm (assumed)",
            "thickness along the flow, for the inertia of the air in it",
        ),
    ],
    read,
    example: "{kind: screen, pattern: wire_mesh, open_area: 64 %, area: 120 cm2}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let (pattern, open) = (fields.word("pattern"), fields.si("open_area"));
    let thickness = fields.si_or("thickness", THICKNESS);
    let pattern = match pattern? {
        "wire_mesh" => Pattern::WireMesh,
        _ => Pattern::PerforatedPlate,
    };
    Some(Part::Loss(Box::new(Screen::new(pattern, open?, fields.si("area"), thickness))))
}
