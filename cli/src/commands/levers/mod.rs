//! `levers`: what each number of a case does to an aim, ranked.

mod machine;
pub(crate) mod table;

use super::Format;
use crate::failure::Failure;
use crate::opened::Opened;
use crate::runs::many;
use crate::{Streams, exit, interrupt};
use std::path::PathBuf;
use tractwright::case::{Case, Number, Task};
use tractwright::quantity::{self, Dimension};
use tractwright::study::levers::{Lever, Levers as Study, Outcome};
use tractwright::study::{Aim, Quantity};

/// What each number of a case does to power, roll-on time, recovery, temperature, pressure or the difference between draws, ranked by gain
///
/// Every number of the case is moved a little up and down and the steady state found anew, or the pull or roll-on of the point driven anew. The same derivatives, read backwards, are
/// tolerances: by how much a number must miss to be felt. Gains go on in a straight line; try a big one with `run`.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright levers twin_sealed.yaml --point road --aim recovery
  tractwright levers twin_sealed.yaml --point road --aim temperature --draw left_turbo --within 20%
  tractwright levers twin_sealed.yaml --point road --aim difference --tolerance '0.05 %' --format csv
  tractwright levers twin_sealed.yaml --point roll_stock --aim roll_on --only vehicle --only parts.nose")]
pub(crate) struct Levers {
    /// Case file
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// Point at which it is sought: a steady one, a pull for power, or a roll-on for its time
    #[arg(long, value_name = "NAME")]
    point: String,
    /// What is to become better: more power (needs an engine; of a pull the largest), a shorter roll-on, more recovery, cooler air, draws that differ less in recovery, more total pressure
    #[arg(long, value_enum)]
    aim: AimName,
    /// Draw for which it is to become better; all draws, weighted by their flow, when it is not given
    #[arg(long, value_name = "NAME")]
    draw: Option<String>,
    /// Step of the differences, over each value
    #[arg(long, value_name = "SHARE", value_parser = share, default_value = "0.2 %")]
    step: f64,
    /// Bounds within which gains are sought, over each value
    #[arg(long, value_name = "SHARE", value_parser = share, default_value = "10 %")]
    within: f64,
    /// Change of the aim that the tolerances allow, such as '0.5 %', '1 K' or '100 Pa'; of recovery and difference in points of per cent,
    /// of power, time, temperature and pressure in per cent of the present value; 0.1 %, 1 K, 100 Pa, 1 kW or 0.1 s when it is not given
    #[arg(long, value_name = "CHANGE")]
    tolerance: Option<String>,
    /// Look only at fields whose path contains this, such as `parts.` or `left_tube`; may be given more than once
    #[arg(long, value_name = "TEXT")]
    only: Vec<String>,
    /// Form of the output
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Fields at a time; as many as there are cores when it is not given
    #[arg(long, value_name = "N", default_value_t = 0, hide_default_value = true)]
    threads: usize,
}

/// Aims as the command line has them.
#[derive(Debug, Clone, Copy, clap::ValueEnum)]
pub(crate) enum AimName {
    Power,
    #[value(name = "roll_on")]
    RollOn,
    Recovery,
    Temperature,
    Difference,
    Pressure,
}

impl AimName {
    /// The aim.
    pub(crate) fn aim(self) -> Aim {
        match self {
            Self::Power => Aim::Power,
            Self::RollOn => Aim::RollOn,
            Self::Recovery => Aim::Recovery,
            Self::Temperature => Aim::Temperature,
            Self::Difference => Aim::Difference,
            Self::Pressure => Aim::Pressure,
        }
    }
}

/// What the paths of all fields hold that the designer of a tract may change.
pub(crate) const OF_THE_TRACT: &str = "parts.";

/// The aim that an engineer looks at first: the time of a roll-on, else power, else recovery.
pub(crate) fn usual(opened: &Opened) -> Aim {
    match opened.point.task {
        Task::RollOn { .. } => Aim::RollOn,
        _ if opened.reading.case.has_engine() => Aim::Power,
        _ => Aim::Recovery,
    }
}

/// All that there is to print.
pub(crate) struct Found<'a> {
    study: &'a Study,
    pub(crate) aim: Aim,
    /// Change of the aim that the tolerances allow, SI.
    target: f64,
    /// Fields that move the aim, the largest gain first.
    pub(crate) levers: Vec<(&'a Number, Lever)>,
    /// Fields that do not.
    without: usize,
    /// Fields of which nothing is known, and why.
    unknown: Vec<(&'a Number, String)>,
}

impl Levers {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        interrupt::listen();
        let case = Case::from_path(&self.case)?;
        let mut study = Study::new(case, &self.point, self.aim.aim(), self.draw.as_deref())?;
        (study.step, study.within) = (self.step, self.within);
        if !self.only.is_empty() {
            study.keep_only(&self.only);
        }
        if study.numbers().is_empty() {
            let found = format!("--only: found no field with {} in its path", self.only.join(" or "));
            return Err(Failure::wrong_use(format!("{found}, expected text such as `parts.left_tube`")));
        }
        let target = self.target(study.now())?;
        let Some(found) = Found::of(&study, self.aim.aim(), Some(target), self.threads, streams)? else {
            return Ok(exit::INTERRUPTED);
        };
        match self.format {
            Format::Text => write!(streams.out, "{}", table::of(&found))?,
            Format::Json => machine::json(&found, streams.out)?,
            Format::Csv => machine::csv(&found, streams.out)?,
        }
        Ok(exit::DONE)
    }

    /// Change of the aim that the tolerances allow, SI, where the aim stands at `now`.
    fn target(&self, now: f64) -> Result<f64, Failure> {
        let quantity = self.aim.aim().quantity();
        let Some(text) = &self.tolerance else { return Ok(Scale::of(quantity).target) };
        let dimension = match quantity {
            Quantity::Power => Dimension::Power,
            Quantity::RollOnTime => Dimension::Time,
            Quantity::Recovery => Dimension::Ratio,
            Quantity::InletTemperature => Dimension::TemperatureDifference,
            _ => Dimension::PressureDifference,
        };
        let target = match (quantity::parse(text, dimension), quantity::parse(text, Dimension::Ratio)) {
            (Ok(target), _) => target,
            (Err(_), Ok(share)) if text.trim_end().ends_with('%') => share * now.abs(),
            (Err(fault), _) => {
                let expected = format!("{}, or per cent", fault.expected);
                return Err(Failure::wrong_use(format!("--tolerance: found {}, expected {expected}", fault.found)));
            }
        };
        if target > 0.0 {
            Ok(target)
        } else {
            Err(Failure::wrong_use(format!("--tolerance: found `{text}`, expected a change above 0")))
        }
    }
}

impl<'a> Found<'a> {
    /// Bounds within which gains are sought, over each value.
    pub(crate) fn within(&self) -> f64 {
        self.study.within
    }

    /// The levers of a study, found in parallel; nothing when it is interrupted. Tolerances allow the aim to change by `target` [SI].
    ///
    /// # Errors
    /// The threads cannot be had, or nobody takes the progress.
    pub(crate) fn of(
        study: &'a Study,
        aim: Aim,
        target: Option<f64>,
        threads: usize,
        streams: &mut Streams<'_>,
    ) -> Result<Option<Self>, Failure> {
        let count = study.numbers().len();
        let outcomes = many("fields", count, threads, streams.err, streams.bars, |index| study.lever(index))?;
        let Some(outcomes) = outcomes else { return Ok(None) };
        let target = target.unwrap_or_else(|| Scale::of(aim.quantity()).target);
        let (mut levers, mut without, mut unknown) = (Vec::new(), 0, Vec::new());
        for (number, outcome) in study.numbers().iter().zip(outcomes) {
            match outcome {
                Outcome::Moves(lever) => levers.push((number, lever)),
                Outcome::Nothing => without += 1,
                Outcome::Unknown(why) => unknown.push((number, why)),
            }
        }
        // Stable, so that equals stay in the order of the case.
        levers.sort_by(|a, b| b.1.gain.total_cmp(&a.1.gain));
        Ok(Some(Self { study, aim, target, levers, without, unknown }))
    }
}

/// How an aim is printed.
pub(crate) struct Scale {
    /// Printed number of an SI value.
    pub(crate) factor: f64,
    /// Unit of the printed number.
    pub(crate) unit: &'static str,
    /// Decimals of a value.
    pub(crate) decimals: usize,
    /// Change of the aim of the tolerances when nobody asks for another, SI: what a good flow bench, a thermocouple or a logged
    /// roll-on tells apart; common practice, no source.
    target: f64,
}

impl Scale {
    pub(crate) fn of(quantity: Quantity) -> Self {
        match quantity {
            Quantity::Power => Self { factor: 1e-3, unit: "kW", decimals: 3, target: 1e3 },
            Quantity::RollOnTime => Self { factor: 1.0, unit: "s", decimals: 4, target: 0.1 },
            Quantity::InletTemperature => Self { factor: 1.0, unit: "K", decimals: 3, target: 1.0 },
            Quantity::TotalPressure => Self { factor: 1.0, unit: "Pa", decimals: 1, target: 100.0 },
            _ => Self { factor: 100.0, unit: "%", decimals: 4, target: 1e-3 },
        }
    }
}

/// A positive share, such as `10 %`.
fn share(text: &str) -> Result<f64, String> {
    match quantity::parse(text, Dimension::Ratio) {
        Ok(share) if share > 0.0 && share <= 1.0 => Ok(share),
        Ok(_) => Err("expected more than 0 and at most 100 %".to_owned()),
        Err(fault) => Err(format!("found {}, expected a share such as `10 %`", fault.found)),
    }
}

#[cfg(test)]
mod tests;
