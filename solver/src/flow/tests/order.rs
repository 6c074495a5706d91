//! Order of accuracy on smooth flow.

use super::*;

/// Density wave in a duct linked to itself, once around. Reference table `order_of_accuracy`: with central slopes and
/// SSP-RK2, 6.8e-4 at 64 cells and 1.7e-4 at 128.
fn wave_error(cells: usize, scheme: Scheme) -> f64 {
    let turn = std::f64::consts::TAU;
    let width = 1.0 / cells as f64;
    let mean = move |x: f64| {
        let integral = |x: f64| x - 0.2 / turn * (turn * x).cos();
        (integral(x + 0.5 * width) - integral(x - 0.5 * width)) / width
    };
    let mut arena = Arena::new(vec![straight(cells, 1.0)], ideal(), 0, scheme);
    arena.link(DuctId(0), End::Last, DuctId(0), End::First).unwrap();
    let mut march = March::new(arena, Boundary::Wall, |_, x| {
        (Primitive { density: mean(x), velocity: 1.0, pressure: 1.0 }, vec![])
    })
    .without_ends(&[(0, End::First), (0, End::Last)])
    .with_courant(0.4);
    march.run(1.0).unwrap();
    let density = march.states(0).density;
    (0..cells).map(|i| (density[i] - mean((i as f64 + 0.5) * width)).abs() * width).sum()
}

#[test]
fn smooth_waves_converge_with_second_order() {
    for (limiter, least) in [(Limiter::None, 1.95), (Limiter::VanAlbada, 1.8), (Limiter::VanLeer, 1.8)] {
        for march in [Predictor::None, Predictor::Hancock] {
            let scheme = Scheme { limiter, march, ..Scheme::default() };
            let (coarse, fine) = (wave_error(64, scheme), wave_error(128, scheme));
            let order = (coarse / fine).log2();
            assert!(order > least, "{limiter:?} {march:?}: {coarse:e} {fine:e} {order}");
        }
    }
    let plain = wave_error(64, Scheme { limiter: Limiter::None, ..Scheme::default() });
    assert!((plain / 6.823_2e-4 - 1.0).abs() < 0.02, "{plain}");
}
