//! What the wall does to the gas: drag and heat.

use super::arena::Arena;
use super::derivative::STIFF_ABOVE;
use super::dispatch::Pass;
use super::row::Row;
use super::scheme::Predictor;
use super::strips::{Scratch, Strip};
use super::wall_table::{Line, Place, Tables};
use super::walls::WallKind;
use super::work::Work;
use super::{greater, of_rank, rank};
use crate::gas::{self, Gas};
use std::ops::Range;

/// Cells whose Reynolds numbers are looked up together.
const CHUNK: usize = 128;

/// The states that drag and heat are found for.
struct States<'a> {
    density: &'a [f64],
    velocity: &'a [f64],
    sound_speed: &'a [f64],
}

impl Arena {
    /// Drag and wall heat of all ducts whose walls change them; the rows of the others keep what they were made with.
    pub(super) fn wall_sources(&self, work: &mut Work) {
        let mut rate: f64 = 0.0;
        for stretch in &self.walls.stretches {
            let slots = || stretch.slots.clone();
            let Work { cell, sound_speed, drag, drag_per_velocity, wall_heat, wall_temperature, found, .. } = work;
            let states = States {
                density: &cell.density[slots()],
                velocity: &cell.velocity[slots()],
                sound_speed: &sound_speed[slots()],
            };
            let rows = SourceRows::of([drag, drag_per_velocity, wall_heat], wall_temperature, slots());
            rate = greater(rate, self.sources_of(stretch.kind, slots(), states, rows, found));
        }
        work.highest_drag_rate = rate;
    }

    /// Whether drag and heat are found anew for the middle of the step. Where drag is stiff anywhere, all stays as it was at the start
    /// of the step: from there alone [`Arena::advance`] leads it to its balance at once.
    pub(super) fn sources_follow(&self, work: &Work, half_step: f64) -> bool {
        self.scheme.march == Predictor::Hancock && 2.0 * half_step * work.highest_drag_rate <= STIFF_ABOVE
    }

    /// Drag and wall heat of a strip at the middle of the step, whose states a predictor has just found; answers with the highest rate of
    /// drag there [1/s].
    pub(super) fn middle_wall_sources(&self, work: &mut Work, strip: Strip) -> f64 {
        let mut rate: f64 = 0.0;
        for stretch in &self.walls.stretches {
            let slots = || stretch.slots.start.max(strip.start)..stretch.slots.end.min(strip.start + strip.len);
            if stretch.kind == WallKind::Bare || slots().is_empty() {
                continue;
            }
            let in_strip = || slots().start - strip.start..slots().end - strip.start;
            let Work { middle_pressure, scratch, drag, drag_per_velocity, wall_heat, wall_temperature, found, .. } =
                work;
            let Scratch { middle_density, middle_velocity, middle_sound_speed, .. } = &mut **scratch;
            self.instruction_set.run(SoundSpeeds {
                gamma: self.gas.gamma,
                density: &middle_density[in_strip()],
                pressure: &middle_pressure[slots()],
                sound_speed: &mut middle_sound_speed[in_strip()],
            });
            let states = States {
                density: &middle_density[in_strip()],
                velocity: &middle_velocity[in_strip()],
                sound_speed: &middle_sound_speed[in_strip()],
            };
            let rows = SourceRows::of([drag, drag_per_velocity, wall_heat], wall_temperature, slots());
            rate = greater(rate, self.sources_of(stretch.kind, slots(), states, rows, found));
        }
        rate
    }

    /// Fills the rows of `slots`, which have walls of one kind; answers with their highest rate of drag [1/s].
    fn sources_of(
        &self,
        kind: WallKind,
        slots: Range<usize>,
        states: States<'_>,
        rows: SourceRows<'_>,
        found: &mut Found,
    ) -> f64 {
        match kind {
            WallKind::Bare => 0.0,
            WallKind::Bent => self.sources_with::<false, false>(slots, states, rows, found),
            WallKind::Rough => self.sources_with::<true, false>(slots, states, rows, found),
            WallKind::RoughAndWarm => self.sources_with::<true, true>(slots, states, rows, found),
        }
    }

    fn sources_with<const RUBS: bool, const WARMS: bool>(
        &self,
        slots: Range<usize>,
        states: States<'_>,
        rows: SourceRows<'_>,
        found: &mut Found,
    ) -> f64 {
        let slots = || slots.clone();
        self.instruction_set.run(WallSources::<RUBS, WARMS> {
            gas: &self.gas,
            recovery: self.walls.recovery,
            tables: &self.walls.tables,
            table_start: &self.walls.table_start[slots()],
            diameter: &self.geometry.diameter[slots()],
            over_diameter: &self.geometry.over_diameter[slots()],
            shape_mean: &self.geometry.shape_mean[slots()],
            shape_turn: &self.geometry.shape_turn[slots()],
            states,
            rows,
            found,
        })
    }
}

struct SoundSpeeds<'a> {
    gamma: f64,
    density: &'a [f64],
    pressure: &'a [f64],
    sound_speed: &'a mut [f64],
}

impl Pass for SoundSpeeds<'_> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let n = self.sound_speed.len();
        let (density, pressure) = (&self.density[..n], &self.pressure[..n]);
        for i in 0..n {
            self.sound_speed[i] = (self.gamma * pressure[i] / density[i]).sqrt();
        }
    }
}

/// What is found, and the temperature of the walls.
struct SourceRows<'a> {
    drag: &'a mut [f64],
    drag_per_velocity: &'a mut [f64],
    wall_heat: &'a mut [f64],
    wall_temperature: &'a [f64],
}

impl<'a> SourceRows<'a> {
    /// The `slots` of the rows of drag, drag over velocity and wall heat.
    fn of(found: [&'a mut Row; 3], wall_temperature: &'a Row, slots: Range<usize>) -> Self {
        let [drag, drag_per_velocity, wall_heat] = found.map(|row| &mut row[slots.clone()]);
        Self { drag, drag_per_velocity, wall_heat, wall_temperature: &wall_temperature[slots] }
    }
}

/// Slots with walls of one kind. In ghost slots the geometry is zero, and so are drag and heat.
struct WallSources<'a, const RUBS: bool, const WARMS: bool> {
    gas: &'a Gas,
    /// Adiabatic wall temperature above the static one, over the velocity squared [K s^2/m^2].
    recovery: f64,
    tables: &'a Tables,
    table_start: &'a [usize],
    diameter: &'a [f64],
    over_diameter: &'a [f64],
    shape_mean: &'a [f64],
    shape_turn: &'a [f64],
    states: States<'a>,
    rows: SourceRows<'a>,
    found: &'a mut Found,
}

impl<const RUBS: bool, const WARMS: bool> Pass for WallSources<'_, RUBS, WARMS> {
    /// No less than the highest rate of drag [1/s], and not much more.
    type Output = f64;

    #[inline(always)]
    fn run(self) -> f64 {
        match self.gas.fixed_viscosity {
            Some(viscosity) => self.fill(|_, _| [viscosity, 1.0]),
            None => self.fill(gas::sutherland),
        }
    }
}

impl<const RUBS: bool, const WARMS: bool> WallSources<'_, RUBS, WARMS> {
    /// Fills the rows of drag and heat, a chunk after another.
    #[inline(always)]
    fn fill(mut self, viscosity: impl Fn(f64, f64) -> [f64; 2]) -> f64 {
        let (mut most_drag, mut least_density) = (0, i64::MAX);
        let mut start = 0;
        while start < self.table_start.len() {
            let len = CHUNK.min(self.table_start.len() - start);
            if RUBS {
                self.look_up(start, len, &viscosity);
            }
            let (drag, density) = self.fill_chunk(start, len);
            most_drag = most_drag.max(drag);
            least_density = least_density.min(density);
            start += len;
        }
        2.0 * of_rank(most_drag) / of_rank(least_density)
    }

    /// Temperatures, viscosities and lines of the table of a chunk.
    #[inline(always)]
    fn look_up(&mut self, start: usize, len: usize, viscosity: impl Fn(f64, f64) -> [f64; 2]) {
        let found = &mut *self.found;
        let (density, velocity) = (&self.states.density[start..][..len], &self.states.velocity[start..][..len]);
        let (diameter, sound_speed) = (&self.diameter[start..][..len], &self.states.sound_speed[start..][..len]);
        let table_start = &self.table_start[start..][..len];
        // The speed of sound is the root of temperature but for a factor.
        let to_root = 1.0 / (self.gas.gamma * self.gas.gas_constant).sqrt();
        for i in 0..len {
            let root = sound_speed[i] * to_root;
            found.temperature[i] = root * root;
            // One division serves the viscosity and the Reynolds number.
            let [above, below] = viscosity(root * root, root);
            let over = 1.0 / (above * below);
            found.viscosity[i] = above * above * over;
            let Place { line, along } =
                Place::of(density[i] * velocity[i].abs() * diameter[i] * (below * below * over));
            found.line_number[i] = table_start[i] + line;
            found.along[i] = along;
        }
        // A loop of its own that only fetches: whole lines are fetched faster one by one than their numbers are gathered.
        self.tables.fetch(&found.line_number[..len], &mut found.line[..len]);
    }

    /// Drag: (f/8) rho u |u| P / A with f = (f Re) mu / (rho |u| D) and P / A = 4 / D, and that of bends and separation. Heat:
    /// h (Tw - Taw) P / A with h = Nu k / D and k = mu cp / Pr. Answers with the ranks of the highest drag over velocity and of the
    /// lowest density.
    #[inline(always)]
    fn fill_chunk(&mut self, start: usize, len: usize) -> (i64, i64) {
        let found = &*self.found;
        let (density, velocity) = (&self.states.density[start..][..len], &self.states.velocity[start..][..len]);
        let (shape_mean, shape_turn) = (&self.shape_mean[start..][..len], &self.shape_turn[start..][..len]);
        let over_diameter = &self.over_diameter[start..][..len];
        let wall_temperature = &self.rows.wall_temperature[start..][..len];
        let (drag, wall_heat) = (&mut self.rows.drag[start..][..len], &mut self.rows.wall_heat[start..][..len]);
        let drag_per_velocity = &mut self.rows.drag_per_velocity[start..][..len];
        let (mut most_drag, mut least_density) = (0, i64::MAX);
        let film = 4.0 * self.gas.heat_capacity / self.gas.prandtl;
        for i in 0..len {
            // Mean and difference of the two directions spare the loop a choice.
            let heads = shape_mean[i] * velocity[i].abs() + shape_turn[i] * velocity[i];
            let mut per_velocity = 0.5 * density[i] * heads;
            let (line, along) = (found.line[i], found.along[i]);
            let viscosity_over_area = found.viscosity[i] * over_diameter[i] * over_diameter[i];
            if RUBS {
                per_velocity += 0.5 * line.friction(along) * viscosity_over_area;
            }
            if WARMS {
                let adiabatic = found.temperature[i] + self.recovery * velocity[i] * velocity[i];
                wall_heat[i] = film * line.nusselt(along) * viscosity_over_area * (wall_temperature[i] - adiabatic);
            }
            drag_per_velocity[i] = per_velocity;
            drag[i] = per_velocity * velocity[i];
            most_drag = most_drag.max(rank(per_velocity));
            least_density = least_density.min(rank(density[i]));
        }
        (most_drag, least_density)
    }
}

/// What is found for a chunk of cells: one piece of memory, so that a loop need not ask which of its parts overlap.
#[derive(Debug, Clone)]
#[repr(align(64))]
pub(super) struct Found {
    temperature: [f64; CHUNK],
    viscosity: [f64; CHUNK],
    line_number: [usize; CHUNK],
    along: [f64; CHUNK],
    line: [Line; CHUNK],
}

impl Default for Found {
    fn default() -> Self {
        let zeros = [0.0; CHUNK];
        Self {
            temperature: zeros,
            viscosity: zeros,
            line_number: [0; CHUNK],
            along: zeros,
            line: [Line::default(); CHUNK],
        }
    }
}
