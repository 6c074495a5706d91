//! Tests of the kernel as a whole, with a march of its own.

mod balance;
mod joining;
mod order;
mod shock_tube;
mod walls;

use super::*;
use crate::gas::Gas;

/// What stands at an end that is not linked.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Boundary {
    /// Waves leave.
    Transmissive,
    /// A closed end.
    Wall,
}

/// An arena on the march.
#[derive(Debug, Clone)]
struct March {
    arena: Arena,
    work: Work,
    y: Vec<f64>,
    base: Vec<f64>,
    ends: Vec<(DuctId, End, Boundary)>,
    courant: f64,
    time: f64,
    steps: usize,
}

impl March {
    /// Fills all cells from `state` (duct, place of the cell's centre [m]) with the answer (state, scalars).
    fn new(arena: Arena, boundary: Boundary, state: impl Fn(DuctId, f64) -> (Primitive, Vec<f64>)) -> Self {
        let mut y = vec![0.0; arena.len()];
        for duct in arena.ducts() {
            for cell in 0..arena.cells(duct) {
                let (state, scalars) = state(duct, (cell as f64 + 0.5) * arena.cell_length(duct));
                arena.set_cell(&mut y, duct, cell, state, &scalars);
            }
        }
        let ends = arena.ducts().flat_map(|duct| [(duct, End::First, boundary), (duct, End::Last, boundary)]).collect();
        Self { work: arena.work(), base: y.clone(), arena, y, ends, courant: 0.8, time: 0.0, steps: 0 }
    }

    /// Keeps the boundary away from ends that the arena has linked.
    fn without_ends(mut self, linked: &[(usize, End)]) -> Self {
        self.ends.retain(|(duct, end, _)| !linked.contains(&(duct.0, *end)));
        self
    }

    fn with_courant(mut self, courant: f64) -> Self {
        self.courant = courant;
        self
    }

    /// Flows of the present state; answers with the highest signal rate [1/s].
    fn evaluate(&mut self, half_step: Option<f64>) -> Result<f64, Fault> {
        let Self { arena, work, .. } = self;
        arena.primitives(&self.y, work)?;
        arena.fill_ghosts(work);
        let rate = arena.face_fluxes(work, half_step);
        for (duct, end, boundary) in &self.ends {
            let flux = boundary.flux(arena.end_state(work, *duct, *end), arena);
            arena.set_end_flux(work, *duct, *end, &flux, &[]);
        }
        Ok(rate)
    }

    /// One step that does not pass `until`.
    fn step(&mut self, until: f64) -> Result<(), Fault> {
        // The first steps of a shock tube see waves that the initial state does not show: Toro (2009), section 6.3.2.
        let courant = if self.steps < 5 { 0.4 * self.courant } else { self.courant };
        let dt = (courant / self.evaluate(None)?).min(until - self.time);
        if self.arena.scheme().march == Predictor::Hancock {
            self.evaluate(Some(0.5 * dt))?;
            self.advance(dt, 1.0);
        } else {
            self.base.copy_from_slice(&self.y);
            self.advance(dt, 1.0);
            self.evaluate(None)?;
            self.advance(dt, 0.5);
        }
        self.time += dt;
        self.steps += 1;
        Ok(())
    }

    fn advance(&mut self, dt: f64, weight: f64) {
        self.arena.advance(&self.base, &mut self.y, dt, weight, &self.work);
    }

    /// Rates of change after [`March::evaluate`].
    fn derivative(&self) -> Vec<f64> {
        let mut dydt = vec![f64::NAN; self.arena.len()];
        self.arena.derivative(&self.work, &mut dydt);
        dydt
    }

    fn run(&mut self, until: f64) -> Result<(), Fault> {
        while self.time < until * (1.0 - 1e-12) {
            self.step(until)?;
        }
        self.arena.primitives(&self.y, &mut self.work)
    }

    /// Volume integral of a row of the state.
    fn total(&self, row: usize) -> f64 {
        let mut sum = 0.0;
        for duct in self.arena.ducts() {
            for (cell, slot) in self.arena.slots_of(duct).enumerate() {
                sum += self.y[row * self.arena.slots() + slot] * self.arena.volume(duct, cell);
            }
        }
        sum
    }

    fn states(&self, duct: usize) -> Primitive<&[f64]> {
        self.arena.cell_states(&self.work, DuctId(duct))
    }
}

impl Boundary {
    fn flux(self, state: EndState, arena: &Arena) -> EndFlux {
        let inside = Primitive { density: state.density, velocity: state.velocity, pressure: state.pressure };
        let beyond = if self == Self::Wall { inside.mirrored() } else { inside };
        let flux = riemann::flux(inside, beyond, arena.gas(), RiemannSolver::Hllc).flux;
        let passes = if self == Self::Wall { 0.0 } else { 1.0 };
        EndFlux {
            mass: flux.mass * state.area * passes,
            momentum: flux.momentum * state.area,
            energy: flux.energy * state.area * passes,
        }
    }
}

/// A straight duct of unit area.
fn straight(cells: usize, length: f64) -> DuctMesh {
    DuctMesh::round("tube", length, vec![1.0; cells + 1])
}

/// The gas of the shock tubes: gamma = 1.4 and R = 1.
fn ideal() -> Gas {
    Gas::new(1.4, 1.0)
}

/// The same numbers on every machine, between 0 and 1.
fn random(seed: &mut u64) -> f64 {
    *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    (*seed >> 11) as f64 / (1_u64 << 53) as f64
}

fn largest(values: impl IntoIterator<Item = f64>) -> f64 {
    values.into_iter().fold(0.0, |a, b| if b.abs() >= a { b.abs() } else { a })
}
