//! Cell-updates per second of the kernel on one core: cells times full steps (two evaluations each with SSP-RK2, one with Hancock's
//! predictor) over seconds, all phases, sources and the choice of the step included. The best of several runs counts.
#![expect(clippy::print_stdout, reason = "a benchmark prints")]

use std::time::Instant;
use tractwright::flow::{
    Arena, DuctId, DuctMesh, End, EndFlux, Fault, InstructionSet, Limiter, Predictor, Primitive, Scheme, WallTable,
    Work, wall_law,
};
use tractwright::gas::Gas;

const COURANT: f64 = 0.5;
const RUNS: usize = 7;
const CELL_UPDATES: usize = 4_000_000;

/// What the walls of the ducts do.
#[derive(Debug, Clone, Copy)]
enum Walls {
    Bare,
    Friction,
    FrictionAndFilm,
}

struct March {
    arena: Arena,
    work: Work,
    y: Vec<f64>,
    base: Vec<f64>,
    ends: Vec<(DuctId, End)>,
}

fn duct(cells: usize, walls: Walls) -> DuctMesh {
    let areas = (0..=cells).map(|face| 0.006 - 0.002 * face as f64 / cells as f64).collect();
    let mut duct = DuctMesh::round("duct", 5e-3 * cells as f64, areas);
    let film = |reynolds| wall_law::film(reynolds, 0.71, 0.1);
    match walls {
        Walls::Bare => {}
        Walls::Friction => duct.wall = Some(WallTable::new(|reynolds| wall_law::churchill(reynolds, 1e-4), film)),
        Walls::FrictionAndFilm => {
            duct.wall = Some(WallTable::new(|reynolds| wall_law::churchill(reynolds, 1e-4), film));
            duct.wall_temperature = Some(330.0);
        }
    }
    duct
}

impl March {
    fn new(ducts: usize, cells: usize, scheme: Scheme, walls: Walls, instructions: InstructionSet) -> Self {
        let meshes = (0..ducts).map(|_| duct(cells, walls)).collect();
        let arena = Arena::new(meshes, Gas::dry_air(), 0, scheme).with_instruction_set(instructions);
        let mut y = vec![0.0; arena.len()];
        for duct in arena.ducts() {
            for cell in 0..cells {
                let pressure = if cell < cells / 2 { 1.2e5 } else { 1.0e5 };
                let state = Primitive { density: pressure / (287.05 * 300.0), velocity: 0.0, pressure };
                arena.set_cell(&mut y, duct, cell, state, &[]);
            }
        }
        let ends = arena.ducts().flat_map(|duct| [(duct, End::First), (duct, End::Last)]).collect();
        Self { work: arena.work(), base: y.clone(), arena, y, ends }
    }

    fn evaluate(&mut self, half_step: Option<f64>) -> Result<f64, Fault> {
        let Self { arena, work, .. } = self;
        arena.primitives(&self.y, work)?;
        arena.fill_ghosts(work);
        let rate = arena.face_fluxes(work, half_step);
        for (duct, end) in &self.ends {
            let state = arena.end_state(work, *duct, *end);
            let wall = EndFlux { mass: 0.0, momentum: state.pressure * state.area, energy: 0.0 };
            arena.set_end_flux(work, *duct, *end, &wall, &[]);
        }
        Ok(rate)
    }

    fn run(&mut self, steps: usize) -> Result<(), Fault> {
        let mut dt = 1e-6;
        for _ in 0..steps {
            if self.arena.scheme().march == Predictor::Hancock {
                let rate = self.evaluate(Some(0.5 * dt))?;
                self.arena.advance(&self.base, &mut self.y, dt, 1.0, &self.work);
                dt = COURANT / rate;
            } else {
                self.base.copy_from_slice(&self.y);
                let dt = COURANT / self.evaluate(None)?;
                self.arena.advance(&self.base, &mut self.y, dt, 1.0, &self.work);
                self.evaluate(None)?;
                self.arena.advance(&self.base, &mut self.y, dt, 0.5, &self.work);
            }
        }
        Ok(())
    }
}

fn rate(ducts: usize, cells: usize, scheme: Scheme, walls: Walls, instructions: InstructionSet) -> Result<f64, Fault> {
    let steps = CELL_UPDATES / (ducts * cells);
    let mut best = f64::INFINITY;
    for _ in 0..RUNS {
        let mut march = March::new(ducts, cells, scheme, walls, instructions);
        let start = Instant::now();
        march.run(steps)?;
        best = best.min(start.elapsed().as_secs_f64());
    }
    Ok((ducts * cells * steps) as f64 / best)
}

fn main() -> Result<(), Fault> {
    let shapes = [(1, 600), (1, 1_000), (1, 10_000), (15, 40)];
    println!("million cell-updates per second, one core");
    println!("{:<66} {:>7} {:>7} {:>7} {:>7}", "", "600", "1000", "10000", "15 x 40");
    let widest = InstructionSet::widest();
    let narrower = InstructionSet::available().into_iter().rev().skip(1);
    let mut rows = Vec::new();
    for march in [Predictor::None, Predictor::Hancock] {
        for limiter in [Limiter::VanAlbada, Limiter::MonotonisedCentral] {
            for walls in [Walls::Bare, Walls::Friction, Walls::FrictionAndFilm] {
                rows.push((Scheme { limiter, march, ..Scheme::default() }, walls, widest));
            }
        }
    }
    rows.extend(narrower.map(|set| (Scheme::default(), Walls::Bare, set)));
    for (scheme, walls, set) in rows {
        print!("{:<66}", format!("{:?} {:?} {walls:?} {set:?}", scheme.march, scheme.limiter));
        for (ducts, cells) in shapes {
            print!(" {:>7.1}", rate(ducts, cells, scheme, walls, set)? / 1e6);
        }
        println!();
    }
    Ok(())
}
