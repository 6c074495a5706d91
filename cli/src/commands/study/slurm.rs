//! `study slurm`: a script that does a study in shares on a cluster.

use super::Place;
use crate::failure::Failure;
use crate::print::shell::quoted;
use crate::{Streams, exit};
use std::path::{Path, PathBuf};

/// Time that a task is given to stop before its limit [s].
const NOTICE: u64 = 120;
/// What a time limit looks like.
const TIME: &str = "a time of more than two minutes such as 08:00:00 or 1-12:00:00";

/// Prints a script that does the study in shares as an array of Slurm; `sbatch` submits it
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:
  tractwright study slurm tubes.study.yaml --shards 32 --cpus 4 --time 08:00:00 > tubes.sh")]
pub(super) struct Script {
    #[command(flatten)]
    place: Place,
    /// Tasks of the array, each of which does a share
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    shards: u32,
    /// Cores of a task, which are its runs at a time
    #[arg(long, value_name = "C", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..))]
    cpus: u32,
    /// Time limit of a task, two minutes before which it stops in good order; that of the cluster when it is not given
    #[arg(long, value_name = "HH:MM:SS", value_parser = time)]
    time: Option<String>,
}

impl Script {
    pub(super) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        // What is wrong with the study is told here, not hours later in the queue.
        let plan = self.place.plan()?;
        let runs = plan.count();
        if self.shards as usize > runs {
            return Err(Failure::wrong_use(format!(
                "--shards: found {}, expected at most its {runs} runs",
                self.shards
            )));
        }
        let program = std::env::current_exe().unwrap_or_else(|_| PathBuf::from("tractwright"));
        let words = Words {
            program: word(&program)?,
            study: word(&absolute(&self.place.study)?)?,
            folder: word(&absolute(&self.place.folder())?)?,
            // A search goes on from all shares, so that what gathers them does it too.
            gather: if plan.search.is_some() { "study" } else { "study gather" },
        };
        write!(streams.out, "{}", self.text(&words, runs))?;
        Ok(exit::DONE)
    }

    fn text(&self, words: &Words, runs: usize) -> String {
        let Self { shards, cpus, .. } = self;
        let Words { program, study, folder, gather } = words;
        let name = self.name();
        let time = self.time.as_ref().map_or_else(String::new, |time| format!("#SBATCH --time={time}\n"));
        let gather = quoted(&format!("{program} {gather} {study} -o {folder}"));
        format!(
            "\
#!/bin/bash
# {runs} runs in {shards} shares. Submit this, as {name}.sh, and gather the table when all shares are done:
#   job=$(sbatch --parsable {name}.sh)
#   sbatch --dependency=afterok:$job --job-name={name} --output={name}.%j.log --wrap={gather}
# A task whose node fails is queued again and goes on. Where a time limit stopped some, submit the script again: what is
# done is not done twice. A run that fails makes its task fail too; afterany in place of afterok gathers in spite of it.
#SBATCH --job-name={name}
#SBATCH --array=1-{shards}
#SBATCH --cpus-per-task={cpus}
{time}#SBATCH --requeue
#SBATCH --open-mode=append
#SBATCH --signal=B:TERM@{NOTICE}
#SBATCH --output={name}.%A_%a.log
# The signal must reach the program itself. The share is named, so that `sbatch --array=3` does share 3 alone.
exec {program} study {study} -o {folder} --shard \"$SLURM_ARRAY_TASK_ID/{shards}\"
"
        )
    }

    /// The name of the study in letters that mean nothing to Slurm or a shell.
    fn name(&self) -> String {
        let name = self.place.study.file_stem().unwrap_or_default().to_string_lossy();
        let name = name.strip_suffix(".study").unwrap_or(&name);
        let plain = |c: char| if c.is_ascii_alphanumeric() || c == '_' { c } else { '_' };
        name.chars().map(plain).collect()
    }
}

/// Paths as the shell takes them, and the command that puts the shares together.
struct Words {
    program: String,
    study: String,
    folder: String,
    gather: &'static str,
}

/// `path` from the root: the script may be submitted from any folder.
fn absolute(path: &Path) -> Result<PathBuf, Failure> {
    std::path::absolute(path).map_err(|error| Failure::file(format!("{}: {error}", path.display())))
}

/// `path` as the shell takes it; a line break would end the comment that it stands in.
fn word(path: &Path) -> Result<String, Failure> {
    let text = path.to_str().filter(|text| !text.contains(char::is_control));
    let expected = "a path in UTF-8 without control characters, as a script can have it";
    text.map(quoted).ok_or_else(|| Failure::wrong_use(format!("found {path:?}, expected {expected}")))
}

/// A time limit as Slurm has it: hours, minutes, seconds, and days where there are some.
fn time(text: &str) -> Result<String, String> {
    let (days, clock) = text.split_once('-').unwrap_or(("0", text));
    let number = |digits: &str| digits.bytes().all(|byte| byte.is_ascii_digit()).then(|| digits.parse::<u32>().ok())?;
    let numbers: Option<Vec<u32>> = std::iter::once(days).chain(clock.split(':')).map(number).collect();
    match numbers.as_deref() {
        Some([days, hours, minutes @ 0..60, seconds @ 0..60])
            if [days, hours, minutes, seconds]
                .into_iter()
                .zip([86_400, 3_600, 60, 1])
                .fold(0, |sum, (number, each)| sum + u64::from(*number) * each)
                > NOTICE =>
        {
            Ok(text.to_owned())
        }
        _ => Err(format!("expected {TIME}")),
    }
}
