//! Jets that cross a volume on the bench, where parts at their ends are out.

use super::span::Span;
use super::{part_of, text_of};
use crate::yaml::{Content, Entry, Node};
use std::collections::BTreeSet;

impl Span {
    /// A part whose jets come out of, and go into, what stands beside it on the bench: where a part that they name is out, the next one that is
    /// not takes its place; a jet that has none is lost.
    pub(super) fn with_jets_that_are_left(
        &self,
        part: Node,
        name: &str,
        lines: &[Vec<Node>],
        named: &BTreeSet<&str>,
    ) -> Node {
        let place = part.place.clone();
        let Content::Map(entries) = part.content else { return part };
        let joined = |before: &str, behind: &str| {
            let mut pairs = lines.iter().flat_map(|line| line.windows(2));
            pairs.any(|pair| part_of(&pair[0]) == before && part_of(&pair[1]) == behind)
        };
        let left = |jet: &Node| {
            let end = |key: &str| jet.get(key).map_or("", text_of);
            let (from, into) = (self.stand_in(end("from"), false, named)?, self.stand_in(end("into"), true, named)?);
            let share = jet.entry("share").cloned();
            (joined(&from, name) && joined(name, &into)).then(|| {
                let ends = [("from", from), ("into", into)].map(|(key, text)| Entry {
                    key: key.to_owned(),
                    place: place.clone(),
                    value: Node::plain(&text, place.clone()),
                });
                Node { place: jet.place.clone(), content: Content::Map(ends.into_iter().chain(share).collect()) }
            })
        };
        let of_entry = |entry: Entry| {
            let Some(jets) = entry.value.list().filter(|_| entry.key == "carry_over") else { return Some(entry) };
            let jets: Vec<Node> = jets.iter().filter_map(left).collect();
            let value = Node { content: Content::List(jets), ..entry.value.clone() };
            value.list().is_some_and(|jets| !jets.is_empty()).then_some(Entry { value, ..entry })
        };
        let entries = entries.into_iter().filter_map(of_entry).collect();
        Node { place: place.clone(), content: Content::Map(entries) }
    }

    /// The part of this name, or the next one along the flow, or against it, that stands on the bench.
    fn stand_in(&self, name: &str, forward: bool, named: &BTreeSet<&str>) -> Option<String> {
        let mut name = name.to_owned();
        // A way is no longer than its parts.
        for _ in 0..=self.parts.len() {
            if named.contains(name.as_str()) {
                return Some(name);
            }
            let pairs = self.lines.iter().flat_map(|line| line.windows(2));
            let pair = |pair: &[Node]| [part_of(&pair[0]), part_of(&pair[1])].map(str::to_owned);
            let next = pairs.map(pair).find_map(|[before, behind]| match forward {
                true => (before == name).then_some(behind),
                false => (behind == name).then_some(before),
            });
            name = next?;
        }
        None
    }
}
