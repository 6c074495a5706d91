//! temporary
use std::time::Instant;
use tractwright::march::Unobserved;
use tractwright_validation::{
    marched::Tract,
    shock_tube::{Problem, Tube},
};
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let n: u32 = a[2].parse().unwrap();
    let reps: u32 = a[3].parse().unwrap();
    let problem = Problem::named("sod").unwrap();
    let tube = Tube { cell: 1.0 / f64::from(n), ..problem.tube() };
    let lim = a.get(4).cloned().unwrap_or("monotonised_central".into());
    let duct = if a.len() > 5 {
        "kind: duct, length: 1 m, diameter: 0.1 m, friction_factor: 0, separation: no".to_owned()
    } else {
        "kind: duct, length: 1 m, diameter: 100 m, wall: {temperature: 60 degC}".to_owned()
    };
    let tract =
        Tract::read(&tube.case_with(&duct, &format!("courant: 0.8, limiter: {lim}, predictor: {}", a[1]))).unwrap();
    let mut best = f64::INFINITY;
    let mut steps = 0;
    for _ in 0..reps {
        let mut m = tract.at_start();
        let s = Instant::now();
        m.march.run(&mut Unobserved).unwrap();
        best = best.min(s.elapsed().as_secs_f64());
        steps = m.march.clock.step;
    }
    println!(
        "{} {n} {:.3e} cups {:.2} ns/cell",
        a[1],
        f64::from(n) * steps as f64 / best,
        1e9 * best / f64::from(n) / steps as f64
    );
}
