//! Cross-sections of a duct: area and wetted perimeter by shape.

use std::f64::consts::PI;

use super::{exactly_one, optional, required};
use crate::fields::{Fields, Key, Range, Value};
use crate::quantity::Dimension;

/// A cross-section of a duct.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CrossSection {
    /// Distance from the duct's first end along the centre line [m].
    pub at: f64,
    /// Area [m^2].
    pub area: f64,
    /// Wetted perimeter [m].
    pub perimeter: f64,
}

/// Keys of one entry of `sections`.
pub(super) const KEYS: &[Key] = &[
    required(
        "at",
        Value::Quantity(Dimension::Length, Range::NotNegative),
        "distance from the first end along the centre line",
    ),
    optional(
        "diameter",
        Value::Quantity(Dimension::Length, Range::Positive),
        "none: width and height, or area",
        "bore of a round section",
    ),
    optional(
        "width",
        Value::Quantity(Dimension::Length, Range::Positive),
        "none: diameter, or area",
        "width of a section that is not round, together with height",
    ),
    optional(
        "height",
        Value::Quantity(Dimension::Length, Range::Positive),
        "none: diameter, or area",
        "height of a section that is not round, together with width",
    ),
    optional(
        "shape",
        Value::Word(&["rectangle", "oval", "flat_oval", "D"]),
        "rectangle",
        "shape of width and height: oval is an ellipse, flat_oval has two straight sides and two half circles, D has one straight side \
         of `height` and a half circle opposite",
    ),
    optional(
        "area",
        Value::Quantity(Dimension::Area, Range::Positive),
        "none: diameter, or width and height",
        "area of any section, as a scan gives it",
    ),
    optional(
        "perimeter",
        Value::Quantity(Dimension::Length, Range::Positive),
        "that of a round section of the same area",
        "wetted perimeter, together with area",
    ),
];

impl CrossSection {
    /// A round section of `diameter` [m] at `at` [m].
    #[must_use]
    pub fn round(at: f64, diameter: f64) -> Self {
        Self { at, area: 0.25 * PI * diameter * diameter, perimeter: PI * diameter }
    }

    fn rectangle(at: f64, width: f64, height: f64) -> Self {
        Self { at, area: width * height, perimeter: 2.0 * (width + height) }
    }

    /// An ellipse. Perimeter by Ramanujan's second approximation (1914), exact to 1e-4 and better up to an axis ratio of ten.
    fn oval(at: f64, width: f64, height: f64) -> Self {
        let (a, b) = (0.5 * width, 0.5 * height);
        let h = (a - b) * (a - b) / ((a + b) * (a + b));
        let perimeter = PI * (a + b) * (1.0 + 3.0 * h / (10.0 + (4.0 - 3.0 * h).sqrt()));
        Self { at, area: PI * a * b, perimeter }
    }

    /// Two half circles of the smaller measure and straight sides between them.
    fn flat_oval(at: f64, width: f64, height: f64) -> Self {
        let (long, short) = (width.max(height), width.min(height));
        let straight = long - short;
        Self { at, area: straight * short + 0.25 * PI * short * short, perimeter: 2.0 * straight + PI * short }
    }

    /// A straight side of `height`, two sides at right angles to it, and a half circle that closes them; `None` when `width` is less
    /// than the half circle needs.
    fn half_round(at: f64, width: f64, height: f64) -> Option<Self> {
        let radius = 0.5 * height;
        let side = width - radius;
        (side >= 0.0).then_some(Self {
            at,
            area: side * height + 0.5 * PI * radius * radius,
            perimeter: height + 2.0 * side + PI * radius,
        })
    }
}

/// Reads one entry of `sections`.
pub(super) fn read(fields: &Fields<'_>) -> Option<CrossSection> {
    let at = fields.si("at");
    match exactly_one(fields, &["diameter", "width", "area"])? {
        "diameter" => Some(CrossSection::round(at?, fields.si("diameter")?)),
        "area" => read_area(fields, at?),
        _ => read_shape(fields, at?),
    }
}

fn read_area(fields: &Fields<'_>, at: f64) -> Option<CrossSection> {
    let area = fields.si("area")?;
    let least = 2.0 * (PI * area).sqrt();
    let perimeter = if fields.has("perimeter") { fields.si("perimeter")? } else { least };
    // A scan rounds its figures: a circle's own perimeter may come out a little short.
    if perimeter < 0.995 * least {
        let expected = format!("at least {:.4} m, the perimeter of a circle of this area", least);
        fields.problem("perimeter", format!("{perimeter:.4} m"), expected);
        return None;
    }
    Some(CrossSection { at, area, perimeter })
}

fn read_shape(fields: &Fields<'_>, at: f64) -> Option<CrossSection> {
    if !fields.has("height") {
        fields.problem("height", "nothing", "a height beside `width`");
        return None;
    }
    let (width, height) = (fields.si("width")?, fields.si("height")?);
    match fields.word("shape").unwrap_or("rectangle") {
        "oval" => Some(CrossSection::oval(at, width, height)),
        "flat_oval" => Some(CrossSection::flat_oval(at, width, height)),
        "D" => CrossSection::half_round(at, width, height).or_else(|| {
            fields.problem(
                "width",
                format!("{width:.4} m"),
                format!("at least half the height, {:.4} m", 0.5 * height),
            );
            None
        }),
        _ => Some(CrossSection::rectangle(at, width, height)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: CrossSection, area: f64, perimeter: f64) {
        assert!((found.area / area - 1.0).abs() < 1e-9, "{found:?}");
        assert!((found.perimeter / perimeter - 1.0).abs() < 1e-9, "{found:?}");
    }

    #[test]
    fn shapes_degenerate_into_each_other() {
        let circle = CrossSection::round(0.0, 0.08);
        close(CrossSection::oval(0.0, 0.08, 0.08), circle.area, circle.perimeter);
        close(CrossSection::flat_oval(0.0, 0.08, 0.08), circle.area, circle.perimeter);
        close(CrossSection::rectangle(0.0, 0.19, 0.07), 0.0133, 0.52);
        close(CrossSection::flat_oval(0.0, 0.12, 0.04), 0.0032 + 0.0004 * PI, 0.16 + 0.04 * PI);
    }

    #[test]
    fn half_round_needs_room_for_its_half_circle() {
        assert!(CrossSection::half_round(0.0, 0.03, 0.08).is_none());
        let half_disc = CrossSection::half_round(0.0, 0.04, 0.08);
        assert!(half_disc.is_some_and(|section| (section.area - 0.5 * PI * 0.0016).abs() < 1e-12));
    }

    #[test]
    fn ellipse_perimeter_meets_the_elliptic_integral() {
        // 4 a E(e) with a = 2, b = 1: 9.688 448 220 547 68 (complete elliptic integral of the second kind).
        let found = CrossSection::oval(0.0, 4.0, 2.0);
        assert!((found.perimeter / 9.688_448_220_547_68 - 1.0).abs() < 1e-7);
    }
}
