//! What the wall does to the gas: drag and heat.

use super::arena::{Arena, Duct};
use super::dispatch::Pass;
use super::faces::{highest, lowest};
use super::greater;
use super::wall_table::WallTable;
use super::work::Work;
use crate::gas::Gas;

/// Cells whose Reynolds numbers are looked up together.
const CHUNK: usize = 64;

impl Arena {
    /// Drag and wall heat of all ducts that have any; the rows of the others stay zero.
    pub(super) fn wall_sources(&self, work: &mut Work) {
        let mut rate: f64 = 0.0;
        for (index, duct) in self.ducts.iter().enumerate() {
            let of_duct = match (&duct.wall, work.wall_temperature[index]) {
                (Some(table), Some(temperature)) => self.sources_of(duct, work, RoughAndWarm { table, temperature }),
                (Some(table), None) => self.sources_of(duct, work, Rough { table }),
                (None, _) if duct.has_drag => self.sources_of(duct, work, Bent),
                (None, _) => 0.0,
            };
            rate = greater(rate, of_duct);
        }
        work.highest_drag_rate = rate;
    }

    /// Drag and heat of one duct; answers with the highest rate of drag [1/s] or a little more.
    fn sources_of<W: Wall>(&self, duct: &Duct, work: &mut Work, wall: W) -> f64 {
        let slots = duct.first..duct.first + duct.cells;
        self.instruction_set.run(WallSources {
            wall,
            gas: &self.gas,
            recovery: 0.5 * libm::cbrt(self.gas.prandtl) / self.gas.heat_capacity,
            diameter: &self.geometry.diameter[slots.clone()],
            over_diameter: &self.geometry.over_diameter[slots.clone()],
            forward: &self.geometry.drag_forward[slots.clone()],
            reverse: &self.geometry.drag_reverse[slots.clone()],
            density: &work.cell.density[slots.clone()],
            velocity: &work.cell.velocity[slots.clone()],
            sound_speed: &work.sound_speed[slots.clone()],
            drag: &mut work.drag[slots.clone()],
            drag_per_velocity: &mut work.drag_per_velocity[slots.clone()],
            wall_heat: &mut work.wall_heat[slots],
        })
    }
}

/// What a wall has: chosen once per duct, so that a loop pays only for what its wall has.
trait Wall {
    /// Whether there is wall friction.
    const RUBS: bool;
    /// Whether there is a film.
    const WARMS: bool;

    /// f Re and Nu at a Reynolds number; zero for what the wall has not.
    fn at(&self, reynolds: f64) -> (f64, f64);

    /// Wall temperature [K]; of no meaning without a film.
    fn temperature(&self) -> f64;
}

/// Bends and separation only.
struct Bent;

/// Wall friction too.
struct Rough<'a> {
    table: &'a WallTable,
}

/// Wall friction and a film.
struct RoughAndWarm<'a> {
    table: &'a WallTable,
    temperature: f64,
}

impl Wall for Bent {
    const RUBS: bool = false;
    const WARMS: bool = false;

    #[inline(always)]
    fn at(&self, _reynolds: f64) -> (f64, f64) {
        (0.0, 0.0)
    }

    #[inline(always)]
    fn temperature(&self) -> f64 {
        0.0
    }
}

impl Wall for Rough<'_> {
    const RUBS: bool = true;
    const WARMS: bool = false;

    #[inline(always)]
    fn at(&self, reynolds: f64) -> (f64, f64) {
        (self.table.friction(reynolds), 0.0)
    }

    #[inline(always)]
    fn temperature(&self) -> f64 {
        0.0
    }
}

impl Wall for RoughAndWarm<'_> {
    const RUBS: bool = true;
    const WARMS: bool = true;

    #[inline(always)]
    fn at(&self, reynolds: f64) -> (f64, f64) {
        self.table.friction_and_nusselt(reynolds)
    }

    #[inline(always)]
    fn temperature(&self) -> f64 {
        self.temperature
    }
}

/// Rows of one duct.
struct WallSources<'a, W> {
    wall: W,
    gas: &'a Gas,
    /// Adiabatic wall temperature above the static one, over the velocity squared [K s^2/m^2].
    recovery: f64,
    diameter: &'a [f64],
    over_diameter: &'a [f64],
    forward: &'a [f64],
    reverse: &'a [f64],
    density: &'a [f64],
    velocity: &'a [f64],
    sound_speed: &'a [f64],
    drag: &'a mut [f64],
    drag_per_velocity: &'a mut [f64],
    wall_heat: &'a mut [f64],
}

impl<W: Wall> Pass for WallSources<'_, W> {
    /// No less than the highest rate of drag [1/s], and not much more.
    type Output = f64;

    #[inline(always)]
    fn run(mut self) -> f64 {
        match self.gas.fixed_viscosity {
            Some(viscosity) => self.fill(|_| viscosity),
            None => {
                let gas = *self.gas;
                self.fill(|temperature| gas.viscosity(temperature))
            }
        }
    }
}

impl<W: Wall> WallSources<'_, W> {
    /// Fills the rows of drag and heat, a chunk after another. Looking up a table at places that the loop computes can be vectorised
    /// only where the compiler sees that what it writes is no part of the table: into arrays of its own.
    #[inline(always)]
    fn fill(&mut self, viscosity: impl Fn(f64) -> f64) -> f64 {
        let mut rate: f64 = 0.0;
        let mut start = 0;
        while start < self.drag.len() {
            let len = CHUNK.min(self.drag.len() - start);
            self.fill_chunk(start, len, &viscosity);
            // One division for the chunk: densities within it differ little.
            let [drag, density] = [&*self.drag_per_velocity, self.density].map(|row| &row[start..][..len]);
            rate = greater(rate, 2.0 * highest(drag) / lowest(density));
            start += len;
        }
        rate
    }

    #[inline(always)]
    fn fill_chunk(&mut self, start: usize, len: usize, viscosity: impl Fn(f64) -> f64) {
        let density = &self.density[start..][..len];
        let velocity = &self.velocity[start..][..len];
        let over_diameter = &self.over_diameter[start..][..len];
        let mut table = Looked::default();
        if W::RUBS {
            let (diameter, sound_speed) = (&self.diameter[start..][..len], &self.sound_speed[start..][..len]);
            let to_temperature = 1.0 / (self.gas.gamma * self.gas.gas_constant);
            for i in 0..len {
                table.temperature[i] = sound_speed[i] * sound_speed[i] * to_temperature;
                table.viscosity[i] = viscosity(table.temperature[i]);
                table.reynolds[i] = density[i] * velocity[i].abs() * diameter[i] / table.viscosity[i];
            }
            for i in 0..len {
                (table.friction[i], table.nusselt[i]) = self.wall.at(table.reynolds[i]);
            }
        }
        if W::WARMS {
            let wall_heat = &mut self.wall_heat[start..][..len];
            let film = 4.0 * self.gas.heat_capacity / self.gas.prandtl;
            for i in 0..len {
                // h (Tw - Taw) P / A with h = Nu k / D, k = mu cp / Pr and P / A = 4 / D.
                let adiabatic = table.temperature[i] + self.recovery * velocity[i] * velocity[i];
                let over_diameters = table.viscosity[i] * over_diameter[i] * over_diameter[i];
                wall_heat[i] = film * table.nusselt[i] * over_diameters * (self.wall.temperature() - adiabatic);
            }
        }
        let (forward, reverse) = (&self.forward[start..][..len], &self.reverse[start..][..len]);
        let drag = &mut self.drag[start..][..len];
        let drag_per_velocity = &mut self.drag_per_velocity[start..][..len];
        for i in 0..len {
            let per_length = if velocity[i] < 0.0 { reverse[i] } else { forward[i] };
            let mut per_velocity = 0.5 * per_length * density[i] * velocity[i].abs();
            if W::RUBS {
                // (f/8) rho u |u| P / A with f = (f Re) mu / (rho |u| D) and P / A = 4 / D.
                per_velocity += 0.5 * table.friction[i] * table.viscosity[i] * over_diameter[i] * over_diameter[i];
            }
            drag_per_velocity[i] = per_velocity;
            drag[i] = per_velocity * velocity[i];
        }
    }
}

/// What is looked up for a chunk of cells.
struct Looked {
    temperature: [f64; CHUNK],
    viscosity: [f64; CHUNK],
    reynolds: [f64; CHUNK],
    friction: [f64; CHUNK],
    nusselt: [f64; CHUNK],
}

impl Default for Looked {
    #[inline(always)]
    fn default() -> Self {
        let zeros = [0.0; CHUNK];
        Self { temperature: zeros, viscosity: zeros, reynolds: zeros, friction: zeros, nusselt: zeros }
    }
}
