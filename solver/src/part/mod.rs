//! The kinds of part that a case may name: one file a kind, one slice that lists them.
//!
//! A kind says which keys it has ([`Kind::keys`]), reads them ([`Kind::read`]) and gives the network a [`Part`]. The slice [`KINDS`]
//! feeds the parser, the help, the schema and the tests that run every kind through the same checks.

mod air_meter;
mod bay;
mod clad;
mod course;
mod draw;
mod duct;
mod dust;
mod edge;
mod elbow;
mod filter;
mod gap;
mod hot_part;
mod inflow;
mod mouth;
mod orifice_plate;
mod plenum;
mod radiator;
mod scoop;
mod screen;
mod section;
mod shield;
mod step;
mod vent;
mod wall;
mod wye;

pub use air_meter::AirMeter;
pub use bay::{Bay, BayAir, StoredBay};
pub use clad::{Clad, Stand};
pub use course::Course;
pub use draw::{Demand, Draw};
pub use duct::{Bend, Duct};
pub use hot_part::HotPart;
pub use inflow::Inflow;
pub use mouth::{Mouth, OpenEnd};
pub use plenum::{CarryOver, Plenum};
pub use radiator::{Radiator, Warms};
pub use section::CrossSection;
pub use shield::Shield;
pub use vent::Vent;
pub use wye::Wye;

use crate::fields::{Fields, Key, Need, Value};
use crate::loss::Loss;
pub use crate::loss::entry::Edge;

/// A kind of part.
#[derive(Debug)]
pub struct Kind {
    /// Word after `kind:` in a case.
    pub name: &'static str,
    /// One line of help.
    pub about: &'static str,
    /// Keys, in the order the help prints them.
    pub keys: &'static [Key],
    /// Reads a part; `None` when its mistakes have been noted in the fields.
    pub read: fn(&Fields<'_>) -> Option<Part>,
    /// A part of this kind in a few words of YAML, for help and tests: the map after the name.
    pub example: &'static str,
}

/// Every kind of part, in the order the help prints them.
pub const KINDS: &[Kind] = &[
    duct::KIND,
    mouth::KIND,
    scoop::KIND,
    plenum::KIND,
    bay::KIND,
    vent::KIND,
    radiator::KIND,
    hot_part::KIND,
    shield::KIND,
    filter::KIND,
    screen::KIND,
    orifice_plate::KIND,
    gap::KIND,
    elbow::KIND,
    step::KIND,
    wye::KIND,
    draw::KIND,
    inflow::KIND,
    wall::KIND,
];

/// What a part is to the network.
#[derive(Debug)]
pub enum Part {
    /// Solved in x and t.
    Duct(Duct),
    /// A stored volume with one state.
    Plenum(Plenum),
    /// The air under the bonnet.
    Bay(Bay),
    /// An inlet from outside or from a bay.
    Mouth(Mouth),
    /// A loss without length.
    Loss(Box<dyn Loss>),
    /// What a compressor inlet takes.
    Draw(Draw),
    /// What is fed in.
    Inflow(Inflow),
    /// An opening of a bay.
    Vent(Vent),
    /// Outside air through a hot core.
    Radiator(Radiator),
    /// What heats a bay.
    HotPart(HotPart),
    /// A heat shield.
    Shield(Shield),
    /// A closed end.
    Wall,
    /// A junction of three or more duct ends.
    Wye(Wye),
}

/// A key that must stand.
const fn required(name: &'static str, value: Value, about: &'static str) -> Key {
    Key { name, value, need: Need::Required, about }
}

/// A key that may be left out; `default` says what holds then.
const fn optional(name: &'static str, value: Value, default: &'static str, about: &'static str) -> Key {
    Key { name, value, need: Need::Optional(default), about }
}

/// The one of `keys` that stands; notes a mistake unless it is exactly one.
fn exactly_one(fields: &Fields<'_>, keys: &[&'static str]) -> Option<&'static str> {
    let present: Vec<&'static str> = keys.iter().copied().filter(|key| fields.has(key)).collect();
    if let [only] = present[..] {
        return Some(only);
    }
    let names = |keys: &[&str]| keys.iter().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(", ");
    let found = if present.is_empty() { "none of them".to_owned() } else { names(&present) };
    fields.problem(present.last().copied().unwrap_or(keys[0]), found, format!("exactly one of {}", names(keys)));
    None
}

/// Whether `values` rise from entry to entry.
fn rising(values: &[f64]) -> bool {
    values.windows(2).all(|pair| pair[0] < pair[1])
}

#[cfg(test)]
mod tests;
