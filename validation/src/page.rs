//! The page that shows every check with all that it compared, as Markdown.

use crate::check::{Check, Outcome, Row};
use crate::shown;
use crate::tally::{Tally, Verdict};

/// Heads of the columns of a table.
pub const COLUMNS: [&str; 8] =
    ["quantity", "computed", "reference", "error", "measure", "limit", "verdict", "why this limit"];

/// The page of some outcomes.
#[must_use]
pub fn markdown(outcomes: &[Outcome]) -> String {
    let [checks, rows] = Tally::of(outcomes).lines();
    let mut text = format!(
        "# What is checked, and how far off it is\n\n\
         {}: {checks}; {rows}.\n\n\
         Each check sets what the program computes beside what is known from elsewhere. The error is relative to the reference, or \
         absolute in the unit of the quantity; a shortfall is what is missing to a reference that may be exceeded, outside is the \
         distance to a band. What only informs has no limit and is not counted. `tractwright validate` prints the same, \
         `tractwright validate --report checks.html` draws it.\n",
        program()
    );
    let mut group = "";
    for outcome in outcomes {
        if outcome.group.name != group {
            group = outcome.group.name;
            text.push_str(&format!("\n## {group}: {}\n", plain(outcome.group.about)));
        }
        text.push_str(&section(outcome));
    }
    text
}

/// Program and version.
#[must_use]
pub fn program() -> &'static str {
    concat!("Tractwright ", env!("CARGO_PKG_VERSION"))
}

/// What the published page of all checks says of them, in a sentence: how many hold.
#[must_use]
pub fn published() -> &'static str {
    let page = include_str!("../CHECKS.md");
    let line = page.lines().find_map(|line| line.strip_prefix(program())?.strip_prefix(": "));
    line.unwrap_or("no page of checks of this version")
}

fn section(outcome: &Outcome) -> String {
    let Check { name, about, source, .. } = outcome.check;
    let rows: String = match &outcome.findings {
        Ok(found) => found.rows.iter().map(|row| line(&cells(row))).collect(),
        Err(failure) => line(&[&failure.to_string(), "", "", "", "", "", Verdict::DoesNotHold.word(), ""].map(plain)),
    };
    let rule = ["---"; COLUMNS.len()].map(str::to_owned);
    let head = format!("{}{}", line(&COLUMNS.map(str::to_owned)), line(&rule));
    format!("\n### {name}\n\n{}. Source: {}.\n\n{head}{rows}", capital(&plain(about)), plain(source))
}

/// What stands in the columns of a row.
fn cells(row: &Row) -> [String; COLUMNS.len()] {
    [
        plain(&row.quantity),
        shown::value(row.computed),
        shown::reference(row),
        shown::error(row),
        row.measure.word().to_owned(),
        shown::limit(row),
        row.verdict().word().to_owned(),
        plain(row.limit.why),
    ]
}

fn line(cells: &[String]) -> String {
    format!("| {} |\n", cells.join(" | "))
}

/// Text that stands in a cell as it is.
fn plain(text: &str) -> String {
    text.replace('|', "/").replace('*', "\\*").replace('<', "&lt;")
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A check as a page shows it: its name and the cells of its rows.
pub type Section = (String, Vec<Vec<String>>);

/// The checks of a page.
#[must_use]
pub fn read(page: &str) -> Vec<Section> {
    let cells = |line: &str| line.trim_matches('|').split(" | ").map(|cell| cell.trim().to_owned()).collect();
    let section = |text: &str| {
        let name = text.lines().next().unwrap_or_default().to_owned();
        // Two lines of head stand above the rows.
        (name, text.lines().filter(|line| line.starts_with('|')).skip(2).map(cells).collect())
    };
    page.split("\n### ").skip(1).map(section).collect()
}

/// The first of the outcomes' checks that a page shows otherwise, and how; nothing when it shows them all as they came out. Numbers
/// agree to a few figures, so that the last bits of another machine do not matter.
#[must_use]
pub fn first_difference(sections: &[Section], outcomes: &[Outcome]) -> Option<String> {
    outcomes.iter().find_map(|outcome| {
        let name = outcome.check.name;
        let Some((_, shown)) = sections.iter().find(|(known, _)| known == name) else {
            return Some(format!("{name}: found no such check on the page"));
        };
        let rows = outcome.rows();
        if shown.len() != rows.len() {
            return Some(format!("{name}: found {} rows on the page, expected {}", shown.len(), rows.len()));
        }
        let wrong = shown.iter().zip(rows).find(|(shown, row)| !agrees(shown, row));
        wrong.map(|(shown, row)| format!("{name}: found {shown:?} on the page, expected {:?}", cells(row)))
    })
}

/// Largest relative difference of a value from what is shown of it.
const SHOWN_WITHIN: f64 = 1e-4;
/// Share of the limit below which an error is rounding that may differ from machine to machine.
const ROUNDING: f64 = 0.01;
/// Limits up to this one hold rounding alone; which of many such errors is the largest is chance.
const ROUNDING_LIMIT: f64 = 1e-9;

/// Whether the cells show a row.
fn agrees(shown: &[String], row: &Row) -> bool {
    let now = cells(row);
    // Error and references follow from what is compared here: quantity, measure, limit, verdict and reason by letter, values by size.
    let same = [0, 4, 5, 6, 7].iter().all(|column| shown.get(*column) == Some(&now[*column]));
    let number = |column: usize| shown.get(column).and_then(|cell| cell.parse::<f64>().ok());
    let close = |shown: f64, value: f64| (shown - value).abs() <= SHOWN_WITHIN * value.abs();
    let reference = shown.get(2) == Some(&now[2]) || number(2).is_some_and(|shown| close(shown, row.reference));
    let computed = number(1).is_some_and(|shown| {
        let rounding = |value: f64| row.measure.error(value, row.reference) <= ROUNDING * row.limit.value;
        close(shown, row.computed) || (!row.informs() && rounding(shown) && rounding(row.computed))
    });
    same && (row.limit.value <= ROUNDING_LIMIT || reference && computed)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::{Failure, Findings, Group, Limit};

    const LIMIT: Limit = Limit { value: 0.01, why: "a | b" };
    const CHECK: Check = Check { name: "one", about: "a thing", source: "a book", run: found };
    const GROUP: Group = Group { name: "some", about: "things", checks: &[CHECK] };

    #[expect(clippy::unnecessary_wraps, reason = "a check may fail")]
    fn found() -> Result<Findings, Failure> {
        let informs = Row::within("v", 0.5, [0.0, 0.2], Limit::none("no limit"));
        Ok(vec![Row::relative("p [Pa]", 100.123_456_7, 100.0, LIMIT), informs].into())
    }

    fn outcome(change: impl Fn(&mut Row)) -> Outcome {
        let mut findings = found().unwrap();
        findings.rows.iter_mut().for_each(change);
        Outcome { group: &GROUP, check: &GROUP.checks[0], findings: Ok(findings) }
    }

    #[test]
    fn a_page_reads_back() {
        let page = markdown(&[outcome(|_| ())]);
        assert!(page.contains("1 of 1 checks hold; 1 of 1 rows hold, 1 more only informs."), "{page}");
        let sections = read(&page);
        assert_eq!(sections[0].0, "one");
        let expected = ["p [Pa]", "100.123", "100", "1.2e-3", "relative", "1.0e-2", "holds", "a / b"];
        assert_eq!(sections[0].1[0], expected);
        assert_eq!(first_difference(&sections, &[outcome(|_| ())]), None);
    }

    #[test]
    fn what_came_out_otherwise_is_found() {
        let sections = read(&markdown(&[outcome(|_| ())]));
        let differs = |change: &dyn Fn(&mut Row)| first_difference(&sections, &[outcome(change)]).is_some();
        assert!(!differs(&|row| row.computed *= 1.0 + 1e-7));
        assert!(differs(&|row| row.computed *= 1.001));
        assert!(differs(&|row| row.reference *= 1.001));
        assert!(differs(&|row| row.limit.value *= 2.0));
        assert!(differs(&|row| row.quantity.push('x')));
        assert!(first_difference(&[], &[outcome(|_| ())]).is_some());
    }
}
