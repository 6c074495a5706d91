//! A map against its table of keys: unknown and missing keys, values of the wrong form, dimension or range.

use super::{DefaultUsed, Key, Log, Need, Range, Value};
use crate::error::Problem;
use crate::quantity::{self, Dimension, Fault};
use crate::suggest;
use crate::yaml::{Content, Entry, Node, Place};

/// Longest name of a part, point or leg [bytes].
pub const LONGEST_NAME: usize = 64;

/// Largest count that is taken.
const LARGEST_COUNT: usize = 1_000_000_000;

/// Checks a map and all below it; keys in `also` are left to others.
pub(super) fn check_map(log: &Log, path: &str, place: &Place, node: &Node, keys: &'static [Key], also: &[&str]) {
    let Some(entries) = node.map() else {
        return log.wrong(place, path, node.describe(), Value::Map(keys).expectation());
    };
    for (index, entry) in entries.iter().enumerate() {
        if is_half_number(entry) {
            continue;
        }
        if let Some(half) = entries.get(index + 1).filter(|next| is_half_number(next)) {
            let whole = format!("{},{}", entry.value.text().unwrap_or_default(), half.key);
            let expected = format!("a decimal point: `{}`", whole.replace(',', "."));
            log.wrong(
                entry.value_place(),
                &join(path, &entry.key),
                format!("a decimal comma in {}", quantity::quote(&whole)),
                expected,
            );
            continue;
        }
        match keys.iter().find(|key| key.name == entry.key) {
            Some(key) => check_value(log, &join(path, key.name), entry.value_place(), &entry.value, &key.value),
            None if also.contains(&entry.key.as_str()) => {}
            None => unknown_key(log, path, entry, keys),
        }
    }
    for key in keys.iter().filter(|key| node.entry(key.name).is_none()) {
        match key.need {
            Need::Required => {
                log.wrong(place, &join(path, key.name), format!("no `{}`", key.name), key.value.expectation());
            }
            Need::Optional(holds) if holds.is_empty() || holds.starts_with("none") => {}
            Need::Optional(holds) => {
                log.note_default(DefaultUsed { path: path.to_owned(), key: key.name, holds, value: None });
            }
        }
    }
}

/// Whether the entry is the rest of a number that a decimal comma has cut in two: `{until: 0,4 s}` reads as `until: 0` and `4 s:`.
fn is_half_number(entry: &Entry) -> bool {
    entry.value.is_null() && entry.key.starts_with(|c: char| c.is_ascii_digit())
}

fn unknown_key(log: &Log, path: &str, entry: &Entry, keys: &[Key]) {
    let names = keys.iter().map(|key| key.name);
    log.note(Problem {
        location: entry.place.location(),
        path: join(path, &entry.key),
        found: format!("the unknown key {}", quantity::quote(&entry.key)),
        expected: format!("one of: {}", names.clone().collect::<Vec<_>>().join(", ")),
        nearest: suggest::nearest(&entry.key, names),
    });
}

/// Checks a value against what its key may hold.
fn check_value(log: &Log, path: &str, place: &Place, node: &Node, value: &Value) {
    if node.is_null() {
        return log.wrong(place, path, "nothing", value.expectation());
    }
    let Some(form) = form_of(value, node) else {
        return log.wrong(place, path, node.describe(), value.expectation());
    };
    match form {
        Value::Map(keys) => check_map(log, path, place, node, keys, &[]),
        Value::Maps(keys) => {
            for (index, item) in node.list().unwrap_or_default().iter().enumerate() {
                check_map(log, &format!("{path}[{index}]"), &item.place, item, keys, &[]);
            }
        }
        Value::NamedMaps(keys) => {
            for entry in node.map().unwrap_or_default() {
                check_name(log, path, entry);
                check_map(log, &join(path, &entry.key), &entry.place, &entry.value, keys, &[]);
            }
        }
        Value::Named(dimension, range) => {
            for entry in node.map().unwrap_or_default() {
                check_name(log, path, entry);
                let quantity = Value::Quantity(*dimension, *range);
                check_value(log, &join(path, &entry.key), entry.value_place(), &entry.value, &quantity);
            }
        }
        leaf => {
            if let Err((faulty, fault)) = read_leaf(node, leaf) {
                let location = faulty.map_or(place, |node| &node.place).location();
                let Fault { found, expected, nearest } = fault;
                log.note(Problem { location, path: path.to_owned(), found, expected, nearest });
            }
        }
    }
}

/// The form among alternatives that a node's look fits; `None` when it fits none.
pub(crate) fn form_of<'v>(value: &'v Value, node: &Node) -> Option<&'v Value> {
    if let Value::Either(first, second) = value {
        return form_of(first, node).or_else(|| form_of(second, node));
    }
    let number = |text: &str| quantity::looks_like_number(text);
    let fits = match (&node.content, value) {
        (_, Value::Anything(_)) => true,
        // A lone word in place of a number is a wrong number, unless another form takes words.
        (Content::Scalar { text, .. }, Value::Quantity(..) | Value::Quantities(..) | Value::Count) => number(text),
        (Content::Scalar { text, .. }, Value::Word(_)) => !number(text),
        (Content::Scalar { .. }, Value::Text | Value::Flag) => true,
        (Content::List(_), Value::Quantities(..) | Value::Maps(_) | Value::Tuple(_) | Value::Names) => true,
        (Content::Map(_), Value::Map(_) | Value::Named(..) | Value::NamedMaps(_)) => true,
        _ => false,
    };
    fits.then_some(value)
}

/// What a value without keys of its own reads as.
pub(super) enum Leaf {
    /// SI values.
    Numbers(Vec<f64>),
    /// A whole number.
    Count(usize),
    /// A word of the table.
    Word(&'static str),
    /// Text.
    Text(String),
    /// Yes or no.
    Flag(bool),
    /// Names.
    Names(Vec<String>),
    /// Not read here.
    Other,
}

/// A fault with the list item that has it, if it is one.
type LeafFault<'n> = (Option<&'n Node>, Fault);

/// Reads a value that has no keys of its own.
pub(super) fn read_leaf<'n>(node: &'n Node, value: &Value) -> Result<Leaf, LeafFault<'n>> {
    let text = node.text().unwrap_or_default();
    let expected = |found: String| (None, Fault { found, expected: value.expectation(), nearest: None });
    match value {
        Value::Quantity(dimension, range) => read_quantity(node, *dimension, *range).map(|si| Leaf::Numbers(vec![si])),
        Value::Quantities(dimension, range) => read_quantities(node, *dimension, *range).map(Leaf::Numbers),
        Value::Tuple(dimensions) => {
            let items = node.list().unwrap_or_default();
            if items.len() != dimensions.len() {
                return Err(expected(format!("a list of {}", items.len())));
            }
            let read = |(item, dimension): (&'n Node, &Dimension)| read_quantity(item, *dimension, Range::Any);
            items.iter().zip(*dimensions).map(read).collect::<Result<_, _>>().map(Leaf::Numbers)
        }
        Value::Count => match text.parse::<usize>() {
            Ok(count) if count <= LARGEST_COUNT && text.bytes().all(|byte| byte.is_ascii_digit()) => {
                Ok(Leaf::Count(count))
            }
            _ => Err(expected(node.describe())),
        },
        Value::Word(words) => words.iter().find(|word| **word == text).map(|word| Leaf::Word(word)).ok_or_else(|| {
            let (_, fault) = expected(node.describe());
            (None, Fault { nearest: suggest::nearest(text, words.iter().copied()), ..fault })
        }),
        Value::Text => Ok(Leaf::Text(text.to_owned())),
        Value::Flag => match text {
            "yes" | "true" => Ok(Leaf::Flag(true)),
            "no" | "false" => Ok(Leaf::Flag(false)),
            _ => Err(expected(node.describe())),
        },
        Value::Names => {
            let name = |item: &'n Node| match item.text() {
                Some(text) => Ok(text.to_owned()),
                None => Err((Some(item), expected(item.describe()).1)),
            };
            node.list().unwrap_or_default().iter().map(name).collect::<Result<_, _>>().map(Leaf::Names)
        }
        _ => Ok(Leaf::Other),
    }
}

fn read_quantity(node: &Node, dimension: Dimension, range: Range) -> Result<f64, LeafFault<'_>> {
    let Some(text) = node.text() else {
        let expected = Value::Quantity(dimension, range).expectation();
        return Err((Some(node), Fault { found: node.describe(), expected, nearest: None }));
    };
    let si = quantity::parse(text, dimension).map_err(|fault| (Some(node), fault))?;
    within(si, text, dimension, range).map_err(|fault| (Some(node), fault))
}

fn read_quantities(node: &Node, dimension: Dimension, range: Range) -> Result<Vec<f64>, LeafFault<'_>> {
    if let Some(items) = node.list() {
        if items.is_empty() {
            let expected = Value::Quantities(dimension, range).expectation();
            return Err((Some(node), Fault { found: "an empty list".to_owned(), expected, nearest: None }));
        }
        return items.iter().map(|item| read_quantity(item, dimension, range)).collect();
    }
    let text = node.text().unwrap_or_default();
    let values = quantity::parse_list(text, dimension).map_err(|fault| (Some(node), fault))?;
    values.into_iter().map(|si| within(si, text, dimension, range).map_err(|fault| (Some(node), fault))).collect()
}

fn within(si: f64, text: &str, dimension: Dimension, range: Range) -> Result<f64, Fault> {
    if range.allows(si) {
        return Ok(si);
    }
    Err(Fault { found: quantity::quote(text), expected: range.words(dimension), nearest: None })
}

/// Checks the name of a part, point or leg: it names groups of result files and stands in flow lines.
pub fn check_name(log: &Log, path: &str, entry: &Entry) {
    if let Some(found) = name_fault(&entry.key) {
        let expected = format!("letters, digits, `_` and `-`, at most {LONGEST_NAME} bytes, no `-` in front");
        log.wrong(&entry.place, path, found, expected);
    }
}

fn name_fault(name: &str) -> Option<String> {
    let allowed = |c: char| c.is_alphanumeric() || matches!(c, '_' | '-');
    if name.len() > LONGEST_NAME {
        return Some(format!("the name {} of {} bytes", quantity::quote(name), name.len()));
    }
    if name.is_empty() || name.starts_with('-') || !name.chars().all(allowed) {
        return Some(format!("the name {}", quantity::quote(name)));
    }
    None
}

/// `path.key`, or the key alone.
pub fn join(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }
}
