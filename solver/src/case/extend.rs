//! `extends: other.yaml`: a case that states only what it changes of another.

use std::sync::Arc;

use super::files::Files;
use super::merge::merge;
use super::{curve_files, sections, speed_lines};
use crate::fields::{Log, join};
use crate::quantity::quote;
use crate::yaml::{self, Content, Limits, Node};

/// Longest chain of files.
const DEEPEST: usize = 8;

/// Reads a text and all that it extends into one tree without `extends` and without sections in other files.
pub(super) fn load(file: &Arc<str>, text: &str, files: &Files, log: &Log) -> Option<Node> {
    let mut chain = vec![Arc::clone(file)];
    let mut merged: Vec<Node> = Vec::new();
    let mut next = Some((Arc::clone(file), text.to_owned()));
    while let Some((file, text)) = next.take() {
        let mut tree = read_one(&file, &text, files, log)?;
        next = extended(&mut tree, &mut chain, files, log)?;
        merged.push(tree);
    }
    merged.into_iter().rev().reduce(|base, top| merge(base, top, "", log))
}

/// One file with its sections.
fn read_one(file: &Arc<str>, text: &str, files: &Files, log: &Log) -> Option<Node> {
    let mut problems = Vec::new();
    let tree = yaml::read(file, text, Limits::CASE, &mut problems);
    problems.into_iter().for_each(|problem| log.note(problem));
    let mut tree = tree?;
    let Content::Map(entries) = &mut tree.content else {
        log.wrong(&tree.place, "case", tree.describe(), "a map with `parts` and `flow`");
        return None;
    };
    for entry in entries {
        match (entry.key.as_str(), &mut entry.value.content) {
            ("engine", _) => speed_lines::resolve(&mut entry.value, files, log),
            ("parts", _) => {
                sections::resolve(&mut entry.value, "parts", files, log);
                curve_files::resolve(&mut entry.value, "parts", files, log);
            }
            ("points", Content::Map(points)) => {
                for point in points {
                    let path = join(&join("points", &point.key), "parts");
                    let Content::Map(keys) = &mut point.value.content else { continue };
                    for parts in keys.iter_mut().filter(|entry| entry.key == "parts") {
                        sections::resolve(&mut parts.value, &path, files, log);
                        curve_files::resolve(&mut parts.value, &path, files, log);
                    }
                }
            }
            _ => {}
        }
    }
    Some(tree)
}

/// Takes `extends` out of the tree; the file that it names with its text. `None` when that file cannot be read, `Some(None)` when
/// there is none.
#[expect(clippy::option_option, reason = "the outer one ends the reading, the inner one the chain")]
fn extended(
    tree: &mut Node,
    chain: &mut Vec<Arc<str>>,
    files: &Files,
    log: &Log,
) -> Option<Option<(Arc<str>, String)>> {
    let Content::Map(entries) = &mut tree.content else { return Some(None) };
    let Some(at) = entries.iter().position(|entry| entry.key == "extends") else { return Some(None) };
    let entry = entries.remove(at);
    let place = &entry.value.place;
    let Some(name) = entry.value.text() else {
        log.wrong(place, "extends", entry.value.describe(), "a file such as `base.yaml`");
        return None;
    };
    let (file, text) = match files.read(name, place, "yaml") {
        Ok(read) => read,
        Err((found, expected)) => {
            log.wrong(place, "extends", found, expected);
            return None;
        }
    };
    if chain.contains(&file) {
        log.wrong(place, "extends", format!("a loop back to {}", quote(&file)), "a file that does not extend this one");
        return None;
    }
    if chain.len() >= DEEPEST {
        log.wrong(place, "extends", format!("more than {DEEPEST} files"), "a shorter chain");
        return None;
    }
    chain.push(Arc::clone(&file));
    Some(Some((file, text)))
}
