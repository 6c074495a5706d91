//! A plain march of one duct between walls, written from the books: MUSCL with limited primitive slopes, an approximate Riemann solver,
//! the pressure of the side walls, and Heun's two stages.

use tractwright::flow::{Limiter, RiemannSolver};

/// Density [kg/m^3], velocity [m/s] and pressure [Pa], or mass, momentum and energy per volume or per area and time.
pub(super) type Triple = [f64; 3];

/// A duct and how it is marched.
pub(super) struct Reference {
    pub(super) gamma: f64,
    pub(super) areas: Vec<f64>,
    pub(super) volumes: Vec<f64>,
    pub(super) limiter: Limiter,
    pub(super) riemann: RiemannSolver,
}

impl Reference {
    pub(super) fn conserved(&self, [rho, u, p]: Triple) -> Triple {
        [rho, rho * u, p / (self.gamma - 1.0) + 0.5 * rho * u * u]
    }

    pub(super) fn primitive(&self, [rho, momentum, energy]: Triple) -> Triple {
        [rho, momentum / rho, (self.gamma - 1.0) * (energy - 0.5 * momentum * momentum / rho)]
    }

    /// Heun's method, which is the two-stage SSP Runge-Kutta method.
    pub(super) fn step(&self, cells: &mut [Triple], dt: f64) {
        let twice = self.euler(&self.euler(cells, dt), dt);
        for (cell, twice) in cells.iter_mut().zip(twice) {
            *cell = each(|k| 0.5 * (cell[k] + twice[k]));
        }
    }

    fn euler(&self, cells: &[Triple], dt: f64) -> Vec<Triple> {
        let n = cells.len();
        let mut q: Vec<Triple> = cells.iter().map(|cell| self.primitive(*cell)).collect();
        q.insert(0, self.beyond(q[0], q[1], q[2]));
        q.push(self.beyond(q[n], q[n - 1], q[n - 2]));
        let half: Vec<Triple> = (1..=n)
            .map(|i| {
                let scale = [q[i][0], self.sound(q[i]), q[i][2]];
                each(|k| 0.5 * slope(self.limiter, q[i][k] - q[i - 1][k], q[i + 1][k] - q[i][k], scale[k], k != 1))
            })
            .collect();
        let before = |i: usize| each(|k| q[i][k] - half[i - 1][k]);
        let after = |i: usize| each(|k| q[i][k] + half[i - 1][k]);
        let mut fluxes = vec![[0.0, self.wall(before(1), -1.0), 0.0]];
        fluxes.extend((1..n).map(|i| self.flux(after(i), before(i + 1), [self.sound(q[i]), self.sound(q[i + 1])])));
        fluxes.push([0.0, self.wall(after(n), 1.0), 0.0]);
        let rate = |i: usize| {
            let side = [0.0, q[i + 1][2] * (self.areas[i + 1] - self.areas[i]), 0.0];
            each(|k| (fluxes[i][k] * self.areas[i] - fluxes[i + 1][k] * self.areas[i + 1] + side[k]) / self.volumes[i])
        };
        (0..n).map(|i| each(|k| cells[i][k] + dt * rate(i)[k])).collect()
    }

    fn sound(&self, [rho, _, p]: Triple) -> f64 {
        (self.gamma * p / rho).sqrt()
    }

    /// A cell beyond the end, along the limited slope of the last three, losing at most half of density and pressure.
    fn beyond(&self, last: Triple, second: Triple, third: Triple) -> Triple {
        let scale = [last[0], self.sound(last), last[2]];
        each(|k| {
            let change = slope(Limiter::VanAlbada, second[k] - third[k], last[k] - second[k], scale[k], k != 1);
            last[k] + if k == 1 { change } else { change.max(-0.5 * last[k]) }
        })
    }

    /// Pressure on a wall behind the gas: Liepmann and Roshko, Elements of Gasdynamics, 1957, sections 3.2 and 3.8 (a piston).
    fn wall(&self, [rho, u, p]: Triple, outward: f64) -> f64 {
        let (g, mach) = (self.gamma, outward * u / self.sound([rho, u, p]));
        let quarter = 0.25 * (g + 1.0) * mach;
        if mach > 0.0 {
            p * (1.0 + g * mach * (quarter + (1.0 + quarter * quarter).sqrt()))
        } else {
            p * (1.0 + 0.5 * (g - 1.0) * mach).powf(2.0 * g / (g - 1.0))
        }
    }

    /// Toro, Riemann Solvers and Numerical Methods for Fluid Dynamics, 3rd ed. 2009, sections 10.3 to 10.5, with the cells' speeds of
    /// sound in Davis's estimate of the wave speeds.
    fn flux(&self, l: Triple, r: Triple, sound: [f64; 2]) -> Triple {
        let (slow, fast) = ((l[1] - sound[0]).min(r[1] - sound[1]), (l[1] + sound[0]).max(r[1] + sound[1]));
        let (ul, ur) = (self.conserved(l), self.conserved(r));
        let physical = |q: Triple, u: Triple| [u[1], u[1] * q[1] + q[2], (u[2] + q[2]) * q[1]];
        let (fl, fr) = (physical(l, ul), physical(r, ur));
        match self.riemann {
            RiemannSolver::Rusanov => each(|k| 0.5 * (fl[k] + fr[k] - fast.max(-slow) * (ur[k] - ul[k]))),
            _ if slow >= 0.0 => fl,
            _ if fast <= 0.0 => fr,
            RiemannSolver::Hll => {
                each(|k| (fast * fl[k] - slow * fr[k] + slow * fast * (ur[k] - ul[k])) / (fast - slow))
            }
            RiemannSolver::Hllc => {
                let (ml, mr) = (l[0] * (slow - l[1]), r[0] * (fast - r[1]));
                let contact = (r[2] - l[2] + ml * l[1] - mr * r[1]) / (ml - mr);
                let (q, u, f, wave) = if contact >= 0.0 { (l, ul, fl, slow) } else { (r, ur, fr, fast) };
                let share = q[0] * (wave - q[1]) / (wave - contact);
                let energy = u[2] / q[0] + (contact - q[1]) * (contact + q[2] / (q[0] * (wave - q[1])));
                let star = [share, share * contact, share * energy];
                each(|k| f[k] + wave * (star[k] - u[k]))
            }
        }
    }
}

fn each(value: impl Fn(usize) -> f64) -> Triple {
    [value(0), value(1), value(2)]
}

/// Change across a cell from the differences to its neighbours; papers stand at the solver's limiters, whose smoothing by a millionth of
/// `scale` and whose bound of 1.6 of a `positive` quantity are kept.
fn slope(limiter: Limiter, a: f64, b: f64, scale: f64, positive: bool) -> f64 {
    let same_sign = |values: &[f64]| {
        let least = values.iter().fold(f64::INFINITY, |least, value| least.min(value.abs()));
        if values.iter().all(|value| *value > 0.0) || values.iter().all(|value| *value < 0.0) {
            least.copysign(values[0])
        } else {
            0.0
        }
    };
    match limiter {
        Limiter::VanAlbada => {
            let (aa, bb) = (a * a + 1e-12 * scale * scale, b * b + 1e-12 * scale * scale);
            let change = (a * bb + b * aa) / (aa + bb);
            if positive { change.clamp(-1.6 * scale, 1.6 * scale) } else { change }
        }
        Limiter::VanLeer if a * b > 0.0 => 2.0 / (1.0 / a + 1.0 / b),
        Limiter::VanLeer => 0.0,
        Limiter::MonotonisedCentral => same_sign(&[2.0 * a, 2.0 * b, 0.5 * (a + b)]),
        Limiter::Minmod => same_sign(&[a, b]),
        Limiter::None => 0.5 * (a + b),
    }
}
