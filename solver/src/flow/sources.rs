//! What the wall does to the gas: drag and heat.

use super::arena::{Arena, Duct};
use super::dispatch::Pass;
use super::faces::highest;
use super::greater;
use super::wall_table::WallTable;
use super::work::Work;
use crate::gas::Gas;

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

    /// Drag and heat of one duct; answers with the highest rate of drag [1/s].
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
            drag_rate: &mut work.drag_rate[slots.clone()],
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
    drag_rate: &'a mut [f64],
    wall_heat: &'a mut [f64],
}

impl<W: Wall> Pass for WallSources<'_, W> {
    /// The highest rate of drag [1/s].
    type Output = f64;

    #[inline(always)]
    fn run(mut self) -> f64 {
        match self.gas.fixed_viscosity {
            Some(viscosity) => self.fill(|_| viscosity),
            None => {
                let gas = *self.gas;
                self.fill(|temperature| gas.viscosity(temperature));
            }
        }
        highest(self.drag_rate)
    }
}

impl<W: Wall> WallSources<'_, W> {
    #[inline(always)]
    fn fill(&mut self, viscosity: impl Fn(f64) -> f64) {
        let n = self.drag.len();
        let (drag, drag_rate, wall_heat) = (&mut self.drag[..n], &mut self.drag_rate[..n], &mut self.wall_heat[..n]);
        let (diameter, over_diameter) = (&self.diameter[..n], &self.over_diameter[..n]);
        let (forward, reverse) = (&self.forward[..n], &self.reverse[..n]);
        let (density, velocity, sound_speed) = (&self.density[..n], &self.velocity[..n], &self.sound_speed[..n]);
        let to_temperature = 1.0 / (self.gas.gamma * self.gas.gas_constant);
        let film = 4.0 * self.gas.heat_capacity / self.gas.prandtl;
        let wall_temperature = self.wall.temperature();
        for i in 0..n {
            let (rho, u) = (density[i], velocity[i]);
            let speed = u.abs();
            let per_length = if u < 0.0 { reverse[i] } else { forward[i] };
            let mut per_velocity = 0.5 * per_length * rho * speed;
            if W::RUBS {
                let temperature = sound_speed[i] * sound_speed[i] * to_temperature;
                let viscosity = viscosity(temperature);
                let (friction, nusselt) = self.wall.at(rho * speed * diameter[i] / viscosity);
                // (f/8) rho u |u| P / A with P / A = 4 / D and f = (f Re) mu / (rho |u| D).
                let over_diameters = viscosity * over_diameter[i] * over_diameter[i];
                per_velocity += 0.5 * friction * over_diameters;
                if W::WARMS {
                    // h (Tw - Taw) P / A with h = Nu k / D and k = mu cp / Pr.
                    let adiabatic = temperature + self.recovery * u * u;
                    wall_heat[i] = film * nusselt * over_diameters * (wall_temperature - adiabatic);
                }
            }
            drag[i] = per_velocity * u;
            // Exact for drag that grows with the square of velocity, twice the truth for laminar flow: on the safe side.
            drag_rate[i] = 2.0 * per_velocity / rho;
        }
    }
}
