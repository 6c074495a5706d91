//! The fast kernel against the plain one, of any state in any duct.

use super::reference::{Reference, Triple};
use super::{read, runner};
use proptest::collection::vec;
use proptest::prelude::*;
use tractwright::flow::{DuctId, Primitive};
use tractwright::march::Acoustic;
use tractwright_validation::case_text::InitialState;
use tractwright_validation::drawing::{Drawing, Duct, Part, Shape, Wall};

/// Largest difference of density and pressure, relative, and of velocity over the speed of sound.
const ROUND_OFF: f64 = 1e-12;
const STEPS: usize = 30;

/// A cell: diameter of its first face, then pressure, temperature and velocity, each from -1 to 1.
type Draw = (f64, f64, f64, f64);

/// A duct between two walls.
fn drawing(cells: &[Draw]) -> Drawing {
    let length = 0.01 * cells.len() as f64;
    let face = |index: usize| 0.07 + 0.03 * cells[index.min(cells.len() - 1)].0;
    let sections = (0..=cells.len()).map(|index| (length * index as f64 / cells.len() as f64, face(index))).collect();
    let duct = Duct { length, sections, lips: [0.001; 2], wall: Wall::Plain(0.0) };
    let rest = InitialState { pressure: 1e5, temperature: 300.0, velocity: 0.0 };
    let part = |name: &str, shape| Part { name: name.to_owned(), shape };
    let wall = || Shape::Other("kind: wall".to_owned());
    Drawing {
        speed: None,
        parts: vec![part("left", wall()), part("duct", Shape::Duct(duct, [rest; 2])), part("right", wall())],
        lines: vec![["left", "duct", "right"].map(str::to_owned).to_vec()],
    }
}

/// State of a cell; `swing` is the largest relative change of pressure, and about that of the others.
fn state(gas_constant: f64, swing: f64, (_, pressure, temperature, velocity): Draw) -> Triple {
    let (pressure, temperature) = (1e5 * (1.0 + swing * pressure), 300.0 * (1.0 + 0.5 * swing * temperature));
    [pressure / (gas_constant * temperature), 300.0 * swing * velocity, pressure]
}

/// Marches `cells` both ways.
fn both_agree(limiter: &str, riemann: &str, swing: f64, cells: &[Draw]) -> Result<(), TestCaseError> {
    let run = format!("until: 1 s, cell: 10 mm, limiter: {limiter}, riemann: {riemann}");
    let tract = read(&drawing(cells), &run)?;
    let (network, duct) = (tract.network(), DuctId(0));
    let (arena, gas) = (&network.arena, network.gas);
    prop_assert_eq!(arena.cells(duct), cells.len());
    let Acoustic { mut y, .. } = tract.at_start().march;
    let states: Vec<Triple> = cells.iter().map(|cell| state(gas.gas_constant, swing, *cell)).collect();
    for (cell, [density, velocity, pressure]) in states.iter().copied().enumerate() {
        arena.set_cell(&mut y, duct, cell, Primitive { density, velocity, pressure }, &[1.0]);
    }
    let reference = Reference {
        gamma: gas.gamma,
        areas: arena.face_areas(duct).to_vec(),
        volumes: network.volumes_of(duct).to_vec(),
        limiter: arena.scheme().limiter,
        riemann: arena.scheme().riemann,
    };
    let mut plain: Vec<Triple> = states.iter().map(|state| reference.conserved(*state)).collect();
    let mut fast = tract.at_start().march;
    fast.y = y;
    let stopped = |error: tractwright::error::RunError| TestCaseError::fail(error.to_string());
    fast.start().map_err(stopped)?;
    for step in 0..STEPS {
        let dt = fast.step(1.0).map_err(stopped)?;
        reference.step(&mut plain, dt);
        let found = arena.cell_states(&fast.work.cells, duct);
        for (cell, plain) in plain.iter().enumerate() {
            let [density, velocity, pressure] = reference.primitive(*plain);
            let sound_speed = (gas.gamma * pressure / density).sqrt();
            let errors = [
                found.density[cell] / density - 1.0,
                (found.velocity[cell] - velocity) / sound_speed,
                found.pressure[cell] / pressure - 1.0,
            ];
            prop_assert!(errors.iter().all(|error| error.abs() < ROUND_OFF), "step {step}, cell {cell}: {errors:?}");
        }
    }
    Ok(())
}

#[test]
fn the_fast_kernel_is_the_plain_one() {
    let share = || -1.0..1.0_f64;
    let cells = || vec((share(), share(), share(), share()), 4..40);
    for riemann in ["hllc", "hll", "rusanov"] {
        for (limiter, largest) in
            [("van_albada", 0.6), ("van_leer", 0.6), ("monotonised_central", 0.6), ("minmod", 0.6), ("none", 0.02)]
        {
            let drawn = (cells(), 0.001..largest);
            let held = runner(6).run(&drawn, |(cells, swing)| both_agree(limiter, riemann, swing, &cells));
            held.unwrap_or_else(|error| panic!("{riemann}, {limiter}: {error}"));
        }
    }
}
