//! What a duct's drag and heat cost, summed over its cells: the ledger's own view of dissipation.

use super::arena::Arena;
use super::dispatch::Pass;
use super::state::DuctId;
use super::work::Work;

/// Partial sums kept side by side, so that the loop is vectorised; they are added up in a fixed order, so that every instruction
/// set gives the same bits.
const LANES: usize = 8;

/// Loss coefficients of a duct's fittings [1/m], [cells], and the volumes of its cells [m^3].
#[derive(Debug, Clone, Copy)]
pub struct Fitted<'a> {
    /// Volumes of the cells.
    pub volumes: &'a [f64],
    /// Bends.
    pub bends: &'a [f64],
    /// Separation, for flow from first to last.
    pub widening_forward: &'a [f64],
    /// Separation, for flow from last to first.
    pub widening_reverse: &'a [f64],
}

/// Rates of entropy made in a duct, over the gas constant [kg/s], and the heat that came in [W].
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Dissipation {
    /// By all drag.
    pub drag: f64,
    /// By the drag of bends.
    pub bends: f64,
    /// By separation where the duct widens.
    pub widening: f64,
    /// By heat that enters moving gas: q (1/T - 1/T0) (Rayleigh).
    pub heat_at_speed: f64,
    /// Heat from the wall [W].
    pub heat: f64,
}

impl Arena {
    /// Dissipation in a duct, after [`Arena::face_fluxes`].
    #[must_use]
    pub fn dissipation(&self, work: &Work, duct: DuctId, fitted: &Fitted<'_>) -> Dissipation {
        let state = self.cell_states(work, duct);
        let [drag, bends, widening, heat_at_speed, heat] = self.instruction_set.run(Sums {
            rows: [
                state.density,
                state.velocity,
                &work.sound_speed[self.slots_of(duct)],
                self.drag(work, duct),
                self.wall_heat(work, duct),
                fitted.volumes,
                fitted.bends,
                fitted.widening_forward,
                fitted.widening_reverse,
            ],
            over_gamma: 1.0 / self.gas().gamma,
            kinetic_share: self.gas().gas_constant / (2.0 * self.gas().heat_capacity),
        });
        Dissipation { drag, bends, widening, heat_at_speed, heat }
    }
}

/// Rows that the sums are made of.
const ROWS: usize = 9;
/// Place of the speed of sound among them.
const SOUND_SPEED: usize = 2;

struct Sums<'a> {
    /// Density, velocity, speed of sound, drag, wall heat, volume, coefficients of bends and of widening, forward and reverse; [cells].
    rows: [&'a [f64]; ROWS],
    /// 1 / gamma: turns c^2 into R T.
    over_gamma: f64,
    /// R / (2 cp): turns u^2 into the rise of R T when the gas is brought to rest.
    kinetic_share: f64,
}

impl Pass for Sums<'_> {
    type Output = [f64; 5];

    #[inline(always)]
    fn run(self) -> [f64; 5] {
        let mut lanes = [[0.0; LANES]; 5];
        let split = self.rows.map(<[f64]>::as_chunks);
        let count = split[0].0.len();
        let chunks = split.map(|row| &row.0[..count]);
        for chunk in 0..count {
            self.add(chunks.map(|row| &row[chunk]), &mut lanes);
        }
        // The rest of the cells, filled up with some in which the gas stands still without heat.
        let mut rest = [[0.0; LANES]; ROWS];
        rest[SOUND_SPEED] = [1.0; LANES];
        for (filled, row) in rest.iter_mut().zip(split) {
            filled[..row.1.len()].copy_from_slice(row.1);
        }
        self.add(rest.each_ref(), &mut lanes);
        lanes.map(|lane| lane.iter().sum())
    }
}

impl Sums<'_> {
    #[inline(always)]
    fn add(&self, cells: [&[f64; LANES]; ROWS], lanes: &mut [[f64; LANES]; 5]) {
        let [rho, u, c, drag, heat, volume, bends, forward, reverse] = cells;
        for k in 0..LANES {
            let energy = self.over_gamma * c[k] * c[k];
            let rise = self.kinetic_share * u[k] * u[k];
            // One division serves 1 / (R T) and 1 / (R T0).
            let over = 1.0 / (energy * (energy + rise));
            let per_energy = volume[k] * over * (energy + rise);
            let speed = u[k].abs();
            let head = 0.5 * rho[k] * u[k] * u[k] * per_energy;
            lanes[0][k] += drag[k] * u[k] * per_energy;
            lanes[1][k] += head * speed * bends[k];
            // Mean and difference of the two directions spare the loop a choice.
            let widening = 0.5 * ((forward[k] + reverse[k]) * speed + (forward[k] - reverse[k]) * u[k]);
            lanes[2][k] += head * widening;
            lanes[3][k] += volume[k] * heat[k] * rise * over;
            lanes[4][k] += volume[k] * heat[k];
        }
    }
}
