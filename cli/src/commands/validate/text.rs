//! Outcomes as text.

use crate::print::table::wrap;
use crate::print::{Row, Table, WIDTH};
use tractwright_validation::check::{Measure, Outcome, Row as Compared};
use tractwright_validation::shown;
use tractwright_validation::tally::{Tally, Verdict};

/// What the words behind the errors mean.
const MEASURES: &str = "Errors: rel is relative to the reference, abs in the unit of the quantity, short what is missing to a \
                        reference that may be exceeded, out the distance to a band.";

/// All outcomes, with the reasons of their limits when `why` is asked for, and the counts.
pub(super) fn of(outcomes: &[Outcome], why: bool, tightened: Option<f64>) -> String {
    let mut text: String = outcomes.iter().map(|outcome| section(outcome, why)).collect();
    paragraph(&mut text, MEASURES);
    if let Some(factor) = tightened {
        paragraph(&mut text, &format!("Every limit is divided by {}.", shown::value(factor)));
    }
    for line in Tally::of(outcomes).lines() {
        paragraph(&mut text, &line);
    }
    text
}

fn paragraph(text: &mut String, words: &str) {
    for line in wrap(words, WIDTH) {
        text.push_str(&line);
        text.push('\n');
    }
}

fn section(outcome: &Outcome, why: bool) -> String {
    let check = outcome.check;
    let mut text = String::new();
    paragraph(&mut text, &format!("{} ({}): {}", check.name, outcome.group.name, check.about));
    paragraph(&mut text, &format!("  source: {}", check.source));
    match &outcome.findings {
        Ok(found) if found.rows.is_empty() => {
            text.push_str(&format!("  {}: no value was compared\n", Verdict::DoesNotHold.word()));
        }
        Ok(found) => text.push_str(&table(&found.rows).render()),
        Err(failure) => paragraph(&mut text, &format!("  {}: {failure}", Verdict::DoesNotHold.word())),
    }
    if why {
        reasons(outcome.rows()).iter().for_each(|reason| paragraph(&mut text, reason));
    }
    text.push('\n');
    text
}

fn table(rows: &[Compared]) -> Table {
    let heads = ["computed", "reference", "error", "limit"].map(str::to_owned).to_vec();
    let row = |row: &Compared| {
        let error = format!("{} {:<5}", shown::error(row), abbreviated(row.measure));
        let cells = vec![shown::value(row.computed), shown::reference(row), error, shown::limit(row)];
        Row::new(format!("  {}", row.quantity), cells).noted(row.verdict().word())
    };
    Table { head: Row::new("  quantity", heads), rows: rows.iter().map(row).collect() }
}

/// A word that leaves room for the numbers.
fn abbreviated(measure: Measure) -> &'static str {
    match measure {
        Measure::Relative => "rel",
        Measure::Absolute => "abs",
        Measure::Shortfall => "short",
        Measure::Outside { .. } => "out",
    }
}

/// Why the limits are what they are, each reason once.
fn reasons(rows: &[Compared]) -> Vec<String> {
    let mut told: Vec<String> = Vec::new();
    for row in rows {
        let reason = format!("  why {}: {}", shown::limit(row), row.limit.why);
        if !told.contains(&reason) {
            told.push(reason);
        }
    }
    told
}

#[cfg(test)]
mod tests {
    use super::*;
    use tractwright_validation::check::{Check, Failure, Findings, Group, Limit};

    const BROKEN: Check = Check { name: "broken", about: "a thing", source: "a book", run: broken };
    const GROUP: Group = Group { name: "some", about: "things", checks: &[BROKEN] };

    fn broken() -> Result<Findings, Failure> {
        Err(Failure::Missing("value".to_owned()))
    }

    fn outcome(findings: Result<Findings, Failure>) -> Outcome {
        Outcome { group: &GROUP, check: &GROUP.checks[0], findings }
    }

    fn row(computed: f64) -> Compared {
        let limit = Limit { value: 1.0e-13, why: "a reason" };
        Compared::at_least("a quantity whose name is longer than its column [kg/s]", computed, -1.23456e-5, limit)
    }

    #[test]
    fn every_verdict_is_told_and_fits_the_width() {
        let informs = Compared::within("v", 0.5, [0.060_123_4, 0.120_123_4], Limit::none("plausible only"));
        let outcomes = [
            outcome(broken()),
            outcome(Ok(vec![row(-2.0), row(1.0), informs].into())),
            outcome(Ok(Findings::default())),
        ];
        let text = of(&outcomes, true, Some(2.0));
        assert!(text.lines().all(|line| line.chars().count() <= WIDTH), "{text}");
        let told = ["DOES NOT HOLD: found no value in the result", "no value was compared", "none  informs", "short"];
        for words in told.into_iter().chain(["why none: plausible only", "divided by 2", "0 of 3 checks hold"]) {
            assert!(text.contains(words), "{words}: {text}");
        }
        assert!(text.ends_with("1 of 2 rows hold, 1 more only informs\n"), "{text}");
    }
}
