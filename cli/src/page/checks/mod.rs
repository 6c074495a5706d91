//! All outcomes of the checks.

mod section;

use super::document;
use crate::chart::escaped;
use maud::PreEscaped;
use tractwright_validation::check::Outcome;
use tractwright_validation::page::program;
use tractwright_validation::shown;
use tractwright_validation::tally::{Count, Tally};

/// What its figures look like.
const STYLE: &str = include_str!("style.css");

/// The page of some outcomes, whose limits were divided by `tightened`.
pub(crate) fn html(outcomes: &[Outcome], tightened: Option<f64>) -> String {
    let groups: Vec<&[Outcome]> = outcomes.chunk_by(|one, other| one.group.name == other.group.name).collect();
    let contents: String = groups.iter().map(|group| contents(group)).collect();
    let sections: String = groups.iter().map(|group| section::of_group(group)).collect();
    let body = format!(
        "<header>\n{}</header>\n<main>\n<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"Contents\">\n<table class=\"contents\">\n\
         <thead><tr><th scope=\"col\">group</th><th scope=\"col\">checks</th><th scope=\"col\" class=\"number\">hold</th>\
         <th scope=\"col\" class=\"number\">rows</th></tr></thead>\n\
         <tbody>\n{contents}</tbody>\n</table>\n</div>\n{sections}</main>\n",
        headline(outcomes, tightened),
    );
    document(&format!("{}: checks against something outside", program()), STYLE, PreEscaped(body), false)
}

fn headline(outcomes: &[Outcome], tightened: Option<f64>) -> String {
    let [checks, rows] = Tally::of(outcomes).lines();
    let tightened = tightened.map_or_else(String::new, |factor| {
        format!("<p><strong>Every limit is divided by {}.</strong></p>\n", shown::value(factor))
    });
    format!(
        "<p class=\"program\">{}</p>\n<h1>{checks}</h1>\n<p class=\"rows\">{rows}.</p>\n{tightened}\
         <p>Each check sets what the program computes beside what is known from elsewhere: exact solutions, published tables, \
         conservation. Dots are computed, lines are the reference, broken lines are bounds. An error is <em>relative</em> to the \
         reference or <em>absolute</em> in the unit of the quantity; a <em>shortfall</em> is what is missing to a reference that may \
         be exceeded, <em>outside</em> is the distance to a band. What only informs has no limit and is not counted.</p>\n",
        program()
    )
}

/// The line of a group in the contents.
fn contents(group: &[Outcome]) -> String {
    let Some(first) = group.first() else { return String::new() };
    let links: Vec<String> =
        group.iter().map(|outcome| format!("<a href=\"#{0}\">{0}</a>", escaped(outcome.check.name))).collect();
    let Tally { checks, rows } = Tally::of(group);
    format!(
        "<tr><td><a href=\"#group-{0}\">{0}</a><br><small>{1}</small></td><td class=\"links\">{2}</td>\
         <td class=\"number\">{3}</td><td class=\"number\">{4}</td></tr>\n",
        escaped(first.group.name),
        escaped(first.group.about),
        links.join(", "),
        counted(checks),
        counted(rows),
    )
}

fn counted(count: Count) -> String {
    match count {
        Count { judged: 0, .. } => "–".to_owned(),
        Count { held, judged, .. } if held < judged => format!("<strong>{held} of {judged}</strong>"),
        Count { held, judged, .. } => format!("{held} of {judged}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tractwright_validation::check::{Check, Failure, Findings, Group, Limit, Row};
    use tractwright_validation::figure::Figure;

    const ONE: Check = Check { name: "one", about: "a & b", source: "a <book>", run: found };
    const TWO: Check = Check { name: "two", about: "a failure", source: "another", run: failed };
    const GROUP: Group = Group { name: "some", about: "things", checks: &[ONE, TWO] };

    #[expect(clippy::unnecessary_wraps, reason = "a check may fail")]
    fn found() -> Result<Findings, Failure> {
        let holds = Row::relative("p [Pa]", 1.5e-9, 1.4e-9, Limit { value: 0.1, why: "because" });
        let figure = Figure::new("pressure", "x [m]", "p [Pa]").computed("march", [(0.0, 1.0), (1.0, 2.0)]);
        Ok(Findings::from(vec![holds, Row::within("v", 2.0, [0.0, 1.0], Limit::none("no limit"))]).with(figure))
    }

    fn failed() -> Result<Findings, Failure> {
        Err(Failure::NoSolution("a flow".to_owned()))
    }

    #[test]
    fn the_page_holds_all_there_is_to_say_and_names_no_other_file() {
        let outcome = |check: &'static Check| Outcome { group: &GROUP, check, findings: (check.run)() };
        let page = html(&[outcome(&GROUP.checks[0]), outcome(&GROUP.checks[1])], Some(2.0));
        for words in [
            "1 of 2 checks hold",
            "1 of 1 rows hold, 1 more only informs",
            "divided by 2",
            "href=\"#one\"",
            "id=\"one\"",
            "a &lt;book&gt;",
            "1.5 × 10⁻⁹",
            "0 to 1",
            "because",
            "found no exact solution of a flow",
            "x [m]",
            "prefers-color-scheme: dark",
        ] {
            assert!(page.contains(words), "{words}: {page}");
        }
        assert!(!page.contains("://") && !page.contains("<script") && !page.contains("url("), "{page}");
    }
}
