use crate::support::{call, code, said, signal, small_case, start, write};
use std::path::Path;
use std::process::Child;
use std::time::Duration;
use tractwright::case::Case;
use tractwright::run::{Options, Watcher, run};

/// Simulated time of the runs that are killed [s]: seconds of computing, even where the program is not optimised.
const UNTIL: f64 = 0.6;
/// Kills, over as many runs as it takes.
const KILLS: u32 = 20;

/// Every number in a group and below it, with its name, as bits.
fn numbers(group: &hdf5::Group, name: &str, found: &mut Vec<(String, Vec<u64>)>) {
    for member in group.member_names().expect("members") {
        let path = format!("{name}/{member}");
        if let Ok(inner) = group.group(&member) {
            numbers(&inner, &path, found);
        } else if let Ok(dataset) = group.dataset(&member)
            && let Ok(values) = dataset.read_raw::<f64>()
        {
            found.push((path, values.into_iter().map(f64::to_bits).collect()));
        }
    }
}

/// Every number in a result, with those of its attributes that are named, as bits.
pub(crate) fn values_of(path: &Path, attributes: &[&str]) -> Vec<(String, Vec<u64>)> {
    let file = hdf5::File::open(path).expect("a result");
    let mut found = Vec::new();
    numbers(&file, "", &mut found);
    for name in attributes {
        let value = file.attr(name).and_then(|attribute| attribute.read_scalar::<f64>()).expect("a number");
        found.push(((*name).to_owned(), vec![value.to_bits()]));
    }
    found
}

fn values(path: &Path) -> Vec<(String, Vec<u64>)> {
    values_of(path, &["steps", "retaken_steps", "end_time", "shortest_step", "longest_step"])
}

fn undisturbed(folder: &Path) -> Vec<(String, Vec<u64>)> {
    let output = call(folder, &["run", "case.yaml", "--point", "road", "-o", "whole"]);
    assert_eq!(code(&output), 0, "{}", said(&output));
    let values = values(&folder.join("whole/case.road.h5"));
    assert!(values.len() > 20, "{}", values.len());
    values
}

/// A sequence of numbers that looks random and is the same each time.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % most
    }
}

#[test]
fn runs_killed_at_any_moment_end_with_the_values_of_one_that_was_not() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    write(folder, "case.yaml", &small_case(UNTIL));
    let whole = undisturbed(folder);
    let mut dice = Dice(7);
    let (mut kills, mut round) = (0, 0);
    while kills < KILLS {
        round += 1;
        let output = format!("round{round}");
        let arguments =
            ["run", "case.yaml", "--point", "road", "-o", &output, "--resume", "--checkpoint-every", "0.02"];
        let finished = folder.join(&output).join("case.road.h5");
        while !finished.exists() {
            let mut child = start(folder, &arguments);
            std::thread::sleep(Duration::from_millis(60 + dice.below(240)));
            let killed = child.try_wait().expect("a child").is_none() && kills < KILLS;
            if killed {
                child.kill().expect("a child that runs");
                kills += 1;
            }
            let status = child.wait().expect("a child");
            assert!(status.success() || killed, "round {round}, after {kills} kills in all: {status}");
        }
        assert!(values(&finished) == whole, "round {round}, after {kills} kills in all");
    }
}

#[test]
fn an_interrupted_run_ends_with_the_values_of_one_that_was_not() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    write(folder, "case.yaml", &small_case(UNTIL));
    let whole = undisturbed(folder);
    for name in ["INT", "TERM"] {
        let mut child = start(folder, &["run", "case.yaml", "--point", "road", "-o", name]);
        while !folder.join(name).join("case.road.h5.part").exists() {
            std::thread::sleep(Duration::from_millis(5));
        }
        std::thread::sleep(Duration::from_millis(150));
        signal(&child, name);
        assert_eq!(child.wait().expect("a child").code(), Some(130), "{name}");
        let output = call(folder, &["run", "case.yaml", "--point", "road", "-o", name, "--resume"]);
        assert_eq!(code(&output), 0, "{name}: {}", said(&output));
        assert!(values(&folder.join(name).join("case.road.h5")) == whole, "{name}");
    }
}

/// Someone who lets a run go on.
struct Silent;

impl Watcher for Silent {
    fn progress(&mut self, _time: f64, _end: f64, _steps: u64) {}
}

/// Starts `case.yaml` and kills it as soon as it has saved a state.
fn killed_behind_a_checkpoint(folder: &Path) {
    let mut child = start(folder, &["run", "case.yaml", "--point", "road", "--checkpoint-every", "0.02"]);
    wait_for(&mut child, &folder.join("case.road.h5.checkpoint-a"));
    child.kill().expect("a child that runs");
    child.wait().expect("a child");
    assert!(!folder.join("case.road.h5").exists(), "the run ended before it was killed");
}

fn wait_for(child: &mut Child, path: &Path) {
    while !path.exists() {
        assert!(child.try_wait().expect("a child").is_none(), "it ended without {}", path.display());
        std::thread::sleep(Duration::from_millis(2));
    }
}

// Equal results alone do not show this: a run that starts anew gives them too.
#[test]
fn a_killed_run_goes_on_from_its_checkpoint() {
    for predictor in ["none", "hancock"] {
        let folder = tempfile::tempdir().expect("a folder");
        let folder = folder.path();
        let march = format!("record_every: 1 ms, predictor: {predictor}");
        write(folder, "case.yaml", &small_case(UNTIL).replace("record_every: 1 ms", &march));
        let whole = undisturbed(folder);
        killed_behind_a_checkpoint(folder);
        let case = Case::from_path(&folder.join("case.yaml")).expect("a case");
        let path = folder.join("case.road.h5");
        let options = Options { resume: true, ..Options::default() };
        let report = run(&case, "road", &path, options, &mut Silent).expect("a run");
        let from = report.resumed_from;
        assert!(from > 0.0 && from < UNTIL, "predictor {predictor}: from {from} s");
        assert!(values(&path) == whole, "predictor {predictor}");
    }
}

#[test]
fn a_checkpoint_of_another_case_is_refused_until_the_run_starts_anew() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    write(folder, "case.yaml", &small_case(UNTIL));
    killed_behind_a_checkpoint(folder);
    write(folder, "case.yaml", &small_case(0.01));
    let refused = call(folder, &["run", "case.yaml", "--point", "road", "--resume"]);
    assert_eq!(code(&refused), 74, "{}", said(&refused));
    assert!(said(&refused).contains("a checkpoint of another case"), "{}", said(&refused));
    let anew = call(folder, &["run", "case.yaml", "--point", "road"]);
    assert_eq!(code(&anew), 0, "{}", said(&anew));
}
