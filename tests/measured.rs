use crate::support::{call, code, program, said, workspace, write};
use serde_json::Value;
use std::path::Path;
use std::process::Command;
use tractwright::case::Case;
use tractwright::study::{Figures, Of, Quantity, figures_of};

/// The demo's case and log in a folder of their own.
fn demo(folder: &Path) -> (String, String) {
    let read = |name: &str| std::fs::read_to_string(workspace().join("cases/measured").join(name)).expect("the demo");
    for name in ["coupe.yaml", "hidden_truth.yaml", "road.csv"] {
        write(folder, name, &read(name));
    }
    (read("coupe.yaml"), read("road.csv"))
}

/// What `measured` says of some logs of the demo's car.
fn measured(folder: &Path, log: &str) -> Value {
    let output = call(folder, &["measured", "coupe.yaml", log, "--format", "json"]);
    assert_eq!(code(&output), 0, "{log}: {}", said(&output));
    let document: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    document["logs"][0].clone()
}

fn kept_out(log: &Value) -> Vec<u64> {
    let told = log["told"].as_array().expect("a list").iter().filter(|told| told["kept_out"] == true);
    told.filter_map(|told| told["line"].as_u64()).collect()
}

#[test]
fn a_log_is_read_beside_the_model_and_laid_over_results() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let (case, _) = demo(folder);
    let log = measured(folder, "road.csv");
    assert_eq!(kept_out(&log), [10, 18, 25], "the rows that the script spoils");
    assert_eq!(log["unused"][0], "oil [°C]");
    let states = log["states"].as_array().expect("a list");
    assert_eq!(states.len(), 30);
    let gauges = states[0]["readings"].as_array().expect("a list");
    let model = gauges.iter().find(|gauge| gauge["column"] == "p_left").and_then(|gauge| gauge["model"].as_f64());
    assert!(model.is_some_and(|model| (300.0..500.0).contains(&model)), "{model:?}");
    // The same state as a result, and its readings over it.
    write(folder, "slower.yaml", &case.replace("flow: 200 g/s", "flow: 190 g/s"));
    let output = call(folder, &["run", "slower.yaml", "-o", "."]);
    assert_eq!(code(&output), 0, "{}", said(&output));
    let output = call(folder, &["summary", "slower.road.h5", "--measured", "road.csv"]);
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(
        text.contains("Measured, road.csv, line 23") && text.contains("left_tube at 20 mm: static, below"),
        "{text}"
    );
    for (view, sign) in [("branches", "as wall taps read it"), ("losses", "lost as measured")] {
        let output = call(folder, &["picture", "slower.road.h5", view, "--measured", "road.csv"]);
        assert_eq!(code(&output), 0, "{}", said(&output));
        let picture = std::fs::read_to_string(folder.join(format!("slower.road.{view}.svg"))).expect("a picture");
        assert!(picture.contains(sign), "{view}");
    }
    // Another state is not laid over it, and it is said why.
    write(folder, "slow.yaml", &case.replace("flow: 200 g/s", "flow: 40 g/s"));
    assert_eq!(code(&call(folder, &["run", "slow.yaml", "-o", "."])), 0);
    let output = call(folder, &["summary", "slow.road.h5", "--measured", "road.csv"]);
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(text.contains("is not laid over this result") && text.contains("40 g/s"), "{text}");
}

/// Logs that something is wrong with: what is changed in the demo's, and what is said of it.
#[test]
fn what_is_wrong_with_a_log_is_told_and_nothing_of_it_is_used() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let (case, log) = demo(folder);
    // Files that are refused whole.
    let refused: [(&str, String, &str); 6] = [
        ("no_header", "a;b\n1;2\n".to_owned(), "a header with the columns that `measured` names"),
        ("empty", String::new(), "a header with the columns"),
        (
            "no_unit",
            log.replace("p_box [Pa]", "p_box"),
            "measured.columns.p_box: found a column `p_box` without a unit",
        ),
        ("other_unit", log.replace("p_box [Pa]", "p_box [degC]"), "`degC` as its unit"),
        ("unknown_unit", log.replace("p_box [Pa]", "p_box [Pascals]"), "`Pascals` as its unit"),
        ("no_state", log.lines().take(4).collect::<Vec<_>>().join("\n"), "no row that makes a steady state"),
    ];
    for (name, text, words) in refused {
        let name = format!("{name}.csv");
        write(folder, &name, &text);
        let output = call(folder, &["measured", "coupe.yaml", &name]);
        assert!([3, 74].contains(&code(&output)), "{name}: {}", said(&output));
        assert!(said(&output).contains(words) && output.stdout.is_empty(), "{name}: {}", said(&output));
    }
    let output = call(folder, &["measured", "coupe.yaml", "not_there.csv"]);
    assert_eq!(code(&output), 74, "{}", said(&output));
    // Rows that are kept out, or doubted.
    let line = |number: usize| log.lines().nth(number - 1).expect("a line").to_owned();
    let spoilt = |number: usize, from: &str, to: &str| log.replace(&line(number), &line(number).replacen(from, to, 1));
    let told: [(&str, String, &[u64], &str); 6] = [
        ("point", spoilt(5, "996,0", "996.0"), &[5, 10, 18, 25], "with a decimal comma"),
        ("vacuum", spoilt(6, "996,1", "-996,1"), &[6, 10, 18, 25], "more than 0"),
        ("words", spoilt(7, "24,2", "warm"), &[7, 10, 18, 25], "`warm` in `T_amb`"),
        ("no_time", spoilt(8, "30,0", ""), &[8, 10, 18, 25], "no time"),
        ("ram", spoilt(9, "-57", "2570"), &[10, 18, 25], "where the air stream gives"),
        ("open_quote", spoilt(8, "30,0", "\"30,0"), &[8, 10, 18, 25], "cells, expected 15"),
    ];
    for (name, text, lines, words) in told {
        let name = format!("{name}.csv");
        write(folder, &name, &text);
        let found = measured(folder, &name);
        assert_eq!(kept_out(&found), lines, "{name}: {}", found["told"]);
        let all = format!("{}{}", found["told"], found["doubts"]);
        assert!(all.contains(words), "{name}: {all}");
    }
    // A tap that is nowhere is a mistake in the case.
    write(folder, "coupe.yaml", &case.replace("snout:400mm", "snout:4000mm"));
    let output = call(folder, &["measured", "coupe.yaml", "road.csv"]);
    let words = "measured.columns.p_snout.tap: found 4000 mm in duct `snout`, expected 0 to 450.0 mm";
    assert!(code(&output) == 3 && said(&output).contains(words), "{}", said(&output));
}

#[test]
fn the_invented_log_is_what_the_hidden_car_gives() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = workspace().join("tests/invent_log.py");
    let done = Command::new("python3").arg("-B").arg(script).arg(program()).arg(folder.path()).output();
    let done = done.expect("python runs");
    assert!(done.status.success(), "{}", said(&done));
    for (kept_in, name) in [("cases/measured", "road.csv"), ("cases/power", "pulls.csv")] {
        let read = |folder: &Path| std::fs::read_to_string(folder.join(name)).expect("a log");
        assert_eq!(read(folder.path()), read(&workspace().join(kept_in)), "{name}");
    }
}

#[test]
fn a_fit_to_pulls_finds_what_the_hidden_engine_differs_in() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    for name in ["twin_sealed.yaml", "measured_pull.yaml", "pulls.csv"] {
        std::fs::copy(workspace().join("cases/power").join(name), folder.join(name)).expect("a copy");
    }
    // As in hidden_pull.yaml; the offset as in invent_log.py.
    let volumetric = |place: usize| format!("engine.volumetric_efficiency.value[{place}]");
    let truth = [
        (volumetric(1), 0.905),
        (volumetric(2), 0.955),
        (volumetric(3), 0.925),
        (volumetric(4), 0.85),
        ("loss_factors.bend".to_owned(), 1.3),
        ("parts.left_tube.wall.temperature".to_owned(), 326.15),
        ("measured.columns.left.offset".to_owned(), 60.0),
    ];
    let fields = truth.iter().flat_map(|(path, _)| ["--field", path.as_str()]);
    let call_with: Vec<&str> =
        ["fit", "measured_pull.yaml", "pulls.csv", "--format", "json"].into_iter().chain(fields).collect();
    let output = call(folder, &call_with);
    assert_eq!(code(&output), 0, "{}", said(&output));
    let document: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let values = document["values"].as_array().expect("a list");
    for ((path, truth), value) in truth.iter().zip(values) {
        let number = |key: &str| value[key].as_f64().expect("a number");
        let (found, error) = (number("value"), number("standard_error"));
        assert!((found - truth).abs() < 3.0 * error && error < 0.1 * truth, "{path}: {found} +- {error} for {truth}");
    }

    // The same log over a result, in tables and pictures.
    let output = call(folder, &["run", "measured_pull.yaml", "-o", "."]);
    assert_eq!(code(&output), 0, "{}", said(&output));
    let result = "measured_pull.dyno_stock.h5";
    let output = call(folder, &["summary", result, "--measured", "pulls.csv"]);
    let text = String::from_utf8_lossy(&output.stdout).replace('\n', " ");
    for words in ["Measured, pulls.csv, 17 states over the whole course; the model goes through it, anew at", "T_left"]
    {
        assert!(text.contains(words), "{words}: {text}");
    }
    let output = call(folder, &["picture", result, "power", "--measured", "pulls.csv"]);
    assert_eq!(code(&output), 0, "{}", said(&output));
    let picture = std::fs::read_to_string(folder.join("measured_pull.dyno_stock.power.svg")).expect("a picture");
    for words in ["power, kW (dots: measured)", "dots: measured, pulls.csv, at outside.pressure 99.6"] {
        assert!(picture.contains(words), "{words}: {picture}");
    }
}

#[test]
fn the_fit_of_the_demo_is_the_case_that_stands_beside_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    demo(folder);
    let output = call(folder, &["fit", "coupe.yaml", "road.csv", "-o", "fitted.yaml"]);
    assert_eq!(code(&output), 0, "{}", said(&output));
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(
        text.contains(
            "The readings cannot tell apart: left_tube bends[0] loss_factor, left_tube bends[1] loss_factor."
        ),
        "{text}"
    );
    let read = |folder: &Path| std::fs::read_to_string(folder.join("fitted.yaml")).expect("a case");
    let (written, kept) = (read(folder), read(&workspace().join("cases/measured")));
    assert!(kept.ends_with(&written), "the demo keeps\n{kept}\nbut `fit` wrote\n{written}");
}

/// What a case of the demo comes to on the road.
fn on_the_road(name: &str) -> Figures {
    let path = workspace().join("cases/measured").join(name);
    let case = Case::from_path(&path).unwrap_or_else(|error| panic!("{error}"));
    figures_of(&case, "road").unwrap_or_else(|error| panic!("{name}: {error}"))
}

#[test]
fn the_readmes_table_of_the_foretold_change_is_what_the_cases_say() {
    let readme = std::fs::read_to_string(workspace().join("README.md")).expect("README.md");
    let fitted = std::fs::read_to_string(workspace().join("cases/measured/fitted.yaml")).expect("a case");
    let offset = "40.56 +- 9.58 Pa";
    assert!(readme.contains(offset) && fitted.contains(&format!("p_left:\n      offset: {offset}")));
    let pressure = |figures: &Figures, draw: &str| {
        figures.value(Quantity::TotalPressure, &Of::Draw(draw.to_owned())).expect("a pressure")
    };
    let cases = [("coupe", "wider_coupe"), ("fitted", "wider_fitted"), ("hidden_truth", "wider_truth")];
    let pairs = cases.map(|(before, after)| [before, after].map(|name| on_the_road(&format!("{name}.yaml"))));
    let gain = |draw: &str| pairs.each_ref().map(|[before, after]| pressure(after, draw) - pressure(before, draw));
    let apart = pairs.each_ref().map(|[_, after]| pressure(after, "right_turbo") - pressure(after, "left_turbo"));
    let warm = pairs
        .each_ref()
        .map(|[_, after]| after.value(Quantity::InletTemperature, &Of::Whole).expect("a temperature") - 273.15);
    let rows = [
        ("gain of the left turbo, Pa", gain("left_turbo"), 1),
        ("gain of the right turbo, Pa", gain("right_turbo"), 1),
        ("right less left with wider tubes, Pa", apart, 1),
        ("mean inlet temperature with wider tubes, degC", warm, 2),
    ];
    for (label, values, decimals) in rows {
        let miss = values[1] - values[2];
        let cells = format!("{} | {miss:+.decimals$}", values.map(|value| format!("{value:.decimals$}")).join(" | "));
        assert!(readme.contains(&format!("| {label} | {cells} |")), "{label}: {cells}");
    }
}

#[test]
fn gauges_are_planned_for_steady_points_alone() {
    let folder = workspace();
    let pull = "cases/power/twin_sealed.yaml";
    let output = call(&folder, &["test_plan", pull, "--aim", "power", "--point", "dyno_stock"]);
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(code(&output) == 3 && told.contains("a point that is one state, by `--at`: road_stock"), "{told}");
}

/// The engine of the demo, measured at a point in columns of these lines; `more` stands before `measured`.
fn measured_engine(folder: &Path, point: &str, columns: &[&str], more: &str) {
    std::fs::copy(workspace().join("cases/power/twin_sealed.yaml"), folder.join("twin_sealed.yaml")).expect("a copy");
    let columns: String = columns.iter().map(|column| format!("    {column}\n")).collect();
    let text = format!("extends: twin_sealed.yaml\n{more}measured:\n  point: {point}\n  columns:\n{columns}");
    std::fs::write(folder.join("engine.yaml"), text).expect("a case");
}

/// What the left turbo's wall tap would read [Pa, absolute] in each record of a result, with the value of the engine's under `key`.
fn tap_over(folder: &Path, result: &str, key: &str) -> Vec<(f64, f64)> {
    let output = call(folder, &["summary", result, "--format", "json"]);
    let document: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let engine = document["results"][0]["engine"].as_array().expect("a list").clone();
    let output = call(folder, &["summary", result, "--at", "left_turbo", "--quantity", "pressure"]);
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let pressure = |line: &str| line.split(',').nth(1).and_then(|cell| cell.parse().ok()).expect("a pressure");
    let rows = engine.iter().zip(text.lines().skip(1));
    rows.map(|(engine, line)| (engine[key].as_f64().expect("a number"), pressure(line))).collect()
}

#[test]
fn a_roll_on_is_read_by_road_speed() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let columns = [
        "v: {is: road_speed, unit: m/s}",
        "left: {tap: left_turbo, reads: static, pressure: absolute, unit: Pa, accuracy: 5 Pa}",
    ];
    measured_engine(folder, "roll_stock", &columns, "");
    let output = call(folder, &["run", "engine.yaml", "--point", "roll_stock", "-o", "."]);
    assert_eq!(code(&output), 0, "{}", said(&output));
    let mut most = 0.0;
    let mut log = "v,left\n".to_owned();
    for (speed, pressure) in tap_over(folder, "engine.roll_stock.h5", "road_speed").into_iter().step_by(7) {
        if speed > most {
            log.push_str(&format!("{speed},{pressure}\n"));
            most = speed;
        }
    }
    std::fs::write(folder.join("log.csv"), &log).expect("a log");
    let output = call(folder, &["measured", "engine.yaml", "log.csv", "--format", "json"]);
    let document: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let states = document["logs"][0]["states"].as_array().expect("a list");
    assert!(states.len() > 10 && states.len() == log.lines().count() - 1, "{log}");
    for state in states {
        let number = |key: &str| state["readings"][1][key].as_f64().expect("a number");
        // Between two records the model goes in a straight line.
        assert!((number("model") - number("reading")).abs() < 2.0, "{state}");
    }
}

#[test]
fn each_log_of_pulls_has_its_own_day() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let columns = [
        "n: {is: engine_speed, unit: Hz}",
        "baro: {unit: Pa, sets: outside.pressure}",
        "left: {tap: left_turbo, reads: static, pressure: absolute, unit: Pa, accuracy: 5 Pa}",
    ];
    let days = [99_600.0, 95_000.0];
    for (number, pressure) in days.iter().enumerate() {
        measured_engine(
            folder,
            "dyno_stock",
            &columns,
            &format!("outside: {{pressure: {pressure} Pa}}\nloss_factors: {{bend: 1.3}}\n"),
        );
        let output = call(folder, &["run", "engine.yaml", "--point", "dyno_stock", "-o", ".", "--force"]);
        assert_eq!(code(&output), 0, "{}", said(&output));
        let rows = tap_over(folder, "engine.dyno_stock.h5", "crank_speed").into_iter().step_by(20);
        let rows: String =
            rows.map(|(speed, read)| format!("{},{pressure},{read}\n", speed / std::f64::consts::TAU)).collect();
        std::fs::write(folder.join(format!("{number}.csv")), format!("n,baro,left\n{rows}")).expect("a log");
    }
    measured_engine(folder, "dyno_stock", &columns, "loss_factors: {bend: 1 +- 0.5}\n");
    let output =
        call(folder, &["fit", "engine.yaml", "0.csv", "1.csv", "--field", "loss_factors.bend", "--format", "json"]);
    assert_eq!(code(&output), 0, "{}", said(&output));
    let document: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let found = document["values"][0]["value"].as_f64().expect("a number");
    assert!((found - 1.3).abs() < 0.01, "{found}");
    let squares = document["sum_of_squares"].as_f64().expect("a number");
    assert!(squares < 2.0, "a mean of both days would miss each reading by 2 kPa: {squares}");
    // A day that is another one than the result's is not laid over it.
    let output = call(folder, &["summary", "engine.dyno_stock.h5", "--measured", "0.csv"]);
    let told = String::from_utf8_lossy(&output.stdout).replace('\n', " ");
    assert!(
        told.contains(
            "is not laid over this result: it was measured in another course: outside.pressure is 99600 Pa there"
        ),
        "{told}"
    );
}

#[test]
fn what_cannot_be_measured_in_a_course_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let speed = "n: {is: engine_speed, unit: rpm}";
    let left = "left: {tap: left_turbo, reads: static, pressure: absolute, unit: Pa, accuracy: 5 Pa}";
    let refused: [(&str, &[&str], &str); 7] = [
        ("response", &[speed, left], "a throttle step, in which no speed tells states apart"),
        ("dyno_stock", &[left], "a pull without a column of crank speeds"),
        ("roll_stock", &[speed, left], "a roll-on without a column of road speeds"),
        (
            "dyno_stock",
            &[speed, left, "b: {unit: rpm, sets: points.dyno_stock.engine_speed}"],
            "where the course begins or ends",
        ),
        (
            "dyno_stock",
            &[speed, left, "b: {unit: rpm, sets: points.dyno_stock.pull.to}"],
            "where the course begins or ends",
        ),
        ("dyno_stock", &["n: {is: engine_speed, unit: rpm, offset: 0 +- 20 rpm}", left], "the spread of an offset"),
        (
            "dyno_stock",
            &[speed, left, "b: {unit: kPa, sets: outside.pressure, offset: 1 kPa}"],
            "an offset of a column that only sets numbers",
        ),
    ];
    for (point, columns, words) in refused {
        measured_engine(folder, point, columns, "");
        let output = call(folder, &["check", "engine.yaml"]);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(code(&output) == 3 && told.contains(words), "{words}: {told}");
    }
    // States that lie beyond the pull are told, not guessed.
    measured_engine(folder, "dyno_stock", &[speed, left], "");
    std::fs::write(folder.join("log.csv"), "n,left\n2500,99000\n3500,98900\n4500,98500\n").expect("a log");
    let output = call(folder, &["measured", "engine.yaml", "log.csv"]);
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(text.contains("line 2: no model: 2500 rpm is not between 3000 rpm and 7000 rpm"), "{text}");
    let output = call(folder, &["fit", "engine.yaml", "log.csv", "--field", "parts.nose.recovery"]);
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(code(&output) == 3 && told.contains("one that begins lower or ends higher"), "{told}");
    let fields = [
        ("measured.columns.left.offset", "`offset: 0 +- 20 Pa` in that column"),
        ("measured.columns.n.offset", "a column whose readings count"),
        ("loss_factors.wye", "one of: bend, "),
        ("loss_factors.bnd", "one of: wall_friction, bend, "),
        ("parts.left_tube.bends[7].loss_factor", "a bend that the case has"),
    ];
    for (field, words) in fields {
        let output = call(folder, &["fit", "engine.yaml", "log.csv", "--field", field]);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(code(&output) == 3 && told.contains(words), "{field}: {told}");
    }
}
