use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};

/// The folder of the workspace.
pub(crate) fn workspace() -> PathBuf {
    let manifest = Path::new(env!("CARGO_MANIFEST_DIR"));
    manifest.parent().expect("the tests lie in the workspace").to_owned()
}

/// The program, built before the tests of the workspace run.
pub(crate) fn program() -> PathBuf {
    let test = std::env::current_exe().expect("this test");
    let folder = test.parent().and_then(Path::parent).expect("a build folder");
    let program = folder.join("tractwright");
    assert!(program.exists(), "{} is missing: run `cargo build --workspace` first", program.display());
    program
}

/// Runs the program in `folder` and waits for it.
pub(crate) fn call(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(program()).current_dir(folder).args(arguments).output().expect("the program starts")
}

/// Starts the program in `folder`, silent.
pub(crate) fn start(folder: &Path, arguments: &[&str]) -> Child {
    let mut command = Command::new(program());
    command.current_dir(folder).args(arguments).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    command.spawn().expect("the program starts")
}

/// Exit code of a finished call.
pub(crate) fn code(output: &Output) -> i32 {
    output.status.code().expect("an exit code")
}

/// What a finished call said beside its results.
pub(crate) fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// Sends a signal to a child, by the system's own command.
pub(crate) fn signal(child: &Child, name: &str) {
    let sent = Command::new("kill").args(["-s", name, &child.id().to_string()]).status().expect("`kill` runs");
    assert!(sent.success(), "a child that runs takes a signal");
}

/// Largest memory that a child has held so far [KiB]; `None` when it has ended.
pub(crate) fn peak_memory(child: &Child) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{}/status", child.id())).ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

/// A small tract with two draws, one of them pulsed, that is marched to `until` [s].
pub(crate) fn small_case(until: f64) -> String {
    format!(
        "
title: Two draws, one box
points: {{road: {{speed: 40 m/s}}, rest: {{speed: 0 m/s}}}}
parts:
  nose: {{kind: scoop, area: 90 cm2, recovery: 0.8, lip_radius: 5 mm}}
  snout: {{kind: duct, length: 300 mm, diameter: 100 mm}}
  box: {{kind: plenum, volume: 6 L}}
  left: {{kind: duct, length: 400 mm, diameter: 70 mm, bends: [{{at: 100 mm, angle: 60 deg, radius: 105 mm}}]}}
  left_turbo: {{kind: draw, corrected_flow: 190 g/s, pulse: {{amplitude: 10 %, frequency: 120 Hz}}}}
  right: {{like: left, length: 500 mm}}
  right_turbo: {{kind: draw, corrected_flow: 190 g/s}}
flow:
  - [nose, snout, box]
  - [box, left, left_turbo]
  - [box, right, right_turbo]
run: {{until: {until} s, cell: 10 mm, record_every: 1 ms}}
"
    )
}

/// Writes a case into `folder`.
pub(crate) fn write(folder: &Path, name: &str, text: &str) {
    std::fs::write(folder.join(name), text).expect("a folder that can be written");
}
