//! The demo car, run as a user runs it: from its case files into a result, which is read back.

use crate::check::Failure;
use std::path::Path;
use tractwright::case::Case;
use tractwright::error::{Error, OutputError};
use tractwright::ledger::Summary;
use tractwright::run::{Options, Reading, Watcher, result_path, run};

/// The layouts with the texts of their cases; the first is extended by the others.
const LAYOUTS: [(&str, &str); 3] = [
    ("twin_sealed", include_str!("../../cases/coupe/twin_sealed.yaml")),
    ("shared_panel", include_str!("../../cases/coupe/shared_panel.yaml")),
    ("open_filters", include_str!("../../cases/coupe/open_filters.yaml")),
];

/// The cases with the engine; the first is extended by the other.
const POWER: [(&str, &str); 2] = [
    ("twin_sealed", include_str!("../../cases/power/twin_sealed.yaml")),
    ("shared_panel", include_str!("../../cases/power/shared_panel.yaml")),
];

/// How the cases are shortened here, what they say and what they then say: facts of the trade need no fine cells.
const COARSE: [(&str, &str); 2] = [("cell: 8 mm", "cell: 25 mm"), ("until: 0.6 s", "until: 0.4 s")];

/// A layout of the demo car at a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run<'a> {
    /// Name of the layout.
    pub layout: &'a str,
    /// Operating point.
    pub point: &'a str,
    /// What the cases say, and what they say here instead.
    pub changes: &'a [(&'a str, String)],
}

/// What a run left.
#[derive(Debug)]
pub struct Left {
    /// The summary.
    pub summary: Summary,
    /// The case.
    pub case: Case,
    /// Pressure [Pa] and temperature [K] in the volume that was asked for, at the end.
    pub volume: (f64, f64),
}

impl Left {
    /// Number in front of the unit of a value of the case, such as `parts.panel.media_area`.
    ///
    /// # Errors
    /// The case has no such value.
    pub fn written(&self, path: &str) -> Result<f64, Failure> {
        let text = self.case.as_written(path).and_then(|text| text.split_whitespace().next());
        text.and_then(|number| number.parse().ok()).ok_or_else(|| Failure::Missing(format!("value of `{path}`")))
    }

    /// Mass flow of all draws [kg/s].
    #[must_use]
    pub fn flow(&self) -> f64 {
        self.summary.branches.iter().map(|branch| branch.mass_flow).sum()
    }

    /// Total pressure that `parts` take on the way to the first draw [Pa].
    #[must_use]
    pub fn lost(&self, parts: &[&str]) -> f64 {
        let losses = self.summary.branches.iter().take(1).flat_map(|branch| &branch.losses);
        losses.filter(|loss| parts.contains(&loss.part.as_str())).map(|loss| loss.lost).sum()
    }
}

impl Run<'_> {
    /// Runs it and reads the result, with the state in the volume `room`.
    ///
    /// # Errors
    /// The solver or the disk refused.
    pub fn with_room(&self, room: &str) -> Result<Left, Failure> {
        let folder = tempfile::tempdir().map_err(file(&std::env::temp_dir()))?;
        for (name, text) in LAYOUTS {
            let path = folder.path().join(format!("{name}.yaml"));
            std::fs::write(&path, self.changed(text)?).map_err(file(&path))?;
        }
        let case = Case::from_path(&folder.path().join(format!("{}.yaml", self.layout)))?;
        let path = result_path(&case, self.point, folder.path()).map_err(Error::from)?;
        run(&case, self.point, &path, Options::default(), &mut Unwatched)?;
        let reading = Reading::open(&path)?;
        let last = |name: &str| {
            let series = reading.file.series(room, name).map_err(Error::from)?;
            series.last().copied().ok_or_else(|| Failure::Missing(format!("{name} in `{room}`")))
        };
        let volume = (last("pressure")?, last("temperature")?);
        Ok(Left { summary: reading.summary().map_err(Error::from)?, case, volume })
    }

    /// A text with the changes. Each change is found in the first of the texts, so that none is lost in silence.
    fn changed(&self, text: &str) -> Result<String, Failure> {
        let coarse = COARSE.map(|(from, to)| (from, to.to_owned()));
        let mut changed = text.to_owned();
        for (from, to) in coarse.iter().chain(self.changes) {
            if !LAYOUTS[0].1.contains(from) {
                return Err(Failure::Missing(format!("`{from}` in the case")));
            }
            changed = changed.replace(from, to);
        }
        Ok(changed)
    }
}

/// The case of `layout` with the engine.
///
/// # Errors
/// The disk refused, or there is no such layout.
pub fn power_case(layout: &str) -> Result<Case, Failure> {
    let folder = tempfile::tempdir().map_err(file(&std::env::temp_dir()))?;
    for (name, text) in POWER {
        let path = folder.path().join(format!("{name}.yaml"));
        std::fs::write(&path, text).map_err(file(&path))?;
    }
    Ok(Case::from_path(&folder.path().join(format!("{layout}.yaml")))?)
}

fn file(path: &Path) -> impl FnOnce(std::io::Error) -> Failure {
    let path = path.to_owned();
    |source| Failure::from(Error::from(OutputError::File { path, source }))
}

struct Unwatched;

impl Watcher for Unwatched {
    fn progress(&mut self, _time: f64, _end: f64, _steps: u64) {}
}
