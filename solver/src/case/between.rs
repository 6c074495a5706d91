//! A map of the case between two others: each number on the straight line between its two values.

use crate::fields::{Key, Need, Value, form_of};
use crate::quantity::{self, Dimension};
use crate::yaml::{Content, Entry, Node};

/// The way from one map to another.
#[derive(Debug, Clone, Copy)]
pub(super) struct Between {
    /// How much of it lies behind, 0..1.
    pub(super) share: f64,
}

impl Between {
    /// The number at this place between two.
    pub(super) fn number(self, from: f64, to: f64) -> f64 {
        // A number that stays must stay to the last bit, or parts that are alike would differ.
        if from.to_bits() == to.to_bits() { to } else { (1.0 - self.share) * from + self.share * to }
    }

    /// The map between `from` and `to`, both of this table of keys. A number that one of them leaves out has its default there; what is no
    /// number in both is that of `to`.
    pub(super) fn map(self, from: &Node, to: &Node, keys: &[Key]) -> Node {
        let (Some(before), Some(after)) = (from.map(), to.map()) else { return to.clone() };
        let table = |name: &str| keys.iter().find(|key| key.name == name);
        let mut entries: Vec<Entry> = Vec::with_capacity(after.len());
        for entry in after {
            let own = table(&entry.key);
            let other = from.get(&entry.key).cloned().or_else(|| own.and_then(|key| default_of(key, &entry.value)));
            let value = match (own, other) {
                (Some(key), Some(other)) => self.value(&other, &entry.value, &key.value),
                _ => entry.value.clone(),
            };
            entries.push(Entry { value, ..entry.clone() });
        }
        for entry in before.iter().filter(|entry| to.get(&entry.key).is_none()) {
            let Some(key) = table(&entry.key) else { continue };
            if let Some(default) = default_of(key, &entry.value) {
                entries.push(Entry { value: self.value(&entry.value, &default, &key.value), ..entry.clone() });
            }
        }
        Node { place: to.place.clone(), content: Content::Map(entries) }
    }

    fn value(self, from: &Node, to: &Node, value: &Value) -> Node {
        let forms = (form_of(value, from), form_of(value, to));
        let between = match forms {
            (Some(Value::Quantity(dimension, _)), Some(Value::Quantity(..))) => self.quantities(from, to, *dimension),
            (Some(Value::Quantities(dimension, _)), Some(Value::Quantities(..))) => match (from.list(), to.list()) {
                (None, None) => self.quantities(from, to, *dimension),
                _ => self.items(from, to, |_, one, other| self.quantities(one, other, *dimension)),
            },
            (Some(Value::Tuple(dimensions)), Some(Value::Tuple(_))) => {
                self.items(from, to, |index, one, other| self.quantities(one, other, *dimensions.get(index)?))
            }
            (Some(Value::Map(keys)), Some(Value::Map(_))) => Some(self.map(from, to, keys)),
            (Some(Value::Maps(keys)), Some(Value::Maps(_))) => {
                self.items(from, to, |_, one, other| Some(self.map(one, other, keys)))
            }
            (Some(Value::NamedMaps(keys)), Some(Value::NamedMaps(_))) => {
                Some(self.named(from, to, |one, other| Some(self.map(one, other, keys))))
            }
            (Some(Value::Named(dimension, _)), Some(Value::Named(..))) => {
                Some(self.named(from, to, |one, other| self.quantities(one, other, *dimension)))
            }
            _ => None,
        };
        between.unwrap_or_else(|| to.clone())
    }

    /// Quantities in one text, as many in both.
    fn quantities(self, from: &Node, to: &Node, dimension: Dimension) -> Option<Node> {
        let si = |node: &Node| {
            let written = quantity::written(node.text()?, dimension).ok()?;
            Some(written.numbers.iter().map(|number| written.unit.to_si(*number)).collect::<Vec<_>>())
        };
        let (before, after) = (si(from)?, si(to)?);
        if before.len() != after.len() {
            return None;
        }
        if before == after {
            return Some(to.clone());
        }
        let numbers = before.iter().zip(&after).map(|(from, to)| self.number(*from, *to).to_string());
        let text = format!("{} {}", numbers.collect::<Vec<_>>().join(" "), dimension.si_symbol());
        Some(Node::plain(text.trim_end(), to.place.clone()))
    }

    /// Two lists of equal length, item by item.
    fn items(self, from: &Node, to: &Node, between: impl Fn(usize, &Node, &Node) -> Option<Node>) -> Option<Node> {
        let (before, after) = (from.list()?, to.list()?);
        if before.len() != after.len() {
            return None;
        }
        let pairs = before.iter().zip(after).enumerate();
        let items = pairs.map(|(index, (one, other))| between(index, one, other)).collect::<Option<_>>()?;
        Some(Node { place: to.place.clone(), content: Content::List(items) })
    }

    /// Two maps from names, name by name.
    fn named(self, from: &Node, to: &Node, between: impl Fn(&Node, &Node) -> Option<Node>) -> Node {
        let entries = to.map().unwrap_or_default().iter().map(|entry| {
            let found = from.get(&entry.key).and_then(|other| between(other, &entry.value));
            Entry { value: found.unwrap_or_else(|| entry.value.clone()), ..entry.clone() }
        });
        Node { place: to.place.clone(), content: Content::Map(entries.collect()) }
    }
}

/// The number that holds where a key is left out, for one that stands as `value` elsewhere; none where that is no number.
fn default_of(key: &Key, value: &Node) -> Option<Node> {
    let Need::Optional(holds) = key.need else { return None };
    let Some(Value::Quantity(dimension, _)) = form_of(&key.value, value) else { return None };
    let text = holds.split([',', '(']).next()?.trim();
    // Nothing is nothing in any unit.
    let text = if text == "0" { format!("0 {}", dimension.si_symbol()) } else { text.to_owned() };
    quantity::parse(text.trim_end(), *dimension).ok()?;
    Some(Node::plain(text.trim_end(), value.place.clone()))
}
