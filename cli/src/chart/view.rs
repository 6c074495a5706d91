//! The views of results: what can be drawn, of what.

use super::drawing::Drawing;
use super::{air, branches, compressor, heat, over_speed, power, response, roll_on, soak, spectrum, waterfall, waves};
use crate::failure::Failure;
use crate::opened::Opened;

/// A view.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum View {
    /// Area, velocity, total pressure and temperature along each branch, part by part
    Branches,
    /// Where each branch loses total pressure, from the free stream to the draw
    Losses,
    /// What warms the air of each branch: by root cause where the run follows it, over time through phases; else by place of entry
    Heat,
    /// Where the air of each draw came in
    Air,
    /// Temperatures of inlet, bay and walls over time, phase by phase
    Soak,
    /// Power, torque and charge pressure over crank speed, with what holds the power: dyno pulls, and points that are held
    Power,
    /// Road speed and power over time, gear by gear, with the time that it took: roll-ons
    #[value(name = "roll_on")]
    RollOn,
    /// Charge pressure and torque over time after the throttle opens, with the time to 90 % of the wanted charge: throttle steps
    Response,
    /// Recovery and total pressure over road speed beside the limit of stagnation: roll-ons, or points of a case at three speeds or more
    #[value(name = "over_speed")]
    OverSpeed,
    /// Operating lines on the compressor map, with the margins to surge, choking and the speed limit
    Compressor,
    /// Pressure, velocity and temperature along the branch of a draw over time
    Waves,
    /// What each number of the parts is worth to an aim within 10 %: a result at a steady point, a pull or a roll-on
    Levers,
    /// What can be had of the two aims of a study
    Front,
    /// How the first aim of a study answers to two of its inputs
    Surface,
    /// Spectra at the draws, and how the flow of one draw moves the pressure at the others: acoustic runs
    Spectrum,
}

impl View {
    /// Its name on the command line.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Losses => "losses",
            Self::Heat => "heat",
            Self::Soak => "soak",
            Self::Power => "power",
            Self::RollOn => "roll_on",
            Self::Response => "response",
            Self::Branches => "branches",
            Self::Air => "air",
            Self::OverSpeed => "over_speed",
            Self::Compressor => "compressor",
            Self::Waves => "waves",
            Self::Spectrum => "spectrum",
            Self::Levers => "levers",
            Self::Front => "front",
            Self::Surface => "surface",
        }
    }

    /// The picture of some results; of waves those of the branch of `draw`, or of the first one.
    ///
    /// # Errors
    /// The view shows something else, or one result alone, or a file cannot be read.
    pub(crate) fn drawing(self, results: &[&Opened], draw: Option<&str>) -> Result<Drawing, Failure> {
        match self {
            Self::Losses => waterfall::drawing(self.only(results)?),
            Self::Heat => heat::drawing(self.only(results)?),
            Self::Soak => soak::drawing(self.only(results)?),
            Self::Power => power::drawing(results),
            Self::RollOn => roll_on::drawing(results),
            Self::Response => response::drawing(results),
            Self::Branches => branches::drawing(self.only(results)?),
            Self::Air => Ok(air::drawing(self.only(results)?)),
            Self::OverSpeed => over_speed::drawing(results),
            Self::Compressor => compressor::drawing(results),
            Self::Waves => waves::drawing(self.only(results)?, draw),
            Self::Spectrum => spectrum::drawing(self.only(results)?),
            Self::Levers | Self::Front | Self::Surface => Err(Failure::wrong_use(format!(
                "found results for `{}`, expected what `picture --help` says",
                self.word()
            ))),
        }
    }

    /// The result of a view that shows one.
    pub(crate) fn only<'a>(self, results: &[&'a Opened]) -> Result<&'a Opened, Failure> {
        match results {
            [only] => Ok(only),
            _ => {
                let (view, count) = (self.word(), results.len());
                Err(Failure::wrong_use(format!("found {count} results for `{view}`, expected one a picture")))
            }
        }
    }
}
