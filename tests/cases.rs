use crate::support::{call, code, workspace};
use std::path::{Path, PathBuf};
use tractwright::case::Case;
use tractwright::march::slow::steady;
use tractwright::march::{Acoustic, Settings, Unobserved, Until};
use tractwright::study::plan::Plan;

/// Simulated time to which each case is marched [s]: some hundred steps.
const SHORT: f64 = 2e-3;

/// How each case opens: what it is, and for editors the form of its keys.
const HEAD: [&str; 4] = ["# What: ", "# Source: ", "# Expect: ", "# yaml-language-server: $schema=../case.schema.json"];

fn yaml_files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("a folder").flatten() {
        let path = entry.path();
        if path.is_dir() {
            yaml_files(&path, found);
        } else if path.to_string_lossy().ends_with(".yaml") && !path.to_string_lossy().ends_with(".study.yaml") {
            found.push(path);
        }
    }
}

fn march(case: &Case) {
    for point in &case.points {
        let built = case.build(&point.name).unwrap_or_else(|error| panic!("{}: {error}", case.file));
        let settings = Settings { until: Until::Time(SHORT), record_every: SHORT, ..built.settings };
        let mut march = Acoustic::new(&built.network, built.initial.clone(), settings);
        march.run(&mut Unobserved).unwrap_or_else(|error| panic!("{} at {}: {error}", case.file, point.name));
        assert!(march.clock.time >= SHORT && march.clock.step > 0);
    }
}

#[test]
fn every_case_says_what_it_is_and_marches_at_every_point() {
    let mut files = Vec::new();
    yaml_files(&workspace().join("cases"), &mut files);
    assert!(files.len() >= 8, "{files:?}");
    for file in files {
        let text = std::fs::read_to_string(&file).expect("a case");
        assert_eq!(text.lines().zip(HEAD).count(), HEAD.len(), "{}", file.display());
        for (line, word) in text.lines().zip(HEAD) {
            assert!(line.starts_with(word), "{}: found `{line}`, expected `{word}...`", file.display());
        }
        let case = Case::from_path(&file).unwrap_or_else(|error| panic!("{error}"));
        march(&case);
    }
}

/// Simulated time for which waves may shake a steady state [s], and the relative change that they may bring.
const SHAKEN: f64 = 3e-3;
const STAYS: f64 = 1e-6;

#[test]
fn the_steady_state_of_every_case_is_that_of_the_march_with_waves() {
    let mut files = Vec::new();
    yaml_files(&workspace().join("cases"), &mut files);
    // A shock tube is no steady flow.
    for file in files.into_iter().filter(|file| !file.ends_with("sod.yaml")) {
        let case = Case::from_path(&file).unwrap_or_else(|error| panic!("{error}"));
        for point in case.points.iter().filter(|point| point.phases.is_empty()) {
            let name = format!("{} at {}", file.display(), point.name);
            let built = case.build(&point.name).unwrap_or_else(|error| panic!("{name}: {error}"));
            let network = &built.network;
            let found = steady(network, 0.0, built.initial.clone(), vec![0.0; network.layout.unknowns]);
            let found = found.unwrap_or_else(|error| panic!("{name}: {error}"));
            let settings = Settings { until: Until::Time(SHAKEN), record_every: SHAKEN, ..built.settings };
            let mut march = Acoustic::new(network, found.y.clone(), settings).with_flows(found.z);
            march.run(&mut Unobserved).unwrap_or_else(|error| panic!("{name}: {error}"));
            let values = network.arena.slots() * 3;
            for duct in network.arena.ducts() {
                for slot in network.arena.slots_of(duct) {
                    for value in (slot..values).step_by(network.arena.slots()) {
                        // Momentum over that of a tenth of the speed of sound.
                        let size = found.y[value].abs().max(10.0);
                        let change = (march.y[value] - found.y[value]).abs() / size;
                        assert!(change < STAYS, "{name}: {} changes by {change:e}", network.ducts[duct.0]);
                    }
                }
            }
        }
    }
}

#[test]
fn the_schema_beside_the_cases_is_the_one_that_is_printed() {
    for of in ["case", "study"] {
        beside_the_cases(of);
    }
}

fn beside_the_cases(of: &str) {
    let name = format!("cases/{of}.schema.json");
    let kept = std::fs::read_to_string(workspace().join(&name)).expect("a schema");
    let printed = call(&workspace(), &["schema", of]);
    assert_eq!(code(&printed), 0);
    assert!(kept == String::from_utf8_lossy(&printed.stdout), "run `tractwright schema {of} > {name}`");
}

/// Texts of the fenced blocks of a kind in a document.
pub(crate) fn blocks(document: &str, language: &str) -> Vec<String> {
    let opening = format!("```{language}\n");
    document.split(&opening).skip(1).filter_map(|rest| rest.split("```").next()).map(str::to_owned).collect()
}

#[test]
fn every_study_is_read_and_says_what_it_is() {
    let folder = workspace().join("cases");
    let mut found = 0;
    for entry in std::fs::read_dir(&folder).expect("cases").flatten() {
        let path = entry.path();
        if !path.to_string_lossy().ends_with(".study.yaml") {
            continue;
        }
        let text = std::fs::read_to_string(&path).expect("a study");
        for (line, word) in text.lines().zip(["# What: ", "# Source: ", "# Expect: "]) {
            assert!(line.starts_with(word), "{}: found `{line}`, expected `{word}...`", path.display());
        }
        assert!(text.contains("# yaml-language-server: $schema=study.schema.json"), "{}", path.display());
        let plan = Plan::from_path(&path).unwrap_or_else(|error| panic!("{error}"));
        assert!(plan.count() > 100);
        found += 1;
    }
    assert!(found >= 2);
    // That of the guide, beside the cases that it names.
    let beside = tempfile::tempdir().expect("a folder");
    let power = beside.path().join("power");
    std::fs::create_dir(&power).expect("a folder");
    for name in ["sized_filters.yaml", "twin_sealed.yaml"] {
        std::fs::copy(folder.join("power").join(name), power.join(name)).expect("a copy");
    }
    let text = std::fs::read_to_string(workspace().join("README.md")).expect("a document");
    let block = blocks(&text, "yaml").into_iter().find(|block| block.contains("layouts:")).expect("a study");
    std::fs::write(beside.path().join("guide.study.yaml"), block).expect("written");
    let plan = Plan::from_path(&beside.path().join("guide.study.yaml")).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(plan.count(), 2 * 2 * 9 * 3);
}

#[test]
fn every_case_in_a_document_marches() {
    let mut found = 0;
    for document in ["README.md", "DEVELOPERS.md"] {
        let text = std::fs::read_to_string(workspace().join(document)).expect("a document");
        for block in blocks(&text, "yaml").iter().filter(|block| block.contains("parts:")) {
            let case = Case::from_text(document, block).unwrap_or_else(|error| panic!("{error}"));
            march(&case);
            found += 1;
        }
    }
    assert!(found > 0);
}
