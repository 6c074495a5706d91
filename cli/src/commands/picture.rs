//! `picture`: one view of a result, or of several, as SVG or PNG.

use crate::chart;
use crate::failure::Failure;
use crate::opened::Opened;
use crate::{Streams, exit};
use std::path::{Path, PathBuf};
use tractwright::record::publish_bytes;

/// Draws one view of a result as SVG or PNG; power, roll-ons and responses of several results side by side
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright picture twin_sealed.road.h5 losses
  tractwright picture twin_sealed.road.h5 losses -o losses.png
  tractwright picture open_filters.day.h5 soak
  tractwright picture sealed.dyno_pull.h5 divided.dyno_pull.h5 power -o power.png
  tractwright picture sealed.roll_on.h5 divided.roll_on.h5 roll_on -o roll_on.svg
  tractwright picture sealed.response.h5 divided.response.h5 response -o response.png")]
pub(crate) struct Picture {
    /// Result files; more than one for `power`, `roll_on` and `response`
    #[arg(required = true, value_name = "RESULT")]
    results: Vec<PathBuf>,

    /// What to show
    #[arg(value_name = "VIEW")]
    view: View,

    /// Picture to write, .svg or .png; beside the first result as <RESULT>.<VIEW>.svg when it is not given
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,

    /// Replace a picture that is there
    #[arg(long)]
    force: bool,
}

/// Views of a result.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum View {
    /// Where each branch loses total pressure, from the free stream to the draw
    Losses,
    /// What warms the air of each branch: by root cause where the run follows it, over time through phases; else by place of entry
    Heat,
    /// Temperatures of inlet, bay and walls over time, phase by phase
    Soak,
    /// Power, torque and charge pressure over crank speed, with what holds the power: dyno pulls, and points that are held
    Power,
    /// Road speed and power over time, gear by gear, with the time that it took: roll-ons
    #[value(name = "roll_on")]
    RollOn,
    /// Charge pressure and torque over time after the throttle opens, with the time to 90 % of the wanted charge: throttle steps
    Response,
}

impl View {
    fn word(self) -> &'static str {
        match self {
            Self::Losses => "losses",
            Self::Heat => "heat",
            Self::Soak => "soak",
            Self::Power => "power",
            Self::RollOn => "roll_on",
            Self::Response => "response",
        }
    }
}

impl Picture {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        let beside = || self.results[0].with_extension(format!("{}.svg", self.view.word()));
        let path = self.output.clone().unwrap_or_else(beside);
        let form = Form::of(&path)?;
        if path.exists() && !self.force {
            return Err(Failure::file(format!(
                "{}: found a picture, expected a free name or `--force`",
                path.display()
            )));
        }
        let opened = self.results.iter().map(|result| Opened::read(result)).collect::<Result<Vec<_>, _>>()?;
        let svg = match self.view {
            View::Losses => chart::waterfall::svg(self.only(&opened)?),
            View::Heat => chart::heat::svg(self.only(&opened)?)?,
            View::Soak => chart::soak::svg(self.only(&opened)?)?,
            View::Power => chart::power::svg(&opened)?,
            View::RollOn => chart::roll_on::svg(&opened)?,
            View::Response => chart::response::svg(&opened)?,
        };
        let bytes = match form {
            Form::Svg => svg.into_bytes(),
            Form::Png => chart::png(&svg)?,
        };
        publish_bytes(&path, &bytes)?;
        writeln!(streams.out, "{}", path.display())?;
        Ok(exit::DONE)
    }

    /// The result of a view that shows one.
    fn only<'a>(&self, opened: &'a [Opened]) -> Result<&'a Opened, Failure> {
        match opened {
            [only] => Ok(only),
            _ => {
                let (view, count) = (self.view.word(), opened.len());
                Err(Failure::wrong_use(format!("found {count} results for `{view}`, expected one a picture")))
            }
        }
    }
}

enum Form {
    Svg,
    Png,
}

impl Form {
    fn of(path: &Path) -> Result<Self, Failure> {
        match path.extension().map(|end| end.to_ascii_lowercase()) {
            Some(end) if end == "svg" => Ok(Self::Svg),
            Some(end) if end == "png" => Ok(Self::Png),
            _ => {
                Err(Failure::wrong_use(format!("found {}, expected a name that ends in .svg or .png", path.display())))
            }
        }
    }
}
