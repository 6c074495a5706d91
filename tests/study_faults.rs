use crate::support::{program, said, workspace};
use std::path::{Path, PathBuf};
use std::process::Command;

/// How often each fault is made here; by hand `tests/study_faults.py` makes each of them ten times.
const TRIES: &str = "2";

#[test]
fn a_disturbed_study_ends_with_the_table_of_one_that_was_not() {
    let python = workspace().join("target/venv/bin/python");
    assert!(python.exists(), "{} is missing: see the test command in README.md", python.display());
    let script = workspace().join("tests/study_faults.py");
    let tried = Command::new(python).arg(script).arg(program()).args(["--tries", TRIES]).output().expect("python runs");
    let table = String::from_utf8_lossy(&tried.stdout);
    assert!(tried.status.success(), "{table}{}", said(&tried));
    // What cannot be made on this machine is told in the table; these can be made anywhere.
    for fault in [
        "kill -9 at",
        "SIGTERM  ",
        "Ctrl-C  ",
        "kill -9 in a search",
        "SIGTERM in a search",
        "Ctrl-C in a search",
        "in the journal",
        "in table.h5",
        "in a kept field",
        "two processes",
    ] {
        let line = table.lines().find(|line| line.contains(fault)).unwrap_or_else(|| panic!("no {fault} in {table}"));
        assert!(!line.contains("NOT TRIED"), "{line}");
    }
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("a folder").flatten() {
        let path = entry.path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|end| end == "rs") {
            found.push(path);
        }
    }
}

/// A clock that steps back cannot be made without touching that of the machine. What reads none does not feel it: waiting and pacing go by
/// `Instant`, which never goes back.
#[test]
fn nothing_reads_the_clock_on_the_wall() {
    let mut files = Vec::new();
    for member in ["solver/src", "cli/src"] {
        sources(&workspace().join(member), &mut files);
    }
    assert!(files.len() > 200, "{}", files.len());
    for file in files {
        let text = std::fs::read_to_string(&file).expect("a source");
        for clock in ["SystemTime", "UNIX_EPOCH", "ClockId::Realtime", ".modified()"] {
            assert!(!text.contains(clock), "{} reads {clock}", file.display());
        }
    }
}
