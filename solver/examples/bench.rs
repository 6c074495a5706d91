#![allow(clippy::print_stdout)]
use std::time::Instant;
use tractwright::{
    case::Case,
    march::{Acoustic, Settings, Until},
};
fn text(n: usize, cells: usize, loss: bool) -> String {
    let mut parts = String::from(
        "  in: {kind: mouth, area: 38.5 cm2, lip_radius: 20 mm}\n  out: {kind: draw, corrected_flow: 150 g/s}\n",
    );
    let mut line = vec!["in".to_string()];
    for k in 0..n {
        parts += &format!(
            "  d{k}: {{kind: duct, length: {} mm, diameter: 70 mm, cell: 10 mm, wall: {{temperature: 60 degC}}}}\n",
            cells * 10
        );
        if k > 0 && loss {
            parts += &format!("  e{k}: {{kind: elbow, angle: 30 deg, radius: 140 mm}}\n");
            line.push(format!("e{k}"));
        }
        line.push(format!("d{k}"));
    }
    line.push("out".into());
    format!("parts:\n{parts}flow:\n  - [{}]\nrun: {{until: 1 s, cell: 10 mm}}\n", line.join(", "))
}
fn main() {
    for (name, t, cells) in [
        ("600", text(1, 600, false), 600),
        ("10000", text(1, 10000, false), 10000),
        ("15x40 links", text(15, 40, false), 600),
        ("15x40 loss", text(15, 40, true), 600),
    ] {
        for hancock in [false, true] {
            let t = if hancock { t.replace("cell: 10 mm}\n", "cell: 10 mm, predictor: hancock}\n") } else { t.clone() };
            let case = Case::from_text("b", &t).unwrap_or_else(|e| panic!("{e}"));
            let built = case.build("rest").unwrap();
            let s = Settings { courant: 0.8, until: Until::Time(1e9), record_every: 1e9 };
            let mut m = Acoustic::new(&built.network, built.initial.clone(), s);
            m.start().unwrap();
            let n = if cells > 1000 { 60 } else { 1000 };
            for _ in 0..n {
                m.step(1e9).unwrap();
            }
            let mut best = f64::INFINITY;
            for _ in 0..8 {
                let t0 = Instant::now();
                for _ in 0..n {
                    m.step(1e9).unwrap();
                }
                best = best.min(t0.elapsed().as_secs_f64() / n as f64);
            }
            println!("{name:12} hancock {hancock}: {:.3} us/step  {:.3e} cups", best * 1e6, cells as f64 / best);
        }
    }
}
