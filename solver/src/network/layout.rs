//! Where everything lies in the flat state and in the joint unknowns.

use crate::joint::radiation::STATES;

/// Offsets into `y` (cells, then volumes, then inertances, then radiating ends, then thermal nodes, then the powertrain) and `z` (joint flows).
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Layout {
    /// Values of all cells: rows times slots of the arena.
    pub cells: usize,
    /// Number of origin tags.
    pub origins: usize,
    /// Number of volumes.
    pub volumes: usize,
    /// Number of inertances.
    pub inertances: usize,
    /// Number of ends that radiate sound.
    pub radiations: usize,
    /// Number of thermal nodes.
    pub nodes: usize,
    /// Number of states of the powertrain.
    pub powertrain: usize,
    /// Number of joint unknowns.
    pub unknowns: usize,
    /// Number of jets that cross volumes.
    pub jets: usize,
}

impl Layout {
    /// Length of `y`.
    #[must_use]
    pub fn states(&self) -> usize {
        self.powertrain_start() + self.powertrain
    }

    /// Values of one volume: mass [kg], energy [J], mass of each origin [kg].
    #[must_use]
    pub fn per_volume(&self) -> usize {
        2 + self.origins
    }

    /// First value of volume `index` in `y`.
    #[must_use]
    pub fn volume_start(&self, index: usize) -> usize {
        self.cells + index * self.per_volume()
    }

    /// The values of volume `index` in `y`.
    #[must_use]
    pub fn volume<'a>(&self, y: &'a [f64], index: usize) -> &'a [f64] {
        let start = self.volume_start(index);
        &y[start..start + self.per_volume()]
    }

    /// Place of inertance `index` in `y`: a mass flow [kg/s].
    #[must_use]
    pub fn inertance(&self, index: usize) -> usize {
        self.cells + self.volumes * self.per_volume() + index
    }

    /// Temperature of thermal node `index` in `y` [K].
    #[must_use]
    pub fn node(&self, index: usize) -> usize {
        self.radiation(self.radiations) + index
    }

    /// First state of the powertrain in `y`.
    #[must_use]
    pub fn powertrain_start(&self) -> usize {
        self.node(self.nodes)
    }

    /// First state of radiating end `index` in `y`: [`STATES`] values.
    #[must_use]
    pub fn radiation(&self, index: usize) -> usize {
        self.inertance(self.inertances) + STATES * index
    }
}
