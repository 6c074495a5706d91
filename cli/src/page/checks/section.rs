//! Groups and checks of the report.

use crate::chart::axis::superscript;
use crate::chart::{escaped, plot, shares};
use crate::print::names::capital;
use tractwright_validation::check::{Outcome, Row};
use tractwright_validation::shown;
use tractwright_validation::tally::Verdict;

/// Heads of the columns, and whether numbers stand below.
const COLUMNS: [(&str, bool); 7] = [
    ("quantity", false),
    ("computed", true),
    ("reference", true),
    ("error", true),
    ("limit", true),
    ("verdict", false),
    ("why this limit", false),
];

/// A group with its checks.
pub(super) fn of_group(outcomes: &[Outcome]) -> String {
    let Some(first) = outcomes.first() else { return String::new() };
    let checks: String = outcomes.iter().map(of_check).collect();
    let (name, about) = (escaped(first.group.name), escaped(first.group.about));
    format!("<section>\n<h2 id=\"group-{name}\">{name} <small>{about}</small></h2>\n{checks}</section>\n")
}

fn of_check(outcome: &Outcome) -> String {
    let check = outcome.check;
    let body = match &outcome.findings {
        Ok(found) => {
            let figures: String = found.figures.iter().map(plot::html).collect();
            let figures = if figures.is_empty() { shares::html(&found.rows).unwrap_or_default() } else { figures };
            let rows: String = found.rows.iter().map(row).collect();
            format!("<div class=\"figures\">\n{figures}</div>\n{}", table(&rows))
        }
        Err(failure) => format!("<p class=\"broken\">{}</p>\n", escaped(&failure.to_string())),
    };
    format!(
        "<article id=\"{name}\">\n<h3>{name} {verdict}</h3>\n<p>{about}. <span class=\"source\">Source: {source}.</span></p>\n\
         {body}</article>\n",
        name = escaped(check.name),
        verdict = marked(outcome.verdict()),
        about = escaped(&capital(check.about)),
        source = escaped(check.source),
    )
}

fn marked(verdict: Verdict) -> String {
    let class = match verdict {
        Verdict::Holds => "holds",
        Verdict::DoesNotHold => "broken",
        Verdict::Informs => "informs",
    };
    format!("<span class=\"{class}\">{}</span>", verdict.word().to_lowercase())
}

fn table(rows: &str) -> String {
    let head: String = COLUMNS
        .iter()
        .map(|(name, number)| {
            format!("<th scope=\"col\"{}>{name}</th>", if *number { " class=\"number\"" } else { "" })
        })
        .collect();
    format!(
        "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"Rows\">\n<table>\n<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n</div>\n"
    )
}

fn row(row: &Row) -> String {
    let number = |text: String| format!("<td class=\"number\">{}</td>", raised(&text));
    format!(
        "<tr><td>{}</td>{}{}<td class=\"number\">{} <small>{}</small></td>{}<td>{}</td><td class=\"why\">{}</td></tr>\n",
        escaped(&row.quantity),
        number(shown::value(row.computed)),
        number(shown::reference(row)),
        raised(&shown::error(row)),
        row.measure.word(),
        number(shown::limit(row)),
        marked(row.verdict()),
        escaped(row.limit.why),
    )
}

/// Numbers with their powers of ten as they are printed in books.
fn raised(text: &str) -> String {
    let number = |word: &str| match word.split_once('e').map(|(digits, power)| (digits, power.parse::<i32>())) {
        Some((digits, Ok(power))) => format!("{digits} × 10{}", superscript(power)),
        _ => word.to_owned(),
    };
    text.replace('-', "−").split(' ').map(|word| number(&word.replace("e−", "e-"))).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::raised;

    #[test]
    fn powers_of_ten_are_raised() {
        assert_eq!(raised("-1.5e-9"), "−1.5 × 10⁻⁹");
        assert_eq!(raised("0.06 to 1e6"), "0.06 to 1 × 10⁶");
        assert_eq!(raised("none"), "none");
    }
}
