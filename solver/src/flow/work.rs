//! What the phases of one evaluation leave for each other.

use super::arena::Arena;
use super::state::{DuctId, Flux, Primitive};

/// Rows between the phases, [slots] each unless said otherwise; face i lies before slot i.
///
/// Allocated once by [`Arena::work`]; no phase allocates.
#[derive(Debug, Clone)]
pub struct Work {
    /// Cell averages.
    pub(super) cell: Primitive<Vec<f64>>,
    /// Pressure over density [J/kg].
    pub(super) pressure_over_density: Vec<f64>,
    /// States in the cells at their faces towards the first end.
    pub(super) before: Primitive<Vec<f64>>,
    /// States in the cells at their faces towards the last end.
    pub(super) after: Primitive<Vec<f64>>,
    /// Pressure on the side wall of the cells [Pa]: at the middle of the step when a predictor is at work.
    pub(super) wall_pressure: Vec<f64>,
    /// Flows through the faces [kg/s, N, W].
    pub(super) flux: Flux<Vec<f64>>,
    /// Signal speed over cell length [1/s] at the faces.
    pub(super) signal_rate: Vec<f64>,
    /// Drag [N/m^3].
    pub(super) drag: Vec<f64>,
    /// Derivative of drag by momentum [1/s].
    pub(super) drag_rate: Vec<f64>,
    /// Heat from the wall [W/m^3].
    pub(super) wall_heat: Vec<f64>,
    /// Highest of `drag_rate` [1/s].
    pub(super) highest_drag_rate: f64,
    /// Wall temperatures [K], [ducts]; `None` for an adiabatic wall.
    pub(super) wall_temperature: Vec<Option<f64>>,
    /// Scalars per kilogram, [scalars][slots].
    pub(super) scalar: Vec<Vec<f64>>,
    /// Limiter factor of all scalars of a cell, 0..1.
    pub(super) scalar_limit: Vec<f64>,
    /// Scalars at the cells' faces towards the first end, [scalars][slots].
    pub(super) scalar_before: Vec<Vec<f64>>,
    /// Scalars at the cells' faces towards the last end, [scalars][slots].
    pub(super) scalar_after: Vec<Vec<f64>>,
    /// Flows of the scalars through the faces [kg/s times the scalar], [scalars][slots].
    pub(super) scalar_flux: Vec<Vec<f64>>,
}

impl Work {
    pub(super) fn new(slots: usize, scalars: usize, wall_temperature: Vec<Option<f64>>) -> Self {
        // Any state that is not singular will do where no phase has written yet.
        let state = Primitive { density: 1.0, velocity: 0.0, pressure: 1.0 };
        let row = vec![0.0; slots];
        let rows = vec![row.clone(); scalars];
        Self {
            cell: Primitive::rows(slots, state),
            pressure_over_density: vec![1.0; slots],
            before: Primitive::rows(slots, state),
            after: Primitive::rows(slots, state),
            wall_pressure: vec![state.pressure; slots],
            flux: Flux::rows(slots),
            signal_rate: row.clone(),
            drag: row.clone(),
            drag_rate: row.clone(),
            wall_heat: row.clone(),
            highest_drag_rate: 0.0,
            wall_temperature,
            scalar: rows.clone(),
            scalar_limit: row,
            scalar_before: rows.clone(),
            scalar_after: rows.clone(),
            scalar_flux: rows,
        }
    }

    /// Changes the wall temperature [K] of a duct that has a film.
    pub fn set_wall_temperature(&mut self, duct: DuctId, temperature: Option<f64>) {
        self.wall_temperature[duct.0] = temperature;
    }
}

impl Arena {
    /// Cell averages of density [kg/m^3], velocity [m/s] and pressure [Pa] of a duct, [cells], after [`Arena::primitives`].
    #[must_use]
    pub fn cell_states<'a>(&self, work: &'a Work, duct: DuctId) -> Primitive<&'a [f64]> {
        let cells = self.slots_of(duct);
        Primitive {
            density: &work.cell.density[cells.clone()],
            velocity: &work.cell.velocity[cells.clone()],
            pressure: &work.cell.pressure[cells],
        }
    }

    /// Flows through the faces of a duct [kg/s, N, W], [cells + 1], along the duct; after the joints have set theirs.
    #[must_use]
    pub fn face_flows<'a>(&self, work: &'a Work, duct: DuctId) -> Flux<&'a [f64]> {
        let faces = self.faces_of(duct);
        Flux {
            mass: &work.flux.mass[faces.clone()],
            momentum: &work.flux.momentum[faces.clone()],
            energy: &work.flux.energy[faces],
        }
    }

    /// Flows of a scalar through the faces of a duct [kg/s times the scalar], [cells + 1].
    #[must_use]
    pub fn scalar_flows<'a>(&self, work: &'a Work, duct: DuctId, scalar: usize) -> &'a [f64] {
        &work.scalar_flux[scalar][self.faces_of(duct)]
    }

    /// A scalar per kilogram in the cells of a duct, [cells].
    #[must_use]
    pub fn cell_scalars<'a>(&self, work: &'a Work, duct: DuctId, scalar: usize) -> &'a [f64] {
        &work.scalar[scalar][self.slots_of(duct)]
    }

    /// Drag of wall, bends and separation in the cells of a duct [N/m^3], [cells]; times velocity it is the power [W/m^3] that
    /// turns into heat.
    #[must_use]
    pub fn drag<'a>(&self, work: &'a Work, duct: DuctId) -> &'a [f64] {
        &work.drag[self.slots_of(duct)]
    }

    /// Heat from the wall into the cells of a duct [W/m^3], [cells].
    #[must_use]
    pub fn wall_heat<'a>(&self, work: &'a Work, duct: DuctId) -> &'a [f64] {
        &work.wall_heat[self.slots_of(duct)]
    }
}
