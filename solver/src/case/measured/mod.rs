//! How measurements of the car are to be read: what each column of a log means.

mod keys;
mod read;

pub use keys::MEASURED_KEYS;
pub(super) use read::read;

use super::Number;
use crate::error::Location;
use crate::quantity::Dimension;

/// How logs are to be read.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// The point at which it was measured.
    pub point: String,
    /// What the columns mean, in the order of the file.
    pub channels: Vec<Channel>,
    /// Number of the channel by whose speed states are told apart, where they are those of a course: of the crank in a pull, of the road in a roll-on.
    pub course: Option<usize>,
    /// Which rows are one state; each of its own where it is `None`.
    pub stations: Option<Stations>,
    /// Number of the channel whose rises are the pulls.
    pub pulls: Option<usize>,
    /// Whether numbers have a decimal comma; `None` where the file shall tell.
    pub decimal_comma: Option<bool>,
    /// Time between rows after resampling [s].
    pub every: Option<f64>,
    /// Longest time between two rows that are joined [s].
    pub gap: Option<f64>,
    /// Headers of a long form.
    pub long: Option<LongForm>,
}

/// Which rows are one steady state.
#[derive(Debug, Clone, PartialEq)]
pub struct Stations {
    /// Number of the channel.
    pub of: usize,
    /// Step of its value [SI].
    pub every: f64,
}

/// Headers of a log with one row for each value.
#[derive(Debug, Clone, PartialEq)]
pub struct LongForm {
    /// Of the times.
    pub time: String,
    /// Unit of the times, where the case says it.
    pub time_unit: Option<String>,
    /// Of what the value is of.
    pub name: String,
    /// Of the values.
    pub value: String,
    /// Of the units.
    pub unit: Option<String>,
}

/// What one column of a log means.
#[derive(Debug, Clone, PartialEq)]
pub struct Channel {
    /// Its name in the case.
    pub name: String,
    /// Its header in the log.
    pub header: String,
    /// Its unit, where the case says it.
    pub unit: Option<String>,
    /// What it means.
    pub meaning: Meaning,
    /// Numbers of the case that take its value, by path.
    pub sets: Vec<String>,
    /// One standard deviation of a reading [SI]; zero where it is none.
    pub accuracy: f64,
    /// How far all readings lie above the truth alike, where the case says it.
    pub offset: Option<Number>,
    /// Where the case says it.
    pub location: Location,
    /// Where it says to what the gauge belongs.
    pub tap_location: Location,
}

/// What a column is.
#[derive(Debug, Clone, PartialEq)]
pub enum Meaning {
    /// Time.
    Time,
    /// Crank speed.
    EngineSpeed,
    /// Road speed.
    RoadSpeed,
    /// Mass flow of all draws.
    AirFlow,
    /// Power.
    Power(PowerBasis),
    /// A gauge in the tract.
    Gauge {
        /// Where it sits, as [`crate::network::Tap::find`] reads it.
        tap: String,
        /// What it reads.
        reads: Reads,
    },
    /// Nothing but what it sets, of this dimension once the case is known.
    Setting,
}

/// What a gauge in the tract reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reads {
    /// Static pressure, by a hole in the wall.
    Static(Basis),
    /// Total pressure, by a tube that points upstream.
    Total(Basis),
    /// Total temperature.
    Temperature,
    /// Mass flow.
    Flow,
}

/// Against what a pressure is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Vacuum.
    Absolute,
    /// The outside's static pressure; above it positive.
    Gauge,
    /// The outside's static pressure; below it positive.
    Depression,
}

/// How a power was measured and what was done to it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PowerBasis {
    /// Share of the crank's power that reaches the wheels, where it was measured there.
    pub driveline: Option<f64>,
    /// The factor by which it was multiplied; one where it was not.
    pub correction: f64,
    /// Time over which it was smoothed [s]; zero for none, `None` where nobody knows.
    pub smoothing: Option<f64>,
}

impl Channel {
    /// What its values measure, where the case alone tells it; of a setting it is that of the number which it sets.
    #[must_use]
    pub fn dimension(&self) -> Option<Dimension> {
        match &self.meaning {
            Meaning::Time => Some(Dimension::Time),
            Meaning::EngineSpeed => Some(Dimension::Frequency),
            Meaning::RoadSpeed => Some(Dimension::Speed),
            Meaning::AirFlow => Some(Dimension::MassFlow),
            Meaning::Power(_) => Some(Dimension::Power),
            Meaning::Gauge { reads, .. } => Some(reads.dimension()),
            Meaning::Setting => None,
        }
    }

    /// What is taken off its readings [SI].
    #[must_use]
    pub fn offset(&self) -> f64 {
        self.offset.as_ref().map_or(0.0, |offset| offset.value)
    }

    /// Whether its readings count beside the model's: a column that sets what it reads would be held against itself.
    #[must_use]
    pub fn counts(&self) -> bool {
        self.is_reading() && self.sets.is_empty()
    }

    /// Whether a model has something to set beside it.
    #[must_use]
    pub fn is_reading(&self) -> bool {
        match &self.meaning {
            Meaning::Gauge { .. } => true,
            Meaning::AirFlow | Meaning::Power(_) => self.accuracy > 0.0,
            _ => false,
        }
    }
}

impl PowerBasis {
    /// Share of the crank's power that it is.
    #[must_use]
    pub fn share(&self) -> f64 {
        self.driveline.unwrap_or(1.0)
    }
}

impl Reads {
    /// What it measures.
    #[must_use]
    pub fn dimension(self) -> Dimension {
        match self {
            Self::Static(Basis::Absolute) | Self::Total(Basis::Absolute) => Dimension::Pressure,
            Self::Static(_) | Self::Total(_) => Dimension::PressureDifference,
            Self::Temperature => Dimension::Temperature,
            Self::Flow => Dimension::MassFlow,
        }
    }

    /// Its basis in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Static(Basis::Absolute) => "static, absolute",
            Self::Static(Basis::Gauge) => "static, over outside",
            Self::Static(Basis::Depression) => "static, below outside",
            Self::Total(Basis::Absolute) => "total, absolute",
            Self::Total(Basis::Gauge) => "total, over outside",
            Self::Total(Basis::Depression) => "total, below outside",
            Self::Temperature => "total temperature",
            Self::Flow => "mass flow",
        }
    }
}
