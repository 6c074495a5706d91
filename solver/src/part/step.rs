//! A step: a sudden change of area.

use super::{CrossSection, Kind, Part, optional};
use crate::fields::{Fields, Key, Range, Value};
use crate::loss::Place;
use crate::loss::area_change::AreaChange;
use crate::quantity::Dimension;

const fn diameter(name: &'static str, about: &'static str) -> Key {
    optional(name, Value::Quantity(Dimension::Length, Range::Positive), "the duct there, or a volume", about)
}

const fn area(name: &'static str, about: &'static str) -> Key {
    optional(name, Value::Quantity(Dimension::Area, Range::Positive), "the duct there, or a volume", about)
}

pub(super) const KIND: Kind = Kind {
    name: "step",
    about: "a sudden change of area: expansion by Borda-Carnot in compressible form, contraction by Idelchik",
    keys: &[
        diameter("diameter_before", "bore before the step, the way the flow line is read"),
        diameter("diameter_after", "bore after the step"),
        area("area_before", "area before the step, in place of a bore"),
        area("area_after", "area after the step, in place of a bore"),
    ],
    read,
    example: "{kind: step, diameter_before: 70 mm, diameter_after: 90 mm}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let before = read_side(fields, "diameter_before", "area_before");
    let after = read_side(fields, "diameter_after", "area_after");
    Some(Part::Loss(Box::new(AreaChange::new(Place { before: before?, after: after? }))))
}

/// The area of one side, `Some(None)` when the case leaves it to what stands there.
#[expect(clippy::option_option, reason = "outer: read without mistake; inner: stands in the file")]
fn read_side(fields: &Fields<'_>, diameter: &'static str, area: &'static str) -> Option<Option<f64>> {
    if fields.has(diameter) && fields.has(area) {
        fields.problem(area, format!("`{diameter}` and `{area}`"), "at most one of them");
        return None;
    }
    let of_bore = fields.si(diameter).map(|diameter| CrossSection::round(0.0, diameter).area);
    Some(of_bore.or(fields.si(area)))
}
