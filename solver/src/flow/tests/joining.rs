//! Ducts that are linked, against ducts that were never cut.

use super::*;

/// Two ducts with areas that go on into each other; the second may lie the other way round.
fn halves(first: End, second: End, second_cells: usize, scheme: Scheme) -> Arena {
    let area = |x: f64| 1.0 + 0.3 * x;
    let at = |from: f64, cells: usize| (0..=cells).map(move |i| area(from + i as f64 / cells as f64)).collect();
    let turned = |mut areas: Vec<f64>, turn: bool| {
        if turn {
            areas.reverse();
        }
        areas
    };
    let left = turned(at(0.0, 50), first == End::First);
    let right = turned(at(1.0, second_cells), second == End::Last);
    let ducts = vec![DuctMesh::round("left", 1.0, left), DuctMesh::round("right", 1.0, right)];
    let mut arena = Arena::new(ducts, ideal(), 1, scheme);
    arena.link(DuctId(0), first, DuctId(1), second).unwrap();
    arena
}

fn initial(x: f64) -> (Primitive, Vec<f64>) {
    let bump = (-30.0 * (x - 0.7) * (x - 0.7)).exp();
    (
        Primitive { density: 1.0 + 0.4 * bump, velocity: 0.1, pressure: if x < 1.1 { 1.6 } else { 1.0 } },
        vec![0.5 * bump],
    )
}

fn linked_march(first: End, second: End, cells: usize, scheme: Scheme) -> March {
    March::new(halves(first, second, cells, scheme), Boundary::Wall, move |duct, x| {
        let turned = if duct.0 == 0 { first == End::First } else { second == End::Last };
        let along = if turned { 1.0 - x } else { x };
        let (state, shares) = initial(along + duct.0 as f64);
        (if turned { state.mirrored() } else { state }, shares)
    })
    .without_ends(&[(0, first), (1, second)])
}

#[test]
fn a_linked_pair_is_the_uncut_duct_in_all_directions() {
    for predictor in [Predictor::None, Predictor::Hancock] {
        let scheme = Scheme { march: predictor, ..Scheme::default() };
        let areas = (0..=100).map(|i| 1.0 + 0.3 * i as f64 / 50.0).collect();
        let arena = Arena::new(vec![DuctMesh::round("uncut", 2.0, areas)], ideal(), 1, scheme);
        let mut uncut = March::new(arena, Boundary::Wall, |_, x| initial(x));
        uncut.run(2.0).unwrap();
        for first in [End::First, End::Last] {
            for second in [End::First, End::Last] {
                let mut linked = linked_march(first, second, 50, scheme);
                linked.run(2.0).unwrap();
                for cell in 0..100 {
                    let (duct, inside) = (cell / 50, cell % 50);
                    let turned = if duct == 0 { first == End::First } else { second == End::Last };
                    let inside = if turned { 49 - inside } else { inside };
                    let turn = if turned { -1.0 } else { 1.0 };
                    let (whole, part) = (uncut.states(0), linked.states(duct));
                    let share = linked.arena.cell_scalars(&linked.work, DuctId(duct), 0)[inside];
                    let share_uncut = uncut.arena.cell_scalars(&uncut.work, DuctId(0), 0)[cell];
                    assert!((whole.density[cell] - part.density[inside]).abs() < 1e-11, "{first:?} {second:?} {cell}");
                    assert!((whole.velocity[cell] - turn * part.velocity[inside]).abs() < 1e-11);
                    assert!((whole.pressure[cell] - part.pressure[inside]).abs() < 1e-11);
                    assert!((share - share_uncut).abs() < 1e-11);
                }
            }
        }
    }
}

#[test]
fn links_of_unequal_cells_do_not_ask_which_way_a_duct_lies() {
    for cells in [20, 37, 90] {
        let mut straight = linked_march(End::Last, End::First, cells, Scheme::default());
        straight.run(2.0).unwrap();
        for (first, second) in [(End::Last, End::Last), (End::First, End::First), (End::First, End::Last)] {
            let mut turned = linked_march(first, second, cells, Scheme::default());
            turned.run(2.0).unwrap();
            for (duct, count, turn) in [(0, 50, first == End::First), (1, cells, second == End::Last)] {
                let (expected, found) = (straight.states(duct), turned.states(duct));
                for cell in 0..count {
                    let (place, sign) = if turn { (count - 1 - cell, -1.0) } else { (cell, 1.0) };
                    assert!((expected.pressure[cell] - found.pressure[place]).abs() < 1e-11, "{cells} {duct} {cell}");
                    assert!((expected.velocity[cell] - sign * found.velocity[place]).abs() < 1e-11);
                }
            }
        }
    }
}

#[test]
fn links_of_unequal_cells_conserve_and_converge() {
    let fine = {
        let mut march = linked_march(End::Last, End::First, 200, Scheme::default());
        march.run(0.3).unwrap();
        march.total(2)
    };
    for cells in [20, 37, 50, 90] {
        let mut march = linked_march(End::Last, End::First, cells, Scheme::default());
        let (mass, energy) = (march.total(0), march.total(2));
        march.run(3.0).unwrap();
        assert!((march.total(0) / mass - 1.0).abs() < 1e-12, "{cells}");
        assert!((march.total(2) / energy - 1.0).abs() < 1e-12, "{cells}");
        assert!((march.total(2) / fine - 1.0).abs() < 1e-2, "{cells}");
    }
}

/// A weak pulse runs through a link from cells of one length to cells of another; what comes back is no wave of the physics.
#[test]
fn a_pulse_passes_a_link_of_unequal_cells_without_an_echo() {
    for cells in [25, 35, 75, 100] {
        let mut arena = Arena::new(vec![straight(50, 1.0), straight(cells, 1.0)], ideal(), 0, Scheme::default());
        arena.link(DuctId(0), End::Last, DuctId(1), End::First).unwrap();
        let sound = 1.4_f64.sqrt();
        let mut march = March::new(arena, Boundary::Transmissive, |duct, x| {
            let x = x + duct.0 as f64;
            let rise = 0.01 * (-150.0 * (x - 0.6) * (x - 0.6)).exp();
            let state =
                Primitive { density: 1.0 + rise / 1.4, velocity: rise / (1.4 / sound * sound * sound), pressure: 1.0 };
            (Primitive { velocity: rise / sound, pressure: 1.0 + rise, ..state }, vec![])
        })
        .without_ends(&[(0, End::Last), (1, End::First)]);
        march.run(0.9 / sound).unwrap();
        let echo = largest(march.states(0).pressure[..45].iter().map(|p| p - 1.0));
        assert!(echo < 0.01 * 0.01, "{cells}: {echo}");
    }
}

#[test]
fn ends_of_different_area_are_not_linked() {
    let mut arena =
        Arena::new(vec![straight(4, 1.0), DuctMesh::round("narrow", 1.0, vec![0.5; 5])], ideal(), 0, Scheme::default());
    let refused = arena.link(DuctId(0), End::Last, DuctId(1), End::First);
    assert_eq!(refused, Err(AreaMismatch { first: 1.0, second: 0.5 }));
}
