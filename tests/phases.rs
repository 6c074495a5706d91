//! Points with phases: through the program, and back from a saved state.

use crate::cases::blocks;
use crate::support::{call, code, said, workspace, write};
use tractwright::case::Case;
use tractwright::march::slow::Slow;
use tractwright::march::{Acoustic, Marching, Settings, Unobserved, Until};
use tractwright::powertrain::Powertrain;

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
    write(folder.path(), "soak.yaml", &readme_case().replace("{point: idle, for: 2 min", "{point: idel, for: 2 min"));
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

#[test]
fn a_march_saved_on_a_ramp_goes_on_to_the_same_values() {
    let text = readme_case().replace("{point: stop, for: 10 min}", "{point: stop, for: 10 min, ramp: 30 s}");
    let case = Case::from_text("README.md", &text).expect("a case");
    let built = case.build("soak").expect("a network");
    let phases = case.build_phases("soak").expect("phases");
    let z = vec![0.0; built.network.layout.unknowns];
    let mut first =
        Slow::new(&phases[0].network, 0.0, built.initial.clone(), z.clone(), built.settings).expect("a march");
    first.record_start(&mut Unobserved).expect("a start");
    first.run_to(phases[0].to, &mut Unobserved).expect("a phase");
    let mut whole = first.go_on_in(&phases[1].network, phases[1].moving()).expect("another phase");
    let [middle, end] = [phases[1].from + 12.0, phases[1].from + 50.0];
    whole.run_to(middle, &mut Unobserved).expect("a part of the ramp");
    let saved = whole.save();
    whole.run_to(end, &mut Unobserved).expect("the ramp and more");
    let fresh = Slow::new(&phases[1].network, 0.0, built.initial.clone(), z, built.settings).expect("a march");
    let mut resumed = fresh.moved_by(phases[1].moving());
    resumed.restore(&saved, phases[1].from).expect("a saved state");
    resumed.run_to(end, &mut Unobserved).expect("the ramp and more");
    assert_eq!(whole.save(), resumed.save());
}

#[test]
fn a_crank_and_its_throttle_go_up_a_ramp_and_jump_without_one() {
    let text = std::fs::read_to_string(workspace().join("cases/power/twin_sealed.yaml")).expect("a case");
    let points = "points:
  slow: {speed: 30 m/s, engine_speed: 3000 rpm, throttle: 40 %}
  fast: {speed: 30 m/s, engine_speed: 4200 rpm, throttle: 80 %}
  climb: {phases: [{point: slow, for: 2 s}, {point: fast, for: 5 s, ramp: 4 s}, {point: slow, for: 1 s}]}
";
    let case = Case::from_text("climb", &text.replace("points:\n", points)).expect("a case");
    let (built, phases) = (case.build("climb").expect("a network"), case.build_phases("climb").expect("phases"));
    let z = vec![0.0; built.network.layout.unknowns];
    let mut march = Slow::new(&phases[0].network, 0.0, built.initial.clone(), z, built.settings).expect("a march");
    march.settle().expect("a steady state");
    march.record_start(&mut Unobserved).expect("a start");
    let turns = |march: &Slow<'_>| {
        let moment = march.moment();
        Powertrain::crank(moment.network.drive_states(moment.y)) * 60.0 / std::f64::consts::TAU
    };
    let throttle = |march: &Slow<'_>| march.moment().network.drive.as_ref().expect("an engine").powertrain.throttle;
    march.run_to(phases[0].to, &mut Unobserved).expect("a phase");
    assert!((turns(&march) - 3000.0).abs() < 1e-9);
    march = march.go_on_in(&phases[1].network, phases[1].moving()).expect("a phase");
    march.run_to(3.0, &mut Unobserved).expect("a quarter of the ramp");
    assert!((turns(&march) - 3300.0).abs() < 1e-6 && (throttle(&march) - 0.5).abs() < 1e-9);
    march.run_to(phases[1].to, &mut Unobserved).expect("the phase");
    assert!((turns(&march) - 4200.0).abs() < 1e-6, "{}", turns(&march) - 4200.0);
    assert!((throttle(&march) - 0.8).abs() < 1e-12, "{}", throttle(&march));
    march = march.go_on_in(&phases[2].network, phases[2].moving()).expect("a phase");
    assert!((turns(&march) - 3000.0).abs() < 1e-9);
}

#[test]
fn the_climb_goes_through_its_ramps() {
    let folder = tempfile::tempdir().expect("a folder");
    let case = workspace().join("cases/heat/hill.yaml");
    let case = case.to_str().expect("a path");
    assert_eq!(code(&call(folder.path(), &["run", case, "--point", "hill"])), 0);
    let json = call(folder.path(), &["summary", "hill.hill.h5", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    let phases = json["results"][0]["phases"].as_array().expect("phases").clone();
    let highest = |number: usize| phases[number]["draws"][0]["highest"].as_f64().expect("a temperature");
    assert!(phases.len() == 5 && highest(3) > highest(1));
}

/// A draw that asks for more than a narrow duct behind a filter can give, and before and after for little. The passage chokes in the jump.
const OVERDRAWN: &str = "\
outside: {pressure: 100 kPa, temperature: 300 K, gas: {gamma: 1.4, gas_constant: 287.05 J/(kg K)}}
points:
  idle: {speed: 40 m/s, parts: {turbo: {flow: 0.021483277866560666 kg/s}}}
  road: {speed: 40 m/s}
  day: {phases: [{point: idle, for: 5 s}, {point: road, for: 5 s}, {point: idle, for: 5 s}]}
parts:
  box: {kind: plenum, volume: 2.468596366808889 L}
  nose: {kind: scoop, area: 0.003 m2, lip_radius: 3 mm, pressure_coefficient: -0.0843009803407595, recovery: 0.6657568425093211}
  paper: {kind: filter, media_area: 0.2 m2, curve: {flow: 60 120 180 g/s, drop: 172.31898380497447 396.33366275144124 672.0440368394004 Pa, at: [20 degC, 101.3 kPa]}}
  cone: {kind: duct, length: 0.16 m, friction_factor: 0.004355647322804585, separation: no, sections: [{at: 0 m, diameter: 0.043336515436725814 m}, {at: 0.16 m, diameter: 0.056988892317048484 m}], inlet: {shape: rounded, radius: 0.009388372255346824 m}, outlet: {shape: rounded, radius: 0.007192177138568875 m}}
  tube: {kind: duct, length: 0.24 m, friction_factor: 0.04746475978695433, separation: no, sections: [{at: 0 m, diameter: 0.0780146700232324 m}, {at: 0.24 m, diameter: 0.0780146700232324 m}], inlet: {shape: rounded, radius: 0.004380747073884296 m}, outlet: {shape: rounded, radius: 0.009757361467871201 m}}
  turbo: {kind: draw, flow: 0.42966555733121325 kg/s}
flow:
  - [box, nose]
  - [box, paper, cone, tube, turbo]
run: {march: slow, start: rest, until: 15 s, record_every: 1 s, cell: 20 mm}
";

#[test]
fn where_no_slow_step_can_be_solved_waves_are_resolved_for_a_moment_and_the_run_says_so() {
    let folder = tempfile::tempdir().expect("a folder");
    write(folder.path(), "over.yaml", OVERDRAWN);
    let run = call(folder.path(), &["run", "over.yaml", "--point", "day"]);
    assert_eq!(code(&run), 0, "{}", said(&run));
    let told = call(folder.path(), &["summary", "over.day.h5"]);
    let text = String::from_utf8_lossy(&told.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("Run: finished at 15 s") && text.contains("NOTE: waves resolved and walls held"), "{text}");
    assert!(text.contains("from 5.0") && text.contains("cone"), "{text}");
    let json = call(folder.path(), &["summary", "over.day.h5", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    let result = &json["results"][0];
    assert!(result["summary"]["totals"]["mass_error"].as_f64().is_some_and(|error| error.abs() < 1e-9));
    // What it draws in the end of the second phase is what the march with waves alone comes to.
    let case = Case::from_text("over", OVERDRAWN).expect("a case");
    let built = case.build("road").expect("a network");
    let settings = Settings { until: Until::Time(0.5), record_every: 0.5, ..built.settings };
    let mut waves = Acoustic::new(&built.network, built.initial.clone(), settings);
    waves.run(&mut Unobserved).expect("half a second");
    let expected = built.network.overdrawn(0.5, &waves.work);
    let drawn = result["phases"][1]["draws"][0]["mass_flow"].as_f64().expect("a flow");
    assert!((drawn / expected[0].gets - 1.0).abs() < 1e-3, "{drawn} {expected:?}");
}

#[test]
fn a_march_saved_behind_a_stretch_with_waves_goes_on_to_the_same_values() {
    let case = Case::from_text("over", OVERDRAWN).expect("a case");
    let (built, phases) = (case.build("day").expect("a network"), case.build_phases("day").expect("phases"));
    let z = vec![0.0; built.network.layout.unknowns];
    let mut first =
        Slow::new(&phases[0].network, 0.0, built.initial.clone(), z.clone(), built.settings).expect("a march");
    first.record_start(&mut Unobserved).expect("a start");
    first.run_to(5.0, &mut Unobserved).expect("a phase");
    let mut whole = first.go_on_in(&phases[1].network, None).expect("another phase");
    whole.run_to(6.0, &mut Unobserved).expect("a second");
    let (saved, told) = (whole.save(), whole.passed_with_waves());
    assert!(told.is_some());
    whole.run_to(8.0, &mut Unobserved).expect("more");
    let mut resumed = Slow::new(&phases[1].network, 0.0, built.initial.clone(), z, built.settings).expect("a march");
    resumed.restore(&saved, 5.0).expect("a saved state");
    resumed.run_to(8.0, &mut Unobserved).expect("more");
    assert_eq!((whole.save(), told), (resumed.save(), resumed.passed_with_waves()));
}

#[test]
fn a_steady_run_tells_of_a_draw_that_gets_less_than_it_asks_for() {
    let folder = tempfile::tempdir().expect("a folder");
    let steady = OVERDRAWN.replace("until: 15 s, record_every: 1 s", "until: steady").replace("start: rest, ", "");
    write(folder.path(), "over.yaml", &steady);
    let run = call(folder.path(), &["run", "over.yaml", "--point", "road"]);
    assert_eq!(code(&run), 0, "{}", said(&run));
    let told = call(folder.path(), &["summary", "over.road.h5"]);
    let text = String::from_utf8_lossy(&told.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("Run: steady state"), "{text}");
    assert!(
        text.contains("NOTE: draw `turbo` asks for more than can flow: 429.7 g/s, of which it gets 316."),
        "{text}"
    );
}

#[test]
fn a_tall_vent_stands_in_a_result_once() {
    let folder = tempfile::tempdir().expect("a folder");
    write(folder.path(), "tall.yaml", &readme_case().replace("area: 900 cm2}", "area: 900 cm2, tall: 200 mm}"));
    let run = call(folder.path(), &["run", "tall.yaml", "--point", "idle"]);
    assert_eq!(code(&run), 0, "{}", said(&run));
}
