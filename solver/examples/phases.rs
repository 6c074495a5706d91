#![allow(clippy::print_stdout)]
use std::time::Instant;
use tractwright::{
    case::Case,
    march::{Acoustic, Settings, Until},
};
fn time(name: &str, n: usize, cells: usize, mut f: impl FnMut()) {
    let mut best = f64::INFINITY;
    for _ in 0..15 {
        let t = Instant::now();
        for _ in 0..n {
            f();
        }
        best = best.min(t.elapsed().as_secs_f64() / n as f64);
    }
    println!("{name:14} {:9.3} us {:7.2} ns/cell", best * 1e6, best * 1e9 / cells as f64);
}
fn main() {
    for cells in [600usize, 10000] {
        let t = format!(
            "parts:\n  in: {{kind: mouth, area: 38.5 cm2, lip_radius: 20 mm}}\n  out: {{kind: draw, corrected_flow: 150 g/s}}\n  d0: {{kind: duct, length: {} mm, diameter: 70 mm, cell: 10 mm, wall: {{temperature: 60 degC}}}}\nflow:\n  - [in, d0, out]\nrun: {{until: 1 s, cell: 10 mm}}\n",
            cells * 10
        );
        let case = Case::from_text("b", &t).unwrap();
        let built = case.build("rest").unwrap();
        let s = Settings { courant: 0.8, until: Until::Time(1e9), record_every: 1e9 };
        let mut m = Acoustic::new(&built.network, built.initial.clone(), s);
        m.start().unwrap();
        let n = 600_000 / cells;
        for _ in 0..n {
            m.step(1e9).unwrap();
        }
        let net = &built.network;
        let y = m.y.clone();
        let mut z = m.z.clone();
        let mut w = net.work();
        let mut k = vec![0.0; y.len()];
        let nc = net.layout.cells;
        println!("cells {cells}, origins {}", net.origins.len());
        time("primitives", n, cells, || {
            net.arena.primitives(&y[..nc], &mut w.cells).unwrap();
        });
        time("ghosts", n, cells, || net.arena.fill_ghosts(&mut w.cells));
        time("faces", n, cells, || {
            net.arena.face_fluxes(&mut w.cells, None);
        });
        time("look", n, cells, || {
            net.look(&y, None, &mut w).unwrap();
        });
        time("balance", n, cells, || {
            net.balance(0.0, &y, &mut z, &mut w).unwrap();
        });
        time("rates", n, cells, || net.exchange(&y, &mut w, &mut k));
        time("derivative", n, cells, || net.arena.derivative(&w.cells, &mut k[..nc]));
        let base = y.clone();
        let mut yy = y.clone();
        time("advance", n, cells, || net.arena.advance(&base[..nc], &mut yy[..nc], 1e-9, 0.5, &w.cells));
        let mut i = tractwright::ledger::Integrals::new(net);
        time("integrals", n, cells, || {
            i.begin();
            i.add(net, &w, 1e-5);
        });
        time("step", n, cells, || {
            m.step(1e9).unwrap();
        });
    }
}
