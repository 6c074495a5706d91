//! The tree, its places, and what no hostile file gets past.

use std::sync::Arc;

use proptest::prelude::*;

use super::*;
use crate::error::Problem;

fn parse(text: &str) -> (Option<Node>, Vec<Problem>) {
    let mut problems = Vec::new();
    let node = read(&Arc::from("t.yaml"), text, Limits::CASE, &mut problems);
    (node, problems)
}

fn tree(text: &str) -> Node {
    let (node, problems) = parse(text);
    assert_eq!(problems, []);
    node.expect("a tree")
}

/// The one mistake as `line:column found | expected`.
fn mistake(text: &str) -> String {
    let (node, problems) = parse(text);
    assert!(node.is_none());
    let [Problem { location, found, expected, .. }] = &problems[..] else { panic!("{problems:?}") };
    format!("{}:{} {found} | {expected}", location.line, location.column)
}

/// Texts, lists and maps without their places.
fn shape(node: &Node) -> String {
    match &node.content {
        Content::Scalar { .. } if node.is_null() => "null".to_owned(),
        Content::Scalar { text, .. } => format!("{text:?}"),
        Content::List(items) => format!("[{}]", items.iter().map(shape).collect::<Vec<_>>().join(", ")),
        Content::Map(entries) => {
            let entry = |entry: &Entry| format!("{:?}: {}", entry.key, shape(&entry.value));
            format!("{{{}}}", entries.iter().map(entry).collect::<Vec<_>>().join(", "))
        }
    }
}

#[test]
fn keys_and_values_know_their_places() {
    let node =
        tree("title: Twin\nparts:\n  box: {kind: plenum, volume: 11 L}\nflow:\n  - [nose, \"b\u{f6}x\", rear]\n");
    let entry = node.get("parts").and_then(|parts| parts.entry("box")).expect("box");
    assert_eq!((entry.place.line, entry.place.column), (3, 3));
    let volume = entry.value.entry("volume").expect("volume");
    assert_eq!((volume.value.place.line, volume.value.place.column), (3, 31));
    let line = node.get("flow").and_then(Node::list).expect("flow")[0].list().expect("a line");
    assert_eq!((line[2].place.line, line[2].place.column), (5, 19));
    assert_eq!(line[2].place.location().to_string(), "t.yaml:5:19");
}

#[test]
fn a_byte_order_mark_and_carriage_returns_change_nothing() {
    let plain = tree("a: 1\nb:\n  - x\n  - y\n");
    let marked = tree("\u{feff}a: 1\r\nb:\r\n  - x\r\n  - y\r\n");
    assert_eq!(shape(&plain), shape(&marked));
    assert_eq!(marked.entry("b").map(|entry| (entry.place.line, entry.place.column)), Some((2, 1)));
}

#[test]
fn aliases_are_expanded() {
    let node = tree("a: &x {p: 1}\nb: *x\nc: [*x, *x]\n");
    assert_eq!(shape(&node), r#"{"a": {"p": "1"}, "b": {"p": "1"}, "c": [{"p": "1"}, {"p": "1"}]}"#);
}

#[test]
fn an_alias_bomb_is_refused_before_it_grows() {
    let mut text = "a0: &a0 [lol, lol, lol, lol, lol, lol, lol, lol, lol]\n".to_owned();
    for level in 1..9 {
        let aliases = vec![format!("*a{}", level - 1); 9].join(", ");
        text.push_str(&format!("a{level}: &a{level} [{aliases}]\n"));
    }
    assert!(mistake(&text).contains("too much memory"), "{}", mistake(&text));
    // The same with texts instead of nodes.
    let text = format!("a: &a {}\nb: [{}]\n", "x".repeat(1 << 20), vec!["*a"; 900].join(", "));
    assert!(mistake(&text).contains("too much memory"));
    // And with anchors inside anchors, each of which would be kept.
    let text: String = (0..60).map(|level| format!("&a{level} [")).collect();
    let text = format!("{text}{}{}", "x".repeat(1 << 20), "]".repeat(60));
    assert!(mistake(&text).contains("too much memory"));
}

#[test]
fn too_many_aliases_are_refused() {
    let text = format!("a: &a 1\nb: [{}]\n", vec!["*a"; 1_001].join(", "));
    assert_eq!(mistake(&text), "2:4005 1001 aliases | at most 1000");
}

#[test]
fn nesting_is_limited() {
    assert!(parse(&format!("{}{}", "[".repeat(64), "]".repeat(64))).0.is_some());
    let block = "- ".repeat(100_000);
    assert_eq!(mistake(&block), "1:129 a value nested too deep | at most 64 levels of lists and maps");
    // The parser looks ahead of brackets on one line and has a limit of its own there.
    assert!(mistake(&"[".repeat(100_000)).contains("recursion limit"));
    assert!(mistake(&"{a: ".repeat(100_000)).contains("recursion limit"));
    let aliases: String = (1..80).map(|level| format!("- &a{level} [*a{}]\n", level - 1)).collect();
    assert!(mistake(&format!("- &a0 []\n{aliases}")).contains("nested too deep"));
}

#[test]
fn a_text_too_long_is_refused_unread() {
    assert_eq!(mistake(&"[".repeat((4 << 20) + 1)), "0:0 4194305 bytes | at most 4194304 bytes");
}

#[test]
fn what_a_case_never_needs_is_refused() {
    assert_eq!(mistake(""), "0:0 an empty file | a map of keys");
    assert_eq!(mistake("# nothing\n"), "0:0 an empty file | a map of keys");
    assert_eq!(mistake("a: 1\n---\nb: 2\n"), "2:1 a second document | one document in a file");
    assert_eq!(mistake("a: !secret 1\n"), "1:4 a tag (`!...`) | a value without a tag");
    assert_eq!(mistake("? [a]\n: 1\n"), "1:3 a list or map as a key | a word before the colon");
    assert_eq!(mistake("&a x: 1\n*a : 2\n"), "2:1 an alias as a key | a word before the colon");
    assert_eq!(mistake("a: &x [*x]\n"), "1:8 an alias inside its own anchor | an anchor that has ended");
    assert!(mistake("a: \"x\\0y\"\n").contains("invisible character U+0000"));
    assert!(mistake("a: x\u{202e}y\n").contains("invisible character U+202E"));
    assert!(mistake("a: [1, 2\nb: 3\n").ends_with("| YAML"));
}

#[test]
fn duplicates_are_found_at_any_depth_and_the_first_stays() {
    let (node, problems) = parse("a:\n  - {p: 1, q: 2}\n  - {p: 3, q: 4, p: 5}\n");
    let [Problem { location, path, found, .. }] = &problems[..] else { panic!("{problems:?}") };
    assert_eq!((location.line, location.column, path.as_str()), (3, 18, "a[1].p"));
    assert_eq!(found, "`p` a second time, after line 3");
    assert_eq!(
        node.map(|node| shape(&node)).as_deref(),
        Some(r#"{"a": [{"p": "1", "q": "2"}, {"p": "3", "q": "4"}]}"#)
    );
}

#[test]
fn a_flood_of_duplicates_ends_the_reading() {
    let (node, problems) = parse(&"a: 1\n".repeat(10_000));
    assert!(node.is_none() && problems.len() == 200);
}

#[test]
fn every_text_survives_writing_and_reading() {
    let text = "a: 0.50\nb: '0.50'\nc: 1e400\nd: 012\ne: yes\nf: 'null'\ng: \"x: # y\"\nh: [76 mm, '-', '']\ni: {}\nj: []\nk: |\n  two\n  lines\nl: 5\nm: true\n";
    let node = tree(text);
    let written = write(&node);
    assert_eq!(shape(&tree(&written)), shape(&node));
    assert!(written.contains("l: 5\n") && written.contains("m: true\n"), "{written}");
    assert_eq!(write(&tree(&written)), written);
}

#[test]
fn another_reader_sees_the_same_texts() {
    let text = "a: 76 mm\nb: [x, 'y: z', \"t\\tt\"]\nc: {d: plain, e: \"1\"}\n";
    let other: serde_yaml::Value = serde_yaml::from_str(text).expect("YAML");
    let ours: serde_yaml::Value = serde_yaml::from_str(&write(&tree(text))).expect("YAML");
    assert_eq!(ours, other);
}

proptest! {
    #[test]
    fn any_text_is_read_or_refused(text in "\\PC*") {
        let (node, problems) = parse(&text);
        prop_assert!(node.is_some() || !problems.is_empty());
    }

    #[test]
    fn any_yaml_looking_text_survives_a_round_trip(text in "([a-c]: |- |\\[|\\]|\\{|\\}|, |\n|  |&x |\\*x|'|\"|#|\\||>|x|1|~|\\?|:|%|!)*") {
        if let (Some(node), problems) = parse(&text) && problems.is_empty() {
            prop_assert_eq!(shape(&tree(&write(&node))), shape(&node));
        }
    }

    #[test]
    fn any_scalar_survives_a_round_trip(text in "[\\x20-\\x7e\n\t\u{a1}-\u{17f}\u{4e00}-\u{4e20}]*") {
        let place = Place::whole(&Arc::from("t"));
        let value = Node { place: place.clone(), content: Content::Scalar { text: text.clone(), plain: false } };
        let map = Node { place: place.clone(), content: Content::Map(vec![Entry { key: "key".into(), place, value }]) };
        prop_assert_eq!(shape(&tree(&write(&map))), shape(&map));
    }
}
