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
/// By how much a gauge may be off in all of its readings alike, as one standard deviation [Pa].
const OFFSET: f64 = 15.0;
const GAUGES: [&str; 2] = ["p_box", "p_turbo"];
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
    const AGAIN: Limit =
        Limit { value: 0.0, why: "they hold too rarely: what is left out of a fit is left out of its errors" };
    let half = 3.0 * (0.95 * 0.05 / REPEATS as f64).sqrt();
    let repeats = |gauges: Gauges| -> Result<Vec<Repeat>, Failure> {
        (0..REPEATS).into_par_iter().map(|number| repeat(number, gauges)).collect()
    };
    let share = |repeats: &[Repeat], number: usize| {
        repeats.iter().filter(|repeat| repeat.off[number].abs() <= NINETY_FIVE).count() as f64 / REPEATS as f64
    };
    let mut rows: Vec<Row> = Vec::new();
    let values = ["the first coefficient", "the second coefficient", "the offset before", "the offset behind"];
    for (gauges, with) in [(Gauges::Right, ""), (Gauges::OffAndFitted, ", gauges off by what is fitted")] {
        let repeats = repeats(gauges)?;
        for (number, name) in values.iter().take(repeats[0].off.len()).enumerate() {
            let what = format!("share of 95 % intervals that hold {name}{with}");
            rows.push(Row::within(what, share(&repeats, number), [0.95 - half, (0.95 + half).min(1.0)], BAND));
        }
        // Two rows more than values: the sum of squares has a mean of 2 and a variance of 4.
        let mean = repeats.iter().map(|repeat| repeat.squares).sum::<f64>() / REPEATS as f64;
        let error = 4.0 * (4.0 / REPEATS as f64).sqrt();
        let what = format!("mean sum of squares of the residuals{with}");
        rows.push(Row::within(what, mean, [2.0 - error, 2.0 + error], SQUARES));
    }
    let repeats = repeats(Gauges::OffUnknown)?;
    let what = "share of 95 % intervals that hold the second coefficient, gauges off by what nobody asks for";
    rows.push(Row::within(what.to_owned(), share(&repeats, 1), [0.0, 0.95 - half], AGAIN));
    rows_only(Ok(rows))
}

/// What the gauges are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Gauges {
    /// Wrong in each reading on its own.
    Right,
    /// Off in all readings alike besides, which is fitted with a prior.
    OffAndFitted,
    /// The same, and nothing of it is fitted.
    OffUnknown,
}

/// What one fit came to.
struct Repeat {
    /// Errors of the values in their standard errors.
    off: Vec<f64>,
    squares: f64,
}

fn repeat(number: usize, gauges: Gauges) -> Result<Repeat, Failure> {
    let offset = if gauges == Gauges::OffAndFitted { format!(", offset: 0 +- {OFFSET} Pa}}") } else { "}".to_owned() };
    let text = TRACT.replace("0 Pa}", &format!("0 Pa{offset}"));
    let case = Case::from_text("tract", &text).map_err(tractwright::error::Error::from)?;
    let measured = case.measured.clone().ok_or_else(|| Failure::Missing("measured".to_owned()))?;
    let station = |flow: &f64| {
        let mean = |accuracy: f64| Some(Mean { value: 0.0, spread: accuracy, rows: 1, runs: 1 });
        let means = measured.channels.iter().map(|channel| mean(channel.accuracy)).collect();
        Station {
            name: format!("{flow} kg/s"),
            file: String::new(),
            line: 1,
            sets: vec![("parts.turbo.flow".to_owned(), *flow)],
            means,
        }
    };
    let stations: Vec<Station> = FLOWS.iter().map(station).collect();
    let paths = ["plate", "rear"].map(|part| format!("parts.{part}.discharge_coefficient"));
    let offsets = GAUGES.map(|gauge| format!("measured.columns.{gauge}.offset"));
    let offsets = offsets.into_iter().filter(|_| gauges == Gauges::OffAndFitted);
    let fitted = paths.into_iter().chain(offsets).map(|path| Fitted::of(&case, &path));
    let fitted: Vec<Fitted> = fitted.collect::<Result<_, _>>().map_err(tractwright::error::Error::from)?;
    let unknowns: Vec<Unknown> = fitted.iter().map(|fitted| fitted.unknown.clone()).collect();
    let mut model = Stations::new(&case, &measured, &stations, &fitted, &[], &Alone);
    let no_fit = |why: String| Failure::NoSolution(format!("repeat {number}: {why}"));
    let dice = Dice::new(5);
    let off = GAUGES.map(|gauge| match gauges {
        Gauges::Right => 0.0,
        _ => OFFSET * dice.normal(&format!("gauge {gauge}"), number),
    });
    let truth: Vec<f64> = TRUE.into_iter().chain(off).take(fitted.len()).collect();
    let exact = model.residuals(&truth).map_err(|why| no_fit(why.to_string()))?;
    // Where the offsets are fitted they are in the residuals already.
    let more = |channel: usize| {
        let own = GAUGES.iter().position(|gauge| measured.channels[channel].name == *gauge);
        own.filter(|_| gauges == Gauges::OffUnknown).map_or(0.0, |gauge| off[gauge])
    };
    let read: Vec<f64> = model
        .fit_readings()
        .iter()
        .zip(exact)
        .enumerate()
        .map(|(row, (reading, off))| {
            reading.value
                + more(reading.channel)
                + (off + dice.normal(&format!("reading {row}"), number)) * reading.spread
        })
        .collect();
    model.read_instead(&read);
    let found = least_squares(&mut model, &unknowns, &Stop::default()).map_err(|why| no_fit(format!("{why:?}")))?;
    let certainty = Certainty::of(&found, &unknowns, Spreads::Known).ok_or_else(|| no_fit("no errors".to_owned()))?;
    let known = truth.iter().zip(&found.values).zip(&certainty.errors);
    let off = known.map(|((truth, value), error)| (value - truth) / error.unwrap_or(f64::NAN)).collect();
    Ok(Repeat { off, squares: certainty.squares })
}
