//! Wire mesh and perforated plate across a passage.

use super::published::PublishedSpread;
use super::quadratic::before_head_along;
use super::{Basis, Direction, Loss, Place, Stream};
use crate::gas::Gas;

/// What a screen is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pattern {
    /// Woven round wires.
    WireMesh,
    /// Thin plate with sharp-edged holes.
    PerforatedPlate,
}

impl Pattern {
    /// Heads of the approach velocity lost in a screen of free-area share `open`, at high Reynolds number.
    ///
    /// Idelchik, Handbook of Hydraulic Resistance, 3rd ed. (1994): wire mesh 1.3 (1-f) + (1/f-1)^2, diagram 8-6, within 15 %; thin plate
    /// (0.707 sqrt(1-f) + 1-f)^2 / f^2, diagram 8-1, within 10 %.
    #[must_use]
    pub fn coefficient(self, open: f64) -> f64 {
        let blocked = 1.0 - open;
        match self {
            Self::WireMesh => 1.3 * blocked + (1.0 / open - 1.0) * (1.0 / open - 1.0),
            Self::PerforatedPlate => {
                let jet = 0.707 * blocked.sqrt() + blocked;
                jet * jet / (open * open)
            }
        }
    }
}

/// A screen.
#[derive(Debug, Clone, Copy)]
pub struct Screen {
    pattern: Pattern,
    open: f64,
    area: Option<f64>,
    thickness: f64,
}

impl Screen {
    /// A screen of free-area share `open` [0..1] and `thickness` [m]; without `area` [m^2] it fills the duct beside it.
    #[must_use]
    pub fn new(pattern: Pattern, open: f64, area: Option<f64>, thickness: f64) -> Self {
        Self { pattern, open, area, thickness }
    }

    fn whole_area(&self) -> f64 {
        self.area.unwrap_or(f64::INFINITY)
    }
}

impl Loss for Screen {
    fn total_pressure_before(&self, gas: &Gas, stream: &Stream, _: Direction, after: f64) -> f64 {
        let before = before_head_along(gas, stream, self.pattern.coefficient(self.open), self.whole_area(), after);
        // The openings choke long before the passage does.
        gas.section_at_total(stream.mass_flow, stream.total_temperature, self.area(), before).total_pressure.max(before)
    }

    fn place(&mut self, place: Place) -> Result<(), String> {
        self.area = self.area.or(place.smaller());
        self.area.map(|_| ()).ok_or_else(|| "needs `area`: no duct beside it".to_owned())
    }

    fn area(&self) -> f64 {
        self.whole_area() * self.open
    }

    fn thickness(&self) -> f64 {
        self.thickness
    }

    fn basis(&self) -> Basis {
        let text = match self.pattern {
            Pattern::WireMesh => "wire mesh, Idelchik diagram 8-6",
            Pattern::PerforatedPlate => "thin perforated plate, Idelchik diagram 8-1",
        };
        Basis::Handbook(text.to_owned())
    }

    fn published_spread(&self) -> Option<PublishedSpread> {
        Some(match self.pattern {
            Pattern::WireMesh => {
                PublishedSpread { law: "wire mesh", relative: 0.15, source: "Idelchik, diagram 8-6: 15 %" }
            }
            Pattern::PerforatedPlate => {
                PublishedSpread { law: "perforated plate", relative: 0.1, source: "Idelchik, diagram 8-1: 10 %" }
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coefficients_are_those_of_the_handbook() {
        for (pattern, open, expected) in [
            (Pattern::WireMesh, 0.3, 6.354_44),
            (Pattern::WireMesh, 0.7, 0.573_673),
            (Pattern::PerforatedPlate, 0.3, 18.533_6),
            (Pattern::PerforatedPlate, 0.7, 0.963_875_f64),
        ] {
            assert!((pattern.coefficient(open) / expected - 1.0).abs() < 1e-5, "{pattern:?} {open}");
        }
    }

    #[test]
    fn agrees_with_the_other_handbook_within_the_spread() {
        // Blevins, Applied Fluid Dynamics Handbook (1984), square-edged screens.
        for (open, expected) in [(0.2, 52.0), (0.4, 7.7), (0.6, 2.0_f64)] {
            assert!((Pattern::PerforatedPlate.coefficient(open) / expected - 1.0).abs() < 0.15, "{open}");
        }
    }

    #[test]
    fn passes_no_more_than_its_openings_can() {
        let gas = Gas::dry_air();
        let screen = Screen::new(Pattern::WireMesh, 0.4, Some(0.01), 1e-3);
        let flow = 1.2;
        let most = gas.choking_flow_function() * 0.004 / (gas.gas_constant * 300.0).sqrt();
        let stream = Stream { mass_flow: flow, total_temperature: 300.0 };
        let before = screen.total_pressure_before(&gas, &stream, Direction::Forward, 1e3);
        assert!(before * most >= flow * (1.0 - 1e-9));
    }
}
