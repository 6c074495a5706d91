//! `picture`: one view of a result, or of several, as SVG or PNG.

use crate::chart;
use crate::chart::view::View;
use crate::failure::Failure;
use crate::opened::Opened;
use crate::{Streams, exit};
use std::path::{Path, PathBuf};
use tractwright::record::publish_bytes;

/// Draws one view of a result as SVG or PNG; of what an engine makes several results side by side
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright picture twin_sealed.road.h5 losses
  tractwright picture twin_sealed.road.h5 losses -o losses.png
  tractwright picture twin_sealed.road_step.h5 waves --draw right_turbo
  tractwright picture open_filters.day.h5 soak
  tractwright picture sealed.dyno_pull.h5 divided.dyno_pull.h5 power -o power.png
  tractwright picture sealed.roll_on.h5 divided.roll_on.h5 roll_on -o roll_on.svg
  tractwright picture sealed.response.h5 divided.response.h5 response -o response.png")]
pub(crate) struct Picture {
    /// Result files; more than one for `power`, `roll_on`, `response`, `over_speed` and `compressor`
    #[arg(required = true, value_name = "RESULT")]
    results: Vec<PathBuf>,

    /// What to show
    #[arg(value_name = "VIEW")]
    view: View,

    /// Picture to write, .svg or .png; beside the first result as <RESULT>.<VIEW>.svg when it is not given
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,

    /// Draw whose branch `waves` show; the first one when it is not given
    #[arg(long, value_name = "NAME")]
    draw: Option<String>,

    /// Replace a picture that is there
    #[arg(long)]
    force: bool,
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
        let svg = self.view.drawing(&opened.iter().collect::<Vec<_>>(), self.draw.as_deref())?.svg();
        let bytes = match form {
            Form::Svg => svg.into_bytes(),
            Form::Png => chart::png(&svg)?,
        };
        publish_bytes(&path, &bytes)?;
        writeln!(streams.out, "{}", path.display())?;
        Ok(exit::DONE)
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
