//! How a span stands on the bench: its flow lines with what stays of parts that are out, the draws behind it, and plugs.

use super::names::{BENCH, CHAMBER, Names, OPENING, PLUG, STUB};
use super::remains::{end_section, frame, hole, hole_area, stub};
use super::span::Span;
use super::{map, part_of, plain, text_of};
use crate::case::{Case, flow_line::OUTSIDE};
use crate::error::Problem;
use crate::fields::Log;
use crate::flow::End;
use crate::quantity::quote;
use crate::yaml::{Entry, Node, Place};
use std::collections::BTreeMap;

/// Chamber behind a last part without a section of its own, and a bore so wide that its velocity head does not count.
const CHAMBER_VOLUME: &str = "50 L";
const WIDE_BORE: &str = "1 m";

/// A span on the bench.
pub(super) struct Layout<'a> {
    pub span: &'a Span,
    pub lines: Vec<Vec<Node>>,
    /// Draws that the bench holds at a depression.
    pub draws: Vec<Held>,
    /// What stands in the place of parts that are out.
    pub left: BTreeMap<String, Node>,
    /// Parts that the case does not have.
    pub added: Vec<Entry>,
    /// Whether all draws take over from a section of the tract's own.
    pub has_exit: bool,
    case: &'a Case,
    names: Names,
    place: Place,
}

/// A draw that the bench holds at a depression.
pub(super) struct Held {
    pub name: String,
    /// Its bore; that of the duct before it when absent.
    pub bore: Option<Node>,
}

impl<'a> Layout<'a> {
    /// `None` when what is wrong has been noted.
    pub(super) fn of(case: &'a Case, span: &'a Span, log: &Log) -> Option<Self> {
        let mut layout = Self {
            span,
            lines: Vec::new(),
            draws: Vec::new(),
            left: BTreeMap::new(),
            added: Vec::new(),
            has_exit: true,
            case,
            names: Names::of(&span.parts),
            place: case.whole(),
        };
        let stays = |name: &String| !span.removed.contains(name) && span.kind(name) != "draw";
        if !span.kept.iter().any(stays) {
            let out: Vec<String> = span.removed.iter().map(|name| quote(name)).collect();
            log.note(Problem {
                location: case.location("flow"),
                path: "flow".to_owned(),
                found: format!("nothing left on the bench without {}", out.join(" and ")),
                expected: "a part that stays".to_owned(),
                nearest: None,
            });
            return None;
        }
        if let Some(volume) = &span.open_volume {
            let opening = layout.add(OPENING, frame(&case.whole()));
            layout.lines.push([OUTSIDE, &opening, volume].map(|stop| plain(&case.whole(), stop)).to_vec());
        }
        for run in span.runs() {
            layout.lay(run);
        }
        if let Some(volume) = span.to.as_ref().filter(|to| span.kind(to) == "plenum") {
            let mut line = vec![plain(&case.whole(), volume)];
            layout.draw_behind(&mut line, None);
            layout.lines.push(line);
        }
        layout.lines.retain(|line| line.len() > 1);
        layout.plug();
        Some(layout)
    }

    /// Lays one stretch of the flow lines.
    fn lay(&mut self, mut run: Vec<Node>) {
        let draw = run.pop_if(|stop| self.span.kind(text_of(stop)) == "draw").map(|stop| text_of(&stop).to_owned());
        let is_to =
            |stop: &Node| self.span.to.as_deref() == Some(text_of(stop)) && self.span.kind(text_of(stop)) != "plenum";
        let ends = draw.is_some() || run.last().is_some_and(is_to);
        let bore = draw.as_deref().and_then(|draw| self.bore(draw));
        let mut line: Vec<Node> = Vec::new();
        let is_out = |span: &Span, stop: &Node| span.removed.contains(text_of(stop));
        let span = self.span;
        let mut stops = run.chunk_by(|a, b| is_out(span, a) && is_out(span, b)).peekable();
        while let Some(group) = stops.next() {
            if !is_out(span, &group[0]) {
                line.extend_from_slice(group);
                continue;
            }
            let behind = stops.peek().map(|next| &next[0]);
            let at_room = line.last().is_some_and(|stop| text_of(stop) == OUTSIDE);
            let before_bench = behind.is_none() && ends && (bore.is_none() || at_room);
            let left = self.remains(line.last().cloned(), group, behind, before_bench);
            line.extend(left);
        }
        if ends {
            self.draw_behind(&mut line, draw.map(|draw| (draw, bore)));
        }
        self.lines.push(line);
    }

    /// Bore that the draw of the case has of its own.
    fn bore(&self, draw: &str) -> Option<Node> {
        self.span.parts.iter().find(|part| part.key == draw)?.value.get("bore").cloned()
    }

    /// What stays of neighbours that are taken out, between `before` and `behind`.
    fn remains(
        &mut self,
        before: Option<Node>,
        group: &[Node],
        behind: Option<&Node>,
        before_bench: bool,
    ) -> Vec<Node> {
        let is_leg = |stop: &Node| text_of(stop).contains('.');
        let mut left = Vec::new();
        if before.as_ref().is_some_and(is_leg) {
            left.extend(group.first().and_then(|stop| self.stub(stop, End::First)));
        }
        if behind.is_some_and(is_leg) {
            left.extend(group.last().and_then(|stop| self.stub(stop, End::Last)));
        }
        let is_wide = |stop: &Node| text_of(stop) == OUTSIDE || self.span.kind(text_of(stop)) == "plenum";
        if !left.is_empty() || !before.as_ref().is_some_and(is_wide) || !(before_bench || behind.is_some_and(is_wide)) {
            return left;
        }
        let area = |stop: &Node| {
            let part = self.span.parts.iter().find(|part| part.key == text_of(stop))?;
            hole_area(self.case, part)
        };
        let holes = group.iter().filter_map(|stop| Some((stop, area(stop)?)));
        let narrowest = holes.min_by(|one, other| one.1.total_cmp(&other.1));
        let (stop, remains) = match narrowest {
            Some((stop, area)) => (stop, hole(area, &self.place)),
            None => (&group[0], frame(&self.place)),
        };
        self.left.insert(text_of(stop).to_owned(), remains);
        vec![stop.clone()]
    }

    /// What a duct that is out leaves at the leg of a wye at its `end`.
    fn stub(&mut self, stop: &Node, end: End) -> Option<Node> {
        let part = self.span.parts.iter().find(|part| part.key == text_of(stop))?;
        let stub = stub(end_section(self.case, part, end)?, &self.place);
        if self.left.contains_key(&part.key) {
            let name = self.add(STUB, stub);
            return Some(plain(&stop.place, name));
        }
        self.left.insert(part.key.clone(), stub);
        Some(stop.clone())
    }

    /// Puts a draw of the bench behind a line: the case's own with its bore, or one of the bench. It takes over from the end of a duct, and out of a volume
    /// by a wide bore; a chamber stands before it where neither does.
    fn draw_behind(&mut self, line: &mut Vec<Node>, own: Option<(String, Option<Node>)>) {
        let kind = |stop: &Node| match self.left.get(text_of(stop)).and_then(|left| left.get("kind")) {
            Some(kind) => text_of(kind).to_owned(),
            None => self.span.kind(text_of(stop)).to_owned(),
        };
        let last = line.last().map(kind).unwrap_or_default();
        let is_bare = !line.iter().any(|stop| matches!(kind(stop).as_str(), "duct" | "plenum"));
        let (name, bore) = own.unwrap_or_else(|| (self.names.free(BENCH), None));
        let passes_on = last == "duct" || last == "plenum" || bore.is_some() && !is_bare;
        if !passes_on {
            let volume = [("kind", plain(&self.place, "plenum")), ("volume", plain(&self.place, CHAMBER_VOLUME))];
            let chamber = self.add(CHAMBER, map(&self.place, volume));
            line.push(plain(&self.place, chamber));
        }
        let bore = bore.or_else(|| {
            self.has_exit &= last == "duct";
            (last != "duct").then(|| plain(&self.place, WIDE_BORE))
        });
        line.push(plain(&self.place, &name));
        self.draws.push(Held { name, bore });
    }

    /// Closes the ducts on legs of kept wyes that no tested air passes.
    fn plug(&mut self) {
        let is_kept = |stop: &Node| self.span.kept.contains(part_of(stop));
        let is_leg = |stop: &Node| text_of(stop).contains('.') && is_kept(stop);
        for pair in self.span.lines.iter().flat_map(|line| line.windows(2)) {
            let at_leg = [is_leg(&pair[0]) && !is_kept(&pair[1]), is_leg(&pair[1]) && !is_kept(&pair[0])];
            if at_leg == [false, false] {
                continue;
            }
            let number = self.added.iter().filter(|part| part.key.starts_with(PLUG)).count() + 1;
            let name = self.names.free(&format!("{PLUG}_{number}"));
            self.added.push(self.entry(&name, map(&self.place, [("kind", plain(&self.place, "wall"))])));
            let plug = plain(&pair[0].place, name);
            let pair = pair.to_vec();
            self.lines.push(if at_leg[0] { [pair, vec![plug]].concat() } else { [vec![plug], pair].concat() });
        }
    }

    /// Adds a part under a free name; the name.
    fn add(&mut self, wanted: &str, value: Node) -> String {
        let name = self.names.free(wanted);
        self.added.push(self.entry(&name, value));
        name
    }

    fn entry(&self, key: &str, value: Node) -> Entry {
        Entry { key: key.to_owned(), place: self.place.clone(), value }
    }

    /// Whether a part stands behind the room.
    pub(super) fn begins_outside(&self, part: &str) -> bool {
        let at_room =
            |line: &Vec<Node>| text_of(&line[0]) == OUTSIDE && line.get(1).is_some_and(|stop| text_of(stop) == part);
        self.lines.iter().any(at_room)
    }
}
