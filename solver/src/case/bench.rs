//! A case on a flow bench: the tract, or a span of it, in still air, with a bench in the place of its draws.

mod jets;

use super::merge::merge;
use super::parts::Changes;
use super::{Case, flow_line::OUTSIDE};
use crate::error::{CaseError, Problem};
use crate::fields::{Log, join};
use crate::quantity::quote;
use crate::suggest;
use crate::yaml::{Content, Entry, Node, Place};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The edge by which air enters from the room.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum BenchEntry {
    /// As the case has it; a duct that is cut off there has its own `inlet`.
    #[default]
    AsIs,
    /// A wide radius, such as modelling clay makes.
    Radiused,
    /// No radius: a thin lip of a mouth, a sharp edge of a duct.
    Sharp,
}

/// What stands on a bench.
#[derive(Debug, Clone, Default)]
pub struct BenchSetup {
    /// Point whose air and changed parts hold; without it those of the case itself.
    pub point: Option<String>,
    /// First part; without it every mouth and all that breathes outside.
    pub from: Option<String>,
    /// Last part; without it every draw.
    pub to: Option<String>,
    /// Edge at the room.
    pub entry: BenchEntry,
    /// Parts that are taken out: their neighbours meet. Of a filter or screen between two volumes an empty frame stays.
    pub removed: Vec<String>,
}

/// A case that is on a bench.
#[derive(Debug)]
pub struct BenchCase {
    /// The case. Its one point is [`super::REST`], its march ends when steady.
    pub case: Case,
    /// Names of the draws that the bench holds at a depression.
    pub draws: Vec<String>,
    /// Whether the air leaves the last part through a section of its own; without one, as behind a filter, a chamber stands before the draw.
    pub has_exit: bool,
    /// Ducts and losses on the bench, in the order of the flow lines.
    pub parts: Vec<String>,
}

/// Radius of a wide entry: Idelchik's curves of entries do not fall further beyond a fifth of the bore (diagram 3-4).
const WIDE_RADIUS: &str = "1 m";
/// Area of the frame that is left of a filter or screen between two volumes: so wide that its velocity head does not count.
const FRAME: &str = "1 m2";
/// Chamber behind a last part without a section of its own, and a bore out of it so wide that its velocity head does not count.
const CHAMBER_VOLUME: &str = "50 L";
const CHAMBER_BORE: &str = "1 m";
/// Names of what the bench adds.
const BENCH: &str = "flow_bench";
const CHAMBER: &str = "flow_bench_chamber";
const PLUG: &str = "flow_bench_plug";

impl Case {
    /// This case on a flow bench that holds `depression` [Pa] behind it, the outside pressure less the static pressure behind its last section.
    ///
    /// The air is that of the outside, at rest; walls have its temperature, no engine and no fan runs, and bays are the room. Flow lines are
    /// followed the way they are read, from the first part to the last. What hangs on the span besides is plugged.
    ///
    /// # Errors
    /// An unknown point or part, a span without a way through, or a part that cannot begin, end or leave it.
    pub fn on_bench(&self, setup: &BenchSetup, depression: f64) -> Result<BenchCase, CaseError> {
        let log = Log::new();
        if let Some(point) = &setup.point
            && !self.points.iter().any(|known| known.name == *point)
        {
            return Err(self.unknown_point(point));
        }
        let span = Span::of(self, setup, &log);
        let tree = span.as_ref().map(|span| self.bench_tree(span, setup, depression, &log));
        log.finish()?;
        let (Some(span), Some(tree)) = (span, tree) else {
            return Err(CaseError { problems: vec![super::unread(&Arc::from(self.file.as_str()))] });
        };
        let run = map(&self.place(), [("until", self.text("steady"))]);
        let case = self.read_anew(tree)?.run_as(&run)?;
        let parts = span.passages();
        Ok(BenchCase { case, has_exit: !span.needs_chamber(), draws: span.draws, parts })
    }

    /// Whether all air passes `part` on its way over the bench of this setup.
    ///
    /// # Errors
    /// As for [`Case::on_bench`].
    pub fn bench_air_all_passes(&self, setup: &BenchSetup, part: &str) -> Result<bool, CaseError> {
        let log = Log::new();
        let span = Span::of(self, setup, &log);
        log.finish()?;
        Ok(span.is_some_and(|span| !span.has_way_around(part)))
    }

    fn bench_tree(&self, span: &Span, setup: &BenchSetup, depression: f64, log: &Log) -> Node {
        let mut lines = span.lines(setup);
        let plugs = span.plugs(&mut lines);
        let named: BTreeSet<&str> = lines.iter().flatten().filter_map(Node::text).map(part_of).collect();
        let mut parts = Vec::new();
        for part in span.parts.iter().filter(|part| named.contains(part.key.as_str())) {
            let value = if span.draws.contains(&part.key) {
                bench(&self.place(), part.value.entry("bore"), depression)
            } else if span.removed.contains(&part.key) {
                let plate = [("kind", "orifice_plate"), ("area", FRAME), ("discharge_coefficient", "1")];
                map(&self.place(), plate.map(|(key, text)| (key, self.text(text))))
            } else {
                let begins = lines.iter().any(|line| begins_outside(line, &part.key));
                cold(&part.value, setup.entry, begins, &self.place())
            };
            let value = span.with_jets_that_are_left(value, &part.key, &lines, &named);
            parts.push(Entry { value, ..part.clone() });
        }
        if span.needs_chamber() {
            let chamber = [("kind", self.text("plenum")), ("volume", self.text(CHAMBER_VOLUME))];
            parts.push(self.entry(CHAMBER, map(&self.place(), chamber)));
        }
        if span.draws.iter().any(|draw| draw == BENCH) {
            let bore = span.needs_chamber().then(|| self.entry("bore", self.text(CHAMBER_BORE)));
            parts.push(self.entry(BENCH, bench(&self.place(), bore.as_ref(), depression)));
        }
        parts.extend(plugs.iter().map(|plug| self.entry(plug, map(&self.place(), [("kind", self.text("wall"))]))));
        let lines = lines.into_iter().map(|line| Node { place: line[0].place.clone(), content: Content::List(line) });
        let lines = Content::List(lines.collect());
        let kept = |name: &str| self.tree.entry(name).cloned();
        let outside = setup.point.as_ref().and_then(|point| self.tree.get("points")?.get(point)?.entry("outside"));
        let outside = match (kept("outside"), outside) {
            (Some(base), Some(change)) => {
                Some(Entry { value: merge(base.value, change.value.clone(), "outside", log), ..base })
            }
            (base, change) => change.cloned().or(base),
        };
        let entries = [kept("title"), outside, kept("run")].into_iter().flatten().chain([
            self.entry("parts", Node { place: self.place(), content: Content::Map(parts) }),
            self.entry("flow", Node { place: self.place(), content: lines }),
        ]);
        Node { place: self.place(), content: Content::Map(entries.collect()) }
    }

    fn place(&self) -> Place {
        Place::whole(&Arc::from(self.file.as_str()))
    }

    fn text(&self, text: &str) -> Node {
        Node::plain(text, self.place())
    }

    fn entry(&self, key: &str, value: Node) -> Entry {
        Entry { key: key.to_owned(), place: self.place(), value }
    }
}

/// The parts that air passes on the bench.
struct Span {
    /// Every part of the case, as the point has it.
    parts: Vec<Entry>,
    /// Flow lines of the case, bays written as the outside, cut where the outside stands within one.
    lines: Vec<Vec<Node>>,
    /// Parts on a way from a first to a last one.
    kept: BTreeSet<String>,
    first: BTreeSet<String>,
    last: BTreeSet<String>,
    /// Draws that the bench takes the place of.
    draws: Vec<String>,
    removed: BTreeSet<String>,
}

impl Span {
    /// `None` when what is wrong has been noted.
    fn of(case: &Case, setup: &BenchSetup, log: &Log) -> Option<Self> {
        let entries = case.tree.get("parts").and_then(Node::map).unwrap_or_default();
        let changes = Changes::of(&case.tree, entries, log);
        let parts: Vec<Entry> = match &setup.point {
            Some(point) => entries.iter().map(|part| changes.apply(point, part, log)).collect(),
            None => entries.to_vec(),
        };
        let lines = lines_of(case, &parts);
        let (mut first, mut last, mut draws) = (BTreeSet::new(), BTreeSet::new(), Vec::new());
        for part in &parts {
            match kind_of(part) {
                "mouth" | "scoop" if setup.from.is_none() => drop(first.insert(part.key.clone())),
                "draw" if setup.to.is_none() => {
                    last.insert(part.key.clone());
                    draws.push(part.key.clone());
                }
                _ => {}
            }
        }
        if setup.from.is_none() {
            let opened = lines.iter().filter(|line| text_of(&line[0]) == OUTSIDE);
            first.extend(opened.filter_map(|line| line.get(1)).map(|stop| part_of(text_of(stop)).to_owned()));
        }
        let ends = [("from", &setup.from, &mut first), ("to", &setup.to, &mut last)];
        for (which, name, set) in ends {
            let Some(name) = name else { continue };
            let part = known_part(case, &parts, name, log)?;
            let kind = kind_of(part);
            let may = match kind {
                "mouth" | "scoop" => which == "from",
                "draw" => which == "to",
                _ => is_passage(kind),
            };
            if !may {
                let expected = "a part with a bore, such as a duct, a filter or an elbow";
                wrong(case, log, name, format!("a {kind} at the {} of what is tested", which_end(which)), expected);
                return None;
            }
            set.insert(name.clone());
        }
        if let Some(to) = &setup.to {
            let is_draw = parts.iter().any(|part| part.key == *to && kind_of(part) == "draw");
            draws.push(if is_draw { to.clone() } else { BENCH.to_owned() });
        }
        let mut span = Self { parts, lines, kept: BTreeSet::new(), first, last, draws, removed: BTreeSet::new() };
        let ahead = span.reached(&span.first, false, None);
        let behind = span.reached(&span.last, true, None);
        span.kept = ahead.intersection(&behind).cloned().collect();
        if span.kept.is_empty() {
            let name = |end: &Option<String>, all: &str| end.clone().unwrap_or_else(|| all.to_owned());
            let ends = [name(&setup.from, "the mouths"), name(&setup.to, "the draws")];
            log.note(Problem {
                location: case.location("flow"),
                path: "flow".to_owned(),
                found: format!("no way from {} to {}", ends[0], ends[1]),
                expected: "flow lines that lead from one to the other, read the way the air goes".to_owned(),
                nearest: None,
            });
            return None;
        }
        span.draws.retain(|draw| draw == BENCH || span.kept.contains(draw));
        span.first = span.first.intersection(&span.kept).cloned().collect();
        span.last = span.last.intersection(&span.kept).cloned().collect();
        for name in &setup.removed {
            let kind = kind_of(known_part(case, &span.parts, name, log)?);
            if !span.kept.contains(name) {
                wrong(case, log, name, "a part that no tested air passes", "a part of what is tested");
            } else if !is_passage(kind) && kind != "mouth" && kind != "scoop" {
                let found = format!("a {kind} that is to be taken out");
                wrong(case, log, name, found, "a part that leaves one way through: a duct, a loss or a mouth");
            }
            span.removed.insert(name.clone());
        }
        Some(span)
    }

    /// Parts that are reached from `from`, against the air when `upstream`, and not through `around`.
    fn reached(&self, from: &BTreeSet<String>, upstream: bool, around: Option<&str>) -> BTreeSet<String> {
        let mut next: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
        for pair in self.lines.iter().flat_map(|line| line.windows(2)) {
            let [before, after] = [&pair[0], &pair[1]].map(|stop| part_of(text_of(stop)));
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

    /// Whether the last part is a loss without length, which must blow into something.
    fn needs_chamber(&self) -> bool {
        let is_duct = |name: &String| self.parts.iter().any(|part| part.key == *name && kind_of(part) == "duct");
        self.draws.iter().any(|draw| draw == BENCH) && !self.last.iter().all(is_duct)
    }

    fn has_way_around(&self, part: &str) -> bool {
        let ahead = self.reached(&self.first, false, Some(part));
        self.last.iter().any(|last| ahead.contains(last) && self.kept.contains(last))
    }

    /// Flow lines of what is tested.
    fn lines(&self, setup: &BenchSetup) -> Vec<Vec<Node>> {
        let mut lines = Vec::new();
        for line in &self.lines {
            let is_kept = |stop: &Node| self.kept.contains(part_of(text_of(stop)));
            for run in line.chunk_by(|a, b| is_kept(a) == is_kept(b)).filter(|run| is_kept(&run[0])) {
                let mut stops = self.stops(run, setup);
                if self.kept_from_outside(line, run) {
                    stops.insert(0, Node::plain(OUTSIDE, run[0].place.clone()));
                }
                if stops.len() > 1 {
                    lines.push(stops);
                }
            }
        }
        lines
    }

    /// Whether the outside stands before the `run` of a line.
    fn kept_from_outside(&self, line: &[Node], run: &[Node]) -> bool {
        let name = text_of(&run[0]);
        let is_mouth = self.parts.iter().any(|part| part.key == name && matches!(kind_of(part), "mouth" | "scoop"));
        let opens = self.first.contains(name) && (!is_mouth || self.removed.contains(name));
        let stands_outside = text_of(&line[0]) == OUTSIDE && line.get(1).is_some_and(|stop| stop.place == run[0].place);
        opens || stands_outside && self.first.contains(name)
    }

    /// The stops of a `run` of kept parts that stay, with the bench behind the last part.
    fn stops(&self, run: &[Node], setup: &BenchSetup) -> Vec<Node> {
        let mut stops = Vec::new();
        for (place, stop) in run.iter().enumerate() {
            let beside = [place.checked_sub(1).and_then(|before| run.get(before)), run.get(place + 1)];
            if !self.removed.contains(text_of(stop)) || self.leaves_a_frame(text_of(stop), beside) {
                stops.push(stop.clone());
            }
            if setup.to.as_deref() == Some(text_of(stop)) && self.draws.iter().any(|draw| draw == BENCH) {
                let chamber = self.needs_chamber().then_some(CHAMBER);
                stops.extend(chamber.into_iter().chain([BENCH]).map(|name| Node::plain(name, stop.place.clone())));
            }
        }
        stops
    }

    /// Whether `part` is a filter or screen between two volumes, which stay two without it.
    fn leaves_a_frame(&self, part: &str, beside: [Option<&Node>; 2]) -> bool {
        let is = |name: &str, kinds: &[&str]| {
            self.parts.iter().any(|part| part.key == name && kinds.contains(&kind_of(part)))
        };
        let is_volume = |stop: Option<&Node>| stop.is_some_and(|stop| is(text_of(stop), &["plenum"]));
        is(part, &["filter", "screen"]) && beside.into_iter().all(is_volume)
    }

    /// Closes the ducts on legs of kept wyes that no tested air passes; names of the walls.
    fn plugs(&self, lines: &mut Vec<Vec<Node>>) -> Vec<String> {
        let mut plugs = Vec::new();
        for pair in self.lines.iter().flat_map(|line| line.windows(2)) {
            let leg = |stop: &Node| text_of(stop).contains('.') && self.kept.contains(part_of(text_of(stop)));
            let off = |stop: &Node| !self.kept.contains(part_of(text_of(stop)));
            let plug = Node::plain(format!("{PLUG}_{}", plugs.len() + 1), pair[0].place.clone());
            if leg(&pair[0]) && off(&pair[1]) {
                lines.push(vec![pair[0].clone(), pair[1].clone(), plug.clone()]);
            } else if leg(&pair[1]) && off(&pair[0]) {
                lines.push(vec![plug.clone(), pair[0].clone(), pair[1].clone()]);
            } else {
                continue;
            }
            plugs.push(text_of(&plug).to_owned());
        }
        plugs
    }

    /// Ducts and losses that are kept, in the order of the flow lines.
    fn passages(&self) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        for stop in self.lines.iter().flatten() {
            let name = text_of(stop);
            let part = self.parts.iter().find(|part| part.key == name);
            if self.kept.contains(name)
                && part.is_some_and(|part| is_passage(kind_of(part)))
                && !names.iter().any(|known| known == name)
            {
                names.push(name.to_owned());
            }
        }
        names
    }
}

/// Flow lines with each bay written as the outside, cut so that the outside stands at their ends only.
fn lines_of(case: &Case, parts: &[Entry]) -> Vec<Vec<Node>> {
    let is_bay = |name: &str| parts.iter().any(|part| part.key == name && kind_of(part) == "bay");
    let mut lines = Vec::new();
    for line in case.tree.get("flow").and_then(Node::list).unwrap_or_default() {
        let mut open: Vec<Node> = Vec::new();
        for stop in line.list().unwrap_or_default() {
            let name = text_of(stop);
            let is_outside = name == OUTSIDE || is_bay(name);
            open.push(if is_outside { Node::plain(OUTSIDE, stop.place.clone()) } else { stop.clone() });
            if is_outside && open.len() > 1 {
                lines.push(std::mem::replace(&mut open, vec![Node::plain(OUTSIDE, stop.place.clone())]));
            }
        }
        if open.len() > 1 {
            lines.push(open);
        }
    }
    lines
}

/// Whether a part of this kind is a passage that can be put on a bench by itself or taken out.
fn is_passage(kind: &str) -> bool {
    matches!(kind, "duct" | "filter" | "screen" | "orifice_plate" | "gap" | "elbow" | "step")
}

/// A part without the heat of its walls, its mouth with the edge of the bench.
fn cold(part: &Node, entry: BenchEntry, begins_outside: bool, place: &Place) -> Node {
    let text = |text: &str| Node::plain(text, place.clone());
    let kind = part.get("kind").map_or("", text_of);
    let is_mouth = matches!(kind, "mouth" | "scoop");
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

/// A draw that holds `depression` [Pa].
fn bench(place: &Place, bore: Option<&Entry>, depression: f64) -> Node {
    let text = |text: &str| Node::plain(text, place.clone());
    let mut node = map(place, [("kind", text("draw")), ("depression", text(&format!("{depression} Pa")))]);
    if let (Content::Map(entries), Some(bore)) = (&mut node.content, bore) {
        entries.push(bore.clone());
    }
    node
}

fn begins_outside(line: &[Node], part: &str) -> bool {
    text_of(&line[0]) == OUTSIDE && line.get(1).is_some_and(|stop| text_of(stop) == part)
}

fn map<const N: usize>(place: &Place, entries: [(&str, Node); N]) -> Node {
    let entry = |(key, value): (&str, Node)| Entry { key: key.to_owned(), place: place.clone(), value };
    Node { place: place.clone(), content: Content::Map(entries.into_iter().map(entry).collect()) }
}

fn text_of(node: &Node) -> &str {
    node.text().unwrap_or_default()
}

/// The part of a stop, without the leg of a wye.
fn part_of(stop: &str) -> &str {
    stop.split_once('.').map_or(stop, |(part, _)| part)
}

fn kind_of(part: &Entry) -> &str {
    part.value.get("kind").map_or("", text_of)
}

fn which_end(which: &str) -> &'static str {
    if which == "from" { "beginning" } else { "end" }
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

fn wrong(case: &Case, log: &Log, part: &str, found: impl Into<String>, expected: &str) {
    let path = join("parts", part);
    let location = case.location(&path);
    log.note(Problem { location, path, found: found.into(), expected: expected.to_owned(), nearest: None });
}
