//! A tree back to YAML text.

use serde_yaml::{Mapping, Value};

use super::{Content, Node};

/// The tree as YAML, in the order of the tree; [`super::read`] gives the same keys and texts back.
#[must_use]
pub fn write(node: &Node) -> String {
    // A tree of texts, lists and maps with text keys has nothing that cannot be written.
    serde_yaml::to_string(&value(node)).unwrap_or_default()
}

fn value(node: &Node) -> Value {
    match &node.content {
        Content::Scalar { text, plain } => scalar(text, *plain),
        Content::List(items) => Value::Sequence(items.iter().map(value).collect()),
        Content::Map(entries) => Value::Mapping(
            entries.iter().map(|entry| (Value::String(entry.key.clone()), value(&entry.value))).collect::<Mapping>(),
        ),
    }
}

/// A number or a flag stays bare where its text survives that; everything else is written as text.
fn scalar(text: &str, plain: bool) -> Value {
    if plain {
        if Node::plain(text, super::Place { file: "".into(), line: 0, column: 0 }).is_null() {
            return Value::Null;
        }
        if let Ok(bare @ (Value::Bool(_) | Value::Number(_))) = serde_yaml::from_str::<Value>(text)
            && serde_yaml::to_string(&bare).is_ok_and(|written| written.trim_end() == text)
        {
            return bare;
        }
    }
    Value::String(text.to_owned())
}
