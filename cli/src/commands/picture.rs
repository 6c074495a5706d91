//! `picture`: one view of a result as SVG or PNG.

use crate::chart;
use crate::failure::Failure;
use crate::opened::Opened;
use crate::{Streams, exit};
use std::path::{Path, PathBuf};
use tractwright::record::publish_bytes;

/// Draws one view of a result as SVG or PNG
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright picture twin_sealed.road.h5 losses
  tractwright picture twin_sealed.road.h5 losses -o losses.png
  tractwright picture open_filters.day.h5 soak")]
pub(crate) struct Picture {
    /// Result file
    #[arg(value_name = "RESULT")]
    result: PathBuf,

    /// What to show
    #[arg(value_name = "VIEW")]
    view: View,

    /// Picture to write, .svg or .png; beside the result as <RESULT>.<VIEW>.svg when it is not given
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
    /// What warms the air of each branch: by root cause where the run follows it, else by place of entry
    Heat,
    /// Temperatures of inlet, bay and walls over time, phase by phase
    Soak,
}

impl View {
    fn word(self) -> &'static str {
        match self {
            Self::Losses => "losses",
            Self::Heat => "heat",
            Self::Soak => "soak",
        }
    }
}

impl Picture {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        let path =
            self.output.clone().unwrap_or_else(|| self.result.with_extension(format!("{}.svg", self.view.word())));
        let form = Form::of(&path)?;
        if path.exists() && !self.force {
            return Err(Failure::file(format!(
                "{}: found a picture, expected a free name or `--force`",
                path.display()
            )));
        }
        let opened = Opened::read(&self.result)?;
        let svg = match self.view {
            View::Losses => chart::waterfall::svg(&opened),
            View::Heat => chart::heat::svg(&opened),
            View::Soak => chart::soak::svg(&opened)?,
        };
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
