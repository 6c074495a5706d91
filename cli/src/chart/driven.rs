//! Results with an engine, and what lines of them are called.

use crate::failure::Failure;
use crate::opened::Opened;
use crate::print::names::capital;
use crate::print::number::fixed;
use crate::print::point;
use tractwright::case::Task;
use tractwright::run::EngineFigures;

/// A result with what its engine made.
#[derive(Debug)]
pub(super) struct Driven<'a> {
    pub(super) opened: &'a Opened,
    /// At the recorded times, two at least.
    pub(super) rows: Vec<EngineFigures>,
}

impl<'a> Driven<'a> {
    /// Of a result.
    ///
    /// # Errors
    /// It has no engine, or cannot be read.
    pub(super) fn of(opened: &'a Opened) -> Result<Self, Failure> {
        let rows = opened.reading.engine_figures()?;
        if rows.is_empty() {
            return Err(wrong(
                opened,
                "a case without an engine",
                "one whose section `engine` names its draws as `turbos`",
            ));
        }
        Ok(Self { opened, rows })
    }

    /// What is said of the air and of the charge that is wanted.
    pub(super) fn conditions(&self) -> String {
        let most = self.rows.iter().map(|row| row.boost_target).fold(0.0, f64::max);
        let named = self.opened.point.boost.as_ref().map_or_else(String::new, |name| format!(" {name}:"));
        let fan = self.opened.point.fan.as_ref();
        let fan = fan.map_or_else(String::new, |fan| format!("fan {} | ", point::blown(fan)));
        let boost = format!("boost{named} {} kPa wanted at most", fixed(1e-3 * most, 0));
        format!("{boost} | {fan}{}", point::air(&self.opened.outside))
    }
}

/// A result that a view cannot show.
pub(super) fn wrong(opened: &Opened, found: &str, expected: &str) -> Failure {
    Failure::wrong_use(format!("{}: found {found}, expected {expected}", opened.path.display()))
}

/// What the car does at a point, as it is found in a view of something else.
pub(super) fn task(opened: &Opened) -> &'static str {
    match opened.point.task {
        _ if !opened.point.phases.is_empty() => "a point with phases",
        Task::Hold => "a point that is held",
        Task::Pull { .. } => "a dyno pull",
        Task::Step { .. } => "a throttle step at a held crank speed",
        Task::RollOn { .. } => "a roll-on",
    }
}

/// What a line of a result may be called, from the shortest to one that is its own.
fn ways(driven: &Driven<'_>) -> Vec<String> {
    let (case, point) = (driven.opened.reading.case_name.clone(), driven.opened.reading.point.clone());
    let both = format!("{case}, {point}");
    vec![case, point, both, driven.opened.path.display().to_string()]
}

/// Names of lines, and the title of their picture of `what`.
pub(super) fn named<'a>(lines: impl Iterator<Item = &'a Driven<'a>>, what: &str) -> (Vec<String>, String) {
    let lines: Vec<&Driven<'_>> = lines.collect();
    let case = |line: &Driven<'_>| line.opened.reading.case_name.clone();
    let title = match lines.first().map(|line| case(line)) {
        Some(first) if lines.iter().all(|line| case(line) == first) => format!("{first}: {what}"),
        _ => capital(what),
    };
    (names(&lines.iter().map(|line| ways(line)).collect::<Vec<_>>()), title)
}

/// What tells lines apart, as short as it can be. Each line has the same ways to be called, from the shortest to one
/// that is its own; a single line needs no name.
pub(super) fn names(ways: &[Vec<String>]) -> Vec<String> {
    let [first, _, ..] = ways else { return vec![String::new(); ways.len()] };
    let called = |way: usize| ways.iter().map(|line| line[way].clone()).collect::<Vec<_>>();
    let differ = |names: &Vec<String>| names.iter().enumerate().all(|(k, name)| !names[..k].contains(name));
    let way = (0..first.len()).find(|way| differ(&called(*way)));
    called(way.unwrap_or(first.len() - 1))
}

/// Conditions of lines in as few lines of text as tell the truth: one where all are alike.
pub(super) fn shared(names: &[String], conditions: Vec<String>) -> Vec<String> {
    if conditions.iter().all(|other| *other == conditions[0]) {
        return conditions.into_iter().take(1).collect();
    }
    names.iter().zip(conditions).map(|(name, condition)| format!("{name}: {condition}")).collect()
}

/// A name and what is said of it.
pub(super) fn with_name(name: &str, words: &str) -> String {
    if name.is_empty() { words.to_owned() } else { format!("{name}: {words}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ways(lines: &[[&str; 3]]) -> Vec<Vec<String>> {
        lines.iter().map(|line| line.map(str::to_owned).to_vec()).collect()
    }

    #[test]
    fn lines_are_called_by_what_tells_them_apart() {
        assert_eq!(names(&ways(&[["a", "pull", "a, pull"]])), [""]);
        assert_eq!(names(&ways(&[["a", "pull", "a, pull"], ["b", "pull", "b, pull"]])), ["a", "b"]);
        assert_eq!(names(&ways(&[["a", "pull", "x"], ["a", "raised", "y"]])), ["pull", "raised"]);
        assert_eq!(names(&ways(&[["a", "p", "1"], ["b", "p", "2"], ["a", "q", "3"]])), ["1", "2", "3"]);
    }

    #[test]
    fn conditions_that_are_alike_are_told_once() {
        let names = ["a".to_owned(), "b".to_owned()];
        let told = |one: &str, other: &str| shared(&names, vec![one.to_owned(), other.to_owned()]);
        assert_eq!(told("x", "x"), ["x"]);
        assert_eq!(told("x", "y"), ["a: x", "b: y"]);
    }
}
