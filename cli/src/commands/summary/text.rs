//! The summary as a table.

use super::measured;
use super::power::{self, Told};
use super::soak;
use crate::failure::Failure;
use crate::ledgers::{Booked, Ledgers};
use crate::opened::Opened;
use crate::print::number::{celsius, fixed, grams, kilopascals, signed, trimmed};
use crate::print::table::wrap;
use crate::print::{Row, Table, WIDTH, names, point};
use tractwright::case::Task;
use tractwright::ledger::{BranchSummary, LossItem, MeterSummary, Summary};

/// Share of the air of an origin below which it is not listed [1].
const TRACE: f64 = 5e-4;
/// Rise of temperature below which a cause is not listed [K]; it would read 0.00.
const TRACE_WARM: f64 = 5e-3;
/// How far a closed ledger may be off [1].
const CLOSED_WITHIN: f64 = 0.02;

/// The summary of a result.
///
/// # Errors
/// The file cannot be read.
pub(super) fn of(opened: &Opened) -> Result<String, Failure> {
    let summary = &opened.summary;
    let mut text = String::new();
    paragraph(&mut text, &title(opened));
    let (phases, walls) = (opened.phases()?, opened.reading.wall_figures()?);
    if !phases.is_empty() {
        text.push_str(&soak::phases(&phases));
        for line in soak::figures(&phases) {
            paragraph(&mut text, &line);
        }
        let last = phases.last().map_or("", |phase| phase.point.as_str());
        text.push_str(&format!("\nLedgers of the last phase, `{last}`:\n"));
    }
    for told in power::of(opened)? {
        match told {
            Told::Table(table) => text.push_str(&table),
            Told::Words(words) => paragraph(&mut text, &words),
        }
    }
    if matches!(opened.point.task, Task::RollOn { .. }) {
        paragraph(&mut text, "No ledgers: the air that the car meets changes from one instant to the next.");
        let steps = opened.number("steps")?.unwrap_or(f64::NAN);
        let (outcome, end) = (&opened.reading.outcome, trimmed(opened.end()?, 4));
        paragraph(
            &mut text,
            &format!("Run: {outcome} at {end} s, {} steps, {} cells.", fixed(steps, 0), opened.cells()),
        );
        for note in &opened.reading.notes {
            paragraph(&mut text, &format!("NOTE: {note}."));
        }
        return Ok(text);
    }
    if !matches!(opened.point.task, Task::Hold) {
        paragraph(&mut text, "Means and ledgers over the end of the run:");
    }
    if summary.branches.is_empty() {
        paragraph(&mut text, "no draw takes air from this tract: there is no branch to tell of");
    } else {
        text.push_str(&table(summary).render());
        paragraph(&mut text, &closures(&summary.branches));
        paragraph(&mut text, &weakest(&summary.branches));
    }
    for meter in &summary.meters {
        paragraph(&mut text, &air_meter(meter));
    }
    for (log, beside) in &opened.beside {
        paragraph(&mut text, &measured::words(opened, log, beside));
        if let Some(table) = measured::table(beside) {
            text.push_str(&format!("{}\n", table.render()));
        }
        measured::remarks(beside).iter().for_each(|words| paragraph(&mut text, words));
    }
    if !walls.is_empty() {
        text.push_str(&soak::walls(&walls).render());
    }
    for warning in soak::warnings(&walls) {
        paragraph(&mut text, &warning);
    }
    paragraph(&mut text, &balances(opened)?);
    if !summary.branches.is_empty() {
        paragraph(&mut text, &caution(&summary.branches));
    }
    Ok(text)
}

fn paragraph(text: &mut String, words: &str) {
    for line in wrap(words, WIDTH) {
        text.push_str(&line);
        text.push('\n');
    }
}

fn air_meter(meter: &MeterSummary) -> String {
    let [bore, calibrated] = [meter.bore, meter.calibrated_bore].map(|bore| trimmed(1e3 * bore, 1));
    format!(
        "Air meter in {}, {} mm from its first end, bore {bore} mm, calibrated in {calibrated} mm: reads {} g/s of {} g/s ({} %). By the mean flux of \
         the section: profile and swirl are not in it.",
        meter.part,
        trimmed(1e3 * meter.at, 1),
        grams(meter.reading),
        grams(meter.mass_flow),
        signed(100.0 * (meter.ratio - 1.0), 2)
    )
}

fn title(opened: &Opened) -> String {
    let mut parts = vec![opened.reading.case_name.clone()];
    if !opened.reading.case.title.is_empty() {
        parts.push(opened.reading.case.title.clone());
    }
    parts.push(point::describe(&opened.point));
    parts.push(point::air(&opened.outside));
    parts.push(format!("q {} kPa", fixed(1e-3 * opened.summary.dynamic_pressure, 2)));
    parts.join(" | ")
}

/// Everything that the branches have, side by side.
pub(crate) fn table(summary: &Summary) -> Table {
    let branches = &summary.branches;
    let ledgers = Ledgers::of(branches);
    let columns = Columns { branches, pair: branches.len() == 2 };
    let bores = distinct(branches.iter().map(|branch| format!("{} mm", trimmed(1e3 * branch.bore, 1))));
    let mut heads = ledgers.heads.clone();
    if columns.pair {
        heads.push(format!("{}-{}", heads[1], heads[0]));
    }
    let head = Row::new(format!("compressor plane, {} bore", bores.join("/")), heads).noted("basis");
    let demands = distinct(branches.iter().map(|branch| branch.demand.clone())).join("; ");
    let mut rows = vec![columns.row("mass flow, g/s", |b| b.mass_flow, grams, |d| signed(1e3 * d, 1)).noted(demands)];
    if branches.len() > 1 {
        rows.push(columns.row("share of the flow, %", |b| 100.0 * b.flow_share, |s| fixed(s, 1), |d| signed(d, 1)));
    }
    rows.extend([
        columns
            .row("flow swing, peak to peak, g/s", |b| b.flow_swing, grams, |d| signed(1e3 * d, 1))
            .noted("over the window of the means"),
        columns.row("total p02, kPa", |b| b.total_pressure, kilopascals, |d| signed(1e-3 * d, 3)),
        columns.row("recovery p02/p00", |b| b.recovery, |r| fixed(r, 4), |d| signed(d, 4)),
        columns
            .row("static depression, kPa", |b| b.depression, kilopascals, |d| signed(1e-3 * d, 3))
            .noted("a wall tap reads this"),
    ]);
    rows.extend(origins(branches));
    rows.push(columns.row(
        "lost p00-p02, kPa (%)",
        |b| b.lost,
        |p| format!("{} (100)", kilopascals(p)),
        |d| signed(1e-3 * d, 3),
    ));
    rows.extend(ledgers.losses.iter().map(|loss| columns.loss(loss)));
    rows.push(temperatures(&columns));
    let warm = |heat: &&Booked| heat.values.iter().flatten().any(|rise| rise.abs() >= TRACE_WARM);
    rows.extend(ledgers.heat.iter().filter(warm).map(|heat| columns.warmed(heat)));
    rows.extend(causes(&columns));
    Table { head, rows }
}

/// The rise by root cause, the warmest first.
fn causes(columns: &Columns<'_>) -> Vec<Row> {
    let branches = columns.branches;
    let rise = |branch: &BranchSummary, cause: &str| {
        branch.causes.iter().find(|found| found.cause == cause).map_or(0.0, |found| found.rise)
    };
    let all: Vec<Vec<String>> =
        branches.iter().map(|branch| branch.causes.iter().map(|found| found.cause.clone()).collect()).collect();
    let listed =
        names::merged(&all).into_iter().filter(|cause| branches.iter().any(|b| rise(b, cause).abs() >= TRACE_WARM));
    let mut rows: Vec<Row> = listed
        .map(|cause| {
            let written = |value: f64| format!("{} K", signed(value, 2));
            columns.row(&format!("  by {cause}"), |branch| rise(branch, &cause), written, |d| signed(d, 2))
        })
        .collect();
    if !rows.is_empty() {
        let whole = |branch: &BranchSummary| branch.causes.iter().map(|found| found.rise).sum::<f64>();
        let written = |value: f64| format!("{} K", signed(value, 2));
        rows.insert(0, columns.row("warmed, by root cause", whole, written, |d| signed(d, 2)));
    }
    rows
}

/// Writes rows with one value a branch and, for two branches, their difference.
struct Columns<'a> {
    branches: &'a [BranchSummary],
    pair: bool,
}

impl Columns<'_> {
    fn row(
        &self,
        label: &str,
        value: impl Fn(&BranchSummary) -> f64,
        written: impl Fn(f64) -> String,
        difference: impl Fn(f64) -> String,
    ) -> Row {
        let values: Vec<f64> = self.branches.iter().map(value).collect();
        let mut cells: Vec<String> = values.iter().map(|value| written(*value)).collect();
        if self.pair {
            cells.push(difference(values[1] - values[0]));
        }
        Row::new(label, cells)
    }

    fn loss(&self, loss: &Booked) -> Row {
        let cell = |(value, share): (&Option<f64>, &Option<f64>)| match (value, share) {
            (Some(value), Some(share)) => {
                format!("{} {:>5}", kilopascals(*value), format!("({})", fixed(100.0 * share, 0)))
            }
            _ => String::new(),
        };
        let cells = loss.values.iter().zip(&loss.shares).map(cell).collect();
        self.with_difference(&loss.label, cells, loss, |d| signed(1e-3 * d, 3)).noted(loss.basis.join("; "))
    }

    fn warmed(&self, heat: &Booked) -> Row {
        let cell = |value: &Option<f64>| value.map_or_else(String::new, |rise| format!("{} K", signed(rise, 2)));
        let cells = heat.values.iter().map(cell).collect();
        self.with_difference(&heat.label, cells, heat, |d| signed(d, 2))
    }

    fn with_difference(
        &self,
        label: &str,
        mut cells: Vec<String>,
        booked: &Booked,
        difference: impl Fn(f64) -> String,
    ) -> Row {
        if self.pair {
            let value = |branch: usize| booked.values[branch].unwrap_or(0.0);
            cells.push(difference(value(1) - value(0)));
        }
        Row::new(format!("  {label}"), cells)
    }
}

fn temperatures(columns: &Columns<'_>) -> Row {
    let mut row = columns.row("T02, degC (rise, K)", |b| b.total_temperature, celsius, |d| signed(d, 1));
    for (cell, branch) in row.cells.iter_mut().zip(columns.branches) {
        cell.push_str(&format!(" ({})", fixed(branch.rise, 1)));
    }
    row
}

/// Where the air came in: one row for two places, one a place for more.
fn origins(branches: &[BranchSummary]) -> Vec<Row> {
    let share = |branch: &BranchSummary, origin: &str| {
        branch.origins.iter().find(|found| found.origin == origin).map_or(0.0, |found| found.share)
    };
    let all: Vec<Vec<String>> =
        branches.iter().map(|branch| branch.origins.iter().map(|found| found.origin.clone()).collect()).collect();
    let listed: Vec<String> = names::merged(&all)
        .into_iter()
        .filter(|origin| branches.iter().any(|branch| share(branch, origin) >= TRACE))
        .collect();
    let cell = |branch: &BranchSummary, origin: &String| fixed(100.0 * share(branch, origin), 1);
    let row = |origin: &String| {
        Row::new(format!("air from {origin}, %"), branches.iter().map(|branch| cell(branch, origin)).collect())
    };
    listed.iter().map(row).collect()
}

/// How far the ledgers are from closing.
pub(crate) fn closures(branches: &[BranchSummary]) -> String {
    let percents = |of: fn(&BranchSummary) -> f64| {
        branches.iter().map(|branch| fixed(100.0 * of(branch), 1)).collect::<Vec<_>>().join("/")
    };
    let off = |of: fn(&BranchSummary) -> f64| {
        branches.iter().map(|branch| (of(branch) - 1.0).abs()).fold(0.0, f64::max) > CLOSED_WITHIN
    };
    let verdict = match (off(|b| b.dissipation_closure), off(|b| b.heat_closure)) {
        (false, false) => "Ledgers close",
        (true, false) => "THE LOSS LEDGER DOES NOT CLOSE",
        (false, true) => "THE HEAT LEDGER DOES NOT CLOSE",
        (true, true) => "NEITHER LEDGER CLOSES",
    };
    let (dissipation, heat) = (percents(|b| b.dissipation_closure), percents(|b| b.heat_closure));
    format!("{verdict}: dissipation {dissipation} %, heat {heat} %.")
}

/// The assumed input on which most rests, and what would replace it.
pub(crate) fn weakest(branches: &[BranchSummary]) -> String {
    let assumed = branches.iter().flat_map(|branch| &branch.losses).filter(|loss| loss.basis == "ASSUMED");
    let Some(loss) = assumed.max_by(|a, b| a.lost.abs().total_cmp(&b.lost.abs())) else {
        return "No loss rests on an assumed input.".to_owned();
    };
    let what = if loss.what.is_empty() { String::new() } else { format!(", {}", loss.what) };
    format!(
        "Weakest input: {} of {}{what} ({} kPa); measure {} first.",
        loss.source,
        loss.part,
        kilopascals(loss.lost),
        measurement(loss)
    )
}

/// What to measure in place of an assumption.
fn measurement(loss: &LossItem) -> String {
    match loss.what.as_str() {
        "jets lost" => format!("the pressure in {} and the total pressure behind its outlets", loss.part),
        "mouth" => format!("the static pressure behind {} against the road speed", loss.part),
        _ => format!("the pressure before and behind {}", loss.part),
    }
}

/// How the run went, and what it did not keep.
///
/// # Errors
/// The file cannot be read.
pub(crate) fn balances(opened: &Opened) -> Result<String, Failure> {
    let (summary, totals) = (&opened.summary, &opened.summary.totals);
    let count = |value: Option<f64>| value.map_or_else(|| "?".to_owned(), |value| fixed(value, 0));
    let run = match opened.reading.outcome.as_str() {
        "steady" => format!("Run: steady state, {} steps, {} cells", count(opened.number("steps")?), opened.cells()),
        outcome => format!(
            "Run: {outcome} at {} s, {} steps{}, {} cells; means over {} to {} s",
            trimmed(opened.end()?, 4),
            count(opened.number("steps")?),
            step_counts(opened)?,
            opened.cells(),
            trimmed(summary.window.from, 4),
            trimmed(summary.window.to, 4),
        ),
    };
    let mut text = format!(
        "{run}. Balances of the whole run: mass {:.0e}, energy {:.0e} of what came in ({} g/s).",
        totals.mass_error,
        totals.energy_error,
        grams(totals.inflow),
    );
    if let Some(reason) = &opened.reading.stopped_by {
        text.push_str(&format!(" STOPPED BY THE PHYSICS: {reason}."));
    }
    for note in &opened.reading.notes {
        text.push_str(&format!(" NOTE: {note}."));
    }
    if opened.reading.outcome == "not settled" {
        text.push_str(" NOT SETTLED: the means still ring.");
    }
    Ok(text)
}

/// How often a step did not go as it was meant to, by the counts that the march keeps.
fn step_counts(opened: &Opened) -> Result<String, Failure> {
    let mut counts = Vec::new();
    for (attribute, word) in [("retaken_steps", "retaken"), ("choked_steps", "choked"), ("refused_steps", "refused")] {
        if let Some(count) = opened.number(attribute)? {
            counts.push(format!("{} {word}", fixed(count, 0)));
        }
    }
    Ok(if counts.is_empty() { String::new() } else { format!(" ({})", counts.join(", ")) })
}

/// What the numbers are not.
fn caution(branches: &[BranchSummary]) -> String {
    let assumed = |branch: &BranchSummary| {
        let assumed = branch.losses.iter().filter(|loss| loss.basis == "ASSUMED");
        fixed(100.0 * assumed.map(|loss| loss.share).sum::<f64>(), 0)
    };
    let shares: Vec<String> = branches.iter().map(assumed).collect();
    format!(
        "A prediction without a range yet: {} % of the loss rests on assumed inputs; not validated on this car.",
        shares.join("/")
    )
}

/// The texts, each once.
fn distinct(texts: impl Iterator<Item = String>) -> Vec<String> {
    let mut all = Vec::new();
    for text in texts {
        if !all.contains(&text) {
            all.push(text);
        }
    }
    all
}
