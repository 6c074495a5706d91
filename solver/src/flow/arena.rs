//! The layout of all ducts in one set of rows, and what never changes during a run.

use super::dispatch::InstructionSet;
use super::geometry::Geometry;
use super::links::Link;
use super::mesh::DuctMesh;
use super::row;
use super::scheme::Scheme;
use super::state::{DuctId, End, Primitive};
use super::walls::Walls;
use super::work::Work;
use crate::gas::Gas;
use std::ops::Range;

/// Ghost slots at each end of a duct.
pub(super) const GHOSTS: usize = 2;
/// Unused slots before the first duct and, at least, after the last: loops run from margin to margin, look one slot beyond, and count
/// whole vectors of [`MARGIN`] numbers.
pub(super) const MARGIN: usize = 8;
/// Rows of the state before the scalars: density, momentum, energy.
pub(super) const FLOW_ROWS: usize = 3;

/// The cells of all ducts.
#[derive(Debug, Clone)]
pub struct Arena {
    pub(super) gas: Gas,
    pub(super) scheme: Scheme,
    pub(super) scalars: usize,
    pub(super) slots: usize,
    /// Slots that the loops run over.
    pub(super) inner: Range<usize>,
    pub(super) ducts: Vec<Duct>,
    pub(super) geometry: Geometry,
    pub(super) walls: Walls,
    pub(super) links: Vec<Link>,
    pub(super) instruction_set: InstructionSet,
}

/// A duct's place in the rows.
#[derive(Debug, Clone)]
pub(super) struct Duct {
    pub(super) name: String,
    pub(super) first: usize,
    pub(super) cells: usize,
    pub(super) cell_length: f64,
    /// Wall temperature to begin with [K]; `None` for an adiabatic wall.
    pub(super) wall_temperature: Option<f64>,
    /// Heat that a wall without a temperature gives to each cell [W].
    pub(super) heat_per_cell: f64,
    /// Whether the first and the last end are linked to another duct.
    pub(super) linked: [bool; 2],
}

/// Two ends cannot be linked, since their areas differ.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("areas of linked ends are {first} m^2 and {second} m^2, expected the same area")]
pub struct AreaMismatch {
    /// Area of the one end [m^2].
    pub first: f64,
    /// Area of the other end [m^2].
    pub second: f64,
}

impl Arena {
    /// Largest relative difference of the areas of linked ends.
    const AREA_TOLERANCE: f64 = 1e-9;

    /// Lays `ducts` one after another; every cell carries `scalars` scalars.
    #[must_use]
    pub fn new(ducts: Vec<DuctMesh>, gas: Gas, scalars: usize, scheme: Scheme) -> Self {
        let used: usize = ducts.iter().map(|duct| duct.cells() + 2 * GHOSTS).sum();
        let inner = MARGIN..MARGIN + used.next_multiple_of(MARGIN);
        let slots = row::stride(inner.end + MARGIN);
        let mut geometry = Geometry::new(slots);
        let mut walls = Walls::new(slots, &gas);
        let mut places = Vec::with_capacity(ducts.len());
        let mut next = MARGIN;
        for mesh in ducts {
            let first = next + GHOSTS;
            geometry.place(&mesh, first);
            walls.place(&mesh, first..first + mesh.cells());
            next = first + mesh.cells() + GHOSTS;
            places.push(Duct::new(mesh, first));
        }
        walls.close(inner.end);
        let instruction_set = InstructionSet::widest();
        Self { gas, scheme, scalars, slots, inner, ducts: places, geometry, walls, links: Vec::new(), instruction_set }
    }

    /// Uses other vector instructions than the widest that the processor has; results do not change by a bit.
    #[must_use]
    pub fn with_instruction_set(mut self, instruction_set: InstructionSet) -> Self {
        self.instruction_set = instruction_set;
        self
    }

    /// Makes two ends of equal area one ordinary face, whatever the directions of the two ducts. Each end may be linked once.
    ///
    /// # Errors
    /// When the areas differ by more than 1e-9 of their size.
    pub fn link(&mut self, a: DuctId, a_end: End, b: DuctId, b_end: End) -> Result<(), AreaMismatch> {
        let (first, second) = (self.end_area(a, a_end), self.end_area(b, b_end));
        if (first - second).abs() > Self::AREA_TOLERANCE * first {
            return Err(AreaMismatch { first, second });
        }
        self.ducts[a.0].linked[a_end as usize] = true;
        self.ducts[b.0].linked[b_end as usize] = true;
        self.links.push(Link::new([(a, a_end), (b, b_end)], &self.ducts));
        Ok(())
    }

    /// Buffers for the phases, with the wall temperatures and wall heats of the meshes.
    #[must_use]
    pub fn work(&self) -> Work {
        let mut work = Work::new(self.slots, self.scalars, self.ducts.len());
        self.give_walls(&mut work);
        work
    }

    /// Gives `work`, which may be that of another arena of the same layout, the temperatures and the heat of this one's walls.
    pub fn give_walls(&self, work: &mut Work) {
        for duct in self.ducts() {
            match self.ducts[duct.0].wall_temperature {
                Some(temperature) => self.set_wall_temperature(work, duct, temperature),
                None => self.set_wall_heat(work, duct),
            }
        }
    }

    /// Writes the heat of a wall without a temperature once for all: no phase touches the row of such a wall again.
    fn set_wall_heat(&self, work: &mut Work, duct: DuctId) {
        let cells = self.slots_of(duct);
        for (heat, over_volume) in work.wall_heat[cells.clone()].iter_mut().zip(&self.geometry.over_volume[cells]) {
            *heat = self.ducts[duct.0].heat_per_cell * over_volume;
        }
    }

    /// The gas.
    #[must_use]
    pub fn gas(&self) -> &Gas {
        &self.gas
    }

    /// The numerical scheme.
    #[must_use]
    pub fn scheme(&self) -> Scheme {
        self.scheme
    }

    /// Number of slots in a row.
    #[must_use]
    pub fn slots(&self) -> usize {
        self.slots
    }

    /// Number of rows: three for the flow and one for each scalar.
    #[must_use]
    pub fn rows(&self) -> usize {
        FLOW_ROWS + self.scalars
    }

    /// Number of scalars.
    #[must_use]
    pub fn scalars(&self) -> usize {
        self.scalars
    }

    /// Number of values that the arena owns at the beginning of the flat state.
    #[must_use]
    pub fn len(&self) -> usize {
        self.rows() * self.slots
    }

    /// Whether there is no duct at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.ducts.is_empty()
    }

    /// The ducts, in the order of [`Arena::new`].
    pub fn ducts(&self) -> impl Iterator<Item = DuctId> + use<> {
        (0..self.ducts.len()).map(DuctId)
    }

    /// Name of a duct.
    #[must_use]
    pub fn name(&self, duct: DuctId) -> &str {
        &self.ducts[duct.0].name
    }

    /// Number of cells of a duct.
    #[must_use]
    pub fn cells(&self, duct: DuctId) -> usize {
        self.ducts[duct.0].cells
    }

    /// Length of the cells of a duct [m].
    #[must_use]
    pub fn cell_length(&self, duct: DuctId) -> f64 {
        self.ducts[duct.0].cell_length
    }

    /// Slots of the cells of a duct in every row.
    #[must_use]
    pub fn slots_of(&self, duct: DuctId) -> Range<usize> {
        let duct = &self.ducts[duct.0];
        duct.first..duct.first + duct.cells
    }

    /// Faces of a duct in every row of fluxes.
    #[must_use]
    pub fn faces_of(&self, duct: DuctId) -> Range<usize> {
        let slots = self.slots_of(duct);
        slots.start..slots.end + 1
    }

    /// Volume of a cell [m^3].
    #[must_use]
    pub fn volume(&self, duct: DuctId, cell: usize) -> f64 {
        1.0 / self.geometry.over_volume[self.ducts[duct.0].first + cell]
    }

    /// Areas of the faces of a duct [m^2], [cells + 1].
    #[must_use]
    pub fn face_areas(&self, duct: DuctId) -> &[f64] {
        &self.geometry.face_area[self.faces_of(duct)]
    }

    /// Area of an end of a duct [m^2].
    #[must_use]
    pub fn end_area(&self, duct: DuctId, end: End) -> f64 {
        self.geometry.face_area[self.ducts[duct.0].end_face(end)]
    }

    /// Writes the state of one cell, and its `scalars` per kilogram, into the flat state.
    ///
    /// Cells at the ends write into the unused slots beside them too, which keeps these harmless: their values are never used and
    /// their rates of change are zero.
    pub fn set_cell(&self, y: &mut [f64], duct: DuctId, cell: usize, state: Primitive, scalars: &[f64]) {
        let (first, last) = self.filled_with(duct, cell);
        let internal = state.pressure / (self.gas.gamma - 1.0);
        let energy = internal + 0.5 * state.density * state.velocity * state.velocity;
        let flow = [state.density, state.density * state.velocity, energy];
        let carried = scalars.iter().map(|scalar| state.density * scalar);
        for (row, value) in flow.into_iter().chain(carried).enumerate() {
            y[row * self.slots + first..row * self.slots + last].fill(value);
        }
    }

    /// Slots from the first to before the last that get the state of a cell: its own and the unused ones up to the next duct.
    fn filled_with(&self, duct: DuctId, cell: usize) -> (usize, usize) {
        let place = &self.ducts[duct.0];
        let slot = place.first + cell;
        let first = match (cell, duct.0) {
            (0, 0) => 0,
            (0, _) => slot - GHOSTS,
            _ => slot,
        };
        let last = match (cell + 1 == place.cells, duct.0 + 1 == self.ducts.len()) {
            (true, true) => self.slots,
            (true, false) => slot + 1 + GHOSTS,
            _ => slot + 1,
        };
        (first, last)
    }
}

impl Duct {
    fn new(mesh: DuctMesh, first: usize) -> Self {
        Self {
            first,
            cells: mesh.cells(),
            cell_length: mesh.cell_length,
            wall_temperature: mesh.wall_temperature,
            heat_per_cell: mesh.wall_heat / mesh.cells() as f64,
            name: mesh.name,
            linked: [false; 2],
        }
    }

    /// Face at an end.
    pub(super) fn end_face(&self, end: End) -> usize {
        match end {
            End::First => self.first,
            End::Last => self.first + self.cells,
        }
    }

    /// The slot that lies `steps` cells inside from an end; 0 is the end's own cell. Stops at the far end.
    pub(super) fn inside(&self, end: End, steps: usize) -> usize {
        let steps = steps.min(self.cells - 1);
        match end {
            End::First => self.first + steps,
            End::Last => self.first + self.cells - 1 - steps,
        }
    }

    /// The ghost slot that lies `steps` beyond an end; 0 is the nearest.
    pub(super) fn ghost(&self, end: End, steps: usize) -> usize {
        match end {
            End::First => self.first - 1 - steps,
            End::Last => self.first + self.cells + steps,
        }
    }
}
