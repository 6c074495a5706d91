//! Rates of change of the conserved rows.

use super::arena::{Arena, FLOW_ROWS};
use super::dispatch::Pass;
use super::row::Row;
use super::state::Flux;
use super::work::Work;
use std::ops::Range;

impl Arena {
    /// Rates of change of the arena's rows from the flows through the faces and the sources; zero in unused slots. `dydt` is the
    /// flat derivative, of which the first [`Arena::len`] values are written.
    pub fn derivative(&self, work: &Work, dydt: &mut [f64]) {
        for row in dydt.chunks_exact_mut(self.slots).take(self.rows()) {
            row[..self.inner.start].fill(0.0);
            row[self.inner.end..].fill(0.0);
        }
        self.instruction_set.run(Derivative {
            dydt,
            slots: self.slots,
            inner: self.inner.clone(),
            flux: &work.flux,
            face_area: &self.geometry.face_area,
            over_volume: &self.geometry.over_volume,
            wall_pressure: if work.predicted { &work.wall_pressure } else { &work.cell.pressure },
            drag: &work.drag,
            wall_heat: &work.wall_heat,
        });
        for (scalar, flux) in work.scalar_flux.iter().enumerate() {
            let rate = &mut dydt[(FLOW_ROWS + scalar) * self.slots..][..self.slots];
            self.instruction_set.run(Divergence {
                inner: self.inner.clone(),
                rate,
                flux,
                over_volume: &self.geometry.over_volume,
            });
        }
    }
}

/// Values at the faces before and after each slot.
#[inline(always)]
fn in_and_out<'a>(row: &'a [f64], inner: &Range<usize>) -> (&'a [f64], &'a [f64]) {
    let n = inner.len();
    (&row[inner.start..][..n], &row[inner.start + 1..][..n])
}

struct Derivative<'a> {
    dydt: &'a mut [f64],
    slots: usize,
    inner: Range<usize>,
    flux: &'a Flux<Row>,
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
        let inner = self.inner;
        let n = inner.len();
        let (mass_rate, rest) = self.dydt.split_at_mut(self.slots);
        let (momentum_rate, energy_rate) = rest.split_at_mut(self.slots);
        let (mass_rate, momentum_rate) = (&mut mass_rate[inner.clone()][..n], &mut momentum_rate[inner.clone()][..n]);
        let energy_rate = &mut energy_rate[inner.clone()][..n];
        let (mass_in, mass_out) = in_and_out(&self.flux.mass, &inner);
        let (momentum_in, momentum_out) = in_and_out(&self.flux.momentum, &inner);
        let (energy_in, energy_out) = in_and_out(&self.flux.energy, &inner);
        let (area_in, area_out) = in_and_out(self.face_area, &inner);
        let (over_volume, pressure) = (&self.over_volume[inner.clone()][..n], &self.wall_pressure[inner.clone()][..n]);
        let (drag, wall_heat) = (&self.drag[inner.clone()][..n], &self.wall_heat[inner.clone()][..n]);
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
    inner: Range<usize>,
    rate: &'a mut [f64],
    flux: &'a [f64],
    over_volume: &'a [f64],
}

impl Pass for Divergence<'_> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let inner = self.inner;
        let n = inner.len();
        let (flow_in, flow_out) = in_and_out(self.flux, &inner);
        let (rate, over_volume) = (&mut self.rate[inner.clone()][..n], &self.over_volume[inner.clone()][..n]);
        for i in 0..n {
            rate[i] = (flow_in[i] - flow_out[i]) * over_volume[i];
        }
    }
}
