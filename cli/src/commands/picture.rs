//! `picture`: one view of a result, or of several, as SVG or PNG.

use super::levers::{self, AimName, Found};
use crate::chart;
use crate::chart::drawing::Drawing;
use crate::chart::view::View;
use crate::failure::Failure;
use crate::opened::Opened;
use crate::overlay::Laid;
use crate::studied::Studied;
use crate::{Streams, exit};
use std::path::{Path, PathBuf};
use tractwright::record::publish_bytes;
use tractwright::study::levers::Levers as Study;

/// Draws one view of a result as SVG or PNG; of what an engine makes several results side by side
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright picture twin_sealed.road.h5 losses
  tractwright picture twin_sealed.road.h5 losses -o losses.png
  tractwright picture twin_sealed.road.h5 branches --measured road.csv
  tractwright picture twin_sealed.road_step.h5 waves --draw right_turbo
  tractwright picture open_filters.day.h5 soak
  tractwright picture twin_sealed.road_raised.h5 levers --aim power
  tractwright picture tubes.study.yaml surface --point road --inputs tube,filter
  tractwright picture sealed.dyno_pull.h5 divided.dyno_pull.h5 power -o power.png
  tractwright picture sealed.roll_on.h5 divided.roll_on.h5 roll_on -o roll_on.svg
  tractwright picture sealed.response.h5 divided.response.h5 response -o response.png")]
pub(crate) struct Picture {
    /// Result files, or the file of a study for `front` and `surface`; more than one for `power`, `roll_on`, `response`, `over_speed` and `compressor`
    #[arg(required = true, value_name = "RESULT-or-STUDY")]
    results: Vec<PathBuf>,

    /// What to show
    #[arg(value_name = "VIEW")]
    view: View,

    /// Picture to write, .svg or .png; beside the first result as <RESULT>.<VIEW>.svg when it is not given
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,

    /// Draw whose branch `waves` show, or that the aim of `levers` looks at; of waves the first one when it is not given, of levers all
    #[arg(long, value_name = "NAME")]
    draw: Option<String>,

    /// Aim of `levers`; power, or the time of a roll-on, where the case has an engine, else recovery, when it is not given
    #[arg(long, value_enum)]
    aim: Option<AimName>,

    /// Point of a study; its first one when it is not given
    #[arg(long, value_name = "NAME")]
    point: Option<String>,

    /// Two inputs of a study, across and up; its first two when they are not given
    #[arg(long, value_name = "NAME,NAME", value_delimiter = ',')]
    inputs: Vec<String>,

    /// Folder of the runs of a study; the one that `study` makes when it is not given
    #[arg(long, value_name = "FOLDER")]
    folder: Option<PathBuf>,

    /// Log of the car to lay over the result, as `measured` of its case says; may be given more than once
    #[arg(long, value_name = "LOG")]
    measured: Vec<PathBuf>,

    /// Replace a picture that is there
    #[arg(long)]
    force: bool,
}

impl Picture {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        let beside = || self.results[0].with_extension(format!("{}.svg", self.view.word()));
        let path = self.output.clone().unwrap_or_else(beside);
        free(&path, self.force)?;
        publish(&path, &self.drawing(streams)?)?;
        writeln!(streams.out, "{}", path.display())?;
        Ok(exit::DONE)
    }

    fn drawing(&self, streams: &mut Streams<'_>) -> Result<Drawing, Failure> {
        if matches!(self.view, View::Front | View::Surface) {
            return self.of_study();
        }
        let opened = self
            .results
            .iter()
            .map(|result| Opened::read_with(result, &self.measured))
            .collect::<Result<Vec<_>, _>>()?;
        let opened: Vec<&Opened> = opened.iter().collect();
        self.tell_what_is_not_laid_over(&opened, streams)?;
        match self.view {
            View::Levers => self.levers(self.view.only(&opened)?, streams),
            _ => self.view.drawing(&opened, self.draw.as_deref()),
        }
    }

    /// Says which logs this view shows nothing of.
    fn tell_what_is_not_laid_over(&self, opened: &[&Opened], streams: &mut Streams<'_>) -> Result<(), Failure> {
        for (log, laid) in opened.iter().flat_map(|opened| &opened.beside) {
            let why = match (self.view, laid) {
                (View::Branches | View::Losses, Laid::State(_)) | (View::Power, Laid::Course(_)) => continue,
                (_, Laid::Not(why)) => why.clone(),
                (View::Branches | View::Losses, Laid::Course(_)) => {
                    "it was measured over a course, which `power` and `tractwright measured` show".to_owned()
                }
                _ => format!("`{}` has no place for readings", self.view.word()),
            };
            writeln!(streams.err, "{} is not laid over this picture: {why}", log.display())?;
        }
        Ok(())
    }

    fn of_study(&self) -> Result<Drawing, Failure> {
        let [file] = &self.results[..] else {
            let found = format!("found {} files for `{}`", self.results.len(), self.view.word());
            return Err(Failure::wrong_use(format!("{found}, expected one study file")));
        };
        if !Studied::is_at(file) {
            let found = format!("{}: found no study file for `{}`", file.display(), self.view.word());
            return Err(Failure::wrong_use(format!("{found}, expected one that ends in .yaml")));
        }
        let studied = Studied::open(file, self.folder.as_deref())?;
        let (rows, point) = (studied.rows()?, studied.point(self.point.as_deref())?);
        match self.view {
            View::Front => chart::front::drawing(&studied, &rows, point),
            _ => chart::surface::drawing(&studied, &rows, point, self.two_inputs(&studied)?),
        }
    }

    /// Numbers of the inputs of a surface.
    fn two_inputs(&self, studied: &Studied) -> Result<[usize; 2], Failure> {
        let known = &studied.plan.variables;
        let place = |name: &String| known.iter().position(|variable| variable.name == *name);
        match &self.inputs[..] {
            [] => Ok([0, 1]),
            [first, second] if first != second && place(first).is_some() && place(second).is_some() => {
                Ok([place(first).unwrap_or(0), place(second).unwrap_or(1)])
            }
            other => {
                let names = known.iter().map(|variable| variable.name.as_str()).collect::<Vec<_>>().join(", ");
                Err(Failure::wrong_use(format!("--inputs: found {}, expected two of: {names}", other.join(","))))
            }
        }
    }

    fn levers(&self, opened: &Opened, streams: &mut Streams<'_>) -> Result<Drawing, Failure> {
        let (case, point) = (opened.reading.case.clone(), opened.reading.point.as_str());
        let aim = self.aim.map_or_else(|| levers::usual(opened), AimName::aim);
        let mut study = Study::new(case, point, aim, self.draw.as_deref())?;
        study.keep_only(&[levers::OF_THE_TRACT.to_owned()]);
        let found = Found::of(&study, aim, None, 0, streams)?;
        let Some(found) = found else { return Err(Failure::file("interrupted, nothing was drawn")) };
        Ok(chart::tornado::drawing(&found, &opened.reading.case_name, point))
    }
}

/// Refuses a path that is no picture's, or that is taken.
///
/// # Errors
/// Its ending is another, or there is a file and no `force`.
pub(crate) fn free(path: &Path, force: bool) -> Result<(), Failure> {
    Form::of(path)?;
    if path.exists() && !force {
        return Err(Failure::file(format!("{}: found a picture, expected a free name or `--force`", path.display())));
    }
    Ok(())
}

/// Writes a picture in the form of its ending.
///
/// # Errors
/// It cannot be drawn or written.
pub(crate) fn publish(path: &Path, drawing: &Drawing) -> Result<(), Failure> {
    let svg = drawing.svg();
    let bytes = match Form::of(path)? {
        Form::Svg => svg.into_bytes(),
        Form::Png => chart::png(&svg)?,
    };
    Ok(publish_bytes(path, &bytes)?)
}

/// Form of a picture.
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
