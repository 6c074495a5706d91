//! How far the published values of a law lie apart, and laws that are moved within that.

use super::{Basis, Direction, Loss, Place, Stream};
use crate::gas::Gas;

/// How far a published law may be from the truth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PublishedSpread {
    /// The law, one of [`LAWS`]: two losses of the same law err together.
    pub law: &'static str,
    /// One standard deviation over the loss; of a recovery, itself. What a source gives as `+-` is taken for that.
    pub relative: f64,
    /// Who says so.
    pub source: &'static str,
}

/// The laws that have a published spread.
pub const LAWS: &[&str] = &[
    "wall friction",
    "bend",
    "widening",
    "sharp entry",
    "rounded entry",
    "flared entry",
    "step",
    "wire mesh",
    "perforated plate",
    "orifice plate",
    "wye",
    "mouth lip",
    "pitot recovery",
    "protruding recovery",
    "recovery in a boundary layer",
    "diverging ramp recovery",
    "parallel ramp recovery",
];

/// Friction of walls.
pub const FRICTION: PublishedSpread = PublishedSpread {
    law: "wall friction",
    relative: 0.1,
    source: "Colebrook's law, which Churchill's stands for, 10 to 15 % (White, Fluid Mechanics, section 6; from memory)",
};

/// Bends and elbows.
pub const BEND: PublishedSpread =
    PublishedSpread { law: "bend", relative: 0.2, source: "Rennels, Miller and Ito lie 20 % apart" };

/// Separation in widening ducts.
pub const WIDENING: PublishedSpread =
    PublishedSpread { law: "widening", relative: 0.25, source: "Idelchik, Gibson and Rennels lie 25 % apart" };

/// Wyes and tees.
pub const WYE: PublishedSpread = PublishedSpread {
    law: "wye",
    relative: 0.25,
    source: "Idelchik, Hager, Gardel, Crane and Vazsonyi's momentum balance lie 20 % apart where flows divide, 33 % in a joining branch and \
             15 to 25 % in a run (root mean square, coefficients above 0.3; their formulas from memory)",
};

/// Lips of mouths, of this loss in heads: as the flared entry, whose diagram they share.
#[must_use]
pub fn lip(heads: f64) -> PublishedSpread {
    let relative = if heads > 0.0 { (LIP_HEADS / heads).min(MOST_LIP) } else { 0.0 };
    PublishedSpread { law: "mouth lip", relative, source: "readings of Idelchik's diagram 3-4 lie 0.05 heads apart" }
}

/// Spread of a lip [heads], and its largest share of the loss: a loss is not negative.
const LIP_HEADS: f64 = 0.05;
const MOST_LIP: f64 = 0.5;

/// How far the law of each loss of a network is moved.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Deviations {
    /// Standard deviations by law.
    moved: Vec<(&'static str, f64)>,
    /// Factors by law, of what is known and moves no more.
    known: Vec<(&'static str, f64)>,
}

impl Deviations {
    /// The laws of `LAWS`, each moved by what `of` says [standard deviations].
    #[must_use]
    pub fn new(of: impl Fn(&'static str) -> f64) -> Self {
        Self { moved: LAWS.iter().map(|law| (*law, of(law))).collect(), known: Vec::new() }
    }

    /// These, but for the laws on whose loss `of` knows a factor.
    #[must_use]
    pub fn but_known(self, of: impl Fn(&'static str) -> Option<f64>) -> Self {
        Self { known: LAWS.iter().filter_map(|law| Some((*law, of(law)?))).collect(), ..self }
    }

    /// The laws and how far each is moved [standard deviations].
    pub fn named(&self) -> impl Iterator<Item = (&'static str, f64)> + '_ {
        self.moved.iter().copied()
    }

    /// Factor that is known of a law.
    #[must_use]
    pub fn known(&self, law: &str) -> Option<f64> {
        self.known.iter().find(|known| known.0 == law).map(|known| known.1)
    }

    /// Factor on a loss of this spread: one where its law is neither moved nor known, never negative.
    #[must_use]
    pub fn factor(&self, spread: &PublishedSpread) -> f64 {
        if let Some(known) = self.known(spread.law) {
            return known;
        }
        let moved = self.moved.iter().find(|moved| moved.0 == spread.law);
        moved.map_or(1.0, |moved| (1.0 + moved.1 * spread.relative).max(0.0))
    }

    /// What is added to a recovery of this spread: nothing where its law is not moved.
    #[must_use]
    pub fn shift(&self, spread: &PublishedSpread) -> f64 {
        let moved = self.moved.iter().find(|moved| moved.0 == spread.law);
        moved.map_or(0.0, |moved| moved.1 * spread.relative)
    }

    /// `law`, with its loss times the factor of its spread.
    #[must_use]
    pub fn moved(&self, law: Box<dyn Loss>) -> Box<dyn Loss> {
        let spread = law.published_spread();
        let factor = spread.map_or(1.0, |spread| self.factor(&spread));
        let known = spread.and_then(|spread| self.known(spread.law));
        if (factor - 1.0).abs() > 0.0 { Box::new(Scaled { law, factor, known }) } else { law }
    }
}

/// A law whose loss is taken times a factor. Where the passage nears choking and the factor is above one, it falls a little in the pressure
/// behind; steady states are found there none the less.
#[derive(Debug)]
struct Scaled {
    law: Box<dyn Loss>,
    factor: f64,
    /// The factor where the case gives it, which is told.
    known: Option<f64>,
}

impl Loss for Scaled {
    fn total_pressure_before(&self, gas: &Gas, stream: &Stream, direction: Direction, after: f64) -> f64 {
        after + self.factor * (self.law.total_pressure_before(gas, stream, direction, after) - after)
    }

    fn place(&mut self, place: Place) -> Result<(), String> {
        self.law.place(place)
    }

    fn area(&self) -> f64 {
        self.law.area()
    }

    fn thickness(&self) -> f64 {
        self.law.thickness()
    }

    fn spans_area_change(&self) -> bool {
        self.law.spans_area_change()
    }

    fn spends_its_jet(&self) -> bool {
        self.law.spends_its_jet()
    }

    fn published_spread(&self) -> Option<PublishedSpread> {
        self.law.published_spread()
    }

    fn basis(&self) -> Basis {
        self.law.basis().times(self.known)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::loss::area_change::AreaChange;
    use crate::loss::elbow::Elbow;
    use crate::loss::entry::{Edge, Entry};
    use crate::loss::orifice::Orifice;
    use crate::loss::screen::{Pattern, Screen};
    use crate::loss::wye::Wye;

    fn handbook() -> Vec<Box<dyn Loss>> {
        let mut elbow = Elbow::new(1.5, 0.12, None);
        let place = Place { before: Some(0.006), after: Some(0.004) };
        elbow.place(place).expect("a place");
        let edge = |edge| Entry::new(edge, 0.004, Direction::Forward);
        vec![
            Box::new(elbow),
            Box::new(edge(Edge::Sharp)),
            Box::new(edge(Edge::Rounded(0.004))),
            Box::new(edge(Edge::Flared(0.01))),
            Box::new(edge(Edge::Lip(0.004))),
            Box::new(AreaChange::new(place)),
            Box::new(Screen::new(Pattern::WireMesh, 0.6, Some(0.004), 0.001)),
            Box::new(Screen::new(Pattern::PerforatedPlate, 0.6, Some(0.004), 0.001)),
            Box::new(Orifice::plate(0.002, None, 0.002)),
        ]
    }

    #[test]
    fn every_handbook_loss_has_a_known_law_with_a_source() {
        for law in handbook() {
            assert!(matches!(law.basis(), Basis::Handbook(_)));
            let spread = law.published_spread().expect("a spread");
            assert!(LAWS.contains(&spread.law) && spread.relative > 0.0 && !spread.source.is_empty(), "{spread:?}");
        }
        assert_eq!(Orifice::plate(0.002, Some(0.65), 0.002).published_spread(), None);
        for spread in [FRICTION, BEND, WIDENING, WYE, lip(0.3)] {
            assert!(LAWS.contains(&spread.law) && spread.relative > 0.0);
        }
    }

    #[test]
    fn a_wye_loses_in_proportion_and_never_makes_pressure() {
        // A right-angled tee whose branch takes 60 % of the air.
        let flows = [1.0, -0.6, -0.4];
        let heads = [1.0, 0.36, 0.16];
        let lost = |factor: f64, leg: usize| {
            let wye = Wye::new(&[0.0, std::f64::consts::FRAC_PI_2, 0.0], factor);
            wye.offset(0, &flows, &heads) - wye.offset(leg, &flows, &heads)
        };
        for leg in [1, 2] {
            assert!((lost(1.25, leg) / lost(1.0, leg) - 1.25).abs() < 1e-12 && lost(0.0, leg).abs() < 1e-12);
        }
    }

    #[test]
    fn a_loss_goes_with_the_deviation_of_its_law_alone() {
        let gas = Gas::dry_air();
        let stream = Stream { mass_flow: 0.03, total_temperature: 300.0 };
        let lost = |law: &dyn Loss| law.total_pressure_before(&gas, &stream, Direction::Forward, 1e5) - 1e5;
        for moved in LAWS {
            let deviations = Deviations::new(|law| if law == *moved { 1.0 } else { 0.0 });
            for law in handbook() {
                let (before, spread) = (lost(law.as_ref()), law.published_spread().expect("a spread"));
                let factor = if spread.law == *moved { 1.0 + spread.relative } else { 1.0 };
                let after = lost(deviations.moved(law).as_ref());
                assert!((after - factor * before).abs() < 1e-9 * before.max(1.0), "{spread:?}");
            }
        }
    }
}
