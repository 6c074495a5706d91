//! `study`: many runs overnight.

mod dry;
mod indices;
mod night;
mod points;
mod progress;
mod scheduler;
mod search;
mod slurm;
#[cfg(test)]
mod tests;
pub(crate) mod text;

use super::{Format, write_failed};
use crate::failure::Failure;
use crate::{Streams, exit, interrupt};
use night::Night;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};
use tractwright::error::OutputError;
use tractwright::record::table::{Table, Values};
use tractwright::record::{Lock, remove_stale};
use tractwright::study::Evaluator;
use tractwright::study::journal::{Records, Shard};
use tractwright::study::plan::{Plan, Run};
use tractwright::study::table::{Row, Rows};

/// Name of the table in the folder of a study.
const TABLE: &str = "table.h5";
/// How long another process may write it, and how long to wait before looking again.
const PATIENCE: Duration = Duration::from_secs(10);
const PAUSE: Duration = Duration::from_millis(50);

/// Runs a study: layouts at points with varied inputs, in parallel, and again to go on
///
/// A study file names layouts, points, the inputs that vary and the aims. All runs go into one folder: a line of a journal each, and one table at the
/// end. The same command after an interruption does what is missing, and nothing twice; a run is known by the content of its input.
#[derive(Debug, clap::Args)]
#[command(
    args_conflicts_with_subcommands = true,
    subcommand_negates_reqs = true,
    after_help = "Examples:
  tractwright study tubes.study.yaml --dry-run
  tractwright study tubes.study.yaml
  tractwright study tubes.study.yaml --shard 2/8
  tractwright study gather tubes.study.yaml
  tractwright study slurm tubes.study.yaml --shards 32 > tubes.sh"
)]
pub(crate) struct Study {
    #[command(subcommand)]
    other: Option<Other>,
    #[command(flatten)]
    all: All,
}

#[derive(Debug, clap::Subcommand)]
enum Other {
    Gather(Gather),
    Slurm(slurm::Script),
    Case(CaseOf),
    Indices(indices::Indices),
    Suggest(points::Suggest),
    Run(points::RunPoints),
}

/// What all forms of the command need.
#[derive(Debug, Clone, clap::Args)]
struct Place {
    /// Study file
    #[arg(value_name = "STUDY")]
    study: PathBuf,
    /// Folder of the study; made when it is not there [default: the name of the study without its ending]
    #[arg(short, long, value_name = "FOLDER")]
    output: Option<PathBuf>,
}

#[derive(Debug, clap::Args)]
struct All {
    /// Study file
    #[arg(value_name = "STUDY", required = true)]
    study: Option<PathBuf>,
    /// Folder of the study; made when it is not there [default: the name of the study without its ending]
    #[arg(short, long, value_name = "FOLDER")]
    output: Option<PathBuf>,
    /// Says how many runs there are, how long they take and how much disk, and runs none
    #[arg(long)]
    dry_run: bool,
    /// Does only this share of the runs, such as 2/8; `study gather` puts the shares together. A task of an array of Slurm knows its share, and 1/1 makes it do all
    #[arg(long, value_name = "I/N", value_parser = shard)]
    shard: Option<Shard>,
    /// Does failed runs again
    #[arg(long)]
    retry_failed: bool,
    /// Runs at a time; as many as Slurm gave the task cores, else as there are, when it is not given
    #[arg(long, value_name = "N", default_value_t = 0, hide_default_value = true)]
    threads: usize,
    /// Form of the output
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

/// Puts the runs of all shares into the table; says how many are missing
#[derive(Debug, clap::Args)]
struct Gather {
    #[command(flatten)]
    place: Place,
    /// Form of the output
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

/// Prints the case of a run, ready for `run`
#[derive(Debug, clap::Args)]
struct CaseOf {
    #[command(flatten)]
    place: Place,
    /// Number of the run, as the table has it
    #[arg(value_name = "RUN")]
    run: usize,
}

impl Place {
    fn plan(&self) -> Result<Plan, Failure> {
        Ok(Plan::from_path(&self.study)?)
    }

    fn folder(&self) -> PathBuf {
        self.output.clone().unwrap_or_else(|| folder_of(&self.study))
    }
}

/// The folder of a study for which no other is named: its name without its ending, beside the present folder.
pub(crate) fn folder_of(study: &Path) -> PathBuf {
    let name = study.file_name().map_or_else(|| "study".to_owned(), |name| name.to_string_lossy().into_owned());
    PathBuf::from(name.trim_end_matches(".yaml").trim_end_matches(".study").to_owned() + ".study")
}

impl Study {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        interrupt::listen();
        match &self.other {
            Some(Other::Gather(gather)) => gather.execute(streams),
            Some(Other::Slurm(script)) => script.execute(streams),
            Some(Other::Case(case)) => case.execute(streams),
            Some(Other::Indices(indices)) => indices.execute(streams),
            Some(Other::Suggest(suggest)) => suggest.execute(streams),
            Some(Other::Run(points)) => points.execute(streams),
            None => self.all.execute(streams),
        }
    }
}

impl All {
    fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        // The command line asks for one unless a subcommand stands there.
        let study = self.study.clone().unwrap_or_default();
        let place = Place { study, output: self.output.clone() };
        let plan = place.plan()?;
        let folder = place.folder();
        let shard = scheduler::share(self.shard, streams.err)?;
        let threads = scheduler::threads(self.threads, streams.err)?;
        let evaluator = Evaluator::new(&plan, &folder);
        if self.dry_run {
            return dry::tell(&plan, &evaluator, &folder, shard, threads, streams);
        }
        let night = Night::open(&evaluator, &folder, shard, self.retry_failed, streams.err)?;
        let listed = (0..plan.count()).filter(|number| shard.has(*number));
        let tally = night.all(&plan, listed, &|number| plan.run(number), threads, streams)?;
        if let (Some(search), Shard::WHOLE) = (plan.search, shard) {
            search::all(&night, &plan, search, threads, streams)?;
        }
        night.close()?;
        let interrupted = interrupt::requested();
        if shard == Shard::WHOLE {
            let code = finish(&plan, &evaluator, &folder, self.format, streams)?;
            return Ok(if interrupted { to_go_on(streams.err)? } else { code });
        }
        let told = format!("{}, {} of {} done, {} failed", folder.display(), tally.done, tally.count, tally.failed);
        writeln!(streams.out, "share {} of {}: {told}; `study gather` makes the table", shard.index, shard.count)?;
        Ok(match (interrupted, tally.failed) {
            (true, _) => to_go_on(streams.err)?,
            (false, 0) => exit::DONE,
            (false, _) => exit::SOME_FAILED,
        })
    }
}

fn to_go_on(err: &mut dyn Write) -> Result<u8, Failure> {
    writeln!(err, "to go on: the same command")?;
    Ok(exit::INTERRUPTED)
}

impl Gather {
    fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        let plan = self.place.plan()?;
        let folder = self.place.folder();
        if !folder.is_dir() {
            return Err(Failure::file(format!("{}: found no folder, expected that of the study", folder.display())));
        }
        finish(&plan, &Evaluator::new(&plan, &folder), &folder, self.format, streams)
    }
}

impl CaseOf {
    fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        let plan = self.place.plan()?;
        let run = match self.run {
            number if number < plan.count() => plan.run(number),
            number => {
                let folder = self.place.folder();
                let evaluator = Evaluator::new(&plan, &folder);
                let rows = Rows::of(&plan, &evaluator, Records::read(&folder)?);
                let expected = || format!("run: found {number}, expected 0 to {}", rows.count() - 1);
                rows.get(number).ok_or_else(|| Failure::wrong_use(expected()))?.run
            }
        };
        let case = plan.case_of(&run)?;
        writeln!(streams.out, "# {}", heading(&plan, &run))?;
        write!(streams.out, "{}", case.resolved_text())?;
        Ok(exit::DONE)
    }
}

/// A run in words.
pub(crate) fn heading(plan: &Plan, run: &Run) -> String {
    let numbers = plan.variables.iter().zip(&run.numbers);
    let inputs = numbers.map(|(variable, number)| format!(", {} {}", variable.name, variable.text_of(*number)));
    format!("{}, {}{}", plan.layout_of(run).name, plan.point_of(run), inputs.collect::<String>())
}

/// Makes the table and prints what the study says.
fn finish(
    plan: &Plan,
    evaluator: &Evaluator<'_>,
    folder: &Path,
    format: Format,
    streams: &mut Streams<'_>,
) -> Result<u8, Failure> {
    let rows = Rows::of(plan, evaluator, Records::read(folder)?);
    let table = rows.table();
    let path = folder.join(TABLE);
    publish(&table, &path)?;
    match format {
        Format::Text => write!(streams.out, "{}", text::answer(plan, &rows, &path))?,
        Format::Csv => csv(&table, streams.out)?,
        Format::Json => text::json(plan, &rows, &path, streams.out)?,
    }
    let failed = rows.iter().any(|row| row.ended.as_ref().is_some_and(|ended| !ended.is_done()));
    Ok(if failed { exit::SOME_FAILED } else { exit::DONE })
}

/// Writes the table alone. Who else writes it is waited for a moment: a night shall not end with an error because someone gathers too.
fn publish(table: &Table<'_, Row>, path: &Path) -> Result<(), Failure> {
    let end = Instant::now() + PATIENCE;
    let _writer = loop {
        match Lock::take(path) {
            Err(OutputError::Content { .. }) if Instant::now() < end => std::thread::sleep(PAUSE),
            taken => break taken?,
        }
    };
    remove_stale(path)?;
    Ok(table.publish(path)?)
}

/// The table as CSV; a number that is none is an empty field.
fn csv(table: &Table<'_, Row>, out: &mut dyn Write) -> Result<(), Failure> {
    let mut csv = csv::Writer::from_writer(out);
    let names = table.columns.iter().map(|column| column.name.as_str());
    csv.write_record(std::iter::once("run").chain(names)).map_err(write_failed)?;
    for number in 0..table.rows {
        let row = (table.row)(number);
        let cell = |values: &Values<'_, Row>| match values {
            Values::Number(of) => {
                Some(of(&row)).filter(|value| !value.is_nan()).map_or_else(String::new, |value| value.to_string())
            }
            Values::Whole(of) => of(&row).to_string(),
            Values::Text(of) => of(&row),
        };
        let cells = table.columns.iter().map(|column| cell(&column.values));
        csv.write_record(std::iter::once(number.to_string()).chain(cells)).map_err(write_failed)?;
    }
    Ok(csv.flush()?)
}

/// A share such as `2/8`.
fn shard(text: &str) -> Result<Shard, String> {
    let numbers = text.split_once('/').and_then(|(index, count)| Some((index.parse().ok()?, count.parse().ok()?)));
    match numbers {
        Some((index, count)) if index >= 1 && index <= count => Ok(Shard { index, count }),
        _ => Err("expected a share such as 2/8, from 1/8 to 8/8".to_owned()),
    }
}

/// The folder of a study, made when it is not there.
fn make(folder: &Path) -> Result<(), Failure> {
    fs::create_dir_all(folder).map_err(|error| Failure::file(format!("{}: {error}", folder.display())))
}
