//! Sudden changes of area.

use super::{GAS, READ_BACK, beside, disc, flow_at, found, lost, measured, picture, published, rows};
use crate::bench::Bench;
use crate::check::{Failure, Findings, Limit, Measure, Row};
use crate::data;
use crate::figure::Figure;
use crate::oracle::expansion::SuddenExpansion;
use rayon::prelude::*;

/// Bore before a step [m].
const BORE: f64 = 0.05;

/// A step of the table, as a march finds it.
struct Step {
    ratio: f64,
    mach: f64,
    coefficient: f64,
    tabled: f64,
    share_lost: (f64, f64),
    pressure_ratio: (f64, f64),
}

impl Step {
    fn measure(row: &data::Row) -> Result<Self, Failure> {
        let (ratio, mach) = (row.number("A1_A2")?, row.number("M1")?);
        let no_solution = || Failure::NoSolution(format!("a step at Mach {mach}"));
        let tabled = SuddenExpansion::new(GAS, mach, ratio).ok_or_else(no_solution)?;
        // The draw takes its flow at the total pressure that is left behind the step.
        let flow = GAS.mass_flow(mach, disc(BORE), 1e5, 300.0) / tabled.total_pressure_ratio;
        let bench = Bench { behind: BORE / ratio.sqrt(), loss: None, ..Bench::straight(BORE, "", flow) };
        let [before, behind] = bench.measure()?;
        let exact = SuddenExpansion::new(GAS, before.mach(GAS), ratio).ok_or_else(no_solution)?;
        Ok(Self {
            ratio,
            mach: before.mach(GAS),
            coefficient: lost(&before, &behind) / before.head(GAS),
            tabled: row.number("K")?,
            share_lost: (lost(&before, &behind) / before.total_pressure, 1.0 - exact.total_pressure_ratio),
            pressure_ratio: (behind.pressure / before.pressure, exact.pressure_ratio),
        })
    }
}

pub(super) fn expansions() -> Result<Findings, Failure> {
    const LIMIT: Limit =
        Limit { value: 2e-3, why: "the balances hold at any Mach number; slow flow adds a linear part" };
    const PRESSURE: Limit = Limit { value: 1e-5, why: "the same balances, read back through the ducts" };
    let table = data::rows(data::SUDDEN_EXPANSION)?;
    let steps = table.par_iter().map(Step::measure).collect::<Result<Vec<_>, _>>()?;
    let mut all: Vec<Row> = steps
        .iter()
        .map(|step| {
            let quantity = format!("share of p0 lost, area ratio {}, Mach {:.2}", step.ratio, step.mach);
            Row::relative(quantity, step.share_lost.0, step.share_lost.1, LIMIT)
        })
        .collect();
    all.push(Row::worst("static pressure behind over before", steps.iter().map(|step| step.pressure_ratio), PRESSURE));
    let mut figure =
        Figure::new("Sudden expansion", "Mach number before the step", "total-pressure loss / velocity head before it");
    for ratio in [0.25, 0.5, 0.75_f64] {
        let here = || steps.iter().filter(move |step| (step.ratio - ratio).abs() < 1e-9);
        figure = figure
            .computed(format!("area ratio {ratio}"), here().map(|step| (step.mach, step.coefficient)))
            .reference(format!("table, {ratio}"), here().map(|step| (step.mach, step.tabled)));
    }
    found(all, figure)
}

pub(super) fn contractions() -> Result<Findings, Failure> {
    const SPREAD: Limit = Limit { value: 0.05, why: "what handbooks differ by" };
    const VELOCITY: f64 = 21.0;
    let of = |method| published("sudden_contraction", "A2/A1", method);
    let (table, rennels, linear) = (of("0.5 (1-A2/A1)^0.75")?, of("Rennels")?, of("0.5 (1-A2/A1)")?);
    // The shorter name begins like the longer one.
    let linear: Vec<_> = linear.into_iter().filter(|point| !table.contains(point)).collect();
    let points = measured(table.iter().map(|point| point.0), |ratio| {
        let bench = Bench { before: BORE / ratio.sqrt(), ..Bench::straight(BORE, "", flow_at(VELOCITY, BORE)) };
        let [before, behind] = Bench { loss: None, ..bench }.measure()?;
        Ok(lost(&before, &behind) / behind.head(GAS))
    })?;
    let mut all = rows("area ratio", &points, &table, READ_BACK);
    let others = [rennels, linear];
    let quantity = "outside the band of two other handbooks";
    all.push(Row::worst_by(Measure::Absolute, quantity, beside(&points, &others), SPREAD));
    let [rennels, linear] = others;
    let figure = picture("Sudden contraction", "area behind / before", &points, ("Idelchik", &table))
        .reference("Rennels", rennels)
        .reference("Crane", linear);
    found(all, figure)
}
