//! Areas, volumes and diameters of all ducts as rows.

use super::mesh::DuctMesh;
use super::row::Row;

/// Rank of the first row, after the rows of [`super::Work`].
const FIRST_RANK: usize = 18;

/// Rows that never change, [slots] each; zero in ghost slots unless said otherwise.
#[derive(Debug, Clone)]
pub(super) struct Geometry {
    /// Area of the face before the slot [m^2]; zero away from ducts.
    pub(super) face_area: Row,
    /// 1 / volume [1/m^3].
    pub(super) over_volume: Row,
    /// 1 / cell length [1/m].
    pub(super) over_length: Row,
    /// 1 / cell length [1/m] at the faces of ducts.
    pub(super) over_face_length: Row,
    /// Relative change of area per length, (A_after - A_before) / V [1/m].
    pub(super) widening: Row,
    /// Hydraulic diameter [m].
    pub(super) diameter: Row,
    /// 1 / hydraulic diameter [1/m].
    pub(super) over_diameter: Row,
    /// Loss coefficient per length [1/m], mean of both directions.
    pub(super) shape_mean: Row,
    /// Loss coefficient per length [1/m] for flow from first to last above the mean.
    pub(super) shape_turn: Row,
}

impl Geometry {
    pub(super) fn new(slots: usize) -> Self {
        let row = |rank| Row::new(slots, 0.0, FIRST_RANK + rank);
        Self {
            face_area: row(0),
            over_volume: row(1),
            over_length: row(2),
            over_face_length: row(3),
            widening: row(4),
            diameter: row(5),
            over_diameter: row(6),
            shape_mean: row(7),
            shape_turn: row(8),
        }
    }

    /// Writes the rows of the next duct, whose first cell is in slot `first`.
    pub(super) fn place(&mut self, mesh: &DuctMesh, first: usize) {
        let cells = mesh.cells();
        let inside = first..first + cells;
        self.face_area[first..=first + cells].copy_from_slice(&mesh.face_area);
        self.over_face_length[first..=first + cells].fill(1.0 / mesh.cell_length);
        self.over_length[inside.clone()].fill(1.0 / mesh.cell_length);
        self.diameter[inside].copy_from_slice(&mesh.hydraulic_diameter);
        for (cell, (forward, reverse)) in mesh.drag_forward.iter().zip(&mesh.drag_reverse).enumerate() {
            self.shape_mean[first + cell] = 0.5 * (forward + reverse);
            self.shape_turn[first + cell] = 0.5 * (forward - reverse);
        }
        for (cell, volume) in mesh.volume.iter().enumerate() {
            self.over_volume[first + cell] = 1.0 / volume;
            self.over_diameter[first + cell] = 1.0 / mesh.hydraulic_diameter[cell];
            self.widening[first + cell] = (mesh.face_area[cell + 1] - mesh.face_area[cell]) / volume;
        }
    }
}
