//! Rest, conservation, shares.

use super::*;

const ATMOSPHERE: Primitive = Primitive { density: 1.2, velocity: 0.0, pressure: 101_325.0 };

fn random_areas(cells: usize) -> Vec<f64> {
    let mut seed = 7;
    (0..=cells).map(|_| 1e-3 + 9e-3 * random(&mut seed)).collect()
}

#[test]
fn gas_at_rest_stays_at_rest_in_any_area() {
    for predictor in [Predictor::None, Predictor::Hancock] {
        let duct = DuctMesh::round("duct", 1.0, random_areas(60)).with_friction_factor(0.02);
        let scheme = Scheme { march: predictor, ..Scheme::default() };
        let arena = Arena::new(vec![duct], Gas::dry_air(), 0, scheme);
        // Density is not uniform: rest is a matter of pressure alone.
        let mut march = March::new(arena, Boundary::Wall, |_, x| {
            (Primitive { density: 1.2 + 0.3 * (9.0 * x).sin(), ..ATMOSPHERE }, vec![])
        });
        for _ in 0..10_000 {
            march.step(f64::INFINITY).unwrap();
        }
        assert!(largest(march.states(0).velocity.iter().copied()) < 1e-9);
    }
}

#[test]
fn a_closed_duct_keeps_mass_and_energy() {
    let duct = DuctMesh::round("duct", 1.0, random_areas(60)).with_friction_factor(0.02);
    let arena = Arena::new(vec![duct], Gas::dry_air(), 0, Scheme::default());
    let mut march = March::new(arena, Boundary::Wall, |_, x| {
        (if x < 0.4 { Primitive { pressure: 2e5, ..ATMOSPHERE } } else { ATMOSPHERE }, vec![])
    });
    let (mass, energy) = (march.total(0), march.total(2));
    for _ in 0..10_000 {
        march.step(f64::INFINITY).unwrap();
    }
    assert!((march.total(0) / mass - 1.0).abs() < 1e-12);
    assert!((march.total(2) / energy - 1.0).abs() < 1e-12);
}

#[test]
fn ghost_slots_of_the_state_do_not_move() {
    let arena = Arena::new(vec![straight(10, 1.0), straight(10, 1.0)], ideal(), 1, Scheme::default());
    let mut march = March::new(arena, Boundary::Wall, |_, x| {
        (Primitive { density: 1.0, velocity: 0.0, pressure: 1.0 + x }, vec![x])
    });
    march.evaluate(None).unwrap();
    let slots = march.arena.slots();
    let inside: Vec<usize> = march.arena.ducts().flat_map(|duct| march.arena.slots_of(duct)).collect();
    for (index, rate) in march.derivative().iter().enumerate() {
        assert!(inside.contains(&(index % slots)) || rate.abs() <= 0.0, "{index}: {rate}");
    }
}

/// What [`Arena::advance`] does in one loop is what [`Arena::derivative`] says.
#[test]
fn a_stage_is_the_step_along_the_derivative() {
    for (scale, stiff) in [(1e-3, false), (40.0, true)] {
        let mut march = walls::rough_warm_cone(Scheme::default());
        for _ in 0..20 {
            march.step(f64::INFINITY).unwrap();
        }
        march.base.iter_mut().for_each(|value| *value *= 1.01);
        march.evaluate(None).unwrap();
        let (dt, before, dydt) = (scale, march.y.clone(), march.derivative());
        assert_eq!(dt * march.work.highest_drag_rate > 0.2, stiff);
        march.advance(dt, 0.25);
        let momentum = march.arena.slots()..2 * march.arena.slots();
        for i in 0..march.y.len() {
            let whole = 0.75 * march.base[i] + 0.25 * (before[i] + dt * dydt[i]);
            let still = 0.75 * march.base[i] + 0.25 * before[i];
            if stiff && momentum.contains(&i) {
                assert!((march.y[i] - still).abs() <= (whole - still).abs());
            } else if dydt[i].abs() > 0.0 {
                assert_eq!(march.y[i].to_bits(), whole.to_bits());
            }
        }
    }
}

#[test]
fn shares_stay_shares() {
    let shares = |x: f64| match x {
        x if x < 0.3 => vec![1.0, 0.0, 0.0],
        x if x < 0.5 => vec![0.2, 0.5, 0.3],
        _ => vec![0.0, 0.0, 1.0],
    };
    for predictor in [Predictor::None, Predictor::Hancock] {
        let scheme = Scheme { march: predictor, ..Scheme::default() };
        let arena = Arena::new(vec![straight(100, 1.0)], ideal(), 3, scheme);
        let mut march = March::new(arena, Boundary::Wall, |_, x| {
            (Primitive { density: 1.0, velocity: 0.0, pressure: if x < 0.5 { 3.0 } else { 1.0 } }, shares(x))
        });
        for _ in 0..2_000 {
            march.step(f64::INFINITY).unwrap();
            march.arena.primitives(&march.y, &mut march.work).unwrap();
            let rows: Vec<&[f64]> = (0..3).map(|k| march.arena.cell_scalars(&march.work, DuctId(0), k)).collect();
            for cell in 0..100 {
                assert!((rows.iter().map(|row| row[cell]).sum::<f64>() - 1.0).abs() < 1e-12);
                assert!(rows.iter().all(|row| (-1e-12..=1.0 + 1e-12).contains(&row[cell])), "{predictor:?} {cell}");
            }
        }
    }
}

#[test]
fn a_uniform_share_stays_uniform() {
    let arena = Arena::new(vec![straight(100, 1.0)], ideal(), 1, Scheme::default());
    let mut march = March::new(arena, Boundary::Wall, |_, x| {
        (Primitive { density: 1.0, velocity: 0.0, pressure: if x < 0.5 { 3.0 } else { 1.0 } }, vec![0.25])
    });
    for _ in 0..1_000 {
        march.step(f64::INFINITY).unwrap();
    }
    march.arena.primitives(&march.y, &mut march.work).unwrap();
    let shares = march.arena.cell_scalars(&march.work, DuctId(0), 0);
    assert!(largest(shares.iter().map(|share| share - 0.25)) < 1e-13);
}

#[test]
fn entering_gas_brings_its_own_shares() {
    let arena = Arena::new(vec![straight(5, 1.0)], ideal(), 2, Scheme::default());
    let mut march = March::new(arena, Boundary::Wall, |_, _| {
        (Primitive { density: 1.0, velocity: 0.0, pressure: 1.0 }, vec![0.4, 0.6])
    });
    march.evaluate(None).unwrap();
    let March { arena, work, .. } = &mut march;
    for (end, sign) in [(End::First, 1.0), (End::Last, -1.0)] {
        let face = if end == End::First { 0 } else { 5 };
        let entering = EndFlux { mass: -2.0, momentum: 1.0, energy: -7.0 };
        arena.set_end_flux(work, DuctId(0), end, &entering, &[0.9, 0.1]);
        assert!((arena.scalar_flows(work, DuctId(0), 0)[face] - sign * 1.8).abs() < 1e-15);
        assert!((arena.face_flows(work, DuctId(0)).energy[face] - sign * 7.0).abs() < 1e-15);
        let leaving = EndFlux { mass: 2.0, momentum: 1.0, energy: 7.0 };
        arena.set_end_flux(work, DuctId(0), end, &leaving, &[0.9, 0.1]);
        assert!((arena.scalar_flows(work, DuctId(0), 0)[face] + sign * 0.8).abs() < 1e-15);
    }
}
