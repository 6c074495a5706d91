//! Flow lines: who follows whom.

use std::collections::BTreeMap;

use crate::error::{Location, Problem};
use crate::fields::Log;
use crate::quantity::quote;
use crate::suggest;
use crate::yaml::Node;

/// Name of the undisturbed air in a flow line.
pub(super) use crate::network::OUTSIDE;

/// Parts in the order in which the air passes them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FlowLine {
    /// Where it stands.
    pub location: Location,
    /// At least two.
    pub stops: Vec<Stop>,
}

/// One entry of a flow line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stop {
    /// A part of the case, or [`OUTSIDE`].
    pub part: String,
    /// Leg of a wye, as in `y.left`.
    pub leg: Option<String>,
    /// Where it stands.
    pub location: Location,
}

/// Reads the section `flow`; `parts` are the names that it may use.
pub(super) fn read(node: &Node, parts: &BTreeMap<&str, &Node>, log: &Log) -> Vec<FlowLine> {
    let Some(lines) = node.list() else {
        log.wrong(&node.place, "flow", node.describe(), "a list of lines such as `- [nose, duct, box]`");
        return Vec::new();
    };
    let line = |(index, line): (usize, &Node)| read_line(line, &format!("flow[{index}]"), parts, log);
    lines.iter().enumerate().filter_map(line).collect()
}

fn read_line(node: &Node, path: &str, parts: &BTreeMap<&str, &Node>, log: &Log) -> Option<FlowLine> {
    let names = node.list().unwrap_or_default();
    if names.len() < 2 {
        let found = if node.list().is_some() { format!("a line of {}", names.len()) } else { node.describe() };
        log.wrong(&node.place, path, found, "a list of two or more names such as `[nose, duct, box]`");
        return None;
    }
    let stop = |(index, name): (usize, &Node)| read_stop(name, &format!("{path}[{index}]"), parts, log);
    let stops: Vec<Stop> = names.iter().enumerate().filter_map(stop).collect();
    (stops.len() == names.len()).then(|| FlowLine { location: node.place.location(), stops })
}

fn read_stop(node: &Node, path: &str, parts: &BTreeMap<&str, &Node>, log: &Log) -> Option<Stop> {
    let Some(text) = node.text() else {
        log.wrong(&node.place, path, node.describe(), "the name of a part");
        return None;
    };
    let (part, leg) = text.split_once('.').map_or((text, None), |(part, leg)| (part, Some(leg.to_owned())));
    if part != OUTSIDE && !parts.contains_key(part) {
        log.note(Problem {
            location: node.place.location(),
            path: path.to_owned(),
            found: quote(part),
            expected: "the name of a part".to_owned(),
            nearest: suggest::nearest(part, parts.keys().copied().chain([OUTSIDE])),
        });
        return None;
    }
    Some(Stop { part: part.to_owned(), leg, location: node.place.location() })
}
