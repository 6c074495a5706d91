//! The command as a user calls it, on a small tract and a log that the tract wrote itself.

use crate::{Streams, exit, run};
use std::path::Path;
use tractwright::case::Case;

const TRACT: &str = "outside: {pressure: 99.6 kPa, temperature: 24 degC}
points: {bench: {speed: 0 m/s}}
parts:
  nose: {kind: mouth, from: outside, area: 40 cm2}
  snout: {kind: duct, length: 200 mm, diameter: 70 mm}
  plate: {kind: orifice_plate, diameter: 55 mm, discharge_coefficient: 0.66}
  box: {kind: plenum, volume: 8 L}
  tube: {kind: duct, length: 200 mm, diameter: 70 mm}
  first: {kind: orifice_plate, diameter: 60 mm, discharge_coefficient: 0.70}
  between: {kind: duct, length: 100 mm, diameter: 70 mm}
  second: {kind: orifice_plate, diameter: 60 mm, discharge_coefficient: 0.70}
  end: {kind: duct, length: 100 mm, diameter: 70 mm}
  turbo: {kind: draw, flow: 100 g/s}
flow: [[nose, snout, plate, box], [box, tube, first, between, second, end, turbo]]
run: {until: steady, cell: 100 mm}
measured:
  point: bench
  columns:
    flow: {unit: g/s, sets: parts.turbo.flow}
    p_box: {tap: box, reads: static, pressure: depression, unit: Pa, accuracy: 10 Pa}
    p_turbo: {tap: turbo, reads: total, pressure: depression, unit: Pa, accuracy: 20 Pa}
";
const FLOWS: [f64; 4] = [60.0, 90.0, 120.0, 150.0];
const PLATE: &str = "parts.plate.discharge_coefficient";
const BOTH: &str = "parts.first.discharge_coefficient,parts.second.discharge_coefficient";

fn call(folder: &Path, arguments: &[&str]) -> (u8, String, String) {
    let path = |name: &str| folder.join(name).display().to_string();
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let words = ["tractwright".to_owned(), "fit".to_owned(), path("tract.yaml"), path("log.csv")];
    let words = words.into_iter().chain(arguments.iter().map(|word| (*word).to_owned()));
    let code = run(words, Streams { out: &mut out, err: &mut err, bars: false });
    (code, String::from_utf8(out).expect("text"), String::from_utf8(err).expect("text"))
}

fn document(folder: &Path, arguments: &[&str]) -> serde_json::Value {
    let (code, out, err) = call(folder, &[arguments, &["--format", "json", "--force"]].concat());
    assert_eq!(code, exit::DONE, "{err}");
    serde_json::from_str(&out).expect("JSON")
}

fn write_log(folder: &Path, readings: &[f64]) {
    let rows = FLOWS.iter().zip(readings.chunks(2)).map(|(flow, read)| format!("{flow},{},{}\n", read[0], read[1]));
    std::fs::write(folder.join("log.csv"), format!("flow,p_box,p_turbo\n{}", rows.collect::<String>())).expect("a log");
}

/// A folder with the tract and a log of what it reads itself.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("tract.yaml"), TRACT).expect("a case");
    write_log(folder.path(), &[1000.0; 8]);
    // A prior that lets nothing move: the model as it stands.
    let pinned = document(folder.path(), &["--field", &format!("{PLATE}=0.66 +- 1e-12")]);
    let model = |reading: &serde_json::Value| reading["model"].as_f64().expect("a number");
    write_log(folder.path(), &pinned["readings"].as_array().expect("a list").iter().map(model).collect::<Vec<_>>());
    std::fs::remove_file(folder.path().join("tract.fitted.yaml")).expect("a written case");
    folder
}

#[test]
fn a_log_of_the_tract_gives_its_numbers_back_and_a_case_that_has_them() {
    let folder = folder();
    let fields = ["--field", "parts.plate.discharge_coefficient=0.6", "--field", &format!("{BOTH}=0.8")];
    let (code, text, err) = call(folder.path(), &fields);
    assert_eq!(code, exit::DONE, "{err}");
    assert!(text.lines().all(|line| line.chars().count() <= crate::print::WIDTH), "{text}");
    for words in
        ["2 values from 8 readings of 2 gauges at 4 stations", "plate discharge_coefficient", "0.66", "Converged"]
    {
        assert!(text.contains(words), "{words}: {text}");
    }
    let written = Case::from_path(&folder.path().join("tract.fitted.yaml")).expect("a case");
    for (path, value) in
        [(PLATE, 0.66), ("parts.first.discharge_coefficient", 0.70), ("parts.second.discharge_coefficient", 0.70)]
    {
        let number = written.numbers().into_iter().find(|number| number.path == path).expect(path);
        assert!(
            (number.value - value).abs() < 1e-5 && number.spread.is_some_and(|spread| spread.width < 0.02),
            "{number:?}"
        );
    }
    // What is there is not replaced unasked.
    let (code, _, err) = call(folder.path(), &fields);
    assert!(code == exit::FILES && err.contains("--force"), "{err}");
}

#[test]
fn the_numbers_do_not_depend_on_the_threads() {
    let folder = folder();
    for format in ["text", "json", "csv"] {
        let with = |threads| {
            let fields = ["--field", PLATE, "--field", BOTH, "--format", format, "--force", "--threads", threads];
            let (code, out, err) = call(folder.path(), &fields);
            assert_eq!(code, exit::DONE, "{err}");
            out
        };
        assert_eq!(with("1"), with("3"), "{format}");
    }
}

#[test]
fn what_no_reading_tells_apart_is_named() {
    let folder = folder();
    let fields = ["first", "second"].map(|part| format!("parts.{part}.discharge_coefficient=0.7 +- 0.1"));
    let (code, text, err) = call(folder.path(), &["--field", &fields[0], "--field", &fields[1]]);
    assert_eq!(code, exit::DONE, "{err}");
    assert!(text.contains("cannot tell apart: first discharge_coefficient, second discharge_coefficient"), "{text}");
}

#[test]
fn a_law_that_the_case_leaves_out_starts_from_what_is_published_of_it() {
    let folder = folder();
    let friction = "loss_factors.wall_friction";
    let (code, text, err) = call(folder.path(), &["--field", friction]);
    assert_eq!(code, exit::DONE, "{err}");
    assert!(text.lines().any(|line| line.contains("wall_friction") && line.contains("1 +- 0.1")), "{text}");
    let written = Case::from_path(&folder.path().join("tract.fitted.yaml")).expect("a case");
    assert!(written.numbers().iter().any(|number| number.path == friction && number.spread.is_some()));
    let given = document(folder.path(), &["--field", &format!("{friction}=1.2 +- 0.3")]);
    assert_eq!(given["values"][0]["prior"], serde_json::json!({ "value": 1.2, "spread": 0.3 }));
    let (code, _, err) = call(folder.path(), &["--field", "loss_factors.bend", "--force"]);
    assert!(code == exit::INVALID_CASE && err.contains("one of: mouth_lip, sharp_entry, step, wall_friction"), "{err}");
}

#[test]
fn a_value_against_what_has_no_answer_is_told_and_the_others_are_fitted() {
    let folder = folder();
    // A snout that cannot be shorter than its sections reach, and a plate that loses more than it did: the snout would be shorter.
    let sections = "sections: [{at: 0 mm, diameter: 70 mm}, {at: 200 mm, diameter: 70 mm}]}\n  plate";
    let text = TRACT.replace("diameter: 70 mm}\n  plate", sections).replacen("0.66", "0.60", 1);
    std::fs::write(folder.path().join("tract.yaml"), text).expect("a case");
    let fields = ["--field", "parts.snout.length", "--field", BOTH];
    let (code, text, err) = call(folder.path(), &fields);
    assert_eq!(code, exit::DONE, "{err}");
    let text = text.replace('\n', " ");
    for words in ["Not converged: stopped where steps have no answer", "station `", "falls with `parts.snout.length`"] {
        assert!(text.contains(words), "{words}: {text}");
    }
    let written = std::fs::read_to_string(folder.path().join("tract.fitted.yaml")).expect("a case");
    assert!(
        written.contains("NOT CONVERGED: it stopped where steps have no answer along parts.snout.length"),
        "{written}"
    );
    let told = document(folder.path(), &fields);
    assert_eq!((&told["converged"], &told["stuck"]["path"]), (&false.into(), &"parts.snout.length".into()));
    // What the plate loses too much, the two behind the box lose less.
    assert!(told["values"][1]["value"].as_f64().expect("a number") > 0.75, "{}", told["values"]);
}

#[test]
fn mistakes_are_told_with_what_would_be_right() {
    let folder = folder();
    let told = |arguments: &[&str], code: u8, words: &str| {
        let (found, _, err) = call(folder.path(), arguments);
        assert!(found == code && err.contains(words), "{arguments:?}: {found} {err}");
        assert!(!folder.path().join("tract.fitted.yaml").exists(), "nothing is written");
    };
    told(&["--field", "parts.plate.diametr"], exit::INVALID_CASE, "did you mean `parts.plate.diameter`?");
    told(&[], exit::WRONG_USE, "--field PATH");
    told(&["--field", PLATE, "--field", PLATE], exit::WRONG_USE, "twice");
    told(&["--field", PLATE, "--without", "p_bix"], exit::WRONG_USE, "one of: flow, p_box, p_turbo");
    let all = ["--without", "p_box", "--without", "p_turbo", "--field", PLATE];
    told(&all, exit::WRONG_USE, "0 readings and 0 priors for 1 numbers");
}
