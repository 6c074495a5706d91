//! Drag and heat of walls.

use super::*;

/// A cone with every source there is, from a pressure step.
pub(super) fn rough_warm_cone(scheme: Scheme) -> March {
    let areas = (0..=75).map(|i| 0.008 - 0.004 * f64::from(i) / 75.0).collect();
    let mut duct = DuctMesh::round("cone", 0.6, areas);
    duct.wall = Some(WallTable::new(|re| wall_law::churchill(re, 1e-3), |re| wall_law::film(re, 0.71, 0.15)));
    duct.wall_temperature = Some(350.0);
    duct.drag_forward.fill(0.3);
    duct.drag_reverse.fill(0.5);
    let arena = Arena::new(vec![duct], Gas::dry_air(), 2, scheme);
    March::new(arena, Boundary::Wall, |_, x| {
        let pressure = if x < 0.25 { 1.3e5 } else { 1e5 };
        (Primitive { density: pressure / (287.05 * 300.0), velocity: 0.0, pressure }, vec![x, 1.0 - x])
    })
}

/// One evaluation in a straight duct of uniform flow, bore 50 mm.
fn uniform(velocity: f64, prepare: impl Fn(&mut DuctMesh)) -> March {
    let area = std::f64::consts::FRAC_PI_4 * 0.05 * 0.05;
    let mut duct = DuctMesh::round("tube", 0.4, vec![area; 5]);
    prepare(&mut duct);
    let arena = Arena::new(vec![duct], Gas::dry_air(), 0, Scheme::default());
    let state = Primitive { density: 1.2, velocity, pressure: 101_325.0 };
    let mut march = March::new(arena, Boundary::Transmissive, |_, _| (state, vec![]));
    march.evaluate(None).unwrap();
    march
}

fn rough(duct: &mut DuctMesh) {
    duct.wall = Some(WallTable::new(|re| wall_law::churchill(re, 1e-3), |re| wall_law::film(re, 0.71, 0.125)));
}

#[test]
fn wall_drag_is_darcys_law() {
    for velocity in [-80.0, -3.0, 0.02, 12.0, 80.0_f64] {
        let march = uniform(velocity, rough);
        let gas = Gas::dry_air();
        let temperature = 101_325.0 / (1.2 * gas.gas_constant);
        let reynolds = 1.2 * velocity.abs() * 0.05 / gas.viscosity(temperature);
        let factor = wall_law::churchill(reynolds, 1e-3) / reynolds;
        let law = factor / 0.05 * 0.5 * 1.2 * velocity * velocity.abs();
        let drag = march.arena.drag(&march.work, DuctId(0))[2];
        assert!((drag / law - 1.0).abs() < 2e-3, "{velocity}: {drag} {law}");
    }
}

#[test]
fn wall_drag_is_finite_and_straight_through_rest() {
    for velocity in [-1e-6, -1e-12, 0.0, 1e-12, 1e-6_f64] {
        let march = uniform(velocity, rough);
        let gas = Gas::dry_air();
        // Hagen and Poiseuille: 32 mu u / D^2.
        let law = 32.0 * gas.viscosity(101_325.0 / (1.2 * gas.gas_constant)) * velocity / (0.05 * 0.05);
        let drag = march.arena.drag(&march.work, DuctId(0))[2];
        assert!((drag - law).abs() <= 1e-9 * law.abs(), "{velocity}: {drag} {law}");
    }
}

#[test]
fn drag_of_bends_depends_on_direction() {
    let bend = |duct: &mut DuctMesh| {
        duct.drag_forward.fill(2.0);
        duct.drag_reverse.fill(3.0);
    };
    for (velocity, coefficient) in [(10.0_f64, 2.0), (-10.0, 3.0)] {
        let march = uniform(velocity, bend);
        let drag = march.arena.drag(&march.work, DuctId(0))[2];
        let law = coefficient * 0.5 * 1.2 * velocity * velocity.abs();
        assert!((drag / law - 1.0).abs() < 1e-12);
    }
}

#[test]
fn what_bends_and_widening_dissipate_depends_on_direction() {
    let gas = Gas::dry_air();
    for (velocity, widening) in [(20.0_f64, 0.2), (-20.0, 0.7)] {
        let march = uniform(velocity, |_| ());
        let fitted =
            Fitted { volumes: &[1e-4; 4], bends: &[2.0; 4], widening_forward: &[0.2; 4], widening_reverse: &[0.7; 4] };
        let made = march.arena.dissipation(&march.work, DuctId(0), &fitted);
        let temperature = 101_325.0 / (1.2 * gas.gas_constant);
        // Work of the drag, K/2 rho |u|^3 a volume, over R T.
        let law = |coefficient: f64| {
            4e-4 * coefficient * 0.5 * 1.2 * velocity.abs().powi(3) / (gas.gas_constant * temperature)
        };
        assert!((made.bends / law(2.0) - 1.0).abs() < 1e-12, "{velocity}: {made:?}");
        assert!((made.widening / law(widening) - 1.0).abs() < 1e-12, "{velocity}: {made:?}");
    }
}

#[test]
fn a_wall_at_recovery_temperature_gives_no_heat() {
    let gas = Gas::dry_air();
    let temperature = 101_325.0 / (1.2 * gas.gas_constant);
    let speed = 90.0;
    let recovery = libm::cbrt(gas.prandtl);
    let adiabatic = temperature + recovery * 0.5 * speed * speed / gas.heat_capacity;
    for (excess, least, most) in [(0.0, -1e-6, 1e-6), (10.0, 1.0, 1e9), (-10.0, -1e9, -1.0)] {
        let march = uniform(speed, |duct| {
            rough(duct);
            duct.wall_temperature = Some(adiabatic + excess);
        });
        let heat = march.arena.wall_heat(&march.work, DuctId(0))[2];
        assert!((least..=most).contains(&heat), "{excess}: {heat}");
    }
}

#[test]
fn wall_heat_is_newtons_law() {
    let march = uniform(20.0, |duct| {
        rough(duct);
        duct.wall_temperature = Some(340.0);
    });
    let gas = Gas::dry_air();
    let temperature = 101_325.0 / (1.2 * gas.gas_constant);
    let reynolds = 1.2 * 20.0 * 0.05 / gas.viscosity(temperature);
    let film = wall_law::film(reynolds, 0.71, 0.125) * gas.conductivity(temperature) / 0.05;
    let adiabatic = temperature + libm::cbrt(gas.prandtl) * 200.0 / gas.heat_capacity;
    let law = film * (340.0 - adiabatic) * 4.0 / 0.05;
    let heat = march.arena.wall_heat(&march.work, DuctId(0))[2];
    assert!((heat / law - 1.0).abs() < 2e-3, "{heat} {law}");
}

#[test]
fn given_heat_is_spread_evenly_over_the_length() {
    let mut cone = DuctMesh::round("cone", 0.6, (0..=12).map(|i| 0.008 - 3e-4 * f64::from(i)).collect());
    rough(&mut cone);
    cone.wall_heat = -600.0;
    let arena = Arena::new(vec![cone], Gas::dry_air(), 0, Scheme::default());
    let state = Primitive { density: 1.2, velocity: 30.0, pressure: 101_325.0 };
    let mut march = March::new(arena, Boundary::Transmissive, |_, _| (state, vec![]));
    march.evaluate(None).unwrap();
    for (cell, heat) in march.arena.wall_heat(&march.work, DuctId(0)).iter().enumerate() {
        assert!((heat * march.arena.volume(DuctId(0), cell) + 50.0).abs() < 1e-11, "{cell}: {heat}");
    }
}

/// With a thousand velocity heads per centimetre an explicit step would turn the flow round; taken implicitly it fades.
#[test]
fn stiff_drag_is_stable() {
    for march in [Predictor::None, Predictor::Hancock] {
        let mut duct = DuctMesh::round("plug", 0.2, vec![1e-3; 21]);
        duct.drag_forward.fill(1e5);
        duct.drag_reverse.fill(1e5);
        let scheme = Scheme { march, ..Scheme::default() };
        let arena = Arena::new(vec![duct], Gas::dry_air(), 0, scheme);
        let mut march = March::new(arena, Boundary::Wall, |_, x| {
            let pressure = if x < 0.1 { 1.1e5 } else { 1e5 };
            (Primitive { density: 1.2, velocity: 60.0, pressure }, vec![])
        });
        for _ in 0..20_000 {
            march.step(f64::INFINITY).unwrap();
        }
        let states = march.states(0);
        assert!(largest(states.velocity.iter().copied()) < 1.0);
        assert!(largest(states.pressure.windows(2).map(|pair| pair[1] - pair[0])) < 1e3);
    }
}
