//! A mouth: an inlet from outside or from a bay that does not face the air stream.

use super::{Kind, Part, optional, required};
use crate::fields::{Fields, Key, Range, Value};
use crate::gas::Gas;
use crate::loss::Basis;
use crate::loss::published::{Deviations, PublishedSpread};
use crate::loss::ram::{FreeStream, MouthAir, Opening};
use crate::quantity::Dimension;

/// What an open end stands in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OpenEnd {
    /// The end of a thin pipe in the open.
    Unflanged,
    /// A hole in a wide wall.
    Flanged,
}

/// A mouth or scoop.
#[derive(Debug, Clone)]
pub struct Mouth {
    /// Open area [m^2].
    pub area: f64,
    /// Name of the bay that it breathes from; `None` for outside.
    pub from: Option<String>,
    /// Static pressure at its place above the outside, over the dynamic pressure of the road speed.
    pub pressure_coefficient: f64,
    /// Share of the local dynamic pressure that it recovers over inner velocity / road speed; empty for a mouth that does not
    /// face the air stream.
    pub recovery: Vec<(f64, f64)>,
    /// How far the published values of that recovery lie apart, where it is one of a common form.
    pub published: Option<PublishedSpread>,
    /// Radius of the lip [m].
    pub lip_radius: f64,
    /// How sound leaves through it; `None` for an ideal end, which holds its pressure.
    pub radiation: Option<OpenEnd>,
    /// Where the numbers come from.
    pub basis: Basis,
}

impl Mouth {
    /// What the mouth offers in `stream`, its published laws moved by `deviations`.
    #[must_use]
    pub fn air(&self, gas: &Gas, stream: &FreeStream, deviations: &Deviations) -> MouthAir {
        let shift = self.published.map_or(0.0, |spread| deviations.shift(&spread));
        let recovery: Vec<_> =
            self.recovery.iter().map(|(ratio, share)| (*ratio, (share + shift).clamp(0.0, 1.0))).collect();
        let opening = Opening {
            area: self.area,
            pressure_coefficient: self.pressure_coefficient,
            recovery: &recovery,
            lip_radius: self.lip_radius,
            deviations,
        };
        MouthAir::new(gas, stream, &opening)
    }
}

/// Key `area`.
pub(super) const AREA: Key =
    required("area", Value::Quantity(Dimension::Area, Range::Positive), "open area of the mouth");

/// Key `pressure_coefficient`.
pub(super) const PRESSURE_COEFFICIENT: Key = optional(
    "pressure_coefficient",
    Value::Quantity(Dimension::Ratio, Range::Between(-3.0, 1.0)),
    "0, outside pressure (assumed)",
    "static pressure at its place above the outside, over the dynamic pressure of the road speed; on a car -0.5 to 1, and worth more \
     than any recovery",
);

/// Key `lip_radius`.
pub(super) const LIP_RADIUS: Key = optional(
    "lip_radius",
    Value::Quantity(Dimension::Length, Range::NotNegative),
    "0 mm, a thin sharp lip, K 1.0",
    "radius of the lip; loss above matched flow by Idelchik's free-standing edge",
);

/// Key `radiation`; `default` says what holds without it.
pub(super) const fn radiation_key(default: &'static str) -> Key {
    optional(
        "radiation",
        Value::Word(&["unflanged", "flanged", "none"]),
        default,
        "how sound leaves: `unflanged`, a free pipe end (Levine and Schwinger 1948, end correction 0.61 radii), `flanged`, an end in a wide \
         wall (0.82 radii), or `none`, an ideal end that holds its pressure",
    )
}

/// What key `radiation` says, or `default`.
pub(super) fn read_radiation(fields: &Fields<'_>, default: OpenEnd) -> Option<OpenEnd> {
    match fields.word("radiation") {
        Some("unflanged") => Some(OpenEnd::Unflanged),
        Some("flanged") => Some(OpenEnd::Flanged),
        Some(_) => None,
        None => Some(default),
    }
}

pub(super) const KIND: Kind = Kind {
    name: "mouth",
    about: "an inlet from outside or from a bay that does not face the air stream",
    keys: &[
        AREA,
        optional("from", Value::Text, "outside", "`outside`, or the name of the bay that it breathes from"),
        PRESSURE_COEFFICIENT,
        LIP_RADIUS,
        radiation_key("unflanged"),
    ],
    read,
    example: "{kind: mouth, from: outside, area: 60 cm2, pressure_coefficient: 0.05}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let area = fields.si("area");
    let from = fields.text("from").filter(|name| name != "outside");
    let pressure_coefficient = fields.si_or("pressure_coefficient", 0.0);
    let lip_radius = fields.si_or("lip_radius", 0.0);
    let radiation = read_radiation(fields, OpenEnd::Unflanged);
    let basis = if fields.has("pressure_coefficient") {
        Basis::Assumed("pressure coefficient as given".to_owned())
    } else {
        Basis::Assumed("pressure coefficient 0".to_owned())
    };
    Some(Part::Mouth(Mouth {
        area: area?,
        from,
        pressure_coefficient,
        recovery: Vec::new(),
        published: None,
        lip_radius,
        radiation,
        basis,
    }))
}
