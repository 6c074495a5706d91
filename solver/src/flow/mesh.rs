//! What the kernel must know of a duct: areas, volumes, wall.

use super::wall_table::WallTable;

/// A duct cut into cells of equal length.
#[derive(Debug, Clone)]
pub struct DuctMesh {
    /// Name of the part, for messages.
    pub name: String,
    /// Length of a cell [m].
    pub cell_length: f64,
    /// Areas of the faces [m^2], [cells + 1]; face 0 is the first end, face i lies between cells i - 1 and i.
    pub face_area: Vec<f64>,
    /// Volumes of the cells [m^3], [cells]: the exact integrals of the area over x.
    pub volume: Vec<f64>,
    /// Hydraulic diameters, 4 area / perimeter [m], [cells].
    pub hydraulic_diameter: Vec<f64>,
    /// Loss coefficient per length [1/m] on top of wall friction (bends, separation), for flow from first to last, [cells].
    pub drag_forward: Vec<f64>,
    /// The same for flow from last to first, [cells].
    pub drag_reverse: Vec<f64>,
    /// Friction and film of the wall over the Reynolds number; `None` for a wall without friction and film.
    pub wall: Option<WallTable>,
    /// Wall temperature [K] to begin with; `None` for an adiabatic wall.
    pub wall_temperature: Option<f64>,
    /// Heat that a wall without a temperature gives to the gas [W], spread evenly over the length.
    pub wall_heat: f64,
}

impl DuctMesh {
    /// A smooth adiabatic duct without losses from the areas of its faces [m^2], at least two: cells are frustums of cones, round.
    #[must_use]
    pub fn round(name: impl Into<String>, length: f64, face_area: Vec<f64>) -> Self {
        let cells = face_area.len().saturating_sub(1).max(1);
        let cell_length = length / cells as f64;
        let volume: Vec<f64> = face_area.windows(2).map(|area| frustum_volume(area[0], area[1], cell_length)).collect();
        let hydraulic_diameter =
            volume.iter().map(|volume| (volume / cell_length * 4.0 / std::f64::consts::PI).sqrt()).collect();
        Self {
            name: name.into(),
            cell_length,
            face_area,
            hydraulic_diameter,
            drag_forward: vec![0.0; volume.len()],
            drag_reverse: vec![0.0; volume.len()],
            volume,
            wall: None,
            wall_temperature: None,
            wall_heat: 0.0,
        }
    }

    /// Adds wall friction with a constant Darcy `friction_factor`: f / D per length, both ways.
    #[must_use]
    pub fn with_friction_factor(mut self, friction_factor: f64) -> Self {
        for cell in 0..self.cells() {
            let per_length = friction_factor / self.hydraulic_diameter[cell];
            self.drag_forward[cell] += per_length;
            self.drag_reverse[cell] += per_length;
        }
        self
    }

    /// Number of cells.
    #[must_use]
    pub fn cells(&self) -> usize {
        self.volume.len()
    }

    /// Whether anything but the wall's table resists the flow.
    pub(super) fn has_drag(&self) -> bool {
        self.drag_forward.iter().chain(&self.drag_reverse).any(|drag| *drag > 0.0)
    }
}

/// Volume [m^3] of a frustum of a cone between two areas [m^2].
fn frustum_volume(first: f64, last: f64, length: f64) -> f64 {
    length * (first + (first * last).sqrt() + last) / 3.0
}
