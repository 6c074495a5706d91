//! Values of a small tract, found again from its own readings with noise.

use crate::check::{Failure, Findings, Limit, Row, rows_only};
use rayon::prelude::*;
use tractwright::case::Case;
use tractwright::measured::{Mean, Station};
use tractwright::study::Dice;
use tractwright::study::fit::{Alone, Certainty, Fitted, Model, Spreads, Stations, Stop, Unknown, least_squares};

/// Repeats, and what the numbers are.
const REPEATS: usize = 200;
const TRUE: [f64; 2] = [0.66, 0.71];
/// Flows of the stations [kg/s].
const FLOWS: [f64; 2] = [0.08, 0.14];
/// Standard deviations within which a normal value lies in 95 of 100 cases.
const NINETY_FIVE: f64 = 1.959_964;

const TRACT: &str = "
outside: {pressure: 99.6 kPa, temperature: 24 degC}
points: {bench: {speed: 0 m/s}}
parts:
  nose: {kind: mouth, from: outside, area: 40 cm2}
  snout: {kind: duct, length: 200 mm, diameter: 70 mm}
  plate: {kind: orifice_plate, diameter: 55 mm, discharge_coefficient: 0.65}
  box: {kind: plenum, volume: 8 L}
  tube: {kind: duct, length: 200 mm, diameter: 70 mm}
  rear: {kind: orifice_plate, diameter: 60 mm, discharge_coefficient: 0.72}
  end: {kind: duct, length: 100 mm, diameter: 70 mm}
  turbo: {kind: draw, flow: 100 g/s}
flow: [[nose, snout, plate, box], [box, tube, rear, end, turbo]]
run: {until: steady, cell: 100 mm}
measured:
  point: bench
  columns:
    flow: {unit: g/s, sets: parts.turbo.flow}
    p_box: {tap: box, reads: static, pressure: depression, unit: Pa, accuracy: 10 Pa}
    p_turbo: {tap: turbo, reads: total, pressure: depression, unit: Pa, accuracy: 20 Pa}
";

/// The rows.
pub(super) fn run() -> Result<Findings, Failure> {
    const BAND: Limit =
        Limit { value: 0.0, why: "three standard deviations of a share of 200 repeats of probability 0.95" };
    const SQUARES: Limit = Limit { value: 0.0, why: "four standard errors of the mean of 200 sums of 2 squares" };
    let repeats: Vec<Repeat> = (0..REPEATS).into_par_iter().map(repeat).collect::<Result<_, _>>()?;
    let half = 3.0 * (0.95 * 0.05 / REPEATS as f64).sqrt();
    let share = |number: usize| {
        repeats.iter().filter(|repeat| repeat.off[number].abs() <= NINETY_FIVE).count() as f64 / REPEATS as f64
    };
    let mut rows: Vec<Row> = ["first", "second"]
        .iter()
        .enumerate()
        .map(|(number, name)| {
            let what = format!("share of 95 % intervals that hold the {name} coefficient");
            Row::within(what, share(number), [0.95 - half, (0.95 + half).min(1.0)], BAND)
        })
        .collect();
    // Four readings, two values: the sum of squares has a mean of 2 and a variance of 4.
    let mean = repeats.iter().map(|repeat| repeat.squares).sum::<f64>() / REPEATS as f64;
    let error = 4.0 * (4.0 / REPEATS as f64).sqrt();
    rows.push(Row::within("mean sum of squares of the residuals", mean, [2.0 - error, 2.0 + error], SQUARES));
    rows_only(Ok(rows))
}

/// What one fit came to.
struct Repeat {
    /// Errors of the values in their standard errors.
    off: [f64; 2],
    squares: f64,
}

fn repeat(number: usize) -> Result<Repeat, Failure> {
    let case = Case::from_text("tract", TRACT).map_err(tractwright::error::Error::from)?;
    let measured = case.measured.clone().ok_or_else(|| Failure::Missing("measured".to_owned()))?;
    let station = |flow: &f64| {
        let mean = |accuracy: f64| Some(Mean { value: 0.0, spread: accuracy, rows: 1, runs: 1 });
        let means = measured.channels.iter().map(|channel| mean(channel.accuracy)).collect();
        Station {
            name: format!("{flow} kg/s"),
            log: 0,
            line: 1,
            sets: vec![("parts.turbo.flow".to_owned(), *flow)],
            means,
        }
    };
    let stations: Vec<Station> = FLOWS.iter().map(station).collect();
    let field = |part: &str| Fitted::of(&case, &format!("parts.{part}.discharge_coefficient"));
    let fitted: Vec<Fitted> =
        ["plate", "rear"].into_iter().map(field).collect::<Result<_, _>>().map_err(tractwright::error::Error::from)?;
    let unknowns: Vec<Unknown> = fitted.iter().map(|fitted| fitted.unknown.clone()).collect();
    let mut model = Stations::new(&case, &measured, &stations, &fitted, &[], &Alone);
    let no_fit = |why: String| Failure::NoSolution(format!("repeat {number}: {why}"));
    let exact = model.residuals(&TRUE).map_err(|why| no_fit(why.to_string()))?;
    let dice = Dice::new(5);
    let read: Vec<f64> = model
        .fit_readings()
        .iter()
        .zip(exact)
        .enumerate()
        .map(|(row, (reading, off))| {
            reading.value + (off + dice.normal(&format!("reading {row}"), number)) * reading.spread
        })
        .collect();
    model.read_instead(&read);
    let found = least_squares(&mut model, &unknowns, &Stop::default()).map_err(|why| no_fit(format!("{why:?}")))?;
    let certainty = Certainty::of(&found, &unknowns, Spreads::Known).ok_or_else(|| no_fit("no errors".to_owned()))?;
    let off = [0, 1].map(|k| (found.values[k] - TRUE[k]) / certainty.errors[k].unwrap_or(f64::NAN));
    Ok(Repeat { off, squares: certainty.squares })
}
