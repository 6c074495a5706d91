//! Laws of total-pressure loss that have no length of their own.
//!
//! A law answers one question: which total pressure must a stream have *before* the loss to leave it with a given total pressure
//! *after* it? Asked in this direction every law is explicit, rises with flow and with the pressure behind it, and stays finite
//! through choking: a passage that cannot take the flow simply asks for more pressure. Laws in series are asked one after another,
//! from the far end to the near one.

pub mod area_change;
pub mod bend;
pub mod cone;
pub mod elbow;
pub mod entry;
pub mod filter;
pub mod orifice;
pub mod published;
mod quadratic;
pub mod ram;
pub mod screen;
pub(crate) mod table;
pub mod wye;

pub use published::{Deviations, PublishedSpread};

use crate::gas::{Gas, Section};

/// Reynolds number below which a quadratic loss goes over into a linear one.
///
/// A quadratic law has no slope at rest, which no Newton step can use and no real passage shows. Sharp-edged fittings leave the
/// quadratic law at Reynolds numbers of some tens (Idelchik, Handbook of Hydraulic Resistance, section 1); at 10^5 this
/// changes a loss by less than 1e-6 of itself.
pub const LINEAR_BELOW_REYNOLDS: f64 = 100.0;

/// Reynolds number at which coefficients that depend on it weakly are taken: 200 g/s of air in a 70 mm tube.
///
/// A law that followed the Reynolds number of the moment would move a bend by some per cent over the whole range of an inlet tract,
/// less than handbooks differ among themselves.
pub const RATED_REYNOLDS: f64 = 2e5;

/// A stream on its way through a joint.
#[derive(Debug, Clone, Copy)]
pub struct Stream {
    /// Mass flow [kg/s], not negative.
    pub mass_flow: f64,
    /// Total temperature [K].
    pub total_temperature: f64,
}

/// Which way a stream goes through a loss, against the order in which the flow line of the case names the parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// The way the flow line is read.
    Forward,
    /// Against it.
    Reverse,
}

impl Direction {
    /// Forward for a positive mass flow [kg/s].
    #[must_use]
    pub fn of(mass_flow: f64) -> Self {
        if mass_flow >= 0.0 { Self::Forward } else { Self::Reverse }
    }
}

/// Where the number behind a loss comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Basis {
    /// Fitted to a curve that the user measured.
    Measured(String),
    /// A published law; the text names it.
    Handbook(String),
    /// Neither: a value that the user gave or a default without source.
    Assumed(String),
}

impl Basis {
    /// One word for tables: `measured`, `handbook` or `ASSUMED`.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::Measured(_) => "measured",
            Self::Handbook(_) => "handbook",
            Self::Assumed(_) => "ASSUMED",
        }
    }

    /// The same, told to be taken times a factor that the case gives.
    #[must_use]
    pub fn times(self, factor: Option<f64>) -> Self {
        match (self, factor) {
            (Self::Handbook(text), Some(factor)) => Self::Handbook(format!("{text}, times {factor} as given")),
            (basis, _) => basis,
        }
    }

    /// Where exactly the number comes from.
    #[must_use]
    pub fn detail(&self) -> &str {
        match self {
            Self::Measured(text) | Self::Handbook(text) | Self::Assumed(text) => text,
        }
    }
}

/// Areas of the passages on both sides of a loss [m^2]; `None` where a volume or the outside stands.
#[derive(Debug, Clone, Copy, Default)]
pub struct Place {
    /// Area of the passage before the loss, in the order of the flow line.
    pub before: Option<f64>,
    /// Area of the passage after it.
    pub after: Option<f64>,
}

impl Place {
    /// The smaller of the areas [m^2] that are there.
    #[must_use]
    pub fn smaller(&self) -> Option<f64> {
        match (self.before, self.after) {
            (Some(before), Some(after)) => Some(before.min(after)),
            (before, after) => before.or(after),
        }
    }
}

/// A law of total-pressure loss.
pub trait Loss: std::fmt::Debug + Send + Sync {
    /// Total pressure [Pa] that `stream` needs before the loss to leave it with total pressure `after` [Pa].
    ///
    /// Never below `after`; continuous and not falling in the mass flow and in `after`; equal to `after` at zero flow.
    fn total_pressure_before(&self, gas: &Gas, stream: &Stream, direction: Direction, after: f64) -> f64;

    /// Takes note of where the loss stands; answers with what is missing if it cannot work there.
    ///
    /// # Errors
    /// A fragment such as "needs `diameter`: no duct beside it", for the user.
    fn place(&mut self, place: Place) -> Result<(), String> {
        let _ = place;
        Ok(())
    }

    /// Smallest area [m^2] of the passage, for the inertia of the air in it and for the time step. Asked after `place`.
    fn area(&self) -> f64;

    /// Length of the passage along the flow [m], without end corrections.
    fn thickness(&self) -> f64;

    /// Whether the law covers a change of area from the passage before it to the one after it.
    fn spans_area_change(&self) -> bool {
        false
    }

    /// Whether the law itself spends the head of its jet on what lies behind it, a volume included. Neither an exit loss nor the edge of
    /// a duct's end is then added beside it.
    fn spends_its_jet(&self) -> bool {
        false
    }

    /// Where the numbers come from.
    fn basis(&self) -> Basis;

    /// How far the law may be from the truth, by what is published; none of what is measured or given.
    fn published_spread(&self) -> Option<PublishedSpread> {
        None
    }
}

/// Head [Pa] that a loss coefficient multiplies: half rho V^2 of `section` of `area` [m^2], turned linear below
/// [`LINEAR_BELOW_REYNOLDS`].
fn head(gas: &Gas, section: &Section, area: f64) -> f64 {
    let slow = slow_speed(gas, section, area);
    0.5 * section.density * section.speed * (section.speed * section.speed + slow * slow).sqrt()
}

/// Speed [m/s] at which `section` of `area` [m^2] has the Reynolds number [`LINEAR_BELOW_REYNOLDS`].
fn slow_speed(gas: &Gas, section: &Section, area: f64) -> f64 {
    LINEAR_BELOW_REYNOLDS * gas.viscosity(section.temperature) / (section.density * equivalent_diameter(area))
}

/// Diameter [m] of the round passage of this `area` [m^2].
#[must_use]
pub fn equivalent_diameter(area: f64) -> f64 {
    (area * 4.0 / std::f64::consts::PI).sqrt()
}

#[cfg(test)]
mod tests;

/// A gas without viscosity, whose losses are quadratic at any speed, as published closed forms are.
#[cfg(test)]
fn inviscid(mut gas: Gas) -> Gas {
    gas.fixed_viscosity = Some(0.0);
    gas
}
