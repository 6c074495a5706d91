//! What a study says: the best runs at each point, the front of two aims, the failures.

use crate::failure::Failure;
use crate::print::number::trimmed;
use crate::print::study::{printed, with_unit, written};
use crate::print::{Row as Line, Table};
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::io::Write;
use std::path::Path;
use tractwright::study::journal::Ended;
use tractwright::study::plan::{Plan, What};
use tractwright::study::rank::{front, ranked};
use tractwright::study::table::{Row, Rows};
use tractwright::study::{Of, Quantity};

/// Best runs that are shown for each point.
const SHOWN: usize = 10;
/// Runs of a front that are shown.
const SHOWN_OF_FRONT: usize = 15;
/// Failures that are shown.
const FAILURES: usize = 10;
/// Version of the form of the JSON output.
const SCHEMA: u32 = 1;

/// The answer for people.
pub(super) fn answer(plan: &Plan, rows: &Rows<'_>, path: &Path) -> String {
    let mut text = String::new();
    let title = if plan.title.is_empty() { &plan.file } else { &plan.title };
    let count = |is: &dyn Fn(&Row) -> bool| rows.iter().filter(|row| is(row)).count();
    let done = count(&Row::is_done);
    let missing = count(&|row| row.ended.is_none());
    let failed = rows.count() - done - missing;
    // Writing to a text cannot fail.
    let _ = writeln!(
        text,
        "{title}\n{done} of {} runs done, {failed} failed, {missing} missing; all in {}",
        rows.count(),
        path.display()
    );
    for (point, name) in plan.points.iter().enumerate() {
        let found = ranked(plan, rows, point);
        let here = count(&|row| row.run.point == point && row.is_done());
        let asked = if plan.limits.is_empty() {
            String::new()
        } else {
            format!("; {} of {here} meet what is required", found.len())
        };
        let (shown, how) = match (plan.goals.first(), front(plan, rows, &found)) {
            (_, front) if !front.is_empty() => {
                let count = front.len();
                (thinned(front), format!("the {count} runs that none beats in both aims"))
            }
            (Some(goal), _) => {
                let order = if goal.more { "most" } else { "least" };
                (found.into_iter().take(SHOWN).collect(), format!("{order} {} first", goal.what.name(&plan.variables)))
            }
            (None, _) => (found.into_iter().take(SHOWN).collect(), "in the order of the study".to_owned()),
        };
        let _ = writeln!(text, "\n{name}: {how}{asked}");
        if !shown.is_empty() {
            let shown: Vec<(usize, Row)> =
                shown.into_iter().filter_map(|number| Some((number, rows.get(number)?))).collect();
            text.push_str(&table(plan, &shown).render());
        }
    }
    failures(plan, rows, &mut text);
    text
}

/// Some runs of a long front, its ends among them.
fn thinned(front: Vec<usize>) -> Vec<usize> {
    let last = front.len() - 1;
    if last < SHOWN_OF_FRONT {
        return front;
    }
    (0..SHOWN_OF_FRONT).map(|place| front[place * last / (SHOWN_OF_FRONT - 1)]).collect()
}

/// Some runs by their numbers, with inputs and figures.
pub(crate) fn table(plan: &Plan, shown: &[(usize, Row)]) -> Table {
    let whats = whats(plan, shown);
    let mut head: Vec<String> =
        plan.variables.iter().map(|variable| with_unit(&variable.name, variable.unit.symbol)).collect();
    head.extend(whats.iter().map(|what| printed(what, plan)));
    let line = |(number, row): &(usize, Row)| {
        let mut cells: Vec<String> = row.run.numbers.iter().map(|number| trimmed(*number, 4)).collect();
        cells.extend(whats.iter().map(|what| row.value(what).map_or_else(String::new, |value| written(what, value))));
        Line::new(format!("{number} {}", plan.layout_of(&row.run).name), cells)
    };
    Table { head: Line::new("run, layout", head), rows: shown.iter().map(line).collect() }
}

/// The figures of the columns: those that the study looks at, then those that everybody wants to see.
pub(crate) fn whats(plan: &Plan, shown: &[(usize, Row)]) -> Vec<What> {
    let asked = plan.goals.iter().map(|goal| &goal.what).chain(plan.limits.iter().map(|limit| &limit.what)).cloned();
    let whole = [Quantity::Power, Quantity::Recovery, Quantity::InletTemperature]
        .map(|quantity| What::Figure(quantity, Of::Whole));
    let mut whats: Vec<What> = Vec::new();
    for what in asked.chain(whole) {
        let there = shown.iter().any(|(_, row)| row.value(&what).is_some());
        if there && !matches!(what, What::Variable(_)) && !whats.contains(&what) {
            whats.push(what);
        }
    }
    whats
}

fn failures(plan: &Plan, rows: &Rows<'_>, text: &mut String) {
    let (mut told, mut more) = (0, 0);
    for (number, row) in rows.iter().enumerate() {
        let Some(Ended::Failed(why)) = &row.ended else { continue };
        if told == FAILURES {
            more += 1;
            continue;
        }
        if told == 0 {
            let _ = writeln!(text, "\nfailed:");
        }
        told += 1;
        let _ = writeln!(text, "  {number} {}: {why}", super::heading(plan, &row.run));
    }
    if more > 0 {
        let _ = writeln!(text, "  and {more} more; the table has all");
    }
}

/// The answer for programs; the runs themselves stand in the table.
///
/// # Errors
/// Nobody takes the output.
pub(super) fn json(plan: &Plan, rows: &Rows<'_>, path: &Path, out: &mut dyn Write) -> Result<(), Failure> {
    let count = |is: &dyn Fn(&Row) -> bool| rows.iter().filter(|row| is(row)).count();
    let run = |number: &usize| {
        let row = rows.get(*number)?;
        let inputs = plan.variables.iter().zip(&row.run.numbers);
        let inputs: Vec<Value> = inputs
            .map(|(variable, number)| json!({ "name": variable.name, "value": number, "unit": variable.unit.symbol }))
            .collect();
        let figures = match &row.ended {
            Some(Ended::Done { figures, .. }) => {
                figures.iter().map(|(name, value)| (name.to_string(), json!(value))).collect()
            }
            _ => serde_json::Map::new(),
        };
        Some(json!({ "run": number, "layout": plan.layout_of(&row.run).name, "inputs": inputs, "figures": figures }))
    };
    let at_point = |(point, name): (usize, &String)| {
        let found = ranked(plan, rows, point);
        json!({
            "point": name,
            "meet": found.len(),
            "best": found.iter().take(SHOWN).filter_map(run).collect::<Vec<_>>(),
            "front": front(plan, rows, &found).iter().filter_map(run).collect::<Vec<_>>(),
        })
    };
    let failed = rows.iter().enumerate().filter_map(|(number, row)| match &row.ended {
        Some(Ended::Failed(why)) => Some(json!({ "run": number, "why": why })),
        _ => None,
    });
    let document = json!({
        "schema": SCHEMA,
        "title": plan.title,
        "table": path.display().to_string(),
        "runs": rows.count(),
        "done": count(&Row::is_done),
        "missing": count(&|row| row.ended.is_none()),
        "failed": failed.collect::<Vec<_>>(),
        "points": plan.points.iter().enumerate().map(at_point).collect::<Vec<_>>(),
    });
    Ok(writeln!(out, "{document:#}")?)
}
