//! Steady states: how fast, beside the march that settles to them, and how the time grows with the number of cells.

use super::stopwatch::Stopwatch;
use crate::failure::Failure;
use std::io::Write;
use tractwright::case::{Built, Case};
use tractwright::march::slow::steady;
use tractwright::march::{Acoustic, March, Settings, Unobserved, Until};

/// The demo of two filters in a sealed box.
const DEMO: &str = include_str!("../../../../cases/coupe/twin_sealed.yaml");
const POINT: &str = "road";
/// Its length of a cell, and one that makes some 600 cells.
const CELL: [&str; 2] = ["cell: 8 mm", "cell: 2.95 mm"];
/// A flow of the draws, and its neighbour.
const FLOW: [&str; 2] = ["corrected_flow: 215 g/s", "corrected_flow: 210 g/s"];
/// Longest wait for the march to settle [s], and the ringing at which it has.
const SETTLED: (f64, f64) = (5.0, 1e-4);
/// Cells of a duct whose steady state is sought.
const CELLS: [u32; 3] = [300, 3_000, 30_000];

/// Prints what takes how long, the best of `runs`.
pub(super) fn print(runs: u32, out: &mut dyn Write) -> Result<(), Failure> {
    for cell in CELL {
        demo(&DEMO.replace(CELL[0], cell), runs, out)?;
    }
    growth(runs.min(3), out)
}

/// The steady state of the demo, beside the march that settles to it.
fn demo(text: &str, runs: u32, out: &mut dyn Write) -> Result<(), Failure> {
    let built = build(text, POINT)?;
    let neighbour = build(&text.replace(FLOW[0], FLOW[1]), POINT)?;
    let at_rest = || vec![0.0; built.network.layout.unknowns];
    let cells: usize = built.network.arena.ducts().map(|duct| built.network.arena.cells(duct)).sum();
    let from = steady(&neighbour.network, 0.0, neighbour.initial.clone(), at_rest())?;
    let cold = best(runs, || steady(&built.network, 0.0, built.initial.clone(), at_rest()))?;
    let warm = best(runs, || steady(&built.network, 0.0, from.y.clone(), from.z.clone()))?;
    let until = Until::Settled { at_most: SETTLED.0, tolerance: SETTLED.1 };
    let settings = Settings { march: March::Acoustic, from_steady: false, until, ..built.settings };
    let stopwatch = Stopwatch::start();
    let mut march = Acoustic::new(&built.network, built.initial.clone(), settings);
    march.run(&mut Unobserved)?;
    let settled = stopwatch.seconds();
    let head = format!("steady state of the twin-filter demo, {cells} cells");
    writeln!(out, "\n{head:52}         ms   steps   of the march")?;
    let first = "acoustic march from rest, ringing below 1e-4";
    writeln!(out, "{first:52}  {:9.1} {:7}", 1e3 * settled, march.clock.step)?;
    for (name, (seconds, found)) in [("cold, from rest", cold), ("warm, from 210 g/s to 215 g/s", warm)] {
        let (time, ratio) = (1e3 * seconds, settled / seconds);
        writeln!(out, "{name:52}  {time:9.2} {:7}   1/{ratio:.0}", found.iterations)?;
    }
    Ok(())
}

/// How the time of a steady state grows with the cells of a duct.
fn growth(runs: u32, out: &mut dyn Write) -> Result<(), Failure> {
    let head = "steady state of a duct with wall friction";
    writeln!(out, "\n{head:52}         ms   steps   us a cell and step")?;
    for count in CELLS {
        let built = build(&duct(count), tractwright::case::REST)?;
        let z = || vec![0.0; built.network.layout.unknowns];
        let (seconds, found) = best(runs, || steady(&built.network, 0.0, built.initial.clone(), z()))?;
        let each = 1e6 * seconds / (f64::from(count) * found.iterations as f64);
        writeln!(out, "{:52}  {:9.2} {:7} {each:11.2}", format!("{count} cells"), 1e3 * seconds, found.iterations)?;
    }
    Ok(())
}

fn build(text: &str, point: &str) -> Result<Built, Failure> {
    Ok(Case::from_text("speed", text)?.build(point)?)
}

/// A duct of so many cells between a mouth and a draw.
fn duct(cells: u32) -> String {
    format!(
        "parts:\n  side: {{kind: mouth, area: 38.5 cm2, lip_radius: 20 mm}}\n  tube: {{kind: duct, length: 3 m, diameter: 70 mm}}\n  \
         turbo: {{kind: draw, corrected_flow: 150 g/s}}\nflow: [[side, tube, turbo]]\nrun: {{until: steady, cell: {} mm}}\n",
        3000.0 / f64::from(cells)
    )
}

/// Least time of so many runs [s], with what the last gave.
fn best<T, E>(runs: u32, mut once: impl FnMut() -> Result<T, E>) -> Result<(f64, T), E> {
    let stopwatch = Stopwatch::start();
    let mut value = once()?;
    let mut least = stopwatch.seconds();
    for _ in 1..runs {
        let stopwatch = Stopwatch::start();
        value = once()?;
        least = least.min(stopwatch.seconds());
    }
    Ok((least, value))
}
