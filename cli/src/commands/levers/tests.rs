//! The command as a user calls it.

use crate::{Streams, exit, run};
use std::path::Path;

const TRACT: &str = "
points: {road: {speed: 40 m/s}}
parts:
  nose: {kind: scoop, area: 120 cm2, recovery: 0.8, lip_radius: 8 mm}
  box: {kind: plenum, volume: 8 L}
  left: {kind: duct, length: 300 mm, diameter: 70 mm, inlet: {shape: flared, radius: 14 mm}}
  right: {like: left, length: 600 mm}
  left_turbo: {kind: draw, corrected_flow: 200 g/s}
  right_turbo: {like: left_turbo}
flow: [[nose, box], [box, left, left_turbo], [box, right, right_turbo]]
run: {until: steady, cell: 40 mm}
";

fn call(folder: &Path, arguments: &[&str]) -> (u8, String, String) {
    let file = folder.join("tract.yaml");
    std::fs::write(&file, TRACT).expect("a folder");
    let file = file.display().to_string();
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let words = ["tractwright", "levers", &file, "--point", "road"].into_iter().chain(arguments.iter().copied());
    let code = run(words, Streams { out: &mut out, err: &mut err, bars: false });
    (code, String::from_utf8(out).expect("text"), String::from_utf8(err).expect("text"))
}

#[test]
fn the_numbers_do_not_depend_on_the_threads() {
    let folder = tempfile::tempdir().expect("a folder");
    for format in ["text", "json", "csv"] {
        let with = |threads| {
            let (code, out, _) = call(folder.path(), &["--aim", "recovery", "--format", format, "--threads", threads]);
            assert_eq!(code, exit::DONE);
            out
        };
        assert_eq!(with("1"), with("3"), "{format}");
    }
}

#[test]
fn the_table_fits_and_tells_the_units_of_the_user() {
    let folder = tempfile::tempdir().expect("a folder");
    let arguments = ["--aim", "difference", "--tolerance", "0.05 %", "--within", "20%"];
    let (code, text, err) = call(folder.path(), &arguments);
    assert!(code == exit::DONE && err.contains("fields: "), "{err}");
    assert!(text.lines().all(|line| line.chars().count() <= crate::print::WIDTH), "{text}");
    let line = text.lines().find(|line| line.starts_with("right diameter")).expect("a line of the right tube");
    for words in ["70 mm", "+1 mm", " mm"] {
        assert!(line.contains(words), "{line}");
    }
    assert!(text.contains("0.05 % is") && text.contains("+-20 %") && text.contains("no effect here"), "{text}");
}

#[test]
fn tolerances_are_the_derivatives_backwards() {
    let folder = tempfile::tempdir().expect("a folder");
    let (_, json, _) = call(folder.path(), &["--aim", "pressure", "--tolerance", "50 Pa", "--format", "json"]);
    let found: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    let levers = found["levers"].as_array().expect("levers");
    assert!(levers.len() > 8, "{json}");
    let number = |lever: &serde_json::Value, key: &str| lever[key].as_f64().expect("a number");
    let mut last = f64::INFINITY;
    for lever in levers {
        let product = number(lever, "tolerance") * number(lever, "derivative").abs();
        assert!((product / 50.0 - 1.0).abs() < 1e-12, "{lever}");
        let per_step = number(lever, "derivative") * number(lever, "workshop_step");
        assert!((per_step - number(lever, "change_per_workshop_step")).abs() < 1e-12 * per_step.abs());
        assert!(number(lever, "gain") <= last, "ranked by gain");
        last = number(lever, "gain");
    }
}

#[test]
fn wrong_use_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    for (arguments, code, words) in [
        (&["--aim", "recovery", "--tolerance", "3 mm"][..], exit::WRONG_USE, "or per cent"),
        (&["--aim", "recovery", "--tolerance=-1 %"], exit::WRONG_USE, "above 0"),
        (&["--aim", "recovery", "--step", "0"], exit::WRONG_USE, "more than 0"),
        (&["--aim", "recovery", "--draw", "none"], exit::INVALID_CASE, "left_turbo, right_turbo"),
    ] {
        let (found, _, err) = call(folder.path(), arguments);
        assert!(found == code && err.contains(words), "{arguments:?}: {found} {err}");
    }
}
