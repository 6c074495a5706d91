//! What a change of a case is meant to improve.

use super::{Figures, Of, Quantity};

/// What is to become better.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Aim {
    /// More power; needs an engine. Of a pull the largest.
    Power,
    /// A shorter roll-on; needs a point that is one.
    RollOn,
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
            Self::RollOn => Quantity::RollOnTime,
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
            Self::RollOn | Self::Temperature | Self::Difference => -1.0,
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
    /// A point that has no such figure, a draw that is not there, or a difference of fewer than two, as found and expected.
    pub fn new(aim: Aim, draw: Option<&str>, figures: &Figures) -> Result<Self, (String, String)> {
        let quantity = aim.quantity();
        if figures.value(quantity, &Of::Whole).is_none() {
            return Err((format!("no {} here", quantity.words()), format!("an aim out of: {}", figures.words())));
        }
        if let Some(draw) = draw
            && (aim == Aim::Difference || figures.value(quantity, &Of::Draw(draw.to_owned())).is_none())
        {
            let names: Vec<&str> =
                if aim == Aim::Difference { Vec::new() } else { figures.draws_with(quantity).collect() };
            let expected =
                if names.is_empty() { "no draw".to_owned() } else { format!("one of: {}", names.join(", ")) };
            return Err((format!("{} of the draw `{draw}`", quantity.words()), expected));
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
