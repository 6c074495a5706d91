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
