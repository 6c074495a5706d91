//! Rates of change of the conserved rows, and the stage of a step that they make.

use super::arena::Arena;
use super::dispatch::Pass;
use super::row::Row;
use super::state::Flux;
use super::work::Work;
use std::ops::Range;

/// Step times rate of drag above which drag is taken implicitly. A lower one would only change steps that are stable anyway.
pub(super) const STIFF_ABOVE: f64 = 0.2;

impl Arena {
    /// Rates of change of the arena's rows from the flows through the faces and the sources; zero in unused slots. `dydt` is the
    /// flat derivative, of which the first [`Arena::len`] values are written.
    pub fn derivative(&self, work: &Work, dydt: &mut [f64]) {
        for row in dydt.chunks_exact_mut(self.slots).take(self.rows()) {
            row[..self.inner.start].fill(0.0);
            row[self.inner.end..].fill(0.0);
        }
        let mut rows =
            dydt.chunks_exact_mut(self.slots).take(self.rows()).map(|row| Rate(&mut row[self.inner.clone()]));
        if let (Some(mass), Some(momentum), Some(energy)) = (rows.next(), rows.next(), rows.next()) {
            self.balance(work, mass, momentum, energy);
        }
        for (rate, flux) in rows.zip(&work.scalar_flux) {
            self.scalar_balance(rate, flux);
        }
    }

    /// A step from the state `from`: y = from + dt dy/dt for the arena's rows, of which the first [`Arena::len`] values count. `y`
    /// must be a state of this arena already, whichever: values that no duct owns are left as they are.
    ///
    /// Where drag is so stiff that `dt` times its rate exceeds 0.2, the change of momentum is divided by 1 + dt rate: the step then
    /// is stable whatever its length, and a steady state is untouched.
    pub fn step(&self, from: &[f64], y: &mut [f64], dt: f64, work: &Work) {
        self.advance_with(from, y, dt, work, |from, y| Step { from, y, dt });
    }

    /// One more stage of a step: y = (1 - weight) base + weight (y + dt dy/dt) for the arena's rows. The second stage of the two-stage
    /// strong-stability-preserving Runge-Kutta method (Gottlieb, Shu and Tadmor 2001, SIAM Rev. 43, 89), whose first one is
    /// [`Arena::step`], has the weight 1/2. Drag as there.
    pub fn advance(&self, base: &[f64], y: &mut [f64], dt: f64, weight: f64, work: &Work) {
        let kept = 1.0 - weight;
        self.advance_with(base, y, dt, work, |base, y| Stage { base, y, dt, weight, kept });
    }

    fn advance_with<'a, T: Target>(
        &self,
        base: &'a [f64],
        y: &'a mut [f64],
        dt: f64,
        work: &'a Work,
        target: impl Fn(&'a [f64], &'a mut [f64]) -> T,
    ) {
        let inner = &self.inner;
        let mut rows = y
            .chunks_exact_mut(self.slots)
            .zip(base.chunks_exact(self.slots))
            .take(self.rows())
            .map(|(y, base)| target(&base[inner.clone()], &mut y[inner.clone()]));
        if let (Some(mass), Some(momentum), Some(energy)) = (rows.next(), rows.next(), rows.next()) {
            if dt * work.highest_drag_rate > STIFF_ABOVE {
                let stiff = Stiff {
                    target: momentum,
                    dt,
                    density: &work.cell.density[inner.clone()],
                    drag_per_velocity: &work.drag_per_velocity[inner.clone()],
                };
                self.balance(work, mass, stiff, energy);
            } else {
                self.balance(work, mass, momentum, energy);
            }
        }
        for (target, flux) in rows.zip(&work.scalar_flux) {
            self.scalar_balance(target, flux);
        }
    }

    fn balance<T: Target, M: Target>(&self, work: &Work, mass: T, momentum: M, energy: T) {
        self.instruction_set.run(Balance {
            mass,
            momentum,
            energy,
            inner: self.inner.clone(),
            flux: &work.flux,
            face_area: &self.geometry.face_area,
            over_volume: &self.geometry.over_volume,
            wall_pressure: if work.predicted { &work.middle_pressure } else { &work.cell.pressure },
            drag: &work.drag,
            wall_heat: &work.wall_heat,
        });
    }

    fn scalar_balance<T: Target>(&self, target: T, flux: &[f64]) {
        let over_volume = &self.geometry.over_volume;
        self.instruction_set.run(ScalarBalance { target, inner: self.inner.clone(), flux, over_volume });
    }
}

/// Where the rates of change of a row go. Indices count from the first slot inside the margin.
trait Target {
    /// Cuts the rows to `len`, so that the loop need not check its index.
    fn cut(self, len: usize) -> Self;

    /// Takes the rate of change in one slot.
    fn put(&mut self, i: usize, rate: f64);
}

/// Into a row of the derivative.
struct Rate<'a>(&'a mut [f64]);

impl Target for Rate<'_> {
    #[inline(always)]
    fn cut(self, len: usize) -> Self {
        Self(&mut self.0[..len])
    }

    #[inline(always)]
    fn put(&mut self, i: usize, rate: f64) {
        self.0[i] = rate;
    }
}

/// At once into a row of the state, from another one.
struct Step<'a> {
    from: &'a [f64],
    y: &'a mut [f64],
    dt: f64,
}

impl Target for Step<'_> {
    #[inline(always)]
    fn cut(self, len: usize) -> Self {
        Self { from: &self.from[..len], y: &mut self.y[..len], ..self }
    }

    #[inline(always)]
    fn put(&mut self, i: usize, rate: f64) {
        self.y[i] = self.from[i] + self.dt * rate;
    }
}

/// At once into a row of the state, on top of an earlier stage.
struct Stage<'a> {
    base: &'a [f64],
    y: &'a mut [f64],
    dt: f64,
    weight: f64,
    kept: f64,
}

impl Target for Stage<'_> {
    #[inline(always)]
    fn cut(self, len: usize) -> Self {
        Self { base: &self.base[..len], y: &mut self.y[..len], ..self }
    }

    #[inline(always)]
    fn put(&mut self, i: usize, rate: f64) {
        self.y[i] = self.kept * self.base[i] + self.weight * (self.y[i] + self.dt * rate);
    }
}

/// Into a row of momentum under stiff drag.
struct Stiff<'a, T> {
    target: T,
    dt: f64,
    density: &'a [f64],
    drag_per_velocity: &'a [f64],
}

impl<T: Target> Target for Stiff<'_, T> {
    #[inline(always)]
    fn cut(self, len: usize) -> Self {
        Self {
            target: self.target.cut(len),
            dt: self.dt,
            density: &self.density[..len],
            drag_per_velocity: &self.drag_per_velocity[..len],
        }
    }

    #[inline(always)]
    fn put(&mut self, i: usize, rate: f64) {
        let stiffness = self.dt * (2.0 * self.drag_per_velocity[i] / self.density[i]);
        let damped = rate / (1.0 + stiffness);
        self.target.put(i, if stiffness > STIFF_ABOVE { damped } else { rate });
    }
}

/// Values at the faces before and after each slot.
#[inline(always)]
fn in_and_out<'a>(row: &'a [f64], inner: &Range<usize>) -> (&'a [f64], &'a [f64]) {
    let n = inner.len();
    (&row[inner.start..][..n], &row[inner.start + 1..][..n])
}

struct Balance<'a, T, M> {
    mass: T,
    momentum: M,
    energy: T,
    inner: Range<usize>,
    flux: &'a Flux<Row>,
    face_area: &'a [f64],
    over_volume: &'a [f64],
    wall_pressure: &'a [f64],
    drag: &'a [f64],
    wall_heat: &'a [f64],
}

impl<T: Target, M: Target> Pass for Balance<'_, T, M> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let inner = self.inner;
        let n = inner.len();
        let (mut mass, mut momentum, mut energy) = (self.mass.cut(n), self.momentum.cut(n), self.energy.cut(n));
        let (mass_in, mass_out) = in_and_out(&self.flux.mass, &inner);
        let (momentum_in, momentum_out) = in_and_out(&self.flux.momentum, &inner);
        let (energy_in, energy_out) = in_and_out(&self.flux.energy, &inner);
        let (area_in, area_out) = in_and_out(self.face_area, &inner);
        let (over_volume, pressure) = (&self.over_volume[inner.clone()][..n], &self.wall_pressure[inner.clone()][..n]);
        let (drag, wall_heat) = (&self.drag[inner.clone()][..n], &self.wall_heat[inner][..n]);
        for i in 0..n {
            mass.put(i, (mass_in[i] - mass_out[i]) * over_volume[i]);
            // Each face's pressure force is paired with the wall's before the two faces are compared: at rest both pairs are exactly
            // zero whatever the areas.
            let force_in = momentum_in[i] - pressure[i] * area_in[i];
            let force_out = momentum_out[i] - pressure[i] * area_out[i];
            momentum.put(i, (force_in - force_out) * over_volume[i] - drag[i]);
            energy.put(i, (energy_in[i] - energy_out[i]) * over_volume[i] + wall_heat[i]);
        }
    }
}

struct ScalarBalance<'a, T> {
    target: T,
    inner: Range<usize>,
    flux: &'a [f64],
    over_volume: &'a [f64],
}

impl<T: Target> Pass for ScalarBalance<'_, T> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let n = self.inner.len();
        let (flow_in, flow_out) = in_and_out(self.flux, &self.inner);
        let over_volume = &self.over_volume[self.inner][..n];
        let mut target = self.target.cut(n);
        for i in 0..n {
            target.put(i, (flow_in[i] - flow_out[i]) * over_volume[i]);
        }
    }
}
