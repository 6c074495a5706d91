//! Entry from a volume or from outside into a duct, by the shape of the edge.

use super::published::{self, PublishedSpread};
use super::quadratic::before_head_after;
use super::table::interpolate;
use super::{Basis, Direction, Loss, Stream, equivalent_diameter};
use crate::gas::Gas;

/// Shape of the edge where a duct leaves a volume or the outside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Edge {
    /// Flush with a wall, sharp.
    Sharp,
    /// Protrudes into the volume, thin wall.
    Protruding,
    /// Rounded with this radius [m], flush with a wall or with a flange behind it.
    Rounded(f64),
    /// Flared with this radius [m], its rim standing free in the volume.
    Flared(f64),
    /// The lip of a mouth, with this radius [m].
    Lip(f64),
}

/// Coefficient over r/D of a rounded edge that is flush with a wall. Idelchik, Handbook of Hydraulic Resistance, 3rd ed. (1994), diagram 3-4.
const FLUSH: [(f64, f64); 11] = [
    (0.0, 0.50),
    (0.01, 0.44),
    (0.02, 0.37),
    (0.03, 0.31),
    (0.04, 0.26),
    (0.05, 0.22),
    (0.06, 0.20),
    (0.08, 0.15),
    (0.12, 0.09),
    (0.16, 0.06),
    (0.20, 0.03),
];

/// Coefficient over r/D of a flare that stands free. Idelchik, the same diagram without end wall; quoted from memory.
const FREE: [(f64, f64); 12] = [
    (0.0, 1.0),
    (0.01, 0.87),
    (0.02, 0.74),
    (0.03, 0.61),
    (0.04, 0.51),
    (0.05, 0.40),
    (0.06, 0.32),
    (0.08, 0.20),
    (0.10, 0.15),
    (0.12, 0.10),
    (0.16, 0.06),
    (0.20, 0.03),
];

impl Edge {
    /// Heads of the duct's own velocity that are lost on the way into a duct of `diameter` [m].
    #[must_use]
    pub fn coefficient(self, diameter: f64) -> f64 {
        match self {
            Self::Sharp => FLUSH[0].1,
            Self::Protruding => FREE[0].1,
            Self::Rounded(radius) => interpolate(&FLUSH, radius / diameter),
            Self::Flared(radius) | Self::Lip(radius) => free_edge_coefficient(radius / diameter),
        }
    }
}

/// Coefficient of a free-standing edge with lip radius over diameter `radius_ratio`: 1 for a thin sharp one. Idelchik, diagram 3-4.
#[must_use]
pub fn free_edge_coefficient(radius_ratio: f64) -> f64 {
    interpolate(&FREE, radius_ratio)
}

/// Largest spread of an entry over its loss: a loss is not negative.
const MOST_SPREAD: f64 = 0.5;

/// Loss at the entry into a duct. On the way out there is none here: the volume's static pressure stands at the end face, so the
/// velocity head is lost already.
#[derive(Debug, Clone, Copy)]
pub struct Entry {
    edge: Edge,
    coefficient: f64,
    area: f64,
    enters: Direction,
}

impl Entry {
    /// Entry through `edge` into a duct whose end has `area` [m^2]; `enters` is the direction in which air enters the duct: forward
    /// at a first end, reverse at a last end.
    #[must_use]
    pub fn new(edge: Edge, area: f64, enters: Direction) -> Self {
        Self { edge, coefficient: edge.coefficient(equivalent_diameter(area)), area, enters }
    }

    /// Heads of the duct's own velocity that are lost.
    #[must_use]
    pub fn coefficient(&self) -> f64 {
        self.coefficient
    }
}

impl Loss for Entry {
    fn total_pressure_before(&self, gas: &Gas, stream: &Stream, direction: Direction, after: f64) -> f64 {
        if direction == self.enters {
            before_head_after(gas, stream, self.coefficient, self.area, after)
        } else {
            after
        }
    }

    fn area(&self) -> f64 {
        self.area
    }

    fn thickness(&self) -> f64 {
        0.0
    }

    fn basis(&self) -> Basis {
        let text = match self.edge {
            Edge::Sharp => "sharp flush entry K 0.5, Idelchik diagram 3",
            Edge::Protruding => "thin protruding entry K 1.0, Idelchik diagram 3",
            Edge::Rounded(_) => "rounded flush entry, Idelchik diagram 3-4",
            Edge::Flared(_) => "free-standing flare, Idelchik diagram 3-4",
            Edge::Lip(_) => "lip of a mouth in still air, Idelchik diagram 3-4",
        };
        Basis::Handbook(text.to_owned())
    }

    fn published_spread(&self) -> Option<PublishedSpread> {
        let (law, heads, source) = match self.edge {
            Edge::Sharp | Edge::Protruding => {
                ("sharp entry", 0.05, "Idelchik, Miller and Rennels lie 0.05 heads apart")
            }
            Edge::Rounded(_) => ("rounded entry", 0.03, "Idelchik, Crane and Miller lie 0.03 heads apart"),
            Edge::Flared(_) => ("flared entry", 0.05, "readings of Idelchik's diagram 3-4 lie 0.05 heads apart"),
            Edge::Lip(_) => return Some(published::lip(self.coefficient)),
        };
        let relative = if self.coefficient > 0.0 { heads / self.coefficient } else { 0.0 };
        Some(PublishedSpread { law, relative: relative.min(MOST_SPREAD), source })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coefficients_are_those_of_the_diagram() {
        for (edge, expected) in [
            (Edge::Sharp, 0.5),
            (Edge::Protruding, 1.0),
            (Edge::Rounded(0.002), 0.37),
            (Edge::Rounded(0.016), 0.06),
            (Edge::Flared(0.004), 0.51),
            (Edge::Flared(0.010), 0.15),
            (Edge::Flared(0.050), 0.03),
        ] {
            assert!((edge.coefficient(0.1) - expected).abs() < 1e-12, "{edge:?}");
        }
    }

    #[test]
    fn a_rounded_entry_without_radius_is_a_sharp_one() {
        assert!((Edge::Rounded(0.0).coefficient(0.1) - Edge::Sharp.coefficient(0.1)).abs() < 1e-15);
        assert!((Edge::Flared(0.0).coefficient(0.1) - Edge::Protruding.coefficient(0.1)).abs() < 1e-15);
    }

    #[test]
    fn air_that_leaves_the_duct_loses_nothing_here() {
        let gas = Gas::dry_air();
        let entry = Entry::new(Edge::Sharp, 0.004, Direction::Forward);
        let stream = Stream { mass_flow: 0.1, total_temperature: 300.0 };
        assert!(entry.total_pressure_before(&gas, &stream, Direction::Forward, 1e5) > 1.001e5);
        assert!((entry.total_pressure_before(&gas, &stream, Direction::Reverse, 1e5) - 1e5).abs() < 1e-9);
    }
}
