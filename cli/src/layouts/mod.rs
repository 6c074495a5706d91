//! A layout in a few numbers: means over its draws, weighted by their flow.

pub(crate) mod class;
pub(crate) mod noise;
pub(crate) mod why;

use crate::failure::Failure;
use crate::ledgers::{Booked, Ledgers};
use crate::opened::Opened;
use crate::print::number::trimmed;
use class::Class;
use tractwright::case::Task;
use tractwright::ledger::BranchSummary;
use tractwright::run::{response_time, roll_on_time};

/// A loss of a layout.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Loss {
    /// Part and what of it.
    pub(crate) label: String,
    /// Its class.
    pub(crate) class: Class,
    /// Total pressure lost [Pa].
    pub(crate) lost: f64,
    /// Whether it rests on an assumed input.
    pub(crate) assumed: bool,
}

/// A layout at a point.
#[derive(Debug, Clone)]
pub(crate) struct Layout {
    /// Name of its case.
    pub(crate) name: String,
    /// Its result.
    pub(crate) file: String,
    /// Operating point and air, in words.
    pub(crate) conditions: String,
    /// How its run ended.
    pub(crate) outcome: String,
    /// What tells its draws apart.
    pub(crate) draws: Vec<String>,
    /// What the engine makes; nothing without one.
    pub(crate) engine: Option<Made>,
    /// Flow of all draws [kg/s].
    pub(crate) mass_flow: f64,
    /// Mean total pressure [Pa].
    pub(crate) total_pressure: f64,
    /// Mean recovery.
    pub(crate) recovery: f64,
    /// Largest static depression of a draw [Pa].
    pub(crate) depression: f64,
    /// Mean total temperature [K].
    pub(crate) total_temperature: f64,
    /// Its rise [K].
    pub(crate) rise: f64,
    /// Recovery and flow [kg/s] of the last draw less those of the first for two draws, the span for more; `None` for one.
    pub(crate) differences: Option<(f64, f64)>,
    /// Total pressure lost [Pa].
    pub(crate) lost: f64,
    /// Where.
    pub(crate) losses: Vec<Loss>,
    /// What warmed the air, and by how much [K].
    pub(crate) heat: Vec<(String, f64)>,
    /// Rise by root cause [K]; empty where the march does not follow it.
    pub(crate) causes: Vec<(String, f64)>,
    /// Where the air came in, and its share.
    pub(crate) origins: Vec<(String, f64)>,
    /// Reading over flow of each air meter, by its duct.
    pub(crate) meters: Vec<(String, f64)>,
}

/// What the engine makes with a layout.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Made {
    /// Power at the crank [W]; of a pull or roll-on the largest.
    pub(crate) power: f64,
    /// Torque at the crank [N m]; of a pull the largest.
    pub(crate) torque: f64,
    /// What holds the power there, in words.
    pub(crate) regime: String,
    /// Time of a roll-on [s], with its speeds in words.
    pub(crate) roll_on: Option<(String, f64)>,
    /// Time to nine tenths of the wanted charge pressure after a throttle step [s].
    pub(crate) response: Option<f64>,
}

impl Made {
    fn of(opened: &Opened) -> Result<Option<Self>, Failure> {
        let rows = opened.reading.engine_figures()?;
        let moving = matches!(opened.point.task, Task::Pull { .. } | Task::RollOn { .. });
        let best = rows.iter().max_by(|a, b| a.power.total_cmp(&b.power));
        let Some(best) = (if moving { best } else { rows.last() }) else { return Ok(None) };
        let torque = rows.iter().map(|row| row.torque).fold(f64::NEG_INFINITY, f64::max);
        Ok(Some(Self {
            power: best.power,
            torque: if moving { torque } else { best.torque },
            regime: best.regime_words(),
            roll_on: match opened.point.task {
                Task::RollOn { from, to, .. } => roll_on_time(&rows, to)
                    .map(|time| (format!("{} to {} km/h", trimmed(3.6 * from, 1), trimmed(3.6 * to, 1)), time)),
                _ => None,
            },
            response: match opened.point.task {
                Task::Step { .. } => response_time(&rows),
                _ => None,
            },
        }))
    }
}

impl Layout {
    /// From a result.
    ///
    /// # Errors
    /// It has no draw.
    pub(crate) fn of(opened: &Opened) -> Result<Self, Failure> {
        let branches = &opened.summary.branches;
        if branches.is_empty() {
            return Err(Failure::file(format!("{}: found no draw, expected one at least", opened.path.display())));
        }
        let ledgers = Ledgers::of(branches);
        let mean =
            |value: &dyn Fn(&BranchSummary) -> f64| branches.iter().map(|b| b.flow_share * value(b)).sum::<f64>();
        // As along a branch, the mean of total pressures is that of their logarithms.
        let recovery = mean(&|b| b.recovery.ln()).exp();
        let free_stream = opened.summary.free_stream_total_pressure;
        Ok(Self {
            name: opened.reading.case_name.clone(),
            file: opened.path.display().to_string(),
            conditions: format!(
                "{} | {}",
                crate::print::point::stream(&opened.point),
                crate::print::point::air(&opened.outside)
            ),
            outcome: opened.reading.outcome.clone(),
            engine: Made::of(opened)?,
            mass_flow: branches.iter().map(|b| b.mass_flow).sum(),
            total_pressure: recovery * free_stream,
            recovery,
            depression: branches.iter().map(|b| b.depression).fold(f64::NEG_INFINITY, f64::max),
            total_temperature: mean(&|b| b.total_temperature),
            rise: mean(&|b| b.rise),
            differences: differences(branches),
            lost: (1.0 - recovery) * free_stream,
            losses: ledgers.losses.iter().map(|booked| loss(opened, booked)).collect(),
            heat: ledgers.heat.iter().map(|booked| (booked.label.clone(), weighted(branches, booked))).collect(),
            causes: causes(branches),
            origins: origins(branches),
            meters: opened.summary.meters.iter().map(|meter| (meter.part.clone(), meter.ratio)).collect(),
            draws: ledgers.heads,
        })
    }

    /// Total pressure lost in a class [Pa].
    pub(crate) fn class(&self, class: Class) -> f64 {
        self.losses.iter().filter(|loss| loss.class == class).map(|loss| loss.lost).sum()
    }
}

/// Layouts at one point.
#[derive(Debug)]
pub(crate) struct AtPoint {
    /// Its name.
    pub(crate) name: String,
    /// At least one.
    pub(crate) layouts: Vec<Layout>,
}

/// The results by point, each point where it first stands.
///
/// # Errors
/// A result has no draw.
pub(crate) fn by_point<'a>(opened: impl IntoIterator<Item = &'a Opened>) -> Result<Vec<AtPoint>, Failure> {
    let mut points: Vec<AtPoint> = Vec::new();
    for opened in opened {
        let layout = Layout::of(opened)?;
        match points.iter_mut().find(|point| point.name == opened.point.name) {
            Some(point) => point.layouts.push(layout),
            None => points.push(AtPoint { name: opened.point.name.clone(), layouts: vec![layout] }),
        }
    }
    points.iter_mut().for_each(|point| tell_apart(&mut point.layouts));
    Ok(points)
}

/// Rises by root cause, means over the branches by flow.
fn causes(branches: &[BranchSummary]) -> Vec<(String, f64)> {
    let mut causes: Vec<(String, f64)> = Vec::new();
    for branch in branches {
        for item in &branch.causes {
            let rise = branch.flow_share * item.rise;
            match causes.iter_mut().find(|known| known.0 == item.cause) {
                Some(known) => known.1 += rise,
                None => causes.push((item.cause.clone(), rise)),
            }
        }
    }
    causes
}

fn weighted(branches: &[BranchSummary], booked: &Booked) -> f64 {
    branches.iter().zip(&booked.values).map(|(branch, value)| branch.flow_share * value.unwrap_or(0.0)).sum()
}

fn loss(opened: &Opened, booked: &Booked) -> Loss {
    let branches = &opened.summary.branches;
    let stands = |(branch, place): (usize, &Option<usize>)| place.map(|place| (&branches[branch].losses, place));
    let place = booked.places.iter().enumerate().find_map(stands);
    Loss {
        label: booked.label.clone(),
        class: place.map_or(Class::Tubes, |(losses, place)| Class::of(opened, losses, place)),
        lost: weighted(branches, booked),
        assumed: place.is_some_and(|(losses, place)| losses[place].basis == "ASSUMED"),
    }
}

fn differences(branches: &[BranchSummary]) -> Option<(f64, f64)> {
    let of = |value: fn(&BranchSummary) -> f64| {
        let values = branches.iter().map(value);
        match branches {
            [first, last] => value(last) - value(first),
            _ => values.clone().fold(f64::NEG_INFINITY, f64::max) - values.fold(f64::INFINITY, f64::min),
        }
    };
    (branches.len() > 1).then(|| (of(|b| b.recovery), of(|b| b.mass_flow)))
}

fn origins(branches: &[BranchSummary]) -> Vec<(String, f64)> {
    let mut all: Vec<(String, f64)> = Vec::new();
    for branch in branches {
        for origin in &branch.origins {
            let share = branch.flow_share * origin.share;
            match all.iter_mut().find(|known| known.0 == origin.origin) {
                Some(known) => known.1 += share,
                None => all.push((origin.origin.clone(), share)),
            }
        }
    }
    all
}

/// Names layouts of the same name by their files.
fn tell_apart(layouts: &mut [Layout]) {
    let names: Vec<String> = layouts.iter().map(|layout| layout.name.clone()).collect();
    for layout in layouts {
        if names.iter().filter(|name| **name == layout.name).count() > 1 {
            layout.name.clone_from(&layout.file);
        }
    }
}
