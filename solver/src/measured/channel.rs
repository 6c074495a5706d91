//! What the model says where a gauge sits, as that gauge would read it.

use crate::case::measured::{Basis, Channel, Meaning, Reads};
use crate::error::{CaseError, Problem};
use crate::network::{AirAt, Network, Tap, Work};

impl Channel {
    /// Where in `network` its gauge sits; `None` of a column that is no gauge.
    ///
    /// # Errors
    /// The network has no such place.
    pub fn tap(&self, network: &Network) -> Result<Option<Tap>, CaseError> {
        let Meaning::Gauge { tap, .. } = &self.meaning else { return Ok(None) };
        Tap::find(network, tap).map(Some).map_err(|fault| CaseError {
            problems: vec![Problem {
                location: self.tap_location.clone(),
                path: format!("measured.columns.{}.tap", self.name),
                found: fault.found,
                expected: fault.expected,
                nearest: fault.nearest,
            }],
        })
    }

    /// What it would read [SI] in the state `y` of `network` that stands in `work`; `None` of a column that reads nothing, and of a power
    /// without an engine.
    ///
    /// # Errors
    /// The network has no such place.
    pub fn model(&self, network: &Network, y: &[f64], work: &Work) -> Result<Option<f64>, CaseError> {
        if let Some(tap) = self.tap(network)? {
            return Ok(self.of_air(&tap.air(network, work), network.outside.pressure));
        }
        Ok(match &self.meaning {
            Meaning::AirFlow => Some(Tap::draws(network).map(|draw| draw.air(network, work).mass_flow).sum()),
            Meaning::Power(basis) => network.standing(y, work).map(|engine| basis.share() * engine.power()),
            _ => None,
        })
    }

    /// What a gauge reads in this air [SI], with the `outside`'s pressure [Pa]; `None` of a column that is no gauge.
    #[must_use]
    pub fn of_air(&self, air: &AirAt, outside: f64) -> Option<f64> {
        let Meaning::Gauge { reads, .. } = &self.meaning else { return None };
        let against = |basis: Basis, pressure: f64| match basis {
            Basis::Absolute => pressure,
            Basis::Gauge => pressure - outside,
            Basis::Depression => outside - pressure,
        };
        Some(match *reads {
            Reads::Static(basis) => against(basis, air.pressure),
            Reads::Total(basis) => against(basis, air.total_pressure),
            Reads::Temperature => air.total_temperature,
            Reads::Flow => air.mass_flow,
        })
    }
}

impl Reads {
    /// The absolute pressure [Pa] of a reading, with the `outside`'s; `None` of what is no pressure.
    #[must_use]
    pub fn absolute(self, reading: f64, outside: f64) -> Option<f64> {
        match self {
            Self::Static(basis) | Self::Total(basis) => Some(match basis {
                Basis::Absolute => reading,
                Basis::Gauge => outside + reading,
                Basis::Depression => outside - reading,
            }),
            Self::Temperature | Self::Flow => None,
        }
    }
}
