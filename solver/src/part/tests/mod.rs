//! Every kind is run through the same checks.

mod reading;
mod refusing;

use std::collections::BTreeSet;

use super::KINDS;
use crate::fields::{Key, Need, Value};

#[test]
fn names_are_unique_and_in_one_style() {
    let names: BTreeSet<&str> = KINDS.iter().map(|kind| kind.name).collect();
    assert_eq!(names.len(), KINDS.len());
    for kind in KINDS {
        check_keys(kind.keys, kind.name);
    }
}

fn check_keys(keys: &[Key], path: &str) {
    let names: BTreeSet<&str> = keys.iter().map(|key| key.name).collect();
    assert_eq!(names.len(), keys.len(), "{path}: a key stands twice");
    for key in keys {
        let path = format!("{path}.{}", key.name);
        assert!(key.name.chars().all(|letter| letter.is_ascii_lowercase() || letter == '_'), "{path}");
        assert!(!key.about.is_empty() && !key.about.ends_with('.'), "{path}: help is a fragment");
        assert!(!matches!(key.need, Need::Optional("")), "{path}: say what holds when it is left out");
        if let Value::Map(inner) | Value::Maps(inner) = key.value {
            check_keys(inner, &path);
        }
    }
}
