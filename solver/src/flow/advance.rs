//! One stage of a step.

use super::arena::Arena;
use super::dispatch::Pass;
use super::work::Work;

/// Step times rate of drag above which drag is taken implicitly. A lower one would only change steps that are stable anyway.
const STIFF_ABOVE: f64 = 0.2;

impl Arena {
    /// y = (1 - weight) base + weight (y + dt dy/dt) for the arena's rows. The stages of the two-stage strong-stability-preserving
    /// Runge-Kutta method (Gottlieb, Shu and Tadmor 2001, SIAM Rev. 43, 89) have the weights 1 and 1/2.
    ///
    /// Where drag is so stiff that `dt` times its rate exceeds 0.2, the change of momentum is divided by 1 + dt rate: the step then
    /// is stable whatever its length, and a steady state is untouched.
    pub fn advance(&self, base: &[f64], y: &mut [f64], dydt: &[f64], dt: f64, weight: f64, work: &Work) {
        let n = self.slots;
        let momentum = n..2 * n;
        let stiff = dt * work.highest_drag_rate > STIFF_ABOVE;
        let (before, after) = (0..if stiff { n } else { self.len() }, 2 * n..if stiff { self.len() } else { 2 * n });
        for rows in [before, after] {
            let (base, dydt) = (&base[rows.clone()], &dydt[rows.clone()]);
            self.instruction_set.run(Advance { base, y: &mut y[rows], dydt, dt, weight });
        }
        if stiff {
            let (base, dydt) = (&base[momentum.clone()], &dydt[momentum.clone()]);
            let stage = Advance { base, y: &mut y[momentum], dydt, dt, weight };
            self.instruction_set.run(AdvanceStiff { stage, drag_rate: &work.drag_rate });
        }
    }
}

struct Advance<'a> {
    base: &'a [f64],
    y: &'a mut [f64],
    dydt: &'a [f64],
    dt: f64,
    weight: f64,
}

impl Pass for Advance<'_> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let n = self.y.len();
        let (base, y, dydt) = (&self.base[..n], &mut self.y[..n], &self.dydt[..n]);
        let (dt, weight, kept) = (self.dt, self.weight, 1.0 - self.weight);
        for i in 0..n {
            y[i] = kept * base[i] + weight * (y[i] + dt * dydt[i]);
        }
    }
}

struct AdvanceStiff<'a> {
    stage: Advance<'a>,
    drag_rate: &'a [f64],
}

impl Pass for AdvanceStiff<'_> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let n = self.stage.y.len();
        let (base, y, dydt) = (&self.stage.base[..n], &mut self.stage.y[..n], &self.stage.dydt[..n]);
        let (dt, weight, kept) = (self.stage.dt, self.stage.weight, 1.0 - self.stage.weight);
        let drag_rate = &self.drag_rate[..n];
        for i in 0..n {
            let stiffness = dt * drag_rate[i];
            let change = dt * dydt[i];
            let damped = change / (1.0 + stiffness);
            y[i] = kept * base[i] + weight * (y[i] + if stiffness > STIFF_ABOVE { damped } else { change });
        }
    }
}
