//! States at the start of a run.

use crate::error::Location;
use crate::fields::Fields;

/// A stretch of a duct, or a whole part, with its state at the start. What is not given is the outside's.
#[derive(Debug, Clone, PartialEq)]
pub struct InitialStretch {
    /// Where it stands.
    pub location: Location,
    /// Name of the part.
    pub part: String,
    /// Start [m from the duct's first end].
    pub from: Option<f64>,
    /// End [m from the duct's first end].
    pub to: Option<f64>,
    /// Static pressure [Pa].
    pub pressure: Option<f64>,
    /// Static temperature [K].
    pub temperature: Option<f64>,
    /// Velocity [m/s], positive from the first end to the last.
    pub velocity: Option<f64>,
}

impl InitialStretch {
    pub(super) fn read(fields: &Fields<'_>) -> Option<Self> {
        let (from, to) = (fields.si("from"), fields.si("to"));
        if let (Some(from), Some(to)) = (from, to)
            && from >= to
        {
            fields.problem("to", format!("a stretch from {from} m to {to} m"), "an end behind the start");
            return None;
        }
        Some(Self {
            location: fields.location("part"),
            part: fields.text("part")?,
            from,
            to,
            pressure: fields.si("pressure"),
            temperature: fields.si("temperature"),
            velocity: fields.si("velocity"),
        })
    }
}
