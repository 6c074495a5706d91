//! One map over another: `extends`, `like` and the changes of an operating point.

use std::collections::BTreeMap;

use crate::fields::{Log, join};
use crate::yaml::{Content, Entry, Node};

/// `top` over `base`: maps merge key by key, `null` deletes, everything else is replaced whole.
pub(super) fn merge(base: Node, top: Node, path: &str, log: &Log) -> Node {
    match (base.content, top.content) {
        (Content::Map(base), Content::Map(over)) => {
            Node { place: top.place, content: Content::Map(merge_maps(base, over, path, log)) }
        }
        (_, content) => Node { place: top.place, content },
    }
}

fn merge_maps(base: Vec<Entry>, over: Vec<Entry>, path: &str, log: &Log) -> Vec<Entry> {
    let mut index: BTreeMap<String, usize> =
        base.iter().enumerate().map(|(place, entry)| (entry.key.clone(), place)).collect();
    let mut merged: Vec<Option<Entry>> = base.into_iter().map(Some).collect();
    for entry in over {
        let known = index.get(&entry.key).copied();
        match known.and_then(|place| merged.get_mut(place)) {
            Some(slot) if entry.value.is_null() => {
                *slot = None;
                index.remove(&entry.key);
            }
            Some(slot) => {
                if let Some(old) = slot.take() {
                    let path = join(path, &entry.key);
                    *slot = Some(Entry { value: merge(old.value, entry.value, &path, log), ..entry });
                }
            }
            None if entry.value.is_null() => {
                log.wrong(&entry.place, &join(path, &entry.key), "`null`", "a key that stands below, to delete it");
            }
            None => merged.push(Some(entry)),
        }
    }
    merged.into_iter().flatten().collect()
}
