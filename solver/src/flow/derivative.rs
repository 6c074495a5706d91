//! Rates of change of the conserved rows.

use super::arena::{Arena, FLOW_ROWS};
use super::dispatch::Pass;
use super::state::Flux;
use super::work::Work;

impl Arena {
    /// Rates of change of the arena's rows from the flows through the faces and the sources; zero in ghost slots. `dydt` is the flat
    /// derivative, of which the first [`Arena::len`] values are written.
    pub fn derivative(&self, work: &Work, dydt: &mut [f64]) {
        self.instruction_set.run(Derivative {
            dydt,
            slots: self.slots,
            flux: &work.flux,
            face_area: &self.geometry.face_area,
            over_volume: &self.geometry.over_volume,
            wall_pressure: &work.wall_pressure,
            drag: &work.drag,
            wall_heat: &work.wall_heat,
        });
        for (scalar, flux) in work.scalar_flux.iter().enumerate() {
            let rate = &mut dydt[(FLOW_ROWS + scalar) * self.slots..][..self.slots];
            self.instruction_set.run(Divergence { rate, flux, over_volume: &self.geometry.over_volume });
        }
    }
}

struct Derivative<'a> {
    dydt: &'a mut [f64],
    slots: usize,
    flux: &'a Flux<Vec<f64>>,
    face_area: &'a [f64],
    over_volume: &'a [f64],
    wall_pressure: &'a [f64],
    drag: &'a [f64],
    wall_heat: &'a [f64],
}

impl Pass for Derivative<'_> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let (mass_rate, rest) = self.dydt.split_at_mut(self.slots);
        let (momentum_rate, rest) = rest.split_at_mut(self.slots);
        let energy_rate = &mut rest[..self.slots];
        for row in [&mut *mass_rate, &mut *momentum_rate, &mut *energy_rate] {
            if let Some(last) = row.last_mut() {
                *last = 0.0;
            }
        }
        // The last slot is a ghost and has no face after it.
        let n = self.slots.saturating_sub(1);
        let (mass_rate, momentum_rate, energy_rate) =
            (&mut mass_rate[..n], &mut momentum_rate[..n], &mut energy_rate[..n]);
        let (mass_in, mass_out) = (&self.flux.mass[..n], &self.flux.mass[1..=n]);
        let (momentum_in, momentum_out) = (&self.flux.momentum[..n], &self.flux.momentum[1..=n]);
        let (energy_in, energy_out) = (&self.flux.energy[..n], &self.flux.energy[1..=n]);
        let (area_in, area_out) = (&self.face_area[..n], &self.face_area[1..=n]);
        let (over_volume, pressure) = (&self.over_volume[..n], &self.wall_pressure[..n]);
        let (drag, wall_heat) = (&self.drag[..n], &self.wall_heat[..n]);
        for i in 0..n {
            mass_rate[i] = (mass_in[i] - mass_out[i]) * over_volume[i];
            // Each face's pressure force is paired with the wall's before the two faces are compared: at rest both pairs are exactly
            // zero whatever the areas.
            let force_in = momentum_in[i] - pressure[i] * area_in[i];
            let force_out = momentum_out[i] - pressure[i] * area_out[i];
            momentum_rate[i] = (force_in - force_out) * over_volume[i] - drag[i];
            energy_rate[i] = (energy_in[i] - energy_out[i]) * over_volume[i] + wall_heat[i];
        }
    }
}

struct Divergence<'a> {
    rate: &'a mut [f64],
    flux: &'a [f64],
    over_volume: &'a [f64],
}

impl Pass for Divergence<'_> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let n = self.rate.len().saturating_sub(1);
        let (flow_in, flow_out) = (&self.flux[..n], &self.flux[1..=n]);
        let (rate, over_volume) = (&mut self.rate[..n], &self.over_volume[..n]);
        for i in 0..n {
            rate[i] = (flow_in[i] - flow_out[i]) * over_volume[i];
        }
        if let Some(last) = self.rate.last_mut() {
            *last = 0.0;
        }
    }
}
