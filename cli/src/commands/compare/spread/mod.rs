//! `compare --spread`: how sure the differences between layouts are.

mod machine;
pub(crate) mod text;
mod verdict;

use super::{Compare, is_result};
use crate::commands::Format;
use crate::failure::Failure;
use crate::runs::many;
use crate::{Streams, exit, interrupt};
use std::path::Path;
use tractwright::case::Case;
use tractwright::quantity::{self, Dimension};
use tractwright::study::spread::{Difference, PowerRange, Samples, differences, power_range};
use verdict::Noise;

/// Fewest samples that quantiles of 10 and 90 % can be told from.
const FEWEST: usize = 10;

/// Options of a command that samples.
#[derive(Debug, clap::Args)]
pub(crate) struct SpreadOptions {
    /// Samples of what spreads at each point, the same draws in all layouts: tells how sure the differences are
    #[arg(long, value_name = "N")]
    pub(crate) spread: Option<usize>,
    /// Seed of the draws
    #[arg(long, value_name = "S", default_value_t = 1, requires = "spread")]
    seed: u64,
    /// Standard deviation of one pull on a dyno, over its value
    #[arg(long, value_name = "SHARE", value_parser = noise, default_value = "1 %", requires = "spread")]
    noise: f64,
    /// Standard deviation of one roll-on, both directions together
    #[arg(long, value_name = "TIME", value_parser = roll_on_noise, default_value = "0.1 s", requires = "spread")]
    roll_on_noise: f64,
}

impl SpreadOptions {
    /// How to draw `count` samples, so many at a time.
    pub(crate) fn sampling(&self, count: usize, threads: usize) -> Sampling {
        let noise = Noise { pull: self.noise, roll_on: self.roll_on_noise };
        Sampling { count, seed: self.seed, noise, threads }
    }
}

/// How samples are drawn and judged.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sampling {
    /// Number of samples.
    pub(crate) count: usize,
    /// Seed of the draws.
    pub(crate) seed: u64,
    /// How far what is measured scatters.
    pub(crate) noise: Noise,
    /// Runs at a time; all cores for 0.
    pub(crate) threads: usize,
}

/// The layouts at a point, sampled.
#[derive(Debug)]
pub(crate) struct Sampled {
    /// Point.
    pub(crate) point: String,
    /// Names of the layouts, the first being the one that the others are held against.
    names: Vec<String>,
    /// Differences to the first, one list for each other layout.
    differences: Vec<Vec<Difference>>,
    /// Of a pull, how the power of each layout spreads over crank speed.
    ranges: Vec<PowerRange>,
    /// Fields that spread in any layout.
    fields: Vec<String>,
    /// Samples that count, and samples that were left out.
    counts: [usize; 2],
    /// Why the first of these was.
    left_out: Option<String>,
    /// How far what is measured scatters.
    noise: Noise,
    /// Seed of the draws.
    seed: u64,
}

impl Sampled {
    /// How the power of the layout of this number spreads over crank speed; `None` where nothing was pulled.
    pub(crate) fn power_range(&self, layout: usize) -> Option<&PowerRange> {
        self.ranges.get(layout).filter(|range| !range.power.is_empty())
    }
}

impl Compare {
    /// Compares the cases over `count` samples of their inputs.
    pub(super) fn execute_spread(&self, count: usize, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        interrupt::listen();
        if let Some(result) = self.inputs.iter().find(|input| is_result(input)) {
            let found = format!("--spread: found the result {}, expected cases: they are run anew", result.display());
            return Err(Failure::wrong_use(found));
        }
        if self.inputs.len() < 2 {
            return Err(Failure::wrong_use("--spread: found one case, expected two at least"));
        }
        let cases = self.inputs.iter().map(|input| Ok(Case::from_path(input)?)).collect::<Result<Vec<_>, Failure>>()?;
        let names: Vec<String> = self.inputs.iter().map(|input| name(input, &self.inputs)).collect();
        let sampling = self.spread.sampling(count, self.threads);
        let mut all = Vec::new();
        for point in self.plain_points(&cases) {
            match sampled(cases.clone(), names.clone(), &point, sampling, streams)? {
                Some(sampled) => all.push(sampled),
                None => return Ok(exit::INTERRUPTED),
            }
        }
        match self.format {
            Format::Text => write!(streams.out, "{}", text::of(&all))?,
            Format::Json => machine::json(&all, streams.out)?,
            Format::Csv => machine::csv(&all, streams.out)?,
        }
        Ok(exit::DONE)
    }

    /// The point that is asked for; all that every layout has without phases when it is `all`.
    fn plain_points(&self, cases: &[Case]) -> Vec<String> {
        if self.point != "all" {
            return vec![self.point.clone()];
        }
        let plain =
            |case: &Case, name: &str| case.points.iter().any(|point| point.name == name && point.phases.is_empty());
        let names = cases.iter().take(1).flat_map(|case| &case.points).map(|point| point.name.clone());
        names.filter(|name| cases.iter().all(|case| plain(case, name))).collect()
    }
}

/// Samples the layouts at a point, the same draws in all of them; nothing when it is interrupted.
///
/// # Errors
/// A case cannot be run, or too few samples can.
pub(crate) fn sampled(
    cases: Vec<Case>,
    names: Vec<String>,
    point: &str,
    sampling: Sampling,
    streams: &mut Streams<'_>,
) -> Result<Option<Sampled>, Failure> {
    let Sampling { count, seed, noise, threads } = sampling;
    if count < FEWEST {
        return Err(Failure::wrong_use(format!("--spread: found {count} samples, expected {FEWEST} at least")));
    }
    let layouts = cases.len();
    let samples = Samples::new(cases, point, seed)?;
    let what = format!("samples at {point}");
    let drawn = many(&what, count, threads, streams.err, streams.bars, |number| samples.sample(number))?;
    let Some(drawn) = drawn else { return Ok(None) };
    let mut left_out = None;
    let mut kept = Vec::new();
    for sample in drawn {
        match sample {
            Ok(sample) => kept.push(sample),
            // A sample that one layout cannot take is none of any: the pairs would not be pairs.
            Err(why) => left_out = left_out.or(Some(why.to_string())),
        }
    }
    if kept.len() < FEWEST {
        let why = left_out.unwrap_or_default();
        let counts = format!("{} of {count} samples that can be run at `{point}`", kept.len());
        return Err(Failure::wrong_use(format!("found {counts}, expected {FEWEST} at least: {why}")));
    }
    let ranges = (0..layouts).map(|layout| power_range(&kept, layout)).collect();
    let kept: Vec<_> = kept.into_iter().map(|sample| sample.figures).collect();
    Ok(Some(Sampled {
        ranges,
        point: point.to_owned(),
        names,
        differences: (1..layouts).map(|layout| differences(&kept, layout)).collect(),
        fields: samples.paths().into_iter().map(str::to_owned).collect(),
        counts: [kept.len(), count - kept.len()],
        left_out,
        noise,
        seed,
    }))
}

/// Name of a case: its file without folder and ending, or all of it where two would be called alike.
fn name(input: &Path, all: &[std::path::PathBuf]) -> String {
    let alike = all.iter().filter(|other| other.file_stem() == input.file_stem()).count();
    match input.file_stem() {
        Some(stem) if alike == 1 => stem.to_string_lossy().into_owned(),
        _ => input.display().to_string(),
    }
}

/// A time above nothing, such as `0.1 s`.
fn roll_on_noise(text: &str) -> Result<f64, String> {
    match quantity::parse(text, Dimension::Time) {
        Ok(time) if time > 0.0 => Ok(time),
        Ok(_) => Err("expected more than 0 s".to_owned()),
        Err(fault) => Err(format!("found {}, expected a time such as `0.1 s`", fault.found)),
    }
}

/// A share above nothing, such as `1 %`.
fn noise(text: &str) -> Result<f64, String> {
    match quantity::parse(text, Dimension::Ratio) {
        Ok(share) if share > 0.0 && share < 1.0 => Ok(share),
        Ok(_) => Err("expected more than 0 and less than 100 %".to_owned()),
        Err(fault) => Err(format!("found {}, expected a share such as `1 %`", fault.found)),
    }
}

#[cfg(test)]
mod tests;
