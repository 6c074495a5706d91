//! The flow lines of a case as a bench reads them.

use super::span::kind_of;
use super::{part_of, text_of};
use crate::case::{Case, flow_line::OUTSIDE};
use crate::yaml::{Entry, Node};

/// Losses that are the same read from either side.
const ALIKE: [&str; 6] = ["gap", "orifice_plate", "vent", "screen", "filter", "elbow"];

/// Flow lines with each bay written as the outside, which stands at their ends only; a duct at the end of one and the beginning of another makes one of
/// both.
pub(super) fn lines_of(case: &Case, parts: &[Entry]) -> Vec<Vec<Node>> {
    let mut lines: Vec<Vec<Node>> = Vec::new();
    for line in case.tree.get("flow").and_then(Node::list).unwrap_or_default() {
        let mut open: Vec<Node> = Vec::new();
        for stop in line.list().unwrap_or_default() {
            let is_outside = text_of(stop) == OUTSIDE || kind_of(parts, text_of(stop)) == "bay";
            open.push(if is_outside { Node::plain(OUTSIDE, stop.place.clone()) } else { stop.clone() });
            if is_outside && open.len() > 1 {
                lines.push(std::mem::replace(&mut open, vec![Node::plain(OUTSIDE, stop.place.clone())]));
            }
        }
        if open.len() > 1 {
            lines.push(open);
        }
    }
    join(&mut lines, parts);
    lines.into_iter().flat_map(|line| turned(line, parts)).collect()
}

fn join(lines: &mut Vec<Vec<Node>>, parts: &[Entry]) {
    let goes_on = |lines: &[Vec<Node>], line: usize| {
        let end = lines[line].last().filter(|end| kind_of(parts, text_of(end)) == "duct")?;
        lines.iter().position(|other| text_of(&other[0]) == text_of(end)).filter(|other| *other != line)
    };
    while let Some((line, next)) = (0..lines.len()).find_map(|line| Some((line, goes_on(lines, line)?))) {
        let behind = lines[next].split_off(1);
        lines[line].extend(behind);
        lines.remove(next);
    }
}

/// A leak that is read from a volume into the room lets air in on a bench: where it is the same from both sides, it is read the other way.
fn turned(mut line: Vec<Node>, parts: &[Entry]) -> Vec<Vec<Node>> {
    let kind = |stop: &Node| kind_of(parts, text_of(stop));
    let Some(volume) = line.iter().rposition(|stop| kind(stop) == "plenum") else { return vec![line] };
    let is_leak = line.last().is_some_and(|end| text_of(end) == OUTSIDE)
        && line[volume + 1..line.len() - 1].iter().all(|stop| ALIKE.contains(&kind(stop)));
    if !is_leak {
        return vec![line];
    }
    let mut leak = line.split_off(volume);
    line.push(leak[0].clone());
    leak.reverse();
    [line, leak].into_iter().filter(|line| line.len() > 1).collect()
}

/// Where lines are cut so that no air passes.
pub(super) struct Cuts<'a> {
    /// Part before which the room stands, or a volume before which nothing does.
    pub from: Option<&'a str>,
    /// Part behind which the bench stands.
    pub to: Option<&'a str>,
    /// Whether the room stands before a part.
    pub opens: &'a dyn Fn(&str) -> bool,
    /// Whether a part lets no air through.
    pub sealed: &'a dyn Fn(&str) -> bool,
}

/// Lines, cut.
pub(super) fn cut(lines: Vec<Vec<Node>>, cuts: &Cuts<'_>) -> Vec<Vec<Node>> {
    let mut pieces = vec![Vec::new()];
    for stop in lines.into_iter().flat_map(|line| line.into_iter().map(Some).chain([None])) {
        let Some(stop) = stop else {
            pieces.push(Vec::new());
            continue;
        };
        let name = part_of(&stop).to_owned();
        if (cuts.sealed)(&name) {
            pieces.push(Vec::new());
            continue;
        }
        if cuts.from == Some(&name) || (cuts.opens)(&name) {
            let room = Node::plain(OUTSIDE, stop.place.clone());
            pieces.push(if (cuts.opens)(&name) { vec![room] } else { Vec::new() });
        }
        if let Some(piece) = pieces.last_mut() {
            piece.push(stop);
        }
        if cuts.to == Some(&name) {
            pieces.push(Vec::new());
        }
    }
    pieces.retain(|piece| piece.len() > 1);
    pieces
}
