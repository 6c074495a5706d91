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
        let kinetic_share = self.gas().gas_constant / (2.0 * self.gas().heat_capacity);
        let sums = self.instruction_set.run(Sums {
            density: state.density,
            velocity: state.velocity,
            sound_speed: &work.sound_speed[self.slots_of(duct)],
            over_gamma: 1.0 / self.gas().gamma,
            drag: self.drag(work, duct),
            heat: self.wall_heat(work, duct),
            fitted: *fitted,
            kinetic_share,
        });
        let [drag, bends, widening, heat_at_speed, heat] = sums;
        Dissipation { drag, bends, widening, heat_at_speed, heat }
    }
}

struct Sums<'a> {
    density: &'a [f64],
    velocity: &'a [f64],
    sound_speed: &'a [f64],
    /// 1 / gamma: turns c^2 into R T.
    over_gamma: f64,
    drag: &'a [f64],
    heat: &'a [f64],
    fitted: Fitted<'a>,
    /// R / (2 cp): turns u^2 into the rise of R T when the gas is brought to rest.
    kinetic_share: f64,
}

impl Pass for Sums<'_> {
    type Output = [f64; 5];

    #[inline(always)]
    fn run(self) -> [f64; 5] {
        let cells = self.density.len();
        let mut lanes = [[0.0; LANES]; 5];
        let mut start = 0;
        while start + LANES <= cells {
            self.add(start, LANES, &mut lanes);
            start += LANES;
        }
        self.add(start, cells - start, &mut lanes);
        lanes.map(|lane| lane.iter().sum())
    }
}

impl Sums<'_> {
    #[inline(always)]
    fn add(&self, start: usize, count: usize, lanes: &mut [[f64; LANES]; 5]) {
        let range = start..start + count;
        let (rho, u, c) =
            (&self.density[range.clone()], &self.velocity[range.clone()], &self.sound_speed[range.clone()]);
        let (drag, heat) = (&self.drag[range.clone()], &self.heat[range.clone()]);
        let (volume, bends) = (&self.fitted.volumes[range.clone()], &self.fitted.bends[range.clone()]);
        let forward = &self.fitted.widening_forward[range.clone()];
        let reverse = &self.fitted.widening_reverse[range];
        for k in 0..count {
            let energy = self.over_gamma * c[k] * c[k];
            let rise = self.kinetic_share * u[k] * u[k];
            // One division serves 1 / (R T) and 1 / (R T0).
            let over = 1.0 / (energy * (energy + rise));
            let per_energy = volume[k] * over * (energy + rise);
            let head = 0.5 * rho[k] * u[k].abs() * u[k] * u[k] * per_energy;
            lanes[0][k] += drag[k] * u[k] * per_energy;
            lanes[1][k] += head * bends[k];
            // Both are read before one is chosen: a choice between two places in memory would be made place by place.
            let (with, against) = (forward[k], reverse[k]);
            lanes[2][k] += head * if u[k] < 0.0 { against } else { with };
            lanes[3][k] += volume[k] * heat[k] * rise * over;
            lanes[4][k] += volume[k] * heat[k];
        }
    }
}
