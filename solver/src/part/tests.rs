//! Every kind is run through the same checks.

use std::collections::BTreeSet;

use serde_yaml::Value as Yaml;

use super::KINDS;
use crate::fields::{Key, Need, Value};

/// What is wrong with a map of an example against the keys of its kind.
fn mistakes(map: &Yaml, keys: &[Key], path: &str) -> Vec<String> {
    let Yaml::Mapping(map) = map else { return vec![format!("{path}: not a map")] };
    let mut found = Vec::new();
    for (name, value) in map {
        let name = name.as_str().unwrap_or("?");
        match keys.iter().find(|key| key.name == name) {
            None => found.push(format!("{path}.{name}: unknown key")),
            Some(key) => found.extend(form_mistakes(value, key.value, &format!("{path}.{name}"))),
        }
    }
    let missing = keys.iter().filter(|key| key.need == Need::Required && !map.contains_key(key.name));
    found.extend(missing.map(|key| format!("{path}.{}: missing", key.name)));
    found
}

fn form_mistakes(value: &Yaml, expected: Value, path: &str) -> Vec<String> {
    match (expected, value) {
        (Value::Map(keys), _) => mistakes(value, keys, path),
        (Value::Maps(keys), Yaml::Sequence(entries)) => {
            entries.iter().flat_map(|entry| mistakes(entry, keys, path)).collect()
        }
        (Value::Word(words), Yaml::String(word)) if words.contains(&word.as_str()) => Vec::new(),
        (Value::Tuple(entries), Yaml::Sequence(values)) if entries.len() == values.len() => Vec::new(),
        (Value::Named(..), Yaml::Mapping(_)) => Vec::new(),
        (Value::Quantity(..) | Value::Quantities(..), Yaml::String(_) | Yaml::Number(_)) => Vec::new(),
        (Value::Text, Yaml::String(_)) | (Value::Count, Yaml::Number(_)) | (Value::Flag, Yaml::Bool(_)) => Vec::new(),
        _ => vec![format!("{path}: {value:?} is not of the form {expected:?}")],
    }
}

#[test]
fn every_example_uses_the_keys_of_its_kind() {
    for kind in KINDS {
        let mut example: Yaml = serde_yaml::from_str(kind.example).unwrap();
        let named = example.as_mapping_mut().and_then(|map| map.remove("kind"));
        assert_eq!(named.as_ref().and_then(Yaml::as_str), Some(kind.name));
        assert_eq!(mistakes(&example, kind.keys, kind.name), Vec::<String>::new());
    }
}

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
