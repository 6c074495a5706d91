//! `filter_life`: a tract over the life of its filters.

mod machine;
mod text;

use super::Format;
use super::picture::{free, publish};
use crate::chart::filter_life as chart;
use crate::failure::Failure;
use crate::runs::many;
use crate::{Streams, exit, interrupt};
use std::path::PathBuf;
use tractwright::case::Case;
use tractwright::quantity::{self, Dimension};
use tractwright::study::filter_life::{Age, AgingFilter, age};

/// Follows a tract over the life of its filters: drop, what the draws get, efficiency and the dust that passes, from clean to full, beside the service limit
///
/// Every filter with a mass of dust is filled in step, each to its own capacity. How the drop rises follows a sheet of ISO 5011 where the case has one.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright filter_life dusty.yaml --point road
  tractwright filter_life dusty.yaml --point road --dust '1 mg/m3' --picture life.svg
  tractwright filter_life dusty.yaml --steps 20 --format csv")]
pub(crate) struct FilterLife {
    /// Case file
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// Point at which the filters are looked at; the first of the case when it is not given
    #[arg(long, value_name = "NAME")]
    point: Option<String>,
    /// Steps from clean to full
    #[arg(long, value_name = "N", default_value_t = 10)]
    steps: usize,
    /// Dust in the air that comes in, such as '1 mg/m3': tells how long a filter lasts at this point; it depends on roads and weather, and is not guessed
    #[arg(long, value_name = "DENSITY", value_parser = density)]
    dust: Option<f64>,
    /// Picture to write, .svg or .png
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    /// Replace a picture that is there
    #[arg(long, requires = "picture")]
    force: bool,
    /// Form of the output
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

/// A life of filters.
pub(crate) struct Life {
    /// Name of the case.
    pub(crate) case: String,
    pub(crate) point: String,
    /// Density of the air outside [kg/m^3].
    pub(crate) density: f64,
    /// Dust in it [kg/m^3].
    pub(crate) dust: Option<f64>,
    pub(crate) filters: Vec<AgingFilter>,
    /// From clean to full, in steps fine enough for a curve.
    pub(crate) ages: Vec<Age>,
    /// So many of them make one of the steps that were asked for.
    every: usize,
}

/// Most steps.
const MOST_STEPS: usize = 1_000;
/// Fewest steps of a curve that looks smooth.
const SMOOTH: usize = 40;

impl FilterLife {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        interrupt::listen();
        if !(1..=MOST_STEPS).contains(&self.steps) {
            return Err(Failure::wrong_use(format!("--steps: found {}, expected 1 to {MOST_STEPS}", self.steps)));
        }
        if let Some(path) = &self.picture {
            free(path, self.force)?;
        }
        let Some(life) = self.life(streams)? else { return Ok(exit::INTERRUPTED) };
        match self.format {
            Format::Text => write!(streams.out, "{}", text::of(&life))?,
            Format::Json => machine::json(&life, streams.out)?,
            Format::Csv => machine::csv(&life, streams.out)?,
        }
        if let Some(path) = &self.picture {
            publish(path, &chart::drawing(&life))?;
            writeln!(streams.err, "{}", path.display())?;
        }
        Ok(exit::DONE)
    }

    /// The life; nothing when it is interrupted.
    fn life(&self, streams: &mut Streams<'_>) -> Result<Option<Life>, Failure> {
        let case = Case::from_path(&self.case)?;
        let point = self.point.clone().unwrap_or_else(|| case.points[0].name.clone());
        let outside = case.at_point(&point)?.outside;
        let filters = AgingFilter::of(&case)?;
        let (clean, known) = age(&case, &point, &filters, 0.0, None)?;
        let every = SMOOTH.div_ceil(self.steps);
        let steps = self.steps * every;
        let share = |step: usize| (step + 1) as f64 / steps as f64;
        let aged = many("ages of the filters", steps, 0, streams.err, streams.bars, |step| {
            age(&case, &point, &filters, share(step), Some(&known)).map(|(age, _)| age)
        })?;
        let Some(aged) = aged else { return Ok(None) };
        let ages = std::iter::once(Ok(clean)).chain(aged).collect::<Result<Vec<_>, _>>()?;
        let density = outside.pressure / (outside.gas.gas_constant * outside.temperature);
        let case = self.case.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
        Ok(Some(Life { case, point, density, dust: self.dust, filters, ages, every }))
    }
}

impl Life {
    /// The ages that are told: from clean to full, in the steps that were asked for.
    fn told(&self) -> impl Iterator<Item = &Age> {
        self.ages.iter().step_by(self.every)
    }

    /// Dust that a filter has been fed when it is to be changed [kg]: where its rise comes to the limit; `None` before the end of its life, or without a limit.
    pub(crate) fn change_at(&self, filter: usize) -> Option<f64> {
        let about = &self.filters[filter];
        let limit = about.service_limit?;
        let clean = self.ages.first()?.filters[filter][0];
        let rise = |age: &Age| age.filters[filter][0] - clean;
        let next = self.ages.iter().position(|age| rise(age) >= limit)?;
        let (before, behind) = (&self.ages[next.checked_sub(1)?], &self.ages[next]);
        let part = (limit - rise(before)) / (rise(behind) - rise(before));
        Some(about.capacity * (before.share + part * (behind.share - before.share)))
    }

    /// Time at this point until a filter has been fed `mass` [kg] of dust [s], at the flow of the clean tract.
    pub(crate) fn time_to(&self, filter: usize, mass: f64) -> Option<f64> {
        let flow = self.ages.first()?.filters[filter][1] / self.density;
        Some(mass / (self.dust? * flow))
    }
}

/// A density above nothing [kg/m^3].
fn density(text: &str) -> Result<f64, String> {
    match quantity::parse(text, Dimension::Density) {
        Ok(density) if density > 0.0 => Ok(density),
        Ok(_) => Err("expected more than 0".to_owned()),
        Err(fault) => Err(format!("found {}, expected a density such as `1 mg/m3`", fault.found)),
    }
}
