use crate::support::{call, code, said, small_case, workspace, write};
use std::process::Command;

#[test]
fn h5py_and_xarray_read_what_was_written() {
    let python = workspace().join("target/venv/bin/python");
    assert!(
        python.exists(),
        "{} is missing: run `python3 -m venv target/venv && target/venv/bin/pip install -r tests/requirements.txt`",
        python.display()
    );
    let folder = tempfile::tempdir().expect("a folder");
    write(folder.path(), "case.yaml", &small_case(0.02));
    let output = call(folder.path(), &["run", "case.yaml", "--point", "road"]);
    assert_eq!(code(&output), 0, "{}", said(&output));
    let script = workspace().join("tests/read_results.py");
    let read = Command::new(python).arg(script).arg(folder.path().join("case.road.h5")).output().expect("python runs");
    assert!(read.status.success(), "{}{}", String::from_utf8_lossy(&read.stdout), said(&read));
}
