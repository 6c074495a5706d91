//! `kinds`: what a part can be, from the list that the parser reads.

use crate::failure::Failure;
use crate::print::table::wrap;
use crate::print::{Row, Table, WIDTH};
use crate::{Streams, exit};
use tractwright::fields::{Key, Need, Value};
use tractwright::part::{KINDS, Kind};
use tractwright::suggest;

/// Lists the kinds of part, or the keys of one
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright kinds
  tractwright kinds filter")]
pub(crate) struct Kinds {
    /// Kind to tell of
    #[arg(value_name = "KIND")]
    kind: Option<String>,
}

impl Kinds {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        let text = match &self.kind {
            None => list(),
            Some(name) => describe(find(name)?),
        };
        write!(streams.out, "{text}")?;
        Ok(exit::DONE)
    }
}

fn find(name: &str) -> Result<&'static Kind, Failure> {
    KINDS.iter().find(|kind| kind.name == name).ok_or_else(|| {
        let names = || KINDS.iter().map(|kind| kind.name);
        let hint =
            suggest::nearest(name, names()).map_or_else(String::new, |near| format!(" (did you mean `{near}`?)"));
        Failure::wrong_use(format!(
            "found kind `{name}`, expected one of: {}{hint}",
            names().collect::<Vec<_>>().join(", ")
        ))
    })
}

fn list() -> String {
    let rows = KINDS.iter().map(|kind| Row::new(kind.name, Vec::new()).noted(kind.about)).collect();
    Table { head: Row::new("kind", Vec::new()).noted("what it is"), rows }.render()
}

fn describe(kind: &Kind) -> String {
    let mut lines = wrap(&format!("{}: {}", kind.name, kind.about), WIDTH);
    lines.push(String::new());
    lines.extend(keys(kind.keys, 0));
    lines.push("example:".to_owned());
    lines.extend(wrap(&format!("  name: {}", kind.example), WIDTH));
    lines.iter().map(|line| format!("{line}\n")).collect()
}

/// A key in a few lines; the keys of nested maps below it, further in.
fn keys(keys: &[Key], depth: usize) -> Vec<String> {
    let indent = " ".repeat(2 * depth);
    let mut lines = Vec::new();
    for key in keys {
        let need = match key.need {
            Need::Required => "required".to_owned(),
            Need::Optional(default) if default.is_empty() || default.starts_with("none") => "optional".to_owned(),
            Need::Optional(default) => format!("default: {default}"),
        };
        lines.extend(wrap(&format!("{indent}{} ({need})", key.name), WIDTH));
        lines.extend(wrap(&format!("{indent}    {}", key.about), WIDTH));
        lines.extend(wrap(&format!("{indent}    {}", key.value.expectation()), WIDTH));
        lines.extend(self::keys(nested(&key.value), depth + 2));
        if depth == 0 {
            lines.push(String::new());
        }
    }
    lines
}

/// Keys of the map or maps that a value holds.
fn nested(value: &Value) -> &'static [Key] {
    match value {
        Value::Map(keys) | Value::Maps(keys) | Value::NamedMaps(keys) => keys,
        Value::Either(first, second) => match nested(first) {
            [] => nested(second),
            keys => keys,
        },
        _ => &[],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_of_every_kind_is_told() {
        for kind in KINDS {
            let text = describe(kind);
            assert!(kind.keys.iter().all(|key| text.contains(&format!("{} (", key.name))), "{text}");
            assert!(text.lines().all(|line| line.chars().count() <= WIDTH), "{text}");
        }
    }
}
