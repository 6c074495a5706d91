//! What a case comes to at a point, as a list of named figures.

use crate::error::Error;
use crate::joint::side::Side;
use crate::ledger::BranchSummary;
use crate::network::{JointKind, JointState, Network, Work};
use crate::quantity::Dimension;
use crate::run::Reading;

/// What a figure measures. A new one is a variant, a line in each table here and a line where [`Figures::of`] reads it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Quantity {
    /// Power at the crank [W], of a case with an engine; of a pull the largest.
    Power,
    /// Torque at the crank [N m], of a case with an engine; of a pull the largest.
    Torque,
    /// Mass flow [kg/s].
    MassFlow,
    /// Total pressure over the free stream's.
    Recovery,
    /// Total pressure [Pa].
    TotalPressure,
    /// Total temperature [K].
    InletTemperature,
    /// Time of a roll-on [s]: the mean of both directions where slope or wind make them differ.
    RollOnTime,
    /// Time after a throttle step in which the charge comes to nine tenths of what is wanted [s].
    ResponseTime,
}

impl Quantity {
    /// Every quantity, in the order in which they are listed.
    pub const ALL: &'static [Self] = &[
        Self::Power,
        Self::Torque,
        Self::MassFlow,
        Self::Recovery,
        Self::TotalPressure,
        Self::InletTemperature,
        Self::RollOnTime,
        Self::ResponseTime,
    ];

    /// Whether it is the engine's, and so of the whole only.
    #[must_use]
    pub fn is_of_engine(self) -> bool {
        matches!(self, Self::Power | Self::Torque)
    }

    /// Whether each draw has it.
    fn is_of_draws(self) -> bool {
        matches!(self, Self::MassFlow | Self::Recovery | Self::TotalPressure | Self::InletTemperature)
    }

    /// Key for programs.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Power => "power",
            Self::Torque => "torque",
            Self::MassFlow => "mass_flow",
            Self::Recovery => "recovery",
            Self::TotalPressure => "total_pressure",
            Self::InletTemperature => "inlet_temperature",
            Self::RollOnTime => "roll_on_time",
            Self::ResponseTime => "response_time",
        }
    }

    /// Name in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Power => "power",
            Self::Torque => "torque",
            Self::MassFlow => "mass flow",
            Self::Recovery => "recovery",
            Self::TotalPressure => "total pressure",
            Self::InletTemperature => "inlet temperature",
            Self::RollOnTime => "roll-on time",
            Self::ResponseTime => "response time",
        }
    }

    /// What its values measure, or those of a difference of it; `None` where no text of a case could give one.
    #[must_use]
    pub fn dimension(self, difference: bool) -> Option<Dimension> {
        match self {
            Self::Power => Some(Dimension::Power),
            Self::Torque => None,
            Self::MassFlow => Some(Dimension::MassFlow),
            Self::Recovery => Some(Dimension::Ratio),
            Self::TotalPressure if difference => Some(Dimension::PressureDifference),
            Self::TotalPressure => Some(Dimension::Pressure),
            Self::InletTemperature if difference => Some(Dimension::TemperatureDifference),
            Self::InletTemperature => Some(Dimension::Temperature),
            Self::RollOnTime | Self::ResponseTime => Some(Dimension::Time),
        }
    }

    /// Unit of its values, SI; `1` for a ratio.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Self::Power => "W",
            Self::Torque => "N m",
            Self::MassFlow => "kg/s",
            Self::Recovery => "1",
            Self::TotalPressure => "Pa",
            Self::InletTemperature => "K",
            Self::RollOnTime | Self::ResponseTime => "s",
        }
    }
}

/// Whose figure it is.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Of {
    /// All draws together: the sum of the flows, and means weighted by them.
    Whole,
    /// A draw.
    Draw(String),
    /// The largest value of any draw less the smallest; of a case with one draw there is none.
    Difference,
}

/// A number that a layout comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// What it measures.
    pub quantity: Quantity,
    /// Whose it is.
    pub of: Of,
    /// Value in the unit of the quantity.
    pub value: f64,
}

impl Figure {
    /// Its name for programs: `recovery`, `recovery.left_turbo`, `recovery.difference`.
    #[must_use]
    pub fn name(&self) -> String {
        name_of(self.quantity, &self.of)
    }
}

/// Name of a figure for programs.
#[must_use]
pub fn name_of(quantity: Quantity, of: &Of) -> String {
    match of {
        Of::Whole => quantity.key().to_owned(),
        Of::Draw(draw) => format!("{}.{draw}", quantity.key()),
        Of::Difference => format!("{}.difference", quantity.key()),
    }
}

/// The figures of a case at a point.
#[derive(Debug, Clone, PartialEq)]
pub struct Figures(pub Vec<Figure>);

impl Figures {
    /// The figures of `network` in the steady state `y` that stands in `work`.
    #[must_use]
    pub fn of(network: &Network, y: &[f64], work: &Work) -> Self {
        let free_stream = network.free_stream().total_pressure(&network.gas);
        let draws: Vec<_> = network.draws().into_iter().filter_map(|joint| drawn(network, work, joint)).collect();
        let standing = network.standing(y, work);
        let engine = standing.map(|now| [(Quantity::Power, now.power()), (Quantity::Torque, now.torque)]);
        Self::of_draws(engine.into_iter().flatten(), &draws, free_stream)
    }

    fn of_draws(engine: impl Iterator<Item = (Quantity, f64)>, draws: &[Drawn], free_stream: f64) -> Self {
        let mut figures: Vec<Figure> =
            engine.map(|(quantity, value)| Figure { quantity, of: Of::Whole, value }).collect();
        let of_draws = Quantity::ALL.iter().filter(|quantity| quantity.is_of_draws() && !draws.is_empty());
        for &quantity in of_draws {
            let value = |draw: &Drawn| match quantity {
                Quantity::MassFlow => draw.mass_flow,
                Quantity::Recovery => draw.total_pressure / free_stream,
                Quantity::TotalPressure => draw.total_pressure,
                Quantity::InletTemperature => draw.total_temperature,
                _ => f64::NAN,
            };
            let of_draws: Vec<f64> = draws.iter().map(value).collect();
            let mut add = |of: Of, value: f64| figures.push(Figure { quantity, of, value });
            add(Of::Whole, whole(quantity, draws, &of_draws));
            draws.iter().zip(&of_draws).for_each(|(draw, value)| add(Of::Draw(draw.name.clone()), *value));
            if draws.len() > 1 {
                add(Of::Difference, largest_less_smallest(&of_draws));
            }
        }
        Self(figures)
    }

    /// The figures of a result: means of its flow, pressure and temperature; of an engine the largest power, and the torque beside it.
    ///
    /// # Errors
    /// The result cannot be read.
    pub fn of_reading(reading: &Reading) -> Result<Self, Error> {
        let summary = reading.summary()?;
        let drawn = |branch: &BranchSummary| Drawn {
            name: branch.draw.clone(),
            mass_flow: branch.mass_flow,
            total_pressure: branch.total_pressure,
            total_temperature: branch.total_temperature,
        };
        let draws: Vec<Drawn> = summary.branches.iter().map(drawn).collect();
        let rows = reading.engine_figures()?.into_iter();
        let strongest = rows.max_by(|a, b| a.power.total_cmp(&b.power));
        let power = strongest.map(|engine| [(Quantity::Power, engine.power), (Quantity::Torque, engine.torque)]);
        Ok(Self::of_draws(power.into_iter().flatten(), &draws, summary.free_stream_total_pressure))
    }

    /// The value of a figure; `None` when there is none of this name.
    #[must_use]
    pub fn value(&self, quantity: Quantity, of: &Of) -> Option<f64> {
        self.0.iter().find(|figure| figure.quantity == quantity && figure.of == *of).map(|figure| figure.value)
    }

    /// The draws, in the order of the case.
    pub fn draws(&self) -> impl Iterator<Item = &str> {
        self.draws_with(Quantity::MassFlow)
    }

    /// The draws that have a figure of this quantity, in the order of the case.
    pub fn draws_with(&self, quantity: Quantity) -> impl Iterator<Item = &str> {
        let figures = self.0.iter().filter(move |figure| figure.quantity == quantity);
        figures.filter_map(|figure| if let Of::Draw(name) = &figure.of { Some(name.as_str()) } else { None })
    }

    /// The quantities that the whole has, in words.
    #[must_use]
    pub fn words(&self) -> String {
        let whole = self.0.iter().filter(|figure| figure.of == Of::Whole);
        whole.map(|figure| figure.quantity.words()).collect::<Vec<_>>().join(", ")
    }
}

/// What a draw gets.
struct Drawn {
    name: String,
    mass_flow: f64,
    total_pressure: f64,
    total_temperature: f64,
}

fn drawn(network: &Network, work: &Work, joint: usize) -> Option<Drawn> {
    let (JointKind::Series(series), JointState::Series(state)) = (&network.joints[joint].kind, &work.joints[joint])
    else {
        return None;
    };
    let stands_last = !matches!(series.sides[0], Side::Draw { .. });
    let station = if stands_last { state.total_pressures.last() } else { state.total_pressures.first() };
    Some(Drawn {
        name: network.draw_name(joint).to_owned(),
        mass_flow: if stands_last { state.mass_flow } else { -state.mass_flow },
        total_pressure: *station?,
        total_temperature: state.total_temperature,
    })
}

/// The sum of flows; of all else the mean weighted by flow, of pressures that of their logarithms, as the ledger has it.
fn whole(quantity: Quantity, draws: &[Drawn], values: &[f64]) -> f64 {
    let flow: f64 = draws.iter().map(|draw| draw.mass_flow).sum();
    let mean = |of: fn(f64) -> f64| {
        draws.iter().zip(values).map(|(draw, value)| draw.mass_flow / flow * of(*value)).sum::<f64>()
    };
    match quantity {
        Quantity::MassFlow => flow,
        Quantity::Recovery | Quantity::TotalPressure => libm::exp(mean(libm::log)),
        Quantity::InletTemperature => mean(|temperature| temperature),
        _ => f64::NAN,
    }
}

fn largest_less_smallest(values: &[f64]) -> f64 {
    let largest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    largest - values.iter().copied().fold(f64::INFINITY, f64::min)
}
