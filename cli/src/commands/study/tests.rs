//! The command as a user calls it.

use super::night::Night;
use super::progress::Progress;
use crate::{Streams, exit, run};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Barrier;
use tractwright::study::Evaluator;
use tractwright::study::journal::Shard;
use tractwright::study::plan::{Plan, What};

const TRACT: &str = "
points: {road: {speed: 40 m/s}}
parts:
  nose: {kind: scoop, area: 120 cm2, recovery: 0.8, lip_radius: 8 mm}
  tube: {kind: duct, length: 300 mm, diameter: 70 mm}
  turbo: {kind: draw, corrected_flow: 200 g/s}
flow: [[nose, tube, turbo]]
run: {cell: 40 mm}
";
const STUDY: &str = "
layouts: {one: {case: tract.yaml}}
vary: {bore: {fields: parts.tube.diameter, from: 62 mm, to: 78 mm, count: 6}}
";
/// Letters that a shell would take for more than letters.
const NAME: &str = "it's a $(touch trap) \"study\".study.yaml";

fn studied() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let study = folder.path().join(NAME);
    std::fs::write(folder.path().join("tract.yaml"), TRACT).expect("a folder");
    std::fs::write(&study, STUDY).expect("a folder");
    (folder, study)
}

fn script(study: &Path, arguments: &[&str]) -> (u8, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let study = study.display().to_string();
    let words = ["tractwright", "study", "slurm", &study].into_iter().chain(arguments.iter().copied());
    let code = run(words, Streams { out: &mut out, err: &mut err, bars: false });
    (code, String::from_utf8(out).expect("text"), String::from_utf8(err).expect("text"))
}

/// What a shell makes of `text`, line by line.
fn shell(folder: &Path, arguments: &[&str], text: &str) -> Vec<String> {
    let file = folder.join("script.sh");
    std::fs::write(&file, text).expect("a folder");
    let output = Command::new("bash").current_dir(folder).args(arguments).arg(&file).output().expect("bash runs");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("text").lines().map(str::to_owned).collect()
}

#[test]
fn the_script_calls_the_program_with_the_paths_whatever_is_in_them() {
    let (folder, study) = studied();
    let folder = folder.path();
    let program = std::env::current_exe().expect("this test").display().to_string();
    let output = folder.join("a b").display().to_string();
    let more = ["--shards", "3", "--cpus", "2", "--time", "01:30:00", "-o", &output];
    let (code, text, err) = script(&study, &more);
    assert_eq!(code, exit::DONE, "{err}");
    assert!(shell(folder, &["-n"], &text).is_empty());
    let study = study.display().to_string();
    // The call, with what prints its words in place of what runs it.
    let share = "export SLURM_ARRAY_TASK_ID=2\nprintf '%s\\n' ";
    let called = shell(folder, &[], &text.replace("\nexec ", &format!("\n{share}")));
    assert_eq!(called, [&program, "study", &study, "-o", &output, "--shard", "2/3"]);
    // The lines of the comment, with what prints the last word in place of what submits it.
    let comment: String = text.lines().filter_map(|line| line.strip_prefix("#   ")).map(|l| format!("{l}\n")).collect();
    let called = shell(folder, &[], &format!("sbatch() {{ echo \"${{@: -1}}\"; }}\n{comment}"));
    let [wrapped] = &called[..] else { panic!("{called:?}") };
    let wrapped = wrapped.strip_prefix("--wrap=").expect("a command");
    let gather = shell(folder, &[], &format!("printf '%s\\n' {wrapped}"));
    assert_eq!(gather, [&program, "study", "gather", &study, "-o", &output]);
    assert!(!folder.join("trap").exists());
    let asked: Vec<&str> = text.lines().filter_map(|line| line.strip_prefix("#SBATCH --")).collect();
    for wanted in ["array=1-3", "cpus-per-task=2", "time=01:30:00", "requeue", "open-mode=append", "signal=B:TERM@120"]
    {
        assert!(asked.contains(&wanted), "{wanted} in {asked:?}");
    }
    let letters = |c: char| c.is_ascii_alphanumeric() || "-_=:.%@".contains(c);
    assert!(asked.iter().all(|line| line.chars().all(letters)), "{asked:?}");
}

#[test]
fn a_script_for_what_cannot_be_is_not_printed() {
    let (_folder, study) = studied();
    for (arguments, told) in [
        (["--shards", "7", "--cpus", "1", "--time", "01:00:00"], "--shards: found 7, expected at most its 6 runs"),
        (["--shards", "0", "--cpus", "1", "--time", "01:00:00"], "--shards"),
        (["--shards", "3", "--cpus", "0", "--time", "01:00:00"], "--cpus"),
        (["--shards", "3", "--cpus", "1", "--time", "00:02:00"], "more than two minutes"),
        (["--shards", "3", "--cpus", "1", "--time", "8 hours"], "such as 08:00:00"),
        (["--shards", "3", "--cpus", "1", "--time", "01:60:00"], "such as 08:00:00"),
        (["--shards", "3", "--cpus", "1", "--time", "+1:00:00"], "such as 08:00:00"),
    ] {
        let (code, out, err) = script(&study, &arguments);
        assert_eq!((code, out.as_str()), (exit::WRONG_USE, ""), "{arguments:?}");
        assert!(err.contains(told), "{err}");
    }
    let (code, text, _) = script(&study, &["--shards", "6", "--time", "1-00:00:00"]);
    assert!(code == exit::DONE && text.contains("#SBATCH --time=1-00:00:00\n"), "{text}");
    assert!(!script(&study, &["--shards", "6"]).1.contains("--time"));
    let (code, out, err) = script(&study.with_file_name("missing.yaml"), &["--shards", "6"]);
    assert_eq!((code, out.as_str()), (exit::FILES, ""), "{err}");
}

#[test]
fn what_gathers_a_search_searches() {
    let (_folder, study) = studied();
    let searching = STUDY.replace(", count: 6", "") + "aims: [{figure: recovery, want: most}]\nsearch: {starts: 4}\n";
    for (text, command) in [(STUDY, " study gather "), (searching.as_str(), " study ")] {
        std::fs::write(&study, text).expect("a folder");
        let (code, text, err) = script(&study, &["--shards", "4"]);
        let gather = text.lines().find_map(|line| line.split_once("--wrap=")).expect("a line that gathers").1;
        assert_eq!(code, exit::DONE, "{err}");
        assert!(gather.contains(&format!("{command}'\\''/")), "{gather}");
    }
}

#[test]
fn searches_that_look_at_one_run_at_once_do_it_once() {
    const SEARCHES: usize = 4;
    let (folder, study) = studied();
    let plan = Plan::from_path(&study).expect("a study");
    let output = folder.path().join("night");
    let evaluator = Evaluator::new(&plan, &output);
    let (mut noted, mut told) = (Vec::new(), Vec::new());
    let night = Night::open(&evaluator, &output, Shard::WHOLE, false, &mut noted).expect("a folder");
    let progress = Progress::new(1, &mut told, false);
    let recovery = What::read("recovery", &plan.variables).expect("a figure");
    let together = Barrier::new(SEARCHES);
    let one = || {
        together.wait();
        night.value(&plan, &plan.run(3), &recovery, &progress).expect("a recovery").to_bits()
    };
    let found: Vec<u64> = std::thread::scope(|scope| {
        let searches: Vec<_> = (0..SEARCHES).map(|_| scope.spawn(one)).collect();
        searches.into_iter().map(|search| search.join().expect("a value")).collect()
    });
    assert!(found.iter().all(|value| *value == found[0]), "{found:?}");
    night.close().expect("a disk");
    let journal = std::fs::read_to_string(output.join("runs.journal")).expect("a journal");
    assert_eq!(journal.lines().count(), 1);
}
