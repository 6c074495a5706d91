//! What the wall does to the gas: drag and heat.

use super::arena::{Arena, Duct};
use super::dispatch::Pass;
use super::faces::Highest;
use super::greater;
use super::wall_table::WallTable;
use super::work::Work;
use crate::gas::Gas;
use std::ops::Range;

impl Arena {
    /// Drag and wall heat of all ducts that have any; the rows of the others stay zero.
    pub(super) fn wall_sources(&self, work: &mut Work) {
        let mut highest: f64 = 0.0;
        for (index, duct) in self.ducts.iter().enumerate() {
            let slots = duct.first..duct.first + duct.cells;
            match (&duct.wall, work.wall_temperature[index]) {
                (Some(table), Some(temperature)) => {
                    self.instruction_set.run(self.drag_of(duct, work, DragAndFilm { table, temperature }));
                }
                (Some(table), None) => self.instruction_set.run(self.drag_of(duct, work, DragOfWall { table })),
                (None, _) if duct.has_drag => self.instruction_set.run(self.drag_of(duct, work, DragOfShape)),
                (None, _) => continue,
            }
            highest = greater(highest, self.instruction_set.run(Highest { row: &work.drag_rate[slots] }));
        }
        work.highest_drag_rate = highest;
    }

    fn drag_of<'a, W: Wall>(&'a self, duct: &Duct, work: &'a mut Work, wall: W) -> WallSources<'a, W> {
        let slots = duct.first..duct.first + duct.cells;
        let cut = |row: &'a Vec<f64>, slots: &Range<usize>| &row[slots.clone()];
        WallSources {
            wall,
            gas: &self.gas,
            recovery: libm::cbrt(self.gas.prandtl) * 0.5 / self.gas.heat_capacity,
            diameter: cut(&self.geometry.diameter, &slots),
            forward: cut(&self.geometry.drag_forward, &slots),
            reverse: cut(&self.geometry.drag_reverse, &slots),
            density: cut(&work.cell.density, &slots),
            velocity: cut(&work.cell.velocity, &slots),
            quotient: cut(&work.pressure_over_density, &slots),
            drag: &mut work.drag[slots.clone()],
            drag_rate: &mut work.drag_rate[slots.clone()],
            wall_heat: &mut work.wall_heat[slots],
        }
    }
}

/// What a wall has: chosen once per duct, so that a loop pays only for what its wall has.
trait Wall {
    /// f Re and Nu at a Reynolds number; zero for what the wall has not.
    fn at(&self, reynolds: f64) -> (f64, f64);
    /// Whether [`Wall::at`] is ever more than zero.
    const RUBS: bool;
    /// Wall temperature [K]; `None` for an adiabatic wall.
    fn temperature(&self) -> Option<f64>;
}

struct DragOfShape;
struct DragOfWall<'a> {
    table: &'a WallTable,
}
struct DragAndFilm<'a> {
    table: &'a WallTable,
    temperature: f64,
}

impl Wall for DragOfShape {
    const RUBS: bool = false;

    #[inline(always)]
    fn at(&self, _reynolds: f64) -> (f64, f64) {
        (0.0, 0.0)
    }

    #[inline(always)]
    fn temperature(&self) -> Option<f64> {
        None
    }
}

impl Wall for DragOfWall<'_> {
    const RUBS: bool = true;

    #[inline(always)]
    fn at(&self, reynolds: f64) -> (f64, f64) {
        (self.table.friction(reynolds), 0.0)
    }

    #[inline(always)]
    fn temperature(&self) -> Option<f64> {
        None
    }
}

impl Wall for DragAndFilm<'_> {
    const RUBS: bool = true;

    #[inline(always)]
    fn at(&self, reynolds: f64) -> (f64, f64) {
        (self.table.friction(reynolds), self.table.nusselt(reynolds))
    }

    #[inline(always)]
    fn temperature(&self) -> Option<f64> {
        Some(self.temperature)
    }
}

struct WallSources<'a, W> {
    wall: W,
    gas: &'a Gas,
    /// Adiabatic wall temperature above the static one, over the velocity squared [K s^2/m^2].
    recovery: f64,
    diameter: &'a [f64],
    forward: &'a [f64],
    reverse: &'a [f64],
    density: &'a [f64],
    velocity: &'a [f64],
    quotient: &'a [f64],
    drag: &'a mut [f64],
    drag_rate: &'a mut [f64],
    wall_heat: &'a mut [f64],
}

impl<W: Wall> Pass for WallSources<'_, W> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let n = self.drag.len();
        let (drag, drag_rate, wall_heat) = (&mut self.drag[..n], &mut self.drag_rate[..n], &mut self.wall_heat[..n]);
        let (diameter, forward, reverse) = (&self.diameter[..n], &self.forward[..n], &self.reverse[..n]);
        let (density, velocity, quotient) = (&self.density[..n], &self.velocity[..n], &self.quotient[..n]);
        let gas = *self.gas;
        let over_gas_constant = 1.0 / gas.gas_constant;
        let film = 4.0 * gas.heat_capacity / gas.prandtl;
        for i in 0..n {
            let (rho, u) = (density[i], velocity[i]);
            let speed = u.abs();
            let per_length = if u < 0.0 { reverse[i] } else { forward[i] };
            let mut per_velocity = 0.5 * per_length * rho * speed;
            if W::RUBS {
                let temperature = quotient[i] * over_gas_constant;
                let viscosity = gas.viscosity(temperature);
                let (friction, nusselt) = self.wall.at(rho * speed * diameter[i] / viscosity);
                // (f/8) rho u |u| P / A with P / A = 4 / D and f = (f Re) mu / (rho |u| D).
                let over_diameters = viscosity / (diameter[i] * diameter[i]);
                per_velocity += 0.5 * friction * over_diameters;
                if let Some(wall) = self.wall.temperature() {
                    // h (Tw - Taw) P / A with h = Nu k / D and k = mu cp / Pr.
                    let adiabatic = temperature + self.recovery * u * u;
                    wall_heat[i] = film * nusselt * over_diameters * (wall - adiabatic);
                }
            }
            drag[i] = per_velocity * u;
            // Exact for drag that grows with the square of velocity, twice the truth for laminar flow: on the safe side.
            drag_rate[i] = 2.0 * per_velocity / rho;
        }
    }
}
