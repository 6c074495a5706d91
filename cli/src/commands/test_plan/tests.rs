//! The command as a user calls it, on a small tract with two spreads.

use crate::{Streams, exit, run};
use std::path::Path;

/// `plate` is a share of what the air loses, of a coefficient that is hardly known; the draw's flow is given.
fn tract(plate: &str) -> String {
    format!(
        "outside: {{pressure: 99.6 kPa, temperature: 24 degC}}
points: {{bench: {{speed: 0 m/s}}}}
parts:
  nose: {{kind: mouth, from: outside, area: 60 cm2, lip_radius: 5 mm}}
  snout: {{kind: duct, length: 200 mm, diameter: 70 mm}}
  plate: {{kind: orifice_plate, diameter: 55 mm, discharge_coefficient: {plate}}}
  box: {{kind: plenum, volume: 8 L}}
  tube: {{kind: duct, length: 300 mm, sections: [{{at: 0 mm, diameter: 80 mm}}, {{at: 100 mm, diameter: 70 mm}}]}}
  turbo: {{kind: draw, flow: 120 g/s}}
flow: [[nose, snout, plate, box], [box, tube, turbo]]
run: {{until: steady, cell: 50 mm}}
"
    )
}

fn call(folder: &Path, arguments: &[&str]) -> (u8, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let file = folder.join("tract.yaml").display().to_string();
    let words = ["tractwright", "test_plan", &file, "--point", "bench", "--aim", "pressure"];
    let code =
        run(words.into_iter().chain(arguments.iter().copied()), Streams { out: &mut out, err: &mut err, bars: false });
    (code, String::from_utf8(out).expect("text"), String::from_utf8(err).expect("text"))
}

fn folder(plate: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("tract.yaml"), tract(plate)).expect("a case");
    folder
}

#[test]
fn the_first_gauge_sits_at_the_draw_whose_pressure_is_wanted_and_more_never_harm() {
    let folder = folder("0.65 +- 0.1");
    let (code, text, err) = call(folder.path(), &["--gauges", "4"]);
    assert_eq!(code, exit::DONE, "{err}");
    assert!(text.lines().all(|line| line.chars().count() <= crate::print::WIDTH), "{text}");
    let (_, json, _) = call(folder.path(), &["--gauges", "4", "--format", "json"]);
    let document: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    let gauges = document["gauges"].as_array().expect("a list");
    // Total pressure at the draw follows from static pressure there, or anywhere near it, when the flow is known.
    let first = gauges[0]["place"].as_str().expect("a place");
    assert!(first == "turbo" || first.starts_with("tube:"), "{first}");
    let width = |row: usize, tests: usize| gauges[row]["with_all_above"][tests]["range"].as_f64().expect("a number");
    let before = document["range_before"].as_f64().expect("a number");
    assert!(width(0, 0) < 0.3 * before, "{json}");
    // The gauge's own 30 Pa and the scatter of one test are what is left at least of a pressure: from 10 to 90 % of 42 Pa, less what was known.
    assert!(width(0, 0) < 2.564 * 42.5 && width(0, 3) < width(0, 0));
    for row in 1..4 {
        for tests in 0..4 {
            assert!(width(row, tests) <= width(row - 1, tests) * (1.0 + 1e-9), "{json}");
        }
    }
    assert!(json.contains("tube:100mm") || text.contains("gauges looked at"));
}

#[test]
fn the_numbers_do_not_depend_on_the_threads_and_mistakes_are_told() {
    let folder = folder("0.65 +- 0.1");
    let with = |threads| call(folder.path(), &["--format", "csv", "--threads", threads]).1;
    assert_eq!(with("1"), with("3"));
    let (code, _, err) = call(folder.path(), &["--at", "road"]);
    assert!(code == exit::INVALID_CASE && err.contains("one of: bench"), "{err}");
    let (code, _, err) = call(folder.path(), &["--accuracy", "3 K"]);
    assert!(code == exit::WRONG_USE && err.contains("pressure"), "{err}");
    let (code, _, err) = call(folder.path(), &["--draw", "turba"]);
    assert!(code == exit::INVALID_CASE && err.contains("one of: turbo"), "{err}");
}

#[test]
fn two_layouts_that_are_equally_uncertain_differ_by_what_is_sure() {
    let folder = folder("0.65 +- 0.1");
    // The same plate with the same spread, behind another box: what is unknown of it falls out of the difference.
    let other = folder.path().join("other.yaml");
    std::fs::write(&other, tract("0.65 +- 0.1").replace("8 L", "9 L")).expect("a case");
    let other = other.display().to_string();
    let before = |arguments: &[&str]| {
        let (code, json, err) = call(folder.path(), &[arguments, &["--format", "json"]].concat());
        assert_eq!(code, exit::DONE, "{err}");
        let document: serde_json::Value = serde_json::from_str(&json).expect("JSON");
        document["range_before"].as_f64().expect("a number")
    };
    assert!(before(&["--against", &other]) < 1e-3 * before(&[]));
}

#[test]
fn places_are_offered_once_and_the_tests_that_are_asked_for_have_a_column() {
    let folder = folder("0.65 +- 0.1");
    let (code, csv, err) = call(folder.path(), &["--gauges", "99", "--tests", "3", "--format", "csv"]);
    assert_eq!(code, exit::DONE, "{err}");
    let head = csv.lines().next().expect("a head");
    let tests = ["1", "2", "3", "4", "8"].map(|tests| format!("range_with_{tests}_tests"));
    assert_eq!(head, format!("place,reads,{}", tests.join(",")));
    assert!(!csv.contains("tube:300mm"), "{csv}");
    // Of many that could be fitted only those that narrow the range.
    let rows: Vec<Vec<f64>> = csv
        .lines()
        .skip(1)
        .map(|row| row.split(',').skip(2).map(|cell| cell.parse().expect("a range")).collect())
        .collect();
    assert!(rows.len() < 10 && rows.windows(2).all(|pair| pair[1][2] < (1.0 - 1e-3) * pair[0][2]), "{csv}");
    let (_, text, _) = call(folder.path(), &["--gauges", "99", "--tests", "3"]);
    assert!(text.contains("No other gauge narrows the range") && text.contains("3 tests"), "{text}");
    let (_, text, _) = call(folder.path(), &["--gauges", "99"]);
    // One end of two, a change of sections, snout with both, a box and a draw: two gauges each.
    assert!(text.contains("12 gauges looked at"), "{text}");
    let (code, _, err) = call(folder.path(), &["--gauges", "0"]);
    assert!(code == exit::WRONG_USE && err.contains("1 or more"), "{err}");
}

#[test]
fn a_difference_between_draws_is_named_as_one() {
    let folder = tempfile::tempdir().expect("a folder");
    let two = tract("0.65 +- 0.1")
        .replace("flow: [[", "  other: {kind: draw, flow: 100 g/s, bore: 60 mm}\nflow: [[box, other], [");
    std::fs::write(folder.path().join("tract.yaml"), two).expect("a case");
    let aim = |format| {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let file = folder.path().join("tract.yaml").display().to_string();
        let words = ["tractwright", "test_plan", &file, "--point", "bench", "--aim", "difference", "--format", format];
        let code = run(words, Streams { out: &mut out, err: &mut err, bars: false });
        assert_eq!(code, exit::DONE, "{}", String::from_utf8_lossy(&err));
        String::from_utf8(out).expect("text")
    };
    let text = aim("text");
    assert!(text.starts_with("recovery of ") && text.contains(" less that of "), "{text}");
    assert!(aim("json").contains("\"recovery.difference\""));
}
