use crate::support::{call, code, said, workspace, write};
use std::fs;
use std::path::Path;
use std::process::Command;

/// A tract that is solved in a few milliseconds.
const CASE: &str = "\
points: {road: {speed: 40 m/s}, town: {speed: 10 m/s}}
outside: {temperature: 25 +- 3 degC}
parts:
  nose: {kind: scoop, area: 90 cm2, recovery: 0.8 +- 0.05, lip_radius: 5 mm}
  tube: {kind: duct, length: 400 mm, diameter: 80 mm, wall: {temperature: 60 degC}, cell: 40 mm}
  turbo: {kind: draw, flow: 200 g/s}
flow:
  - [nose, tube, turbo]
run: {until: 0.02 s}
";
const GRID: &str = "\
title: Bore and length
layouts: {long: {case: case.yaml}, short: {case: case.yaml, set: {parts.tube.length: 300 mm}}}
points: [road]
vary:
  bore: {fields: parts.tube.diameter, from: 60 mm, to: 90 mm, count: 4}
  eta: {fields: parts.nose.recovery, values: 0.7 0.8}
require: [{figure: inlet_temperature, at_most: 40 degC}]
aims: [{figure: recovery, want: most}]
";

fn folder(study: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    write(folder.path(), "case.yaml", CASE);
    write(folder.path(), "bore.study.yaml", study);
    folder
}

/// The table of a study as CSV, after `arguments` behind `study`.
fn study(folder: &Path, arguments: &[&str]) -> String {
    let all: Vec<&str> = ["study"].iter().chain(arguments).copied().collect();
    let output = call(folder, &all);
    assert_eq!(code(&output), 0, "{}", said(&output));
    String::from_utf8(output.stdout).expect("text")
}

fn lines(folder: &Path, journal: &str) -> usize {
    fs::read_to_string(folder.join("bore.study").join(journal)).map_or(0, |text| text.lines().count())
}

/// A column of a table in CSV.
fn column(csv: &str, name: &str) -> Vec<String> {
    let mut rows = csv.lines().map(|line| line.split(',').collect::<Vec<_>>());
    let place = rows.next().and_then(|head| head.iter().position(|head| *head == name)).expect("the column");
    rows.map(|row| row[place].to_owned()).collect()
}

fn numbers(csv: &str, name: &str) -> Vec<f64> {
    column(csv, name).iter().map(|text| text.parse().unwrap_or(f64::NAN)).collect()
}

#[test]
fn a_study_is_one_table_whoever_did_its_runs() {
    let whole = folder(GRID);
    let told = study(whole.path(), &["bore.study.yaml", "--dry-run"]);
    assert!(told.contains("16 runs") && !whole.path().join("bore.study").exists(), "{told}");
    let table = study(whole.path(), &["bore.study.yaml", "--format", "csv", "--threads", "1"]);
    assert_eq!((table.lines().count(), lines(whole.path(), "runs.journal")), (17, 16));
    assert!(column(&table, "status").iter().all(|status| status == "0"));
    // A wider tube, a shorter one and a better scoop lose less.
    let (bore, recovery) = (numbers(&table, "bore"), numbers(&table, "recovery"));
    assert_eq!(bore[..4], [60.0, 60.0, 70.0, 70.0]);
    assert!(recovery[1] > recovery[0] && recovery[2] > recovery[0] && recovery[8] > recovery[0], "{recovery:?}");
    // Again, with other threads: nothing is run twice, and nothing moves.
    assert_eq!(study(whole.path(), &["bore.study.yaml", "--format", "csv", "--threads", "3"]), table);
    assert_eq!(lines(whole.path(), "runs.journal"), 16);
    // In shares, and gathered.
    let shared = folder(GRID);
    study(shared.path(), &["bore.study.yaml", "--shard", "2/3"]);
    let missing = study(shared.path(), &["gather", "bore.study.yaml", "--format", "csv"]);
    assert_eq!(column(&missing, "status").iter().filter(|status| *status == "2").count(), 11);
    study(shared.path(), &["bore.study.yaml", "--shard", "1/3"]);
    study(shared.path(), &["bore.study.yaml", "--shard", "3/3"]);
    assert_eq!(study(shared.path(), &["gather", "bore.study.yaml", "--format", "csv"]), table);
    let counted: usize = (1..=3).map(|share| lines(shared.path(), &format!("runs.{share}-of-3.journal"))).sum();
    assert_eq!(counted, 16);
}

#[test]
fn a_changed_input_runs_what_changed_alone() {
    let folder = folder(GRID);
    study(folder.path(), &["bore.study.yaml"]);
    write(folder.path(), "bore.study.yaml", &GRID.replace("300 mm", "350 mm").replace("0.7 0.8", "0.7 0.75 0.8"));
    study(folder.path(), &["bore.study.yaml"]);
    // Four of the long layout are new, and all twelve of the short one.
    assert_eq!(lines(folder.path(), "runs.journal"), 16 + 4 + 12);
    // A run of the table is a case of its own that comes to the same.
    let table = study(folder.path(), &["bore.study.yaml", "--format", "csv"]);
    let case = study(folder.path(), &["case", "bore.study.yaml", "5"]);
    write(folder.path(), "one.yaml", &case);
    let output = call(folder.path(), &["run", "one.yaml", "--point", "road"]);
    assert_eq!(code(&output), 0, "{}", said(&output));
    let output = call(folder.path(), &["summary", "one.road.h5", "--format", "json"]);
    let summary: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let text = summary.to_string();
    let flow = numbers(&table, "total_pressure")[5];
    let found = find(&summary, "total_pressure").unwrap_or_else(|| panic!("{text}"));
    assert!((found / flow - 1.0).abs() < 1e-8, "{found} {flow}");
}

/// The first number under `key` in a document.
fn find(value: &serde_json::Value, key: &str) -> Option<f64> {
    match value {
        serde_json::Value::Object(map) => {
            map.get(key).and_then(serde_json::Value::as_f64).or_else(|| map.values().find_map(|value| find(value, key)))
        }
        serde_json::Value::Array(items) => items.iter().find_map(|value| find(value, key)),
        _ => None,
    }
}

#[test]
fn failed_runs_are_told_and_kept_and_do_not_stop_the_night() {
    // With a width of zero nothing can be built.
    let text = GRID.replace("from: 60 mm, to: 90 mm, count: 4", "values: 60 1e-9 80 mm");
    let folder = folder(&text);
    let output = call(folder.path(), &["study", "bore.study.yaml"]);
    assert_eq!(code(&output), 5, "{}", said(&output));
    let told = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(told.contains("8 of 12 runs done, 4 failed") && told.contains("failed:"), "{told}");
    // They are not tried again for nothing.
    let output = call(folder.path(), &["study", "bore.study.yaml"]);
    assert_eq!((code(&output), lines(folder.path(), "runs.journal")), (5, 12));
    let output = call(folder.path(), &["study", "bore.study.yaml", "--retry-failed"]);
    assert_eq!((code(&output), lines(folder.path(), "runs.journal")), (5, 16));
}

#[test]
fn waves_are_marched_and_fields_kept_where_they_are_asked_for() {
    let folder = folder(&format!(
        "{}run: {{march: acoustic, until: 0.02 s}}\nkeep: fields\n",
        GRID.replace("count: 4", "count: 2")
    ));
    let table = study(folder.path(), &["bore.study.yaml", "--format", "csv"]);
    let fields = folder.path().join("bore.study/fields");
    assert_eq!(fs::read_dir(&fields).expect("fields").count(), 8);
    // A damaged field file is made again, the others stay.
    let one = fields.join(format!("{}.h5", column(&table, "id")[3]));
    let mut bytes = fs::read(&one).expect("a result");
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    fs::write(&one, bytes).expect("written");
    assert_eq!(study(folder.path(), &["bore.study.yaml", "--format", "csv"]), table);
    assert_eq!(lines(folder.path(), "runs.journal"), 9);
}

#[test]
fn an_outside_optimiser_can_drive_a_study() {
    let text = "layouts: {long: {case: case.yaml}}\npoints: [road]\nvary: {bore: {fields: parts.tube.diameter, from: 60 mm, to: 90 mm}}\n\
                sample: {method: sobol, count: 4}\naims: [{figure: recovery, want: most}]\n";
    let folder = folder(text);
    let suggested = study(folder.path(), &["suggest", "bore.study.yaml", "-n", "3"]);
    assert_eq!(suggested.lines().next(), Some("layout,point,bore"));
    write(folder.path(), "points.csv", &suggested);
    let told = study(folder.path(), &["run", "bore.study.yaml", "points.csv"]);
    assert_eq!(told.lines().count(), 4);
    // What is known is not suggested again, nor run again; own points may carry their unit.
    assert_ne!(study(folder.path(), &["suggest", "bore.study.yaml", "-n", "3"]), suggested);
    write(folder.path(), "own.csv", "bore\n7.5 cm\n82\n");
    study(folder.path(), &["run", "bore.study.yaml", "own.csv"]);
    study(folder.path(), &["run", "bore.study.yaml", "own.csv"]);
    assert_eq!(lines(folder.path(), "runs.journal"), 5);
    // All of them stand in the table, behind the study's own.
    let table = study(folder.path(), &["bore.study.yaml", "--format", "csv"]);
    assert_eq!(table.lines().count(), 1 + 4 + 5);
    write(folder.path(), "bad.csv", "bore\n75 kPa\n");
    let output = call(folder.path(), &["study", "run", "bore.study.yaml", "bad.csv"]);
    assert!(code(&output) == 2 && said(&output).contains("bad.csv:2: bore"), "{}", said(&output));
}

#[test]
fn a_search_finds_the_best_and_goes_on_after_a_stop() {
    let text = "layouts: {long: {case: case.yaml}}\npoints: [road]\n\
                vary:\n  bore: {fields: parts.tube.diameter, from: 60 mm, to: 120 mm}\n  length: {fields: parts.tube.length, from: 200 mm, to: 500 mm}\n\
                aims: [{figure: recovery, want: most}]\nsearch: {evaluations: 60, starts: 8}\n";
    let folder = folder(text);
    let table = study(folder.path(), &["bore.study.yaml", "--format", "csv"]);
    let (bore, length, recovery) = (numbers(&table, "bore"), numbers(&table, "length"), numbers(&table, "recovery"));
    assert!(recovery.len() <= 60);
    let best = (0..recovery.len()).max_by(|a, b| recovery[*a].total_cmp(&recovery[*b])).expect("runs");
    // The shortest tube loses least, and one about as wide as the scoop, whose 90 cm2 are a circle of 107 mm. No point of a fine grid is better.
    assert!((bore[best] - 107.0).abs() < 6.0 && (length[best] - 200.0).abs() < 3.0, "{} {}", bore[best], length[best]);
    let grid = text
        .replace("120 mm}", "120 mm, count: 31}")
        .replace("500 mm}", "500 mm, count: 2}")
        .replace("search: {evaluations: 60, starts: 8}\n", "");
    let beside = self::folder(&grid);
    let grid = study(beside.path(), &["bore.study.yaml", "--format", "csv"]);
    let best_of_grid = numbers(&grid, "recovery").into_iter().fold(0.0, f64::max);
    assert!(recovery[best] > best_of_grid - 1e-6, "{} {best_of_grid}", recovery[best]);
    // Half of the journal lost: the search comes to the same runs, with what is left of it known.
    let journal = folder.path().join("bore.study/runs.journal");
    let whole = fs::read_to_string(&journal).expect("a journal");
    let half: String = whole.lines().take(whole.lines().count() / 2).map(|line| format!("{line}\n")).collect();
    fs::write(&journal, half).expect("written");
    assert_eq!(study(folder.path(), &["bore.study.yaml", "--format", "csv"]), table);
    assert_eq!(lines(folder.path(), "runs.journal"), whole.lines().count());
}

#[test]
fn indices_tell_which_input_counts() {
    let spread = "layouts: {long: {case: case.yaml}}\npoints: [road]\nsample: {method: spread, count: 60}\n";
    let folder = folder(spread);
    study(folder.path(), &["bore.study.yaml"]);
    let told = study(folder.path(), &["indices", "bore.study.yaml", "--figure", "recovery", "--format", "json"]);
    let document: serde_json::Value = serde_json::from_str(&told).expect("JSON");
    let of = |path: &str| document["indices"][0]["total"][path].as_f64().expect("an index");
    // Warm outside air changes the inlet's temperature, hardly its recovery.
    assert!(of("parts.nose.recovery") > 0.3 && of("outside.temperature") < 0.05, "{told}");
    assert!(document["indices"][0]["foretold"].as_f64().expect("a share") > 0.9, "{told}");
}

#[test]
fn pandas_and_xarray_read_the_table() {
    let python = workspace().join("target/venv/bin/python");
    assert!(python.exists(), "{} is missing: see the README", python.display());
    let folder = folder(GRID);
    let table = study(folder.path(), &["bore.study.yaml", "--format", "csv"]);
    write(folder.path(), "table.csv", &table);
    let read = Command::new(python)
        .current_dir(folder.path())
        .arg(workspace().join("tests/read_study.py"))
        .args(["bore.study/table.h5", "table.csv"])
        .output()
        .expect("python runs");
    assert!(read.status.success(), "{}{}", String::from_utf8_lossy(&read.stdout), said(&read));
}
