//! Which parts air passes on a bench: from the first to the last, the way the flow lines are read.

use super::lines::{Cuts, cut, lines_of};
use super::{BenchSetup, part_of, text_of};
use crate::case::parts::Changes;
use crate::case::{Case, flow_line::OUTSIDE};
use crate::error::Problem;
use crate::fields::{Log, join};
use crate::quantity::quote;
use crate::suggest;
use crate::yaml::{Entry, Node};
use std::collections::{BTreeMap, BTreeSet};

/// The parts that air passes on the bench.
pub(super) struct Span {
    /// Every part of the case, as the point has it.
    pub parts: Vec<Entry>,
    /// Flow lines, bays written as the outside.
    pub whole: Vec<Vec<Node>>,
    /// The same, cut where the span begins and ends and where a gap is sealed.
    pub lines: Vec<Vec<Node>>,
    /// Parts on a way from a first to a last one.
    pub kept: BTreeSet<String>,
    first: BTreeSet<String>,
    last: BTreeSet<String>,
    /// Volume that stands open to the room.
    pub open_volume: Option<String>,
    /// Last part, where it is no draw of the case.
    pub to: Option<String>,
    pub removed: BTreeSet<String>,
}

impl Span {
    /// `None` when what is wrong has been noted.
    pub(super) fn of(case: &Case, setup: &BenchSetup, log: &Log) -> Option<Self> {
        let entries = case.tree.get("parts").and_then(Node::map).unwrap_or_default();
        let changes = Changes::of(&case.tree, entries, log);
        let parts: Vec<Entry> = match &setup.point {
            Some(point) => entries.iter().map(|part| changes.apply(point, part, log)).collect(),
            None => entries.to_vec(),
        };
        let from = end(case, &parts, setup.from.as_deref(), "beginning", &["mouth", "scoop"], log);
        let to = end(case, &parts, setup.to.as_deref(), "end", &["draw"], log);
        let (from, to) = (from?, to?);
        if let (Some((from, "plenum")), Some((to, _))) = (from, to)
            && from == to
        {
            let expected = "parts between two ends, such as a duct or a filter behind it";
            wrong(case, log, from, "one plenum at both ends of what is tested", expected);
            return None;
        }
        let lines = lines_of(case, &parts);
        let mut span = Self {
            whole: lines.clone(),
            lines,
            kept: BTreeSet::new(),
            first: BTreeSet::new(),
            last: BTreeSet::new(),
            open_volume: from.filter(|(_, kind)| *kind == "plenum").map(|(name, _)| name.to_owned()),
            to: to.filter(|(_, kind)| *kind != "draw").map(|(name, _)| name.to_owned()),
            removed: BTreeSet::new(),
            parts,
        };
        span.cut_at(setup.from.as_deref(), None);
        span.find_ends(setup);
        span.follow(case, setup, "", log)?;
        span.take_out(case, setup, log)?;
        Some(span)
    }

    /// Notes what is taken out, where the room opens and gaps close by it.
    fn take_out(&mut self, case: &Case, setup: &BenchSetup, log: &Log) -> Option<()> {
        let mut sealed = Vec::new();
        for name in &setup.removed {
            let kind = kind_of_known(known_part(case, &self.parts, name, log)?);
            if !self.kept.contains(name) {
                wrong(case, log, name, "a part that no tested air passes", "a part of what is tested");
                return None;
            }
            if !is_passage(kind) && !is_mouth(kind) {
                let found = format!("{} that is to be taken out", with_article(kind));
                wrong(case, log, name, found, "a part that leaves one way through: a duct, a loss or a mouth");
                return None;
            }
            if kind == "gap" {
                sealed.push(quote(name));
            }
            self.removed.insert(name.clone());
        }
        let how = if sealed.is_empty() { String::new() } else { format!(" with {} sealed", sealed.join(" and ")) };
        self.cut_at(None, Some(setup));
        self.find_ends(setup);
        self.follow(case, setup, &how, log)
    }

    /// Cuts the lines at the ends of the span, or at what is taken out.
    fn cut_at(&mut self, from: Option<&str>, out: Option<&BenchSetup>) {
        let lines = std::mem::take(&mut self.lines);
        let is_out = |name: &str| out.is_some_and(|setup| setup.removed.iter().any(|part| part == name));
        let opens = |name: &str| match out {
            None => from == Some(name) && is_passage(self.kind(name)),
            Some(_) => is_out(name) && is_mouth(self.kind(name)),
        };
        let sealed = |name: &str| is_out(name) && self.kind(name) == "gap";
        let to = self.to.as_deref().filter(|_| out.is_none());
        self.lines = cut(lines, &Cuts { from, to, opens: &opens, sealed: &sealed });
    }

    /// The parts at the room and those before the bench.
    fn find_ends(&mut self, setup: &BenchSetup) {
        self.first = match &setup.from {
            Some(from) => [from.clone()].into(),
            None => {
                let mouths =
                    self.parts.iter().filter(|part| is_mouth(kind_of_known(part))).map(|part| part.key.clone());
                let opened = self.lines.iter().filter(|line| text_of(&line[0]) == OUTSIDE);
                mouths.chain(opened.map(|line| part_of(&line[1]).to_owned())).collect()
            }
        };
        self.last = match &setup.to {
            Some(to) => [to.clone()].into(),
            None => {
                self.parts.iter().filter(|part| kind_of_known(part) == "draw").map(|part| part.key.clone()).collect()
            }
        };
    }

    /// Finds what is kept; notes that there is no way through.
    fn follow(&mut self, case: &Case, setup: &BenchSetup, how: &str, log: &Log) -> Option<()> {
        let ahead = self.reached(&self.first, false, None);
        let behind = self.reached(&self.last, true, None);
        self.kept = ahead.intersection(&behind).cloned().collect();
        if !self.kept.is_empty() {
            return Some(());
        }
        let name = |end: &Option<String>, all: &str| end.clone().unwrap_or_else(|| all.to_owned());
        log.note(Problem {
            location: case.location("flow"),
            path: "flow".to_owned(),
            found: format!("no way from {} to {}{how}", name(&setup.from, "the mouths"), name(&setup.to, "the draws")),
            expected: "flow lines that lead from one to the other, read the way the air goes".to_owned(),
            nearest: None,
        });
        None
    }

    /// Parts that are reached from `from`, against the air when `upstream`, and not through `around`.
    fn reached(&self, from: &BTreeSet<String>, upstream: bool, around: Option<&str>) -> BTreeSet<String> {
        let mut next: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
        for pair in self.lines.iter().flat_map(|line| line.windows(2)) {
            let [before, after] = [&pair[0], &pair[1]].map(part_of);
            let (here, there) = if upstream { (after, before) } else { (before, after) };
            next.entry(here).or_default().push(there);
        }
        let mut found = BTreeSet::new();
        let mut waiting: Vec<&str> = from.iter().map(String::as_str).collect();
        while let Some(part) = waiting.pop() {
            if part != OUTSIDE && Some(part) != around && found.insert(part.to_owned()) {
                waiting.extend(next.get(part).into_iter().flatten());
            }
        }
        found
    }

    pub(super) fn has_way_around(&self, part: &str) -> bool {
        let ahead = self.reached(&self.first, false, Some(part));
        self.last.iter().any(|last| ahead.contains(last) && self.kept.contains(last))
    }

    /// Kind of the part of this name; empty when there is none.
    pub(super) fn kind(&self, name: &str) -> &str {
        kind_of(&self.parts, name)
    }

    /// Whether the part of this name is a loss without length.
    pub(super) fn is_loss(&self, name: &str) -> bool {
        is_passage(self.kind(name)) && self.kind(name) != "duct" || self.kind(name) == "vent"
    }

    /// Stretches of the flow lines that are kept, with the outside before those at the room.
    pub(super) fn runs(&self) -> Vec<Vec<Node>> {
        let mut runs = Vec::new();
        for line in &self.lines {
            let mut room = None;
            for run in line.chunk_by(|a, b| self.kept.contains(part_of(a)) == self.kept.contains(part_of(b))) {
                if self.kept.contains(part_of(&run[0])) {
                    let room = room.filter(|_| self.first.contains(part_of(&run[0])));
                    runs.push(room.into_iter().chain(run).cloned().collect());
                }
                room = run.last().filter(|stop| text_of(stop) == OUTSIDE);
            }
        }
        runs
    }

    /// Notes that nothing at the room has an edge, when that is so.
    pub(super) fn check_entry(&self, case: &Case, log: &Log) {
        let runs = self.runs();
        let at_room = |run: &Vec<Node>| {
            let at = usize::from(text_of(&run[0]) == OUTSIDE);
            let name = run.get(at).map(part_of)?;
            (at == 1 || is_mouth(self.kind(name))).then(|| name.to_owned())
        };
        let first: Vec<String> = self.open_volume.iter().cloned().chain(runs.iter().filter_map(at_room)).collect();
        if first.iter().any(|name| is_mouth(self.kind(name)) || self.kind(name) == "duct") {
            return;
        }
        let Some(name) = first.first() else { return };
        let found =
            format!("{} first at the room, which has no edge to be radiused or sharp", with_article(self.kind(name)));
        let duct = self.passages().into_iter().find(|name| self.kind(name) == "duct");
        let such = duct.map_or_else(String::new, |duct| format!(", such as {}", quote(&duct)));
        wrong(case, log, name, found, &format!("a mouth or a duct first{such}; or the entry as it is"));
    }

    /// Mouths, ducts and losses that are kept, in the order of the flow lines.
    pub(super) fn passages(&self) -> Vec<String> {
        let may_be_out = |kind: &str| is_passage(kind) || is_mouth(kind);
        let mut names: Vec<String> = Vec::new();
        for name in self.lines.iter().flatten().map(text_of) {
            let stands = self.kept.contains(name) && may_be_out(self.kind(name)) && !self.removed.contains(name);
            if stands && !names.iter().any(|known| known == name) {
                names.push(name.to_owned());
            }
        }
        names
    }
}

/// Whether a part of this kind is a passage that can be put on a bench by itself or taken out.
fn is_passage(kind: &str) -> bool {
    matches!(kind, "duct" | "filter" | "screen" | "orifice_plate" | "gap" | "elbow" | "step")
}

pub(super) fn is_mouth(kind: &str) -> bool {
    matches!(kind, "mouth" | "scoop")
}

/// Kind of the part of this name; empty when there is none.
pub(super) fn kind_of<'a>(parts: &'a [Entry], name: &str) -> &'a str {
    parts.iter().find(|part| part.key == name).map_or("", kind_of_known)
}

fn kind_of_known(part: &Entry) -> &str {
    part.value.get("kind").map_or("", text_of)
}

/// Name and kind of a part at an end of the span, where one is given; outer `None` when it cannot be one, which is noted.
#[expect(clippy::option_option, reason = "outer: without mistake; inner: an end is given")]
fn end<'a>(
    case: &Case,
    parts: &'a [Entry],
    name: Option<&str>,
    which: &str,
    also: &[&str],
    log: &Log,
) -> Option<Option<(&'a str, &'a str)>> {
    let Some(name) = name else { return Some(None) };
    let part = known_part(case, parts, name, log)?;
    let kind = kind_of_known(part);
    if is_passage(kind) || kind == "plenum" || also.contains(&kind) {
        return Some(Some((&part.key, kind)));
    }
    let expected = format!("a {}, a plenum, or a part with a bore, such as a duct, a filter or an elbow", also[0]);
    wrong(case, log, name, format!("{} at the {which} of what is tested", with_article(kind)), &expected);
    None
}

fn known_part<'a>(case: &Case, parts: &'a [Entry], name: &str, log: &Log) -> Option<&'a Entry> {
    let part = parts.iter().find(|part| part.key == name);
    if part.is_none() {
        let names = parts.iter().map(|part| part.key.as_str());
        log.note(Problem {
            location: case.location("parts"),
            path: "parts".to_owned(),
            found: quote(name),
            expected: "the name of a part".to_owned(),
            nearest: suggest::nearest(name, names),
        });
    }
    part
}

fn with_article(kind: &str) -> String {
    let article = if kind.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    format!("{article} {}", kind.replace('_', " "))
}

pub(super) fn wrong(case: &Case, log: &Log, part: &str, found: impl Into<String>, expected: &str) {
    let path = join("parts", part);
    let location = case.location(&path);
    log.note(Problem { location, path, found: found.into(), expected: expected.to_owned(), nearest: None });
}
