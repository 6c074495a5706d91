//! States and fluxes, as single values and as rows, and the names of ducts and ends.

use super::row::Row;
use std::ops::IndexMut;

/// A duct of an arena: its index in the order of [`super::Arena::new`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DuctId(pub usize);

/// One of the two ends of a duct.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum End {
    /// At x = 0.
    First,
    /// At x = length.
    Last,
}

impl End {
    /// Sign that turns a velocity along the duct into one out of it, and back.
    #[inline]
    #[must_use]
    pub fn outward(self) -> f64 {
        match self {
            Self::First => -1.0,
            Self::Last => 1.0,
        }
    }
}

/// Density [kg/m^3], velocity [m/s] and pressure [Pa]: one state, or three rows of them.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Primitive<T = f64> {
    /// Density [kg/m^3].
    pub density: T,
    /// Velocity [m/s].
    pub velocity: T,
    /// Static pressure [Pa].
    pub pressure: T,
}

/// Flow of mass, momentum and energy through a face, per area or through the whole face: one flux, or three rows of them.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Flux<T = f64> {
    /// Mass flow [kg/s] or per area [kg/(s m^2)].
    pub mass: T,
    /// Momentum flow with pressure, (rho u^2 + p) A [N] or per area [Pa].
    pub momentum: T,
    /// Total-enthalpy flow [W] or per area [W/m^2].
    pub energy: T,
}

/// The gas at an end of a duct, reconstructed to the end face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndState {
    /// Density [kg/m^3].
    pub density: f64,
    /// Velocity [m/s], positive out of the duct.
    pub velocity: f64,
    /// Static pressure [Pa].
    pub pressure: f64,
    /// Area of the end face [m^2].
    pub area: f64,
}

/// Flow through an end of a duct.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndFlux {
    /// Mass flow [kg/s], positive out of the duct.
    pub mass: f64,
    /// (rho u^2 + p) A [N]: the same from both sides.
    pub momentum: f64,
    /// Total-enthalpy flow [W], positive out of the duct.
    pub energy: f64,
}

impl Primitive<Row> {
    /// Rows of `len` numbers, all in one `state`; their ranks are `rank` and the next two.
    pub(super) fn rows(len: usize, state: Primitive, rank: usize) -> Self {
        Self {
            density: Row::new(len, state.density, rank),
            velocity: Row::new(len, state.velocity, rank + 1),
            pressure: Row::new(len, state.pressure, rank + 2),
        }
    }
}

impl<R: IndexMut<usize, Output = f64>> Primitive<R> {
    /// The state at one index of the rows.
    #[inline(always)]
    pub(super) fn at(&self, index: usize) -> Primitive {
        Primitive { density: self.density[index], velocity: self.velocity[index], pressure: self.pressure[index] }
    }

    /// Overwrites the state at one index of the rows.
    #[inline(always)]
    pub(super) fn set(&mut self, index: usize, state: Primitive) {
        self.density[index] = state.density;
        self.velocity[index] = state.velocity;
        self.pressure[index] = state.pressure;
    }
}

impl Flux<Row> {
    /// Rows of `len` zeros; their ranks are `rank` and the next two.
    pub(super) fn rows(len: usize, rank: usize) -> Self {
        let row = |rank| Row::new(len, 0.0, rank);
        Self { mass: row(rank), momentum: row(rank + 1), energy: row(rank + 2) }
    }

    /// The flux through one face.
    pub(super) fn at(&self, face: usize) -> Flux {
        Flux { mass: self.mass[face], momentum: self.momentum[face], energy: self.energy[face] }
    }

    /// Overwrites the flux through one face.
    pub(super) fn set(&mut self, face: usize, flux: Flux) {
        self.mass[face] = flux.mass;
        self.momentum[face] = flux.momentum;
        self.energy[face] = flux.energy;
    }
}

impl Primitive {
    /// The same state seen from the other direction.
    #[must_use]
    pub fn mirrored(self) -> Self {
        Self { velocity: -self.velocity, ..self }
    }
}

impl Flux {
    /// The flux through `area` [m^2], of a flux per area.
    #[must_use]
    pub fn times(self, area: f64) -> Self {
        Self { mass: self.mass * area, momentum: self.momentum * area, energy: self.energy * area }
    }

    /// The same flow seen from the other direction.
    #[must_use]
    pub fn mirrored(self) -> Self {
        Self { mass: -self.mass, momentum: self.momentum, energy: -self.energy }
    }
}
