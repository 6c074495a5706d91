//! The bench as the tree of a case.

use super::bores::kept_bore;
use super::layout::{Held, Layout};
use super::{BenchEntry, BenchSetup, map, part_of, plain, text_of};
use crate::case::Case;
use crate::case::merge::merge;
use crate::fields::Log;
use crate::yaml::{Content, Entry, Node, Place};
use std::collections::BTreeSet;

/// Radius of a wide entry: Idelchik's curves of entries do not fall further beyond a fifth of the bore (diagram 3-4).
const WIDE_RADIUS: &str = "1 m";

impl Case {
    pub(super) fn bench_tree(&self, laid: &Layout<'_>, setup: &BenchSetup, depression: f64, log: &Log) -> Node {
        let place = self.whole();
        let named: BTreeSet<&str> = laid.lines.iter().flatten().map(part_of).collect();
        let mut parts = Vec::new();
        for part in laid.span.parts.iter().filter(|part| named.contains(part.key.as_str())) {
            let value = if let Some(draw) = laid.draws.iter().find(|draw| draw.name == part.key) {
                held(draw, depression, &place)
            } else {
                let begins = laid.begins_outside(&part.key);
                cold(laid.left.get(&part.key).unwrap_or(&part.value), setup.entry, begins, &place)
            };
            let value = match kept_bore(self, laid.span, part, &place) {
                Some(bore) if !laid.left.contains_key(&part.key) => with(value, bore),
                _ => value,
            };
            let value = laid.span.with_jets_that_are_left(value, &part.key, &laid.lines, &named);
            parts.push(Entry { value, ..part.clone() });
        }
        let is_added = |draw: &&Held| !laid.span.parts.iter().any(|part| part.key == draw.name);
        let draws = laid.draws.iter().filter(is_added);
        parts.extend(laid.added.iter().cloned());
        parts.extend(draws.map(|draw| Entry {
            key: draw.name.clone(),
            place: place.clone(),
            value: held(draw, depression, &place),
        }));
        let list = |line: &Vec<Node>| Node { place: line[0].place.clone(), content: Content::List(line.clone()) };
        let lines = Content::List(laid.lines.iter().map(list).collect());
        let kept = |name: &str| self.tree.entry(name).cloned();
        let outside = setup.point.as_ref().and_then(|point| self.tree.get("points")?.get(point)?.entry("outside"));
        let outside = match (kept("outside"), outside) {
            (Some(base), Some(change)) => {
                Some(Entry { value: merge(base.value, change.value.clone(), "outside", log), ..base })
            }
            (base, change) => change.cloned().or(base),
        };
        let entry = |key: &str, content: Content| Entry {
            key: key.to_owned(),
            place: place.clone(),
            value: Node { place: place.clone(), content },
        };
        let entries = [kept("title"), outside, kept("loss_factors"), kept("run")].into_iter().flatten();
        let entries = entries.chain([entry("parts", Content::Map(parts)), entry("flow", lines)]).collect();
        Node { place: place.clone(), content: Content::Map(entries) }
    }
}

/// A part without the heat of its walls, its mouth with the edge of the bench.
fn cold(part: &Node, entry: BenchEntry, begins_outside: bool, place: &Place) -> Node {
    let text = |text: &str| plain(place, text);
    let kind = part.get("kind").map_or("", text_of);
    let is_mouth = super::span::is_mouth(kind);
    let edge = match (is_mouth, kind == "duct" && begins_outside, entry) {
        (_, _, BenchEntry::AsIs) | (false, false, _) => None,
        (true, _, BenchEntry::Radiused) => Some(("lip_radius", text(WIDE_RADIUS))),
        (true, _, BenchEntry::Sharp) => Some(("lip_radius", text("0 mm"))),
        (_, _, BenchEntry::Radiused) => {
            Some(("inlet", map(place, [("shape", text("rounded")), ("radius", text(WIDE_RADIUS))])))
        }
        (_, _, BenchEntry::Sharp) => Some(("inlet", map(place, [("shape", text("sharp"))]))),
    };
    let dropped =
        |key: &str| key == "wall" || is_mouth && key == "from" || edge.as_ref().is_some_and(|edge| edge.0 == key);
    let mut entries: Vec<Entry> =
        part.map().unwrap_or_default().iter().filter(|entry| !dropped(&entry.key)).cloned().collect();
    entries.extend(edge.map(|(key, value)| Entry { key: key.to_owned(), place: place.clone(), value }));
    Node { place: part.place.clone(), content: Content::Map(entries) }
}

fn with(mut part: Node, entry: Entry) -> Node {
    if let Content::Map(entries) = &mut part.content {
        entries.push(entry);
    }
    part
}

/// A draw that holds `depression` [Pa].
fn held(draw: &Held, depression: f64, place: &Place) -> Node {
    let text = plain(place, format!("{depression} Pa"));
    let node = map(place, [("kind", plain(place, "draw")), ("depression", text)]);
    match &draw.bore {
        Some(bore) => with(node, Entry { key: "bore".to_owned(), place: place.clone(), value: bore.clone() }),
        None => node,
    }
}
