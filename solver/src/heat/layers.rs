//! Conduction through a wall of one or more layers.
//!
//! Each layer is one node in its middle that holds all its heat; half its resistance lies on either side. A thin wall of one layer is so
//! a lumped body with half its resistance before each face. A thick layer is resolved by [`Layers::divided`], with an error that falls
//! with the square of the number of slices. Faces hold no heat.

/// A sheet of one material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// Thickness [m].
    pub thickness: f64,
    /// Conductivity across the sheet [W/(m K)].
    pub conductivity: f64,
    /// Density [kg/m^3].
    pub density: f64,
    /// Heat capacity [J/(kg K)].
    pub heat_capacity: f64,
}

impl Layer {
    /// Resistance of an area from face to face [m^2 K/W].
    #[must_use]
    pub fn resistance(&self) -> f64 {
        self.thickness / self.conductivity
    }

    /// Heat that an area stores [J/(m^2 K)].
    #[must_use]
    pub fn capacity(&self) -> f64 {
        self.thickness * self.density * self.heat_capacity
    }

    fn slice(&self, count: usize) -> Self {
        Self { thickness: self.thickness / count as f64, ..*self }
    }
}

/// Why layers make no wall.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LayersFault {
    /// There is none.
    #[error("found no layer, expected at least one")]
    Empty,
    /// A quantity of a layer is not positive.
    #[error("layer {layer}: found a {quantity} of {value}, expected more than 0")]
    NotPositive {
        /// Number of the layer, from nothing at the inner face.
        layer: usize,
        /// What is wrong.
        quantity: &'static str,
        /// Its value, in SI.
        value: f64,
    },
}

/// A wall as a chain of nodes, from its inner to its outer face.
#[derive(Debug, Clone, PartialEq)]
pub struct Layers {
    capacities: Vec<f64>,
    resistances: Vec<f64>,
}

impl Layers {
    /// The wall of `layers`, named from the inner to the outer face, with a node a layer.
    ///
    /// # Errors
    /// When there is no layer, or a quantity of one is not positive and finite.
    pub fn new(layers: &[Layer]) -> Result<Self, LayersFault> {
        Self::divided(layers, 1)
    }

    /// The same with `slices` nodes a layer, for layers across which the temperature varies; at least one is taken.
    ///
    /// # Errors
    /// As [`Layers::new`].
    pub fn divided(layers: &[Layer], slices: usize) -> Result<Self, LayersFault> {
        let slices = slices.max(1);
        if layers.is_empty() {
            return Err(LayersFault::Empty);
        }
        for (number, layer) in layers.iter().enumerate() {
            check(number, layer)?;
        }
        let cut: Vec<_> = layers.iter().flat_map(|layer| std::iter::repeat_n(layer.slice(slices), slices)).collect();
        let half = |layer: Option<&Layer>| layer.map_or(0.0, |layer| 0.5 * layer.resistance());
        let before = |node: usize| half(node.checked_sub(1).and_then(|node| cut.get(node)));
        Ok(Self {
            capacities: cut.iter().map(Layer::capacity).collect(),
            resistances: (0..=cut.len()).map(|node| before(node) + half(cut.get(node))).collect(),
        })
    }

    /// Heat that an area of each node stores [J/(m^2 K)], from the inner to the outer face.
    #[must_use]
    pub fn capacities(&self) -> &[f64] {
        &self.capacities
    }

    /// Resistances of an area [m^2 K/W], one more than nodes: from the inner face to the first node, from node to node, and from the
    /// last node to the outer face.
    #[must_use]
    pub fn resistances(&self) -> &[f64] {
        &self.resistances
    }

    /// Resistance of an area from face to face [m^2 K/W].
    #[must_use]
    pub fn resistance(&self) -> f64 {
        self.resistances.iter().sum()
    }

    /// Conductance of an area [W/(m^2 K)] from the first node through the inner face and a film of `coefficient` [W/(m^2 K)] behind it.
    #[must_use]
    pub fn inner_conductance(&self, coefficient: f64) -> f64 {
        behind(coefficient, self.resistances[0])
    }

    /// Conductance of an area [W/(m^2 K)] from the last node through the outer face and a film of `coefficient` [W/(m^2 K)] behind it.
    #[must_use]
    pub fn outer_conductance(&self, coefficient: f64) -> f64 {
        behind(coefficient, self.resistances[self.capacities.len()])
    }

    /// Writes how fast each node warms [K/s] at `temperatures` [K], with the heat that enters through the inner and the outer face
    /// [W/m^2], into `rates`.
    ///
    /// # Panics
    /// When either slice is shorter than there are nodes.
    pub fn rates(&self, temperatures: &[f64], inner: f64, outer: f64, rates: &mut [f64]) {
        let last = self.capacities.len() - 1;
        let mut enters = inner;
        for node in 0..=last {
            let leaves = if node == last {
                -outer
            } else {
                (temperatures[node] - temperatures[node + 1]) / self.resistances[node + 1]
            };
            rates[node] = (enters - leaves) / self.capacities[node];
            enters = leaves;
        }
    }
}

/// A film and a resistance one after the other; written so that no film is no conductance.
fn behind(coefficient: f64, resistance: f64) -> f64 {
    coefficient / (1.0 + coefficient * resistance)
}

fn check(number: usize, layer: &Layer) -> Result<(), LayersFault> {
    let quantities = [
        ("thickness", layer.thickness),
        ("conductivity", layer.conductivity),
        ("density", layer.density),
        ("heat capacity", layer.heat_capacity),
    ];
    match quantities.into_iter().find(|(_, value)| !(*value > 0.0 && value.is_finite())) {
        Some((quantity, value)) => Err(LayersFault::NotPositive { layer: number, quantity, value }),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LAMINATE: Layer = Layer { thickness: 1.6e-3, conductivity: 0.8, density: 1550.0, heat_capacity: 900.0 };
    const FOAM: Layer = Layer { thickness: 5e-3, conductivity: 0.04, density: 60.0, heat_capacity: 1400.0 };

    #[test]
    fn one_layer_is_one_node_in_its_middle() {
        let wall = Layers::new(&[LAMINATE]).unwrap();
        assert_eq!((wall.capacities().len(), wall.resistances().len()), (1, 2));
        assert!((wall.capacities()[0] - 2232.0).abs() < 1e-9);
        assert!((wall.resistances()[0] - 1e-3).abs() < 1e-15 && (wall.resistances()[1] - 1e-3).abs() < 1e-15);
    }

    #[test]
    fn layers_in_series_keep_resistance_and_heat_however_they_are_cut() {
        let layers = [LAMINATE, FOAM, LAMINATE];
        let resistance: f64 = layers.iter().map(Layer::resistance).sum();
        let capacity: f64 = layers.iter().map(Layer::capacity).sum();
        for slices in [0, 1, 2, 7] {
            let wall = Layers::divided(&layers, slices).unwrap();
            assert_eq!(wall.capacities().len(), 3 * slices.max(1));
            assert!((wall.resistance() / resistance - 1.0).abs() < 1e-14);
            assert!((wall.capacities().iter().sum::<f64>() / capacity - 1.0).abs() < 1e-14);
        }
        let wall = Layers::new(&layers).unwrap();
        assert!((wall.resistances()[1] - 0.5 * (LAMINATE.resistance() + FOAM.resistance())).abs() < 1e-15);
    }

    #[test]
    fn rates_keep_heat_and_rest_at_one_temperature() {
        let wall = Layers::new(&[LAMINATE, FOAM, LAMINATE]).unwrap();
        let mut rates = [0.0; 3];
        wall.rates(&[330.0; 3], 0.0, 0.0, &mut rates);
        assert!(rates.iter().all(|rate| rate.abs() < 1e-300));
        wall.rates(&[330.0, 350.0, 310.0], 120.0, -50.0, &mut rates);
        let stored: f64 = rates.iter().zip(wall.capacities()).map(|(rate, capacity)| rate * capacity).sum();
        assert!((stored - 70.0).abs() < 1e-9);
    }

    #[test]
    fn no_film_passes_no_heat_and_an_endless_one_what_the_wall_lets() {
        let wall = Layers::new(&[LAMINATE, FOAM]).unwrap();
        assert!(wall.inner_conductance(0.0).abs() < 1e-300);
        assert!((wall.inner_conductance(1e12) * wall.resistances()[0] - 1.0).abs() < 1e-8);
        assert!((wall.outer_conductance(10.0) - 1.0 / (0.1 + wall.resistances()[2])).abs() < 1e-12);
    }

    #[test]
    fn what_is_no_layer_is_refused_with_its_number() {
        assert_eq!(Layers::new(&[]).unwrap_err(), LayersFault::Empty);
        let bad = Layer { conductivity: 0.0, ..FOAM };
        assert_eq!(
            Layers::new(&[LAMINATE, bad]).unwrap_err().to_string(),
            "layer 1: found a conductivity of 0, expected more than 0"
        );
        assert!(Layers::new(&[Layer { density: f64::NAN, ..FOAM }]).is_err());
    }
}
