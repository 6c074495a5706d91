//! One pass over the parser's events: the tree with its places, duplicate keys, and limits that no hostile file passes.

use std::collections::BTreeMap;
use std::sync::Arc;

use saphyr_parser::{Event, Parser, ScalarStyle, Span};

use super::{Content, Entry, Node, Place};
use crate::error::Problem;

/// What a file may ask for; each limit has its own message.
#[derive(Debug, Clone, Copy)]
pub struct Limits {
    /// Length of the text [bytes].
    pub length: usize,
    /// Levels of maps and lists.
    pub depth: usize,
    /// Aliases (`*name`).
    pub aliases: usize,
    /// Memory of the tree with all aliases expanded [bytes].
    pub weight: usize,
    /// Duplicate keys; a file with more is not read to its end.
    pub duplicates: usize,
}

impl Limits {
    /// The limits of a case file.
    pub const CASE: Self = Self { length: 4 << 20, depth: 64, aliases: 1_000, weight: 8 << 20, duplicates: 200 };
}

/// Reads one YAML document; what is wrong goes to `problems`.
///
/// `None` when there is no tree at all. A duplicate key is noted with both lines and its first value kept. A byte order mark is
/// skipped; lines may end in CR LF.
pub fn read(file: &Arc<str>, text: &str, limits: Limits, problems: &mut Vec<Problem>) -> Option<Node> {
    if text.len() > limits.length {
        let found = format!("{} bytes", text.len());
        problems.push(problem(&Place::whole(file), "case", found, format!("at most {} bytes", limits.length)));
        return None;
    }
    let mut builder = Builder {
        file,
        limits,
        problems,
        open: Vec::new(),
        anchors: BTreeMap::new(),
        aliases: 0,
        weight: 0,
        duplicates: 0,
        root: None,
    };
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    match builder.run(text) {
        Ok(()) => builder.root,
        Err(stop) => {
            builder.problems.push(*stop);
            None
        }
    }
}

/// A list or map whose end has not come yet.
struct Open {
    place: Place,
    anchor: usize,
    content: Content,
    /// Keys of a map with their places.
    seen: BTreeMap<String, Place>,
    /// Key of a map whose value comes next.
    key: Option<Key>,
}

/// A key whose value has not come yet.
struct Key {
    name: String,
    place: Place,
    /// Whether the map has it already.
    repeated: bool,
}

struct Builder<'a> {
    file: &'a Arc<str>,
    limits: Limits,
    problems: &'a mut Vec<Problem>,
    open: Vec<Open>,
    anchors: BTreeMap<usize, Node>,
    aliases: usize,
    weight: usize,
    duplicates: usize,
    root: Option<Node>,
}

/// A problem that ends the reading.
type Step = Result<(), Box<Problem>>;

impl Builder<'_> {
    fn run(&mut self, text: &str) -> Step {
        for event in Parser::new_from_str(text) {
            match event {
                Ok((event, span)) => self.take(event, &span)?,
                Err(error) => {
                    let place = self.place(error.marker().line(), error.marker().col());
                    return Err(self.stop(&place, error.info().to_owned(), "YAML".to_owned()));
                }
            }
        }
        match self.root {
            Some(_) => Ok(()),
            None => Err(self.stop(&Place::whole(self.file), "an empty file".to_owned(), "a map of keys".to_owned())),
        }
    }

    fn take(&mut self, event: Event<'_>, span: &Span) -> Step {
        let place = self.place(span.start.line(), span.start.col());
        match event {
            Event::DocumentStart(_) if self.root.is_some() => {
                Err(self.stop(&place, "a second document".to_owned(), "one document in a file".to_owned()))
            }
            Event::Scalar(_, _, _, Some(_)) | Event::SequenceStart(_, Some(_)) | Event::MappingStart(_, Some(_)) => {
                Err(self.stop(&place, "a tag (`!...`)".to_owned(), "a value without a tag".to_owned()))
            }
            Event::Scalar(text, style, anchor, None) => self.scalar(&text, style, anchor, place),
            Event::SequenceStart(anchor, None) => self.descend(Content::List(Vec::new()), anchor, place),
            Event::MappingStart(anchor, None) => self.descend(Content::Map(Vec::new()), anchor, place),
            Event::SequenceEnd | Event::MappingEnd => self.ascend(),
            Event::Alias(anchor) => self.alias(anchor, place),
            _ => Ok(()),
        }
    }

    fn scalar(&mut self, text: &str, style: ScalarStyle, anchor: usize, place: Place) -> Step {
        if let Some(invisible) = text.chars().find(|&c| is_invisible(c)) {
            let found = format!("the invisible character U+{:04X}", u32::from(invisible));
            return Err(self.stop(&place, found, "visible characters".to_owned()));
        }
        if let Some(Open { content: Content::Map(_), key: None, .. }) = self.open.last() {
            return self.key(text, place);
        }
        let content = Content::Scalar { text: text.to_owned(), plain: style == ScalarStyle::Plain };
        let node = Node { place, content };
        self.weigh(&node.place, node.weight())?;
        self.finish(node, anchor)
    }

    /// Takes note of a key of the map that is open.
    fn key(&mut self, key: &str, place: Place) -> Step {
        if key.is_empty() {
            return Err(self.stop(&place, "an empty key".to_owned(), "a word before the colon".to_owned()));
        }
        self.weigh(&place, 2 * key.len())?;
        let Some(map) = self.open.last_mut() else { return Ok(()) };
        let first = map.seen.get(key).map(|first| first.line);
        if first.is_none() {
            map.seen.insert(key.to_owned(), place.clone());
        }
        map.key = Some(Key { name: key.to_owned(), place: place.clone(), repeated: first.is_some() });
        if let Some(line) = first {
            let found = format!("{} a second time, after line {line}", crate::quantity::quote(key));
            let duplicate = problem(&place, &self.path(), found, "each key once".to_owned());
            self.duplicates += 1;
            if self.duplicates >= self.limits.duplicates {
                return Err(Box::new(duplicate));
            }
            self.problems.push(duplicate);
        }
        Ok(())
    }

    fn descend(&mut self, content: Content, anchor: usize, place: Place) -> Step {
        if let Some(Open { content: Content::Map(_), key: None, .. }) = self.open.last() {
            return Err(self.stop(&place, "a list or map as a key".to_owned(), "a word before the colon".to_owned()));
        }
        self.open.push(Open { place, anchor, content, seen: BTreeMap::new(), key: None });
        self.check_depth(0)
    }

    fn ascend(&mut self) -> Step {
        let Some(Open { place, anchor, content, .. }) = self.open.pop() else { return Ok(()) };
        let empty = Node { place, content: Content::List(Vec::new()) };
        self.weigh(&empty.place, empty.weight())?;
        self.finish(Node { content, ..empty }, anchor)
    }

    fn alias(&mut self, anchor: usize, place: Place) -> Step {
        self.aliases += 1;
        if self.aliases > self.limits.aliases {
            return Err(self.stop(
                &place,
                format!("{} aliases", self.aliases),
                format!("at most {}", self.limits.aliases),
            ));
        }
        if let Some(Open { content: Content::Map(_), key: None, .. }) = self.open.last() {
            return Err(self.stop(&place, "an alias as a key".to_owned(), "a word before the colon".to_owned()));
        }
        let Some(node) = self.anchors.get(&anchor) else {
            return Err(self.stop(
                &place,
                "an alias inside its own anchor".to_owned(),
                "an anchor that has ended".to_owned(),
            ));
        };
        let (weight, height) = (node.weight(), node.height());
        self.weigh(&place, weight)?;
        self.check_depth(height)?;
        match self.anchors.get(&anchor).cloned() {
            Some(node) => self.finish(node, 0),
            None => Ok(()),
        }
    }

    /// Hands a finished node to what encloses it.
    fn finish(&mut self, node: Node, anchor: usize) -> Step {
        if anchor > 0 {
            self.weigh(&node.place, node.weight())?;
            self.anchors.insert(anchor, node.clone());
        }
        match self.open.last_mut() {
            None => self.root = Some(node),
            Some(Open { content: Content::List(items), .. }) => items.push(node),
            Some(Open { content: Content::Map(entries), key, .. }) => {
                if let Some(Key { name, place, repeated: false }) = key.take() {
                    entries.push(Entry { key: name, place, value: node });
                }
            }
            Some(Open { content: Content::Scalar { .. }, .. }) => {}
        }
        Ok(())
    }

    fn weigh(&mut self, place: &Place, weight: usize) -> Step {
        self.weight += weight;
        if self.weight > self.limits.weight {
            let expected = format!("at most {} MiB with all aliases expanded", self.limits.weight >> 20);
            return Err(self.stop(place, "a case that takes too much memory".to_owned(), expected));
        }
        Ok(())
    }

    /// Refuses to nest deeper than the limit; `below` are levels that come at once.
    fn check_depth(&self, below: usize) -> Step {
        if self.open.len() + below <= self.limits.depth {
            return Ok(());
        }
        let place = self.open.last().map_or_else(|| Place::whole(self.file), |open| open.place.clone());
        let expected = format!("at most {} levels of lists and maps", self.limits.depth);
        Err(self.stop(&place, "a value nested too deep".to_owned(), expected))
    }

    /// Path of what is read now, such as `parts.box`.
    fn path(&self) -> String {
        let mut path = String::new();
        for open in &self.open {
            match (&open.content, &open.key) {
                (Content::List(items), _) => path.push_str(&format!("[{}]", items.len())),
                (_, Some(key)) if path.is_empty() => path.push_str(&key.name),
                (_, Some(key)) => path.push_str(&format!(".{}", key.name)),
                _ => {}
            }
        }
        path
    }

    fn stop(&self, place: &Place, found: String, expected: String) -> Box<Problem> {
        let path = self.path();
        Box::new(problem(place, if path.is_empty() { "case" } else { &path }, found, expected))
    }

    fn place(&self, line: usize, column: usize) -> Place {
        let number = |value: usize| u32::try_from(value).unwrap_or(u32::MAX);
        Place { file: Arc::clone(self.file), line: number(line), column: number(column + 1) }
    }
}

/// Control characters, line breaks of other alphabets and marks that turn the reading direction: nothing that an engineer types,
/// and what shows one text and means another.
fn is_invisible(c: char) -> bool {
    (c.is_control() && !matches!(c, '\n' | '\t'))
        || matches!(c, '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}' | '\u{fffe}' | '\u{ffff}')
}

fn problem(place: &Place, path: &str, found: String, expected: String) -> Problem {
    Problem { location: place.location(), path: path.to_owned(), found, expected, nearest: None }
}
