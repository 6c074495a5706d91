//! Points with phases: through the program, and back from a saved state.

use crate::cases::blocks;
use crate::support::{call, code, said, workspace, write};
use tractwright::case::Case;
use tractwright::march::slow::Slow;
use tractwright::march::{Marching, Unobserved};

/// The README's case with phases.
fn readme_case() -> String {
    let readme = std::fs::read_to_string(workspace().join("README.md")).expect("a README");
    blocks(&readme, "yaml").into_iter().find(|block| block.contains("phases:")).expect("a case with phases")
}

#[test]
fn a_soak_is_told_of_and_drawn() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    write(folder, "soak.yaml", &readme_case());
    let run = call(folder, &["run", "soak.yaml"]);
    assert_eq!(code(&run), 0, "{}", said(&run));
    let told = call(folder, &["summary", "soak.soak.h5"]);
    let text = String::from_utf8_lossy(&told.stdout).into_owned();
    for words in ["phase, at its end", "back within 5 K", "will it hold", "by turbine", "by radiator", "PASSES"] {
        assert!(text.contains(words), "no `{words}` in\n{text}");
    }
    let json = call(folder, &["summary", "soak.soak.h5", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    assert_eq!(json["results"][0]["phases"].as_array().map(Vec::len), Some(3));
    assert!(json["results"][0]["walls"][0]["highest"].as_f64().is_some_and(|highest| highest > 300.0));
    let steady = call(folder, &["summary", "soak.idle.h5"]);
    assert!(String::from_utf8_lossy(&steady.stdout).contains("Run: steady state"));
    for (result, view) in [("soak.soak.h5", "soak"), ("soak.soak.h5", "heat"), ("soak.idle.h5", "heat")] {
        let drawn = call(folder, &["picture", result, view, "-o", "picture.svg", "--force"]);
        assert_eq!(code(&drawn), 0, "{view}: {}", said(&drawn));
        let svg = std::fs::read_to_string(folder.join("picture.svg")).expect("a picture");
        assert!(svg.contains("turb") && !svg.contains("NaN"), "{svg}");
    }
}

#[test]
fn where_no_steady_state_is_found_the_run_says_so_and_marches_with_waves() {
    let folder = tempfile::tempdir().expect("a folder");
    // A draw that empties a closed room never comes to rest.
    let case = "parts: {room: {kind: plenum, volume: 3 L}, tube: {kind: duct, length: 200 mm, diameter: 60 mm}, turbo: {kind: draw, \
                corrected_flow: 100 g/s}}\nflow: [[room, tube, turbo]]\nrun: {until: steady, cell: 20 mm}\n";
    write(folder.path(), "empty.yaml", case);
    let run = call(folder.path(), &["run", "empty.yaml"]);
    assert_eq!(code(&run), 0, "{}", said(&run));
    assert!(said(&run).contains("marched with waves") && said(&run).contains("no steady state"), "{}", said(&run));
    let told = call(folder.path(), &["summary", "empty.rest.h5"]);
    assert!(String::from_utf8_lossy(&told.stdout).contains("NOTE: marched with waves"));
}

#[test]
fn each_phase_has_an_outside_of_its_own() {
    let folder = tempfile::tempdir().expect("a folder");
    let high = readme_case().replace("stop: {parts", "stop: {outside: {pressure: 80 kPa}, parts");
    write(folder.path(), "high.yaml", &high);
    assert_eq!(code(&call(folder.path(), &["run", "high.yaml", "--point", "soak"])), 0);
    let json = call(folder.path(), &["summary", "high.soak.h5", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    let walls = json["results"][0]["walls"].as_array().expect("walls").clone();
    let depressions: Vec<f64> = walls.iter().filter_map(|wall| wall["depression"].as_f64()).collect();
    assert!(!depressions.is_empty() && depressions.iter().all(|fall| fall.abs() < 1e3), "{depressions:?}");
}

#[test]
fn a_phase_that_is_no_point_is_refused_with_the_nearest_name() {
    let folder = tempfile::tempdir().expect("a folder");
    write(folder.path(), "soak.yaml", &readme_case().replace("{point: idle, for: 2 min}", "{point: idel, for: 2 min}"));
    let refused = call(folder.path(), &["check", "soak.yaml"]);
    assert_eq!(code(&refused), 3);
    assert!(said(&refused).contains("points.soak.phases.point") && said(&refused).contains("did you mean `idle`?"));
}

#[test]
fn a_slow_march_goes_on_from_a_saved_state_to_the_same_values() {
    let case = Case::from_text("README.md", &readme_case()).expect("a case");
    let built = case.build("soak").expect("a network");
    let phases = case.build_phases("soak").expect("phases");
    let fresh = || {
        let z = vec![0.0; built.network.layout.unknowns];
        Slow::new(&phases[0].network, 0.0, built.initial.clone(), z, built.settings).expect("a march")
    };
    // From rest, so that something happens.
    let mut whole = fresh();
    whole.record_start(&mut Unobserved).expect("a start");
    whole.run_to(10.0, &mut Unobserved).expect("ten seconds");
    let saved = whole.save();
    whole.run_to(40.0, &mut Unobserved).expect("forty seconds");
    let mut resumed = fresh();
    resumed.restore(&saved, f64::NEG_INFINITY).expect("a saved state");
    resumed.run_to(40.0, &mut Unobserved).expect("forty seconds");
    assert_eq!(whole.save(), resumed.save());
    assert_ne!(saved, whole.save());
}
