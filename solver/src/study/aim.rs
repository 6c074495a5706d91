//! What a change of a case is meant to improve.

use super::{Figures, Of, Quantity};

/// What is to become better.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Aim {
    /// More power; needs an engine.
    Power,
    /// More recovery.
    Recovery,
    /// Cooler air.
    Temperature,
    /// Draws that get the same recovery.
    Difference,
    /// More total pressure.
    Pressure,
}

impl Aim {
    /// What it is measured by.
    #[must_use]
    pub fn quantity(self) -> Quantity {
        match self {
            Self::Power => Quantity::Power,
            Self::Recovery | Self::Difference => Quantity::Recovery,
            Self::Temperature => Quantity::InletTemperature,
            Self::Pressure => Quantity::TotalPressure,
        }
    }

    /// One where more is better, minus one where less is.
    #[must_use]
    pub fn better(self) -> f64 {
        match self {
            Self::Power | Self::Recovery | Self::Pressure => 1.0,
            Self::Temperature | Self::Difference => -1.0,
        }
    }
}

/// A number that an aim is measured by, smooth in all that changes it.
#[derive(Debug, Clone, PartialEq)]
pub enum Measure {
    /// A figure.
    Of(Quantity, Of),
    /// The figure of one draw less that of another.
    Between {
        /// What of them.
        quantity: Quantity,
        /// Draw with the largest value.
        high: String,
        /// Draw with the smallest.
        low: String,
    },
}

impl Measure {
    /// By what `aim` is measured where the figures are these, for one `draw` or for all. The difference is that between the draws that
    /// are furthest apart here, with its sign: it goes through zero without a kink.
    ///
    /// # Errors
    /// A draw that is not there, or a difference of fewer than two, as found and expected.
    pub fn new(aim: Aim, draw: Option<&str>, figures: &Figures) -> Result<Self, (String, String)> {
        let quantity = aim.quantity();
        let names = figures.draws().collect::<Vec<_>>().join(", ");
        if let Some(draw) = draw
            && (aim == Aim::Difference || !figures.draws().any(|name| name == draw))
        {
            let expected = if aim == Aim::Difference { "all draws for a difference".to_owned() } else { names };
            return Err((format!("the draw `{draw}`"), expected));
        }
        if aim == Aim::Power && (draw.is_some() || figures.value(quantity, &Of::Whole).is_none()) {
            return Err((
                "power of a draw, or of a case without an engine".to_owned(),
                "an `engine`, and no draw".to_owned(),
            ));
        }
        if names.is_empty() {
            return Err(("no draw".to_owned(), "one at least".to_owned()));
        }
        if aim != Aim::Difference {
            return Ok(Self::Of(quantity, draw.map_or(Of::Whole, |draw| Of::Draw(draw.to_owned()))));
        }
        let value = |name: &&str| figures.value(quantity, &Of::Draw((*name).to_owned())).unwrap_or(f64::NAN);
        let high = figures.draws().reduce(|best, name| if value(&name) > value(&best) { name } else { best });
        let others = figures.draws().filter(|name| Some(*name) != high);
        let low = others.reduce(|best, name| if value(&name) < value(&best) { name } else { best });
        match (high, low) {
            (Some(high), Some(low)) => Ok(Self::Between { quantity, high: high.to_owned(), low: low.to_owned() }),
            _ => Err(("one draw".to_owned(), "two or more for a difference".to_owned())),
        }
    }

    /// Its value.
    #[must_use]
    pub fn value(&self, figures: &Figures) -> Option<f64> {
        match self {
            Self::Of(quantity, of) => figures.value(*quantity, of),
            Self::Between { quantity, high, low } => {
                let of = |draw: &String| figures.value(*quantity, &Of::Draw(draw.clone()));
                Some(of(high)? - of(low)?)
            }
        }
    }
}
