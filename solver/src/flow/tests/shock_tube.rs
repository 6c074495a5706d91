//! Riemann problems against exact solutions.

use super::*;

/// Exact solution of a shock tube with a rarefaction to the left and a shock to the right: Toro (2009), section 4.5. The star
/// states are those of the reference table `toro_star_states`.
struct ShockTube {
    left: Primitive,
    right: Primitive,
    pressure: f64,
    velocity: f64,
    density_left: f64,
    density_right: f64,
    head: f64,
    tail: f64,
    shock: f64,
}

const SOD: ShockTube = ShockTube {
    left: Primitive { density: 1.0, velocity: 0.0, pressure: 1.0 },
    right: Primitive { density: 0.125, velocity: 0.0, pressure: 0.1 },
    pressure: 0.303_130_178_051,
    velocity: 0.927_452_620_049,
    density_left: 0.426_319_428_178,
    density_right: 0.265_573_711_705,
    head: -1.183_215_957,
    tail: -0.070_272_812_56,
    shock: 1.752_155_732,
};

impl ShockTube {
    fn density(&self, speed: f64) -> f64 {
        if speed < self.head {
            self.left.density
        } else if speed < self.tail {
            let sound = -self.head + self.left.velocity;
            let ratio = 2.0 / 2.4 + 0.4 / (2.4 * sound) * (self.left.velocity - speed);
            self.left.density * libm::pow(ratio, 5.0)
        } else if speed < self.velocity {
            self.density_left
        } else if speed < self.shock {
            self.density_right
        } else {
            self.right.density
        }
    }

    /// Average over a cell around x (from the diaphragm) at `time`.
    fn mean_density(&self, x: f64, width: f64, time: f64) -> f64 {
        let points = 200;
        (0..points).map(|i| self.density((x + ((i as f64 + 0.5) / 200.0 - 0.5) * width) / time)).sum::<f64>()
            / points as f64
    }

    fn march(&self, cells: usize, scheme: Scheme, diaphragm: f64) -> March {
        let arena = Arena::new(vec![straight(cells, 1.0)], ideal(), 0, scheme);
        let (left, right) = (self.left, self.right);
        March::new(arena, Boundary::Transmissive, move |_, x| (if x < diaphragm { left } else { right }, vec![]))
    }

    fn density_error(&self, cells: usize, scheme: Scheme, courant: f64) -> f64 {
        let mut march = self.march(cells, scheme, 0.5).with_courant(courant);
        march.run(0.2).unwrap();
        let width = 1.0 / cells as f64;
        let density = march.states(0).density;
        (0..cells)
            .map(|i| (density[i] - self.mean_density((i as f64 + 0.5) * width - 0.5, width, 0.2)).abs() * width)
            .sum()
    }
}

fn scheme(limiter: Limiter, riemann: RiemannSolver, march: Predictor) -> Scheme {
    Scheme { limiter, riemann, march }
}

#[test]
fn sod_with_runge_kutta() {
    let error = SOD.density_error(400, scheme(Limiter::MonotonisedCentral, RiemannSolver::Hllc, Predictor::None), 0.8);
    assert!(error <= 1.5e-3, "{error}");
}

#[test]
fn sod_with_hancock() {
    let error =
        SOD.density_error(400, scheme(Limiter::MonotonisedCentral, RiemannSolver::Hllc, Predictor::Hancock), 0.8);
    assert!(error <= 1.1e-3, "{error}");
}

#[test]
fn sod_reaches_the_star_state() {
    let mut march = SOD.march(400, Scheme::default(), 0.5);
    march.run(0.2).unwrap();
    let states = march.states(0);
    // From a little behind the rarefaction's tail to a little before the shock.
    for cell in 220..330 {
        assert!((states.pressure[cell] / SOD.pressure - 1.0).abs() < 5e-3, "{cell}");
        assert!((states.velocity[cell] / SOD.velocity - 1.0).abs() < 5e-3, "{cell}");
    }
}

/// Reference table `riemann_l1_errors`: a plain second-order scheme reaches 2.2e-3 with minmod and 1.5e-3 with van Leer's limiter
/// at 400 cells.
#[test]
fn every_limiter_and_solver_comes_close_on_sod() {
    for march in [Predictor::None, Predictor::Hancock] {
        for (limiter, most) in [
            (Limiter::VanAlbada, 2.2e-3),
            (Limiter::VanLeer, 1.7e-3),
            (Limiter::MonotonisedCentral, 1.5e-3),
            (Limiter::Minmod, 2.5e-3),
        ] {
            for (riemann, excess) in
                [(RiemannSolver::Hllc, 1.0), (RiemannSolver::Hll, 1.25), (RiemannSolver::Rusanov, 1.4)]
            {
                let error = SOD.density_error(400, scheme(limiter, riemann, march), 0.5);
                assert!(error <= most * excess, "{march:?} {limiter:?} {riemann:?}: {error}");
            }
        }
    }
}

/// Toro (2009), table 4.1, tests 2 and 3: near vacuum between two rarefactions, and a strong blast.
#[test]
fn density_and_pressure_stay_positive() {
    let near_vacuum = (Primitive { density: 1.0, velocity: -2.0, pressure: 0.4 }, 0.15);
    let blast = (Primitive { density: 1.0, velocity: 0.0, pressure: 1_000.0 }, 0.012);
    for limiter in [Limiter::VanAlbada, Limiter::VanLeer, Limiter::MonotonisedCentral, Limiter::Minmod] {
        for predictor in [Predictor::None, Predictor::Hancock] {
            for (left, until) in [near_vacuum, blast] {
                let right = if left.velocity < 0.0 { left.mirrored() } else { Primitive { pressure: 0.01, ..left } };
                let arena =
                    Arena::new(vec![straight(100, 1.0)], ideal(), 0, scheme(limiter, RiemannSolver::Hllc, predictor));
                let mut march =
                    March::new(arena, Boundary::Transmissive, |_, x| (if x < 0.5 { left } else { right }, vec![]))
                        .with_courant(0.5);
                let outcome = march.run(until);
                assert!(outcome.is_ok(), "{limiter:?} {predictor:?} {left:?}: {outcome:?}");
            }
        }
    }
}

#[test]
fn a_fault_names_its_cell() {
    let mut march = SOD.march(10, Scheme::default(), 0.5);
    let slots = march.arena.slots_of(DuctId(0));
    march.y[slots.start + 7] = f64::NAN;
    let fault = march.evaluate(None).unwrap_err();
    assert_eq!((fault.duct, fault.cell, fault.quantity), (DuctId(0), 7, "density"));
    assert!(fault.value.is_nan());
}

/// Toro (2009), chapter 10, test 6: HLLC keeps a contact at rest.
#[test]
fn a_contact_at_rest_stays() {
    let arena = Arena::new(vec![straight(50, 1.0)], ideal(), 0, Scheme::default());
    let mut march = March::new(arena, Boundary::Transmissive, |_, x| {
        (Primitive { density: if x < 0.5 { 1.4 } else { 1.0 }, velocity: 0.0, pressure: 1.0 }, vec![])
    });
    let before = march.y.clone();
    march.run(2.0).unwrap();
    let moved = largest(march.y.iter().zip(&before).map(|(a, b)| a - b));
    assert!(moved < 1e-12, "{moved:e}");
}

#[test]
fn a_mirrored_tube_gives_the_mirrored_answer() {
    for march in [Predictor::None, Predictor::Hancock] {
        let scheme = scheme(Limiter::VanAlbada, RiemannSolver::Hllc, march);
        let mirror = ShockTube { left: SOD.right, right: SOD.left, ..SOD };
        let (mut one, mut other) = (SOD.march(100, scheme, 0.5), mirror.march(100, scheme, 0.5));
        one.run(0.2).unwrap();
        other.run(0.2).unwrap();
        let (one, other) = (one.states(0), other.states(0));
        for i in 0..100 {
            assert!((one.density[i] - other.density[99 - i]).abs() < 1e-12);
            assert!((one.velocity[i] + other.velocity[99 - i]).abs() < 1e-12);
            assert!((one.pressure[i] - other.pressure[99 - i]).abs() < 1e-12);
        }
    }
}

#[test]
fn all_instruction_sets_give_the_same_bits() {
    for predictor in [Predictor::None, Predictor::Hancock] {
        for limiter in [Limiter::VanAlbada, Limiter::MonotonisedCentral] {
            let results: Vec<Vec<u64>> = InstructionSet::available()
                .into_iter()
                .map(|set| {
                    let mut march = walls::rough_warm_cone(scheme(limiter, RiemannSolver::Hllc, predictor));
                    march.arena = march.arena.with_instruction_set(set);
                    for _ in 0..200 {
                        march.step(f64::INFINITY).unwrap();
                    }
                    march.y.iter().map(|value| value.to_bits()).collect()
                })
                .collect();
            assert!(results.windows(2).all(|pair| pair[0] == pair[1]));
        }
    }
}
