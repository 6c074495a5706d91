//! `fit`: unknown numbers of a case from measurements of the car.

mod hands;
mod machine;
mod text;

use super::Format;
use super::measured::doubtful;
use crate::failure::Failure;
use crate::{Streams, exit, interrupt};
use hands::Workers;
use std::path::{Path, PathBuf};
use tractwright::case::Case;
use tractwright::case::measured::Measured;
use tractwright::measured::{Doubt, Log, Station, doubts, stations};
use tractwright::record::publish_bytes;
use tractwright::study::fit::{
    Certainty, Ending, FitReading, Fitted, Found, Group, Spreads, StationError, Stations, Stop, groups, least_squares,
    missed_one_by_one, with_priors,
};

/// Fits unknown numbers of a case to what was measured on the car, and writes a case with them
///
/// The section `measured` of the case says what the columns of the logs mean. All stations are solved at once as steady states, or in the pull that comes
/// by them, again and again, until the sum of the squares of all residuals is least; each residual is what the model says less what was read, over the
/// accuracy of the gauge. A spread of a fitted number is its prior and counts as one more residual. The factor on a published law of loss
/// (`loss_factors`) and the `offset` of a gauge are numbers too.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright fit coupe.yaml road.csv --field parts.nose.recovery --field parts.left_filter.media_area,parts.right_filter.media_area
  tractwright fit coupe.yaml road.csv --field 'parts.nose.recovery=0.75 +- 0.1' --field 'parts.rear.area=60 +- 10 cm2 uniform' -o fitted.yaml
  tractwright fit coupe.yaml road.csv --field loss_factors.bend --field measured.columns.p_box.offset
  tractwright fit coupe.yaml monday.csv tuesday.csv --without p_box --errors by_residuals --format json")]
pub(crate) struct Fit {
    /// Case file, with a section `measured`
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// Logs of measurements
    #[arg(value_name = "LOG", required = true)]
    logs: Vec<PathBuf>,
    /// Number of the case to fit; several with a comma between them share one value. Behind `=` a value to start from, with a spread as its prior;
    /// a `uniform` spread gives bounds instead. A factor that the case leaves out (`loss_factors.LAW`, `bends[i].loss_factor`, `wall.film_factor`) starts from
    /// 1 with the published spread of its law. All numbers with a spread when it is not given
    #[arg(long, value_name = "PATH[,PATH][=VALUE]")]
    field: Vec<String>,
    /// Column of the logs to leave out; may be given more than once
    #[arg(long, value_name = "COLUMN")]
    without: Vec<String>,
    /// What the standard errors follow from
    #[arg(long, value_enum, default_value_t = Errors::ByAccuracy)]
    errors: Errors,
    /// Case to write, which extends the one that was fitted; beside it as <CASE>.fitted.yaml when it is not given
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Replace a case that is there
    #[arg(long)]
    force: bool,
    /// Most evaluations of all stations
    #[arg(long, value_name = "N", default_value_t = Stop::default().evaluations)]
    evaluations: usize,
    /// Form of the output
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Stations, pulls and derivatives at a time; as many as there are cores when it is not given
    #[arg(long, value_name = "N", default_value_t = 0, hide_default_value = true)]
    threads: usize,
}

/// What standard errors follow from, as the command line has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Errors {
    /// The accuracies of the gauges and the spreads of priors
    #[value(name = "by_accuracy")]
    ByAccuracy,
    /// Those times the deviation of the residuals, for gauges of which only the ratios are known
    #[value(name = "by_residuals")]
    ByResiduals,
}

/// All that there is to print.
struct Fitting<'a> {
    command: &'a Fit,
    measured: &'a Measured,
    fitted: &'a [Fitted],
    stations: &'a [Station],
    readings: Vec<FitReading>,
    found: Found,
    certainty: Certainty,
    /// By channel, and by station.
    taps: Vec<Group>,
    by_station: Vec<Group>,
    /// Deviation of each reading from a fit that has not seen it.
    unseen: Option<f64>,
    /// What was kept out of the logs or is doubtful in them.
    remarks: Vec<String>,
    /// Case that was written.
    written: PathBuf,
}

impl Fit {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        interrupt::listen();
        let output = self.output.clone().unwrap_or_else(|| self.case.with_extension("fitted.yaml"));
        if output.exists() && !self.force {
            return Err(Failure::file(format!(
                "{}: found a file, expected a free name or `--force`",
                output.display()
            )));
        }
        let case = with_priors(&Case::from_path(&self.case)?, &self.field)?;
        let fitted = self.fitted(&case)?;
        refuse_set(&case, &fitted)?;
        // What cannot be written is told before anything is computed.
        case.extending(&output, &[])?;
        let (stations, remarks) = self.stations(&case)?;
        let measured = case.measured.as_ref().ok_or_else(|| Failure::wrong_use("found no section `measured`"))?;
        self.check_columns(measured)?;
        let workers = Workers::new(self.threads, stations.len(), streams)?;
        let mut model = Stations::new(&case, measured, &stations, &fitted, &self.without, &workers);
        let unknowns: Vec<_> = fitted.iter().map(|fitted| fitted.unknown.clone()).collect();
        let stop = Stop { evaluations: self.evaluations, ..Stop::default() };
        let found = least_squares(&mut model, &unknowns, &stop);
        workers.finish();
        let readings = model.fit_readings().to_vec();
        let found = match found {
            Ok(found) => found,
            Err(tractwright::study::fit::Failure::Model(StationError::Interrupted)) => return Ok(exit::INTERRUPTED),
            Err(failure) => return Err(told(failure, &fitted)),
        };
        let spreads = match self.errors {
            Errors::ByAccuracy => Spreads::Known,
            Errors::ByResiduals => Spreads::ByResiduals,
        };
        let certainty = Certainty::of(&found, &unknowns, spreads)
            .ok_or_else(|| told(tractwright::study::fit::Failure::NotANumber, &fitted))?;
        let fitting = Fitting {
            command: self,
            measured,
            fitted: &fitted,
            stations: &stations,
            taps: groups(&found, &certainty, &readings, |reading| reading.channel),
            by_station: groups(&found, &certainty, &readings, |reading| reading.station),
            unseen: missed_one_by_one(&found, &certainty),
            remarks,
            readings,
            found,
            certainty,
            written: output,
        };
        let written = fitting.write(&case);
        if written.is_ok() {
            writeln!(streams.err, "wrote {}", fitting.written.display())?;
        }
        match self.format {
            Format::Text => write!(streams.out, "{}", text::of(&fitting))?,
            Format::Json => machine::json(&fitting, streams.out)?,
            Format::Csv => machine::csv(&fitting, streams.out)?,
        }
        // What was found is worth printing even where it cannot be written.
        written.map(|()| exit::DONE)
    }

    fn fitted(&self, case: &Case) -> Result<Vec<Fitted>, Failure> {
        if self.field.is_empty() {
            let all = Fitted::all_that_spread(case);
            if all.is_empty() {
                let expected = "`--field PATH`, or numbers with a spread such as `0.8 +- 0.1`";
                return Err(Failure::wrong_use(format!("found no number to fit, expected {expected}")));
            }
            return Ok(all);
        }
        let fitted = self.field.iter().map(|text| Fitted::of(case, text)).collect::<Result<Vec<_>, _>>()?;
        let mut paths: Vec<&str> = fitted.iter().flat_map(|fitted| &fitted.paths).map(String::as_str).collect();
        paths.sort_unstable();
        match paths.windows(2).find(|pair| pair[0] == pair[1]) {
            Some(pair) => Err(Failure::wrong_use(format!("--field: found `{}` twice, expected it once", pair[0]))),
            None => Ok(fitted),
        }
    }

    /// The stations of all logs, with the name of the log where there are several; and what was kept out of them or is doubtful in them.
    fn stations(&self, case: &Case) -> Result<(Vec<Station>, Vec<String>), Failure> {
        let (mut all, mut remarks) = (Vec::new(), Vec::new());
        for path in &self.logs {
            let log = Log::from_path(case, path)?;
            let Some(measured) = &case.measured else { continue };
            let mut of_log = stations(measured, &log)?;
            remarks.extend(remarks_on(&log, measured, &doubts(case, measured, &log, &of_log)?));
            if self.logs.len() > 1 {
                of_log.iter_mut().for_each(|station| station.name = format!("{}: {}", path.display(), station.name));
            }
            all.extend(of_log);
        }
        Ok((all, remarks))
    }

    fn check_columns(&self, measured: &Measured) -> Result<(), Failure> {
        let known = || measured.channels.iter().map(|channel| channel.name.as_str());
        match self.without.iter().find(|column| !known().any(|name| name == column.as_str())) {
            Some(column) => {
                let expected = format!("one of: {}", known().collect::<Vec<_>>().join(", "));
                Err(Failure::wrong_use(format!("--without: found `{column}`, expected {expected}")))
            }
            None => Ok(()),
        }
    }
}

/// What was kept out of a log, and what is doubtful in it, in sentences.
fn remarks_on(log: &Log, measured: &Measured, doubts: &[Doubt]) -> Vec<String> {
    let kept_out = log.told.iter().filter(|told| told.kept_out).count();
    let rows = (kept_out > 0).then(|| {
        let first = log
            .told
            .iter()
            .find(|told| told.kept_out)
            .map_or(String::new(), |told| format!(", the first in line {}: {}", told.line, told.text));
        format!("{}: {kept_out} of {} rows kept out{first}.", log.file, log.rows_read)
    });
    let doubt = |doubt: &Doubt| format!("{}: {}.", log.file, doubtful(measured, doubt));
    rows.into_iter().chain(doubts.iter().map(doubt)).collect()
}

/// Refuses to fit what a log sets: each station has its own value of it.
fn refuse_set(case: &Case, fitted: &[Fitted]) -> Result<(), Failure> {
    let channels = case.measured.iter().flat_map(|measured| &measured.channels);
    let set: Vec<&String> = channels.flat_map(|channel| &channel.sets).collect();
    match fitted.iter().flat_map(|fitted| &fitted.paths).find(|path| set.contains(path)) {
        Some(path) => Err(Failure::wrong_use(format!(
            "found `{path}` to fit, which a column of the log sets, expected another number"
        ))),
        None => Ok(()),
    }
}

/// Why there is no fit.
fn told(failure: tractwright::study::fit::Failure<StationError>, fitted: &[Fitted]) -> Failure {
    use tractwright::study::fit::Failure as Reason;
    match failure {
        Reason::Model(StationError::NoState { station, field, why }) => {
            let field = field.map_or_else(String::new, |field| format!(", `{field}` moved a little either way"));
            match Failure::from(*why) {
                Failure::Told { code, messages } => {
                    let messages = messages.iter().map(|told| format!("station `{station}`{field}: {told}")).collect();
                    Failure::Told { code, messages }
                }
                other => other,
            }
        }
        Reason::Model(StationError::Interrupted) => Failure::file("interrupted"),
        Reason::TooFew { readings, priors, unknowns } => Failure::wrong_use(format!(
            "found {readings} readings and {priors} priors for {unknowns} numbers to fit, expected as many at least"
        )),
        Reason::Bounds(index) => Failure::wrong_use(format!(
            "`{}`: found a start outside its bounds, expected one between them",
            fitted[index].paths[0]
        )),
        Reason::NotANumber => Failure::wrong_use(
            "found what is no number while fitting, expected finite readings and derivatives: is each number to fit felt by the case?",
        ),
    }
}

impl Fitting<'_> {
    /// Writes the case with the fitted values.
    fn write(&self, case: &Case) -> Result<(), Failure> {
        let values = self.fitted.iter().zip(self.found.values.iter().zip(&self.certainty.errors));
        let changes = values.flat_map(|(fitted, (value, error))| {
            fitted.paths.iter().map(|path| (path.clone(), fitted.text(*value, *error)))
        });
        let changes: Vec<(String, String)> = changes.collect();
        let logs: Vec<String> = self.command.logs.iter().map(|path| name(path)).collect();
        let head = format!(
            "# Fitted to {}: {} readings of {} stations, residuals {:.2} of what accuracies and priors allow.\n\
             # +- is one standard error; values that were fitted together are correlated, which no spread of a case can tell.\n",
            logs.join(", "),
            self.readings.len(),
            self.stations.len(),
            self.certainty.deviation(),
        );
        let warning = match &self.found.ending {
            Ending::Evaluations => {
                "# NOT CONVERGED: it was stopped after the evaluations that it may take.\n".to_owned()
            }
            Ending::Stuck { unknown, .. } => {
                format!("# NOT CONVERGED: it {} along {}.\n", self.found.ending.words(), self.fitted[*unknown].paths[0])
            }
            _ => String::new(),
        };
        let text = format!("{head}{warning}{}", case.extending(&self.written, &changes)?);
        publish_bytes(&self.written, text.as_bytes())?;
        Ok(())
    }

    /// Name of a value.
    fn label(&self, index: usize) -> String {
        let paths = &self.fitted[index].paths;
        let own = ["parts.", "measured.columns."].iter().find_map(|section| paths[0].strip_prefix(section));
        let first = own.unwrap_or(&paths[0]).replace('.', " ");
        match paths.len() {
            1 => first,
            count => format!("{first} and {} more", count - 1),
        }
    }
}

fn name(path: &Path) -> String {
    path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}

#[cfg(test)]
mod tests;
