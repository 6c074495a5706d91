//! Reading a result back: its case, its network and its summary.

use super::rows::{HIGHEST_FLOW, INTEGRALS, LEDGER, LOWEST_FLOW, STORED, WARMTH, WARMTH_DRAWN};
use super::{BETWEEN_NOTES, MARCHED_WITH_WAVES, PASSED};
use crate::case::{Built, BuiltPhase, Case};
use crate::error::{Error, OutputError};
use crate::ledger::{Readings, Summary, Window};
use crate::march::March;
use crate::march::slow::roots;
use crate::network::{AirAt, Network, Tap};
use crate::record::{Attribute, ResultFile};
use ndarray::Array2;
use std::path::Path;

/// A result with the case that made it.
#[derive(Debug)]
pub struct Reading {
    /// The open file.
    pub file: ResultFile,
    /// Its case.
    pub case: Case,
    /// Name of the case, as its file had it.
    pub case_name: String,
    /// Operating point.
    pub point: String,
    /// The network that was marched.
    pub built: Built,
    /// Its phases; one where it has none.
    pub phases: Vec<BuiltPhase>,
    /// Root causes of warmth that it follows; none of an acoustic march.
    pub roots: Vec<String>,
    /// How the run ended: `finished`, `settled`, `steady`, `not settled`, `stopped`, or `unfinished`.
    pub outcome: String,
    /// Why it was stopped.
    pub stopped_by: Option<String>,
    /// What was done otherwise than asked, and why.
    pub notes: Vec<String>,
}

impl Reading {
    /// Opens the result at `path` and builds its case anew.
    ///
    /// # Errors
    /// The file cannot be read or is not a result of this program.
    pub fn open(path: &Path) -> Result<Self, Error> {
        let file = ResultFile::open(path)?;
        let text = |name: &str| -> Result<String, OutputError> {
            match file.attribute(name)? {
                Some(Attribute::Text(text)) => Ok(text),
                _ => Err(OutputError::Content {
                    path: path.to_owned(),
                    found: format!("no attribute `{name}`"),
                    expected: "a result of this program".to_owned(),
                }),
            }
        };
        let (case_name, point) = (text("case_name")?, text("point")?);
        let outcome = text("outcome").unwrap_or_else(|_| "unfinished".to_owned());
        let stopped_by = text("stopped_by").ok();
        let mut notes: Vec<String> =
            text("note").iter().flat_map(|notes| notes.split(BETWEEN_NOTES)).map(str::to_owned).collect();
        let case = Case::from_text(&format!("case of {}", path.display()), file.case())?;
        let built = case.build(&point)?;
        let phases = case.build_phases(&point)?;
        let follows =
            built.settings.march == March::Slow && !notes.iter().any(|note| note.starts_with(MARCHED_WITH_WAVES));
        let roots = if follows { roots(phases.iter().map(|phase| &phase.network)) } else { Vec::new() };
        notes.extend(text(PASSED));
        Ok(Self { phases, roots, file, case, case_name, point, built, outcome, stopped_by, notes })
    }

    /// Stretch of time of the means [s].
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn window(&self) -> Result<Window, OutputError> {
        let (from, to, time) = self.rows()?;
        Ok(Window { from: time[from], to: time[to] })
    }

    /// First and last row of the means, and all times.
    fn rows(&self) -> Result<(usize, usize, Vec<f64>), OutputError> {
        let time = self.file.time()?;
        let Some(last) = time.len().checked_sub(1).filter(|last| *last > 0) else {
            return Err(OutputError::Content {
                path: self.file.path().to_owned(),
                found: format!("{} rows", time.len()),
                expected: "at least two, to form means".to_owned(),
            });
        };
        let wanted = self.built.averaged_from(time[last]);
        // The last row at or before the wish, so that the means cover at least what was asked for.
        let from = time.partition_point(|t| *t <= wanted * (1.0 + 1e-12)).saturating_sub(1).min(last - 1);
        Ok((from, last, time))
    }

    /// The summary of the run: of its last phase behind its ramp, where it has phases.
    ///
    /// # Errors
    /// The file cannot be read, or has too few rows.
    pub fn summary(&self) -> Result<Summary, OutputError> {
        let (from, to, time) = self.rows()?;
        let last = self.phases.len() - 1;
        let begun = time.partition_point(|t| *t < self.phases[last].still_from()).min(to - 1);
        self.summary_of(&self.phases[last].network, from.max(begun), to, &time)
    }

    /// The summaries of the phases that the result holds, each over the whole of its phase behind its ramp.
    ///
    /// # Errors
    /// As for [`Reading::summary`].
    pub fn summaries(&self) -> Result<Vec<(&BuiltPhase, Summary)>, OutputError> {
        let (_, last, time) = self.rows()?;
        let row = |at: f64| time.partition_point(|t| *t <= at * (1.0 + 1e-12)).saturating_sub(1);
        let rows = self.phases.iter().map(|phase| (phase, row(phase.still_from()), row(phase.to).min(last)));
        let held = rows.filter(|(_, from, to)| from < to);
        held.map(|(phase, from, to)| Ok((phase, self.summary_of(&phase.network, from, to, &time)?))).collect()
    }

    /// Rise of the air that goes into `draw` over the outside [K]: by record and root cause, in the order of `roots`.
    ///
    /// # Errors
    /// The file cannot be read, or its march does not follow warmth.
    pub fn warmth(&self, draw: &str) -> Result<Array2<f64>, OutputError> {
        self.file.field(draw, WARMTH)
    }

    /// The air where a gauge sits, by record. The flow through a volume is not told.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn air_at(&self, tap: &Tap) -> Result<Vec<AirAt>, OutputError> {
        let network = &self.built.network;
        match *tap {
            Tap::Duct { duct, .. } => {
                let name = network.arena.name(duct);
                let fields = ["pressure", "velocity", "temperature"].map(|field| self.file.field(name, field));
                let [pressure, velocity, temperature] = fields;
                let (pressure, velocity, temperature) = (pressure?, velocity?, temperature?);
                let rows = pressure.rows().into_iter().zip(velocity.rows()).zip(temperature.rows());
                Ok(rows.map(|((p, u), t)| tap.air_in_duct(network, |cell| (p[cell], u[cell], t[cell]))).collect())
            }
            Tap::Volume(volume) => {
                let name = &network.volumes[volume].name;
                let rows = self.file.series(name, "pressure")?.into_iter().zip(self.file.series(name, "temperature")?);
                Ok(rows.map(|(pressure, temperature)| AirAt::at_rest(pressure, temperature)).collect())
            }
            Tap::Draw { joint, .. } => {
                let series = |name: &str| self.file.series(network.draw_name(joint), name);
                let pressures = series("static_pressure")?.into_iter().zip(series("total_pressure")?);
                let streams = series("total_temperature")?.into_iter().zip(series("mass_flow")?);
                let air = |((pressure, total_pressure), (total_temperature, mass_flow))| AirAt {
                    pressure,
                    total_pressure,
                    total_temperature,
                    mass_flow,
                };
                Ok(pressures.zip(streams).map(air).collect())
            }
        }
    }

    fn summary_of(&self, network: &Network, from: usize, to: usize, time: &[f64]) -> Result<Summary, OutputError> {
        let row = |name: &str, row: usize| -> Result<Vec<f64>, OutputError> {
            Ok(self.file.field_rows(LEDGER, name, row..row + 1)?.into_raw_vec_and_offset().0)
        };
        let (start, end) = (row(INTEGRALS, from)?, row(INTEGRALS, to)?);
        let (mut extremes, mut warmth) = (Vec::new(), Vec::new());
        for joint in network.draws() {
            let draw = network.draw_name(joint);
            let lowest = self.file.series(draw, LOWEST_FLOW)?;
            let highest = self.file.series(draw, HIGHEST_FLOW)?;
            extremes.push([
                lowest[from + 1..=to].iter().copied().fold(f64::INFINITY, f64::min),
                highest[from + 1..=to].iter().copied().fold(f64::NEG_INFINITY, f64::max),
            ]);
            if !self.roots.is_empty() {
                let drawn = |row: usize| self.file.field_rows(draw, WARMTH_DRAWN, row..row + 1);
                let over_window = drawn(to)? - drawn(from)?;
                warmth.push(over_window.into_raw_vec_and_offset().0);
            }
        }
        let readings = Readings {
            window: Window { from: time[from], to: time[to] },
            integrals: end.iter().zip(&start).map(|(end, start)| end - start).collect(),
            extremes,
            whole: end,
            stored: [row(STORED, 0)?, row(STORED, to)?],
            roots: self.roots.clone(),
            warmth,
        };
        Ok(Summary::of(network, &readings))
    }
}

/// The summary of the result at `path`, in one go.
///
/// # Errors
/// As [`Reading::open`] and [`Reading::summary`].
pub fn read_summary(path: &Path) -> Result<Summary, Error> {
    Ok(Reading::open(path)?.summary()?)
}
