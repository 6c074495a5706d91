use crate::support::{call, code, peak_memory, said, small_case, start, write};
use std::path::Path;
use std::time::Duration;

#[test]
fn any_number_of_threads_gives_the_same_bytes() {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, until) in [("one", 0.02), ("two", 0.025), ("three", 0.03)] {
        write(folder.path(), &format!("{name}.yaml"), &small_case(until));
    }
    let run = |threads: &str| {
        let output =
            call(folder.path(), &["run", "one.yaml", "two.yaml", "three.yaml", "--threads", threads, "-o", threads]);
        assert_eq!(code(&output), 0, "{}", said(&output));
        let results =
            ["one", "two", "three"].iter().flat_map(|case| ["road", "rest"].map(|point| format!("{case}.{point}.h5")));
        results.map(|name| std::fs::read(folder.path().join(threads).join(name)).expect("a result")).collect::<Vec<_>>()
    };
    let alone = run("1");
    assert_eq!(alone.len(), 6);
    for threads in ["2", "3"] {
        assert!(run(threads) == alone, "{threads} threads gave other bytes than one");
    }
}

fn peak_of_run(folder: &Path, name: &str) -> u64 {
    let mut child = start(folder, &["run", name, "--point", "road", "--threads", "1"]);
    let mut peak = 0;
    while child.try_wait().expect("a child").is_none() {
        peak = peak.max(peak_memory(&child).unwrap_or(0));
        std::thread::sleep(Duration::from_millis(2));
    }
    assert!(child.wait().expect("a child").success());
    peak
}

#[test]
fn ten_times_the_simulated_time_takes_the_same_memory() {
    let folder = tempfile::tempdir().expect("a folder");
    // Both longer than a block of rows, so that both fill the recorder's buffers.
    write(folder.path(), "short.yaml", &small_case(0.3).replace("record_every: 1 ms", "record_every: 0.5 ms"));
    write(folder.path(), "long.yaml", &small_case(3.0).replace("record_every: 1 ms", "record_every: 0.5 ms"));
    let (short, long) = (peak_of_run(folder.path(), "short.yaml"), peak_of_run(folder.path(), "long.yaml"));
    assert!(short > 0 && long as f64 <= 1.25 * short as f64, "{short} KiB, then {long} KiB");
}
