//! The kinds of part that a case may name: one file a kind, one slice that lists them.
//!
//! A kind says which keys it has ([`Kind::keys`]), reads them ([`Kind::read`]) and gives the network a [`Part`]. The slice [`KINDS`]
//! feeds the parser, the help, the schema and the tests that run every kind through the same checks.

use crate::fields::{Fields, Key};
pub use crate::loss::entry::Edge;
use crate::loss::{Basis, Loss};

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
pub const KINDS: &[Kind] = &[];

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
    /// A closed end.
    Wall,
    /// A junction of three or more duct ends.
    Wye(Wye),
}

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

/// A bend of a duct.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bend {
    /// Where the bend begins [m from the first end].
    pub at: f64,
    /// Angle [rad].
    pub angle: f64,
    /// Radius of the centre line [m].
    pub radius: f64,
}

/// A duct.
#[derive(Debug, Clone)]
pub struct Duct {
    /// Length of the centre line [m].
    pub length: f64,
    /// Cross-sections, rising in `at`; at least one.
    pub sections: Vec<CrossSection>,
    /// Bends, rising in `at`.
    pub bends: Vec<Bend>,
    /// Sand roughness of the wall [m].
    pub roughness: f64,
    /// Corrugation: depth and pitch [m].
    pub corrugation: Option<(f64, f64)>,
    /// Darcy friction factor held constant, in place of the law.
    pub friction_factor: Option<f64>,
    /// Whether widening stretches lose total pressure by separation (Idelchik's diffuser law).
    pub separation: bool,
    /// Wall temperature [K]; `None` for an adiabatic wall.
    pub wall_temperature: Option<f64>,
    /// Edge at the first end.
    pub inlet: Edge,
    /// Edge at the last end.
    pub outlet: Edge,
    /// Cell length that this duct asks for [m].
    pub cell: Option<f64>,
    /// Where the loss numbers come from.
    pub basis: Basis,
}

/// A plenum.
#[derive(Debug, Clone)]
pub struct Plenum {
    /// Volume [m^3].
    pub volume: f64,
    /// Inner surface [m^2], for wall heat.
    pub surface: f64,
    /// Wall temperature [K] and film coefficient [W/(m^2 K)]; `None` for an adiabatic wall.
    pub wall: Option<(f64, f64)>,
    /// Jets that cross: part they come from, part they go into, share of the jet.
    pub carry_over: Vec<CarryOver>,
}

/// The part of a jet that crosses a plenum with its own total pressure and temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct CarryOver {
    /// Part whose jet enters.
    pub from: String,
    /// Part that it faces.
    pub into: String,
    /// Share of the jet, 0..1.
    pub share: f64,
}

/// A bay, with temperature and pressure given.
#[derive(Debug, Clone, Copy)]
pub struct Bay {
    /// Air temperature [K].
    pub temperature: f64,
    /// Static pressure above the outside, over the dynamic pressure of the road speed.
    pub pressure_coefficient: f64,
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
    /// Radius of the lip [m].
    pub lip_radius: f64,
    /// Where the numbers come from.
    pub basis: Basis,
}

/// What a draw asks for.
#[derive(Debug, Clone, PartialEq)]
pub enum Demand {
    /// Corrected flow [kg/s] at the reference state, and its relative rise per relative rise of inlet pressure.
    CorrectedFlow {
        /// Mass flow at the reference state [kg/s].
        flow: f64,
        /// Relative change of corrected flow per relative change of p01 over the reference pressure.
        slope: f64,
        /// Reference total pressure [Pa].
        pressure: f64,
        /// Reference total temperature [K].
        temperature: f64,
    },
    /// Mass flow [kg/s].
    Flow(f64),
    /// Static pressure below the outside [Pa] behind the draw, as a flow bench holds it.
    Depression(f64),
}

/// How a demand changes in time: a factor on it.
#[derive(Debug, Clone, PartialEq)]
pub enum Course {
    /// It does not.
    Steady,
    /// Factor over time [s], linear between the points, held at both ends.
    Table(Vec<(f64, f64)>),
    /// `1 + amplitude sin(2 pi frequency t + phase)`.
    Pulsed {
        /// Relative amplitude.
        amplitude: f64,
        /// Frequency [Hz].
        frequency: f64,
        /// Phase [rad].
        phase: f64,
    },
}

/// A draw.
#[derive(Debug, Clone)]
pub struct Draw {
    /// What it asks for.
    pub demand: Demand,
    /// How that changes in time.
    pub course: Course,
    /// Bore of its inlet [m]; the duct's end when absent.
    pub bore: Option<f64>,
    /// Temperature of air that comes back out of it [K]; the outside's when absent.
    pub backflow_temperature: Option<f64>,
}

/// An inflow.
#[derive(Debug, Clone)]
pub struct Inflow {
    /// Mass flow [kg/s].
    pub flow: f64,
    /// Total temperature [K].
    pub temperature: f64,
    /// How it changes in time.
    pub course: Course,
}

/// A wye.
#[derive(Debug, Clone)]
pub struct Wye {
    /// Legs: name and angle [rad] by which air from the first leg (the trunk) is turned on its way into this one. The trunk's own
    /// angle is 0.
    pub legs: Vec<(String, f64)>,
}
