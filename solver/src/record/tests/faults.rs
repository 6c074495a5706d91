//! Damage, a full disk and a kill.

use super::*;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};

/// Every number in time or space that a summary could ask for, and the case.
fn numbers(path: &Path) -> Result<String, OutputError> {
    let result = ResultFile::open(path)?;
    let mut all = format!("{:?}{}", result.time()?, result.case());
    all += &format!("{:?}{:?}", result.field(DUCT, "pressure")?, result.field(DUCT, "share")?);
    all += &format!("{:?}{:?}", result.series(DUCT, "mass_flow")?, result.series("box", "pressure")?);
    all += &format!("{:?}{:?}", result.constant(DUCT, "x")?, result.constant(DUCT, "area")?);
    Ok(all)
}

/// Reads a copy of `bytes` in which one bit is turned.
fn numbers_with_flip(bytes: &[u8], bit: usize, path: &Path) -> Result<String, OutputError> {
    let mut flipped = bytes.to_vec();
    flipped[bit / 8] ^= 1 << (bit % 8);
    std::fs::write(path, flipped).unwrap();
    numbers(path)
}

#[test]
fn no_flipped_bit_of_a_finished_result_gives_another_number() {
    const FLIPS: usize = 4000;
    let (_folder, path) = folder_and_path();
    let mut writer = Writer::create(&path, &layout()).unwrap();
    append(&mut writer, 50);
    writer.finish(&[("end_time".into(), 0.05.into())]).unwrap();
    assert!(ResultFile::open(&path).unwrap().sealed());
    let (whole, bytes) = (numbers(&path).unwrap(), std::fs::read(&path).unwrap());
    let mut refused = 0;
    for flip in 0..FLIPS {
        // Steps of a large prime walk over the whole file in an order that has nothing to do with its structure.
        let bit = flip * 1_000_003 % (bytes.len() * 8);
        match numbers_with_flip(&bytes, bit, &path.with_file_name("flipped.h5")) {
            Ok(read) => assert!(read == whole, "bit {bit} changed a number and nobody noticed"),
            Err(_) => refused += 1,
        }
    }
    assert!(refused > FLIPS * 99 / 100, "{refused} of {FLIPS} refused");
}

#[test]
fn no_flipped_bit_in_the_values_of_an_unfinished_result_goes_unnoticed() {
    let (_folder, path) = folder_and_path();
    let mut writer = Writer::create(&path, &layout()).unwrap();
    append(&mut writer, 256);
    let copy = path.with_file_name("copy.h5");
    std::fs::copy(part_path(&path), &copy).unwrap();
    assert!(!ResultFile::open(&copy).unwrap().sealed());
    let bytes = std::fs::read(&copy).unwrap();
    let file = hdf5::File::open(&copy).unwrap();
    for name in ["time", "box/pressure", &format!("{DUCT}/pressure"), &format!("{DUCT}/share"), &format!("{DUCT}/x")] {
        let chunk = file.dataset(name).unwrap().chunk_info(0).unwrap();
        let start = usize::try_from(chunk.addr).unwrap() * 8;
        for bit in (start..start + usize::try_from(chunk.size).unwrap() * 8).step_by(101) {
            let text = match numbers_with_flip(&bytes, bit, &path.with_file_name("flipped.h5")) {
                Err(OutputError::Content { found, .. }) => found,
                other => panic!("bit {bit} of `{name}`: {other:?}"),
            };
            assert!(text.contains("damage"), "{text}");
        }
    }
}

#[test]
fn a_paused_run_is_sealed_and_one_gone_on_with_is_not() {
    let (_folder, path) = folder_and_path();
    let mut writer = Writer::create(&path, &layout()).unwrap();
    append(&mut writer, 300);
    let mark = writer.mark().unwrap();
    writer.pause().unwrap();
    assert!(ResultFile::open(&part_path(&path)).unwrap().sealed());
    let writer = Writer::reopen(&path, &layout(), &mark).unwrap();
    let copy = path.with_file_name("copy.h5");
    std::fs::copy(part_path(&path), &copy).unwrap();
    drop(writer);
    let copy = ResultFile::open(&copy).unwrap();
    assert!(!copy.sealed());
    check_rows(&copy, 256);
}

/// Environment variable that makes a test of this file play the process to which something happens.
const VICTIM: &str = "TRACTWRIGHT_TEST_RESULT";

/// This test again, in a process of its own that works on the result `path` and is started by the shell as `launch` says.
fn victim(test: &str, path: &Path, launch: &str) -> Command {
    let mut command = Command::new("sh");
    command.args(["-c", launch, "sh"]).arg(std::env::current_exe().unwrap());
    command.args([&format!("record::tests::faults::{test}"), "--exact", "--nocapture"]);
    command.env(VICTIM, path).stdout(Stdio::piped()).stderr(Stdio::piped());
    command
}

/// A disk of $SIZE KiB in memory, seen by the child alone; where the system does not let us mount one, a limit on the size of files.
const SMALL_DISK: &str = r#"
    mount='mount -t tmpfs -o size=${SIZE}k tmpfs "$FOLDER"'
    if unshare -rm sh -c "$mount" 2>/dev/null; then
        DISK=small exec unshare -rm sh -c "$mount && exec \"\$@\"" sh "$@"
    fi
    trap '' XFSZ
    ulimit -f $((SIZE * 2))
    DISK=limited exec "$@"
"#;

#[test]
fn a_disk_that_fills_up_keeps_every_block_and_is_named() {
    if let Some(path) = std::env::var_os(VICTIM) {
        return fill_the_disk(Path::new(&path));
    }
    let (folder, path) = folder_and_path();
    // The first hold no row, the last some blocks.
    for size in ["4", "8", "20", "24", "28", "32", "50", "52", "100", "200"] {
        let mut child = victim("a_disk_that_fills_up_keeps_every_block_and_is_named", &path, SMALL_DISK);
        let output = child.env("SIZE", size).env("FOLDER", folder.path()).output().unwrap();
        let text = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(output.status.success(), "{size} KiB: {text}");
        std::fs::remove_file(part_path(&path)).ok();
    }
}

/// Writes until the disk is full. What is left is looked at here, since the disk goes with this process.
fn fill_the_disk(path: &Path) {
    let named = |error: OutputError| {
        let full = matches!(&error, OutputError::File { path: file, .. } if file.starts_with(path.parent().unwrap()));
        assert!(full, "{error:?}");
    };
    let mut writer = match Writer::create(path, &layout()) {
        Ok(writer) => writer,
        Err(error) => {
            assert!(!part_path(path).exists(), "a file of no use stays behind");
            return named(error);
        }
    };
    let failure = (0..1_000_000).find_map(|row| writer.append(time(row), &values(row)).err().map(|error| (row, error)));
    let (row, error) = failure.unwrap();
    named(error);
    let again = writer.pause().unwrap_err().to_string();
    assert!(again.contains("last write failed"), "{again}");
    assert!(!path.exists());
    match ResultFile::open(&part_path(path)) {
        Ok(result) => check_rows(&result, row / 256 * 256),
        // HDF5 wants the file longer than it is, which a disk allows without room and a limit does not.
        Err(error) => assert!(std::env::var("DISK").unwrap() == "limited", "{error}"),
    }
}

/// Rows that HDF5's table of chunks holds before it is split, which a kill may not survive.
const MOST_ROWS: usize = 60 * 256;

#[test]
fn a_kill_loses_no_block_and_the_run_goes_on() {
    if let Some(path) = std::env::var_os(VICTIM) {
        return write_until_killed(Path::new(&path));
    }
    let (_folder, path) = folder_and_path();
    for kill in 0..12 {
        let mut child = victim("a_kill_loses_no_block_and_the_run_goes_on", &path, "exec \"$@\"");
        let mut child = child.stderr(Stdio::inherit()).spawn().unwrap();
        let lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let mut announced = lines.map_while(Result::ok).filter_map(|line| line.strip_prefix("rows ")?.parse().ok());
        let first: usize = announced.next().expect("the child writes a block");
        std::thread::sleep(std::time::Duration::from_micros(kill * 7_919 % 20_000));
        child.kill().unwrap();
        child.wait().unwrap();
        let rows = announced.last().unwrap_or(first);
        let result = ResultFile::open(&part_path(&path)).unwrap();
        assert!(result.rows() >= rows, "{} rows of {rows} announced", result.rows());
        check_rows(&result, result.rows());
    }
}

/// Goes on with the blocks that the last one left, or starts anew, and tells how many rows can be relied upon.
fn write_until_killed(path: &Path) {
    let rows = ResultFile::open(&part_path(path)).map_or(0, |result| result.rows());
    let mark = Mark { rows: rows as u64, waiting: vec![] };
    let fresh = rows == 0 || rows >= MOST_ROWS;
    let writer = if fresh { Writer::create(path, &layout()) } else { Writer::reopen(path, &layout(), &mark) };
    let mut writer = writer.unwrap();
    while writer.rows() < MOST_ROWS {
        let end = writer.rows() + 256;
        append(&mut writer, end);
        writeln!(std::io::stdout(), "rows {}", writer.rows()).unwrap();
    }
    loop {
        std::thread::park();
    }
}
