//! The initial state of a network.

use super::{Network, Stretch};
use crate::flow::Primitive;

impl Network {
    /// The state with which a run begins: rest at outside pressure and temperature, but for the given stretches.
    #[must_use]
    pub fn initial_state(&self, stretches: &[Stretch]) -> Vec<f64> {
        let mut y = vec![0.0; self.layout.states()];
        let mut shares = vec![0.0; self.origins.len()];
        shares[0] = 1.0;
        for duct in self.arena.ducts() {
            let name = &self.ducts[duct.0];
            let length = self.arena.cell_length(duct);
            for cell in 0..self.arena.cells(duct) {
                let place = (cell as f64 + 0.5) * length;
                let own = stretches.iter().rev().find(|s| s.part == *name && s.from <= place && place < s.to);
                self.arena.set_cell(&mut y, duct, cell, self.primitive(own), &shares);
            }
        }
        for (index, volume) in self.volumes.iter().enumerate() {
            let own = stretches.iter().rev().find(|stretch| stretch.part == volume.name);
            let pressure = own.and_then(|stretch| stretch.pressure).unwrap_or(self.outside.pressure);
            let temperature = own.and_then(|stretch| stretch.temperature).unwrap_or(self.outside.temperature);
            let start = self.layout.volume_start(index);
            volume.store(&self.gas, pressure, temperature, &shares, &mut y[start..start + self.layout.per_volume()]);
        }
        self.start_nodes(&mut y);
        self.start_drive(&mut y);
        y
    }

    fn primitive(&self, stretch: Option<&Stretch>) -> Primitive {
        let pressure = stretch.and_then(|stretch| stretch.pressure).unwrap_or(self.outside.pressure);
        let temperature = stretch.and_then(|stretch| stretch.temperature).unwrap_or(self.outside.temperature);
        Primitive {
            density: pressure / (self.gas.gas_constant * temperature),
            velocity: stretch.and_then(|stretch| stretch.velocity).unwrap_or(0.0),
            pressure,
        }
    }

    /// Mass [kg] and energy [J] of all gas in the network at state `y`, and the mass of each origin [kg].
    #[must_use]
    pub fn stored(&self, y: &[f64]) -> Vec<f64> {
        let slots = self.arena.slots();
        let mut stored = vec![0.0; 2 + self.origins.len()];
        for duct in self.arena.ducts() {
            let first = self.arena.slots_of(duct).start;
            for (cell, volume) in self.volumes_of(duct).iter().enumerate() {
                stored[0] += volume * y[first + cell];
                stored[1] += volume * y[2 * slots + first + cell];
                for origin in 0..self.origins.len() {
                    stored[2 + origin] += volume * y[(3 + origin) * slots + first + cell];
                }
            }
        }
        for index in 0..self.volumes.len() {
            for (sum, value) in stored.iter_mut().zip(self.layout.volume(y, index)) {
                *sum += value;
            }
        }
        stored
    }
}
