//! The command as a user calls it.

use crate::{Streams, exit, run};
use std::path::Path;

const TRACT: &str = "
points: {road: {speed: 40 m/s}, dyno: {speed: 0 m/s}}
parts:
  nose: {kind: scoop, area: 120 cm2, recovery: 0.8 +- 0.05, lip_radius: 8 mm}
  box: {kind: plenum, volume: 8 L}
  left: {kind: duct, length: 300 mm, diameter: 70 mm, inlet: {shape: flared, radius: 14 mm}}
  right: {like: left, length: 600 +- 20 mm uniform}
  left_turbo: {kind: draw, corrected_flow: 200 g/s}
  right_turbo: {like: left_turbo}
flow: [[nose, box], [box, left, left_turbo], [box, right, right_turbo]]
run: {until: steady, cell: 40 mm}
";

fn call(folder: &Path, arguments: &[&str]) -> (u8, String, String) {
    for (name, text) in [
        ("first", TRACT.to_owned()),
        ("same", TRACT.to_owned()),
        ("narrow", TRACT.replace("diameter: 70 mm", "diameter: 60 mm")),
    ] {
        std::fs::write(folder.join(format!("{name}.yaml")), text).expect("a folder");
    }
    let words: Vec<String> = ["tractwright", "compare"]
        .iter()
        .chain(arguments)
        .map(|word| if word.ends_with(".yaml") { folder.join(word).display().to_string() } else { (*word).to_owned() })
        .collect();
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = run(words, Streams { out: &mut out, err: &mut err, bars: false });
    (code, String::from_utf8(out).expect("text"), String::from_utf8(err).expect("text"))
}

#[test]
fn one_seed_gives_the_same_numbers_with_any_number_of_threads() {
    let folder = tempfile::tempdir().expect("a folder");
    let with = |threads, seed| {
        let arguments =
            ["first.yaml", "narrow.yaml", "--spread", "24", "--seed", seed, "--format", "csv", "--threads", threads];
        let (code, out, err) = call(folder.path(), &arguments);
        assert_eq!(code, exit::DONE, "{err}");
        out
    };
    assert_eq!(with("1", "3"), with("3", "3"));
    assert_ne!(with("1", "3"), with("1", "4"));
}

#[test]
fn a_narrow_tube_is_told_from_a_wide_one_and_a_twin_is_not() {
    let folder = tempfile::tempdir().expect("a folder");
    let arguments = ["first.yaml", "same.yaml", "narrow.yaml", "--spread", "40", "--point", "road"];
    let (code, text, err) = call(folder.path(), &arguments);
    assert!(code == exit::DONE && err.contains("samples at road: 40"), "{err}");
    assert!(text.lines().all(|line| line.chars().count() <= crate::print::WIDTH), "{text}");
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "40 paired samples, seed 1; laws of handbook losses and these fields spread: parts.nose.recovery, parts.right.length",
        "same against first: in recovery nobody can tell them apart",
        "narrow against first: it recovers less by",
    ] {
        assert!(flat.contains(words), "{words}: {text}");
    }
    let (_, json, _) = call(folder.path(), &[&arguments[..], &["--format", "json"]].concat());
    let found: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    let layouts = &found["points"][0]["layouts"];
    for difference in layouts[0]["differences"].as_array().expect("differences") {
        assert!(difference["median"] == 0.0 && difference["low"] == 0.0 && difference["high"] == 0.0, "{difference}");
        assert!(difference["verdict"] == "range_includes_zero" && difference["sets"].is_null(), "{difference}");
    }
    let recovery = layouts[1]["differences"].as_array().expect("differences").iter();
    let recovery = recovery.clone().find(|d| d["figure"] == "recovery" && d["of"] == "all").expect("a recovery");
    assert!(recovery["high"].as_f64().expect("a number") < 0.0 && recovery["verdict"] == "one_sign", "{recovery}");
}

#[test]
fn wrong_use_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    for (arguments, words) in [
        (&["first.yaml", "narrow.yaml", "--spread", "3"][..], "expected 10 at least"),
        (&["first.yaml", "--spread", "20"], "expected two at least"),
        (&["first.yaml", "old.road.h5", "--spread", "20"], "expected cases"),
        (&["first.yaml", "narrow.yaml", "--spread", "20", "--noise", "0"], "more than 0"),
        (&["first.yaml", "narrow.yaml", "--seed", "3"], "--spread"),
    ] {
        let (code, _, err) = call(folder.path(), arguments);
        assert!(code == exit::WRONG_USE && err.contains(words), "{arguments:?}: {code} {err}");
    }
}
