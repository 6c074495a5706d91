//! What the phases of one evaluation leave for each other.

use super::arena::Arena;
use super::row::Row;
use super::sources::Found;
use super::state::{DuctId, Flux, Primitive};
use super::strips::{FaceStates, Scratch};

/// Rank of the first row of scalars; the geometry's rows come before it.
const FIRST_SCALAR_RANK: usize = 28;

/// Rows between the phases, [slots] each unless said otherwise; face i lies before slot i. Margins keep what they were made with.
///
/// Allocated once by [`Arena::work`]; no phase allocates.
#[derive(Debug, Clone)]
pub struct Work {
    /// Cell averages.
    pub(super) cell: Primitive<Row>,
    /// Speed of sound [m/s].
    pub(super) sound_speed: Row,
    /// States at the faces of the strip at hand.
    pub(super) faces: Box<FaceStates>,
    /// Numbers of the strip at hand.
    pub(super) scratch: Box<Scratch>,
    /// What the walls' tables give for the chunk of cells at hand.
    pub(super) found: Box<Found>,
    /// States at the end faces of the ducts, [ducts][ends], along the duct.
    pub(super) ends: Vec<[Primitive; 2]>,
    /// Whether a predictor has been at work.
    pub(super) predicted: bool,
    /// Pressure on the side walls of the cells [Pa] at the middle of the step, if a predictor has been at work.
    pub(super) middle_pressure: Row,
    /// Flows through the faces [kg/s, N, W].
    pub(super) flux: Flux<Row>,
    /// Drag [N/m^3].
    pub(super) drag: Row,
    /// Drag over velocity [kg/(s m^3)]. Twice this over density is the derivative of drag by momentum [1/s] where drag grows with
    /// the square of velocity, and twice the truth in laminar flow: on the safe side.
    pub(super) drag_per_velocity: Row,
    /// Heat from the wall [W/m^3].
    pub(super) wall_heat: Row,
    /// Highest derivative of drag by momentum [1/s], or a little more.
    pub(super) highest_drag_rate: f64,
    /// Wall temperatures [K]; of no meaning in ducts without a film.
    pub(super) wall_temperature: Row,
    /// Scalars per kilogram, [scalars][slots].
    pub(super) scalar: Vec<Row>,
    /// Limiter factor of all scalars of a cell, 0..1.
    pub(super) scalar_limit: Row,
    /// Flows of the scalars through the faces [kg/s times the scalar], [scalars][slots].
    pub(super) scalar_flux: Vec<Row>,
}

impl Work {
    pub(super) fn new(slots: usize, scalars: usize, ducts: usize) -> Self {
        // Any state that is not singular will do where no phase has written yet.
        let state = Primitive { density: 1.0, velocity: 0.0, pressure: 1.0 };
        let row = |rank| Row::new(slots, 0.0, rank);
        let rows = |rank| (0..scalars).map(|scalar| row(rank + scalar)).collect();
        Self {
            cell: Primitive::rows(slots, state, 0),
            sound_speed: Row::new(slots, 1.0, 3),
            faces: Box::new(FaceStates::new(state)),
            scratch: Box::default(),
            found: Box::default(),
            ends: vec![[state; 2]; ducts],
            predicted: false,
            middle_pressure: Row::new(slots, 1.0, 4),
            flux: Flux::rows(slots, 11),
            drag: row(14),
            drag_per_velocity: row(15),
            wall_heat: row(16),
            highest_drag_rate: 0.0,
            wall_temperature: row(27),
            scalar_limit: Row::new(slots, 1.0, 17),
            scalar: rows(FIRST_SCALAR_RANK),
            scalar_flux: rows(FIRST_SCALAR_RANK + scalars),
        }
    }
}

impl Arena {
    /// Changes the wall temperature [K] of a duct; without effect on one whose mesh has no wall temperature.
    pub fn set_wall_temperature(&self, work: &mut Work, duct: DuctId, temperature: f64) {
        work.wall_temperature[self.slots_of(duct)].fill(temperature);
    }

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

    /// Whether the wall of a duct gives heat to its air.
    #[must_use]
    pub fn gives_heat(&self, duct: DuctId) -> bool {
        let duct = &self.ducts[duct.0];
        duct.wall_temperature.is_some() || duct.heat_per_cell != 0.0
    }

    /// Temperature of the wall of a duct [K]; `None` where it has none.
    #[must_use]
    pub fn wall_temperature(&self, work: &Work, duct: DuctId) -> Option<f64> {
        self.ducts[duct.0].wall_temperature.map(|_| work.wall_temperature[self.slots_of(duct).start])
    }

    /// Heat from the walls into all slots [W/m^3].
    #[must_use]
    pub fn heat_row<'a>(&self, work: &'a Work) -> &'a [f64] {
        &work.wall_heat
    }

    /// Heat from the wall into the cells of a duct [W/m^3], [cells].
    #[must_use]
    pub fn wall_heat<'a>(&self, work: &'a Work, duct: DuctId) -> &'a [f64] {
        &work.wall_heat[self.slots_of(duct)]
    }
}
