//! The walls of all ducts, put in order for long loops.

use super::arena::GHOSTS;
use super::mesh::DuctMesh;
use super::wall_table::Tables;
use crate::gas::Gas;
use std::ops::Range;

/// What a wall has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum WallKind {
    /// Nothing that acts on the gas.
    Bare,
    /// Bends and separation.
    Bent,
    /// Wall friction too.
    Rough,
    /// Wall friction and a film.
    RoughAndWarm,
}

impl WallKind {
    fn of(mesh: &DuctMesh) -> Self {
        match (&mesh.wall, mesh.wall_temperature) {
            (Some(_), Some(_)) => Self::RoughAndWarm,
            (Some(_), None) => Self::Rough,
            (None, _) if mesh.has_drag() => Self::Bent,
            (None, _) => Self::Bare,
        }
    }
}

/// Neighbouring ducts whose walls are of one kind, with their ghost slots: one loop for them all, which pays only for what its walls
/// have.
#[derive(Debug, Clone)]
pub(super) struct Stretch {
    pub(super) kind: WallKind,
    pub(super) slots: Range<usize>,
}

/// The walls of all ducts.
#[derive(Debug, Clone)]
pub(super) struct Walls {
    pub(super) stretches: Vec<Stretch>,
    pub(super) tables: Tables,
    /// Adiabatic wall temperature above the static one, over the velocity squared [K s^2/m^2].
    pub(super) recovery: f64,
    /// Where the table of a slot begins, [slots].
    pub(super) table_start: Vec<usize>,
}

impl Walls {
    pub(super) fn new(slots: usize, gas: &Gas) -> Self {
        let recovery = 0.5 * libm::cbrt(gas.prandtl) / gas.heat_capacity;
        Self { stretches: Vec::new(), tables: Tables::default(), recovery, table_start: vec![0; slots] }
    }

    /// Adds the wall of the next duct, whose cells are `cells`.
    pub(super) fn place(&mut self, mesh: &DuctMesh, cells: Range<usize>) {
        let slots = cells.start - GHOSTS..cells.end + GHOSTS;
        if let Some(table) = &mesh.wall {
            let start = self.tables.start_of(table);
            self.table_start[slots.clone()].fill(start);
        }
        let kind = WallKind::of(mesh);
        match self.stretches.last_mut() {
            Some(last) if last.kind == kind => last.slots.end = slots.end,
            _ => self.stretches.push(Stretch { kind, slots }),
        }
    }

    /// Lets the loops over the last stretch run to `end`, a whole number of vectors; beyond the ducts there is neither drag nor heat.
    pub(super) fn close(&mut self, end: usize) {
        if let Some(last) = self.stretches.last_mut() {
            last.slots.end = end;
        }
    }
}
