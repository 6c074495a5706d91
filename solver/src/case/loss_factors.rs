//! How far the published laws of loss are known to be off on this car.

use super::keys::optional;
use crate::fields::{Fields, Key, Range, Value};
use crate::quantity::Dimension;

/// A factor on the loss of all parts of one law.
const fn factor(name: &'static str, about: &'static str) -> Key {
    optional(name, Value::Quantity(Dimension::Ratio, Range::NotNegative), "1, with the law's published spread", about)
}

/// The laws, by their names in [`crate::loss::published::LAWS`] with `_` for a space.
pub(super) const LOSS_FACTOR_KEYS: &[Key] = &[
    factor("wall_friction", "Factor on the friction of duct walls."),
    factor("bend", "Factor on the loss of bends and elbows."),
    factor("widening", "Factor on the loss of ducts that widen."),
    factor("sharp_entry", "Factor on the loss of sharp entries."),
    factor("rounded_entry", "Factor on the loss of rounded entries."),
    factor("flared_entry", "Factor on the loss of flared entries."),
    factor("step", "Factor on the loss of steps."),
    factor("wire_mesh", "Factor on the loss of screens of wire."),
    factor("perforated_plate", "Factor on the loss of perforated screens."),
    factor("orifice_plate", "Factor on the loss of orifice plates by their diameters."),
    factor("wye", "Factor on the loss of wyes and tees."),
    factor("mouth_lip", "Factor on the loss of the lips of mouths and scoops."),
];

/// Factors on published laws of loss, by the name of the law. What is known of the car stands in place of the law's published spread.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct LossFactors(Vec<(String, f64)>);

impl LossFactors {
    pub(super) fn read(fields: &Fields<'_>) -> Self {
        let given = |key: &Key| Some((key.name.replace('_', " "), fields.si(key.name)?));
        Self(LOSS_FACTOR_KEYS.iter().filter_map(given).collect())
    }

    /// Keys of the laws.
    pub fn laws() -> impl Iterator<Item = &'static str> {
        LOSS_FACTOR_KEYS.iter().map(|key| key.name)
    }

    /// The factor on a law that is given one.
    #[must_use]
    pub fn of(&self, law: &str) -> Option<f64> {
        self.0.iter().find(|given| given.0 == law).map(|given| given.1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::{Case, REST};
    use crate::loss::Deviations;
    use crate::loss::published::LAWS;

    #[test]
    fn every_published_law_of_loss_has_its_key() {
        let known = |law: &&&str| !law.contains("recovery");
        let laws: Vec<String> = LAWS.iter().filter(known).map(|law| law.replace(' ', "_")).collect();
        assert_eq!(laws, LOSS_FACTOR_KEYS.iter().map(|key| key.name).collect::<Vec<_>>());
    }

    /// Loss of the first bend and of the second [1/m], of a network whose law of bends is moved by three standard deviations.
    fn bends(own: &str, of_law: &str) -> [f64; 2] {
        let text = format!(
            "parts:\n  nose: {{kind: mouth, from: outside, area: 50 cm2}}\n  tube: {{kind: duct, length: 600 mm, diameter: 70 mm, cell: 100 mm, \
             bends: [{{at: 0 mm, angle: 90 deg, radius: 100 mm{own}}}, {{at: 400 mm, angle: 45 deg, radius: 100 mm}}]}}\n  \
             turbo: {{kind: draw, flow: 100 g/s}}\nflow: [[nose, tube, turbo]]\n{of_law}"
        );
        let case = Case::from_text("tract", &text).expect("a case");
        let moved = Deviations::new(|law| if law == "bend" { 3.0 } else { 0.0 });
        let network = case.build_deviating(REST, moved).expect("a network").network;
        let drags = &network.fittings[0].bends;
        [drags[..3].iter().sum(), drags[3..].iter().sum()]
    }

    #[test]
    fn what_is_known_of_one_bend_stands_before_what_is_known_of_all() {
        let published = bends("", "");
        let own = bends(", loss_factor: 1.3", "");
        let of_law = bends(", loss_factor: 1.3", "loss_factors: {bend: 0.8}");
        // The law is moved by 3 x 20 %.
        let near = |found: f64, factor: f64, plain: f64| {
            assert!((found / (factor * plain) - 1.0).abs() < 1e-12, "{found} {plain}")
        };
        near(own[0], 1.3, published[0] / 1.6);
        near(own[1], 1.6, published[1] / 1.6);
        near(of_law[0], 1.3, published[0] / 1.6);
        near(of_law[1], 0.8, published[1] / 1.6);
    }

    #[test]
    fn a_factor_is_told_with_the_source_of_what_it_multiplies() {
        let text = "loss_factors: {bend: 1.3, wall_friction: 0.9, sharp_entry: 1.2}\nparts:\n  nose: {kind: mouth, from: outside, area: 50 cm2}\n  \
                    box: {kind: plenum, volume: 8 L}\n  tube: {kind: duct, length: 600 mm, diameter: 70 mm, bends: [{at: 0 mm, angle: 90 deg, \
                    radius: 100 mm}]}\n  turbo: {kind: draw, flow: 100 g/s}\nflow: [[nose, box, tube, turbo]]\n";
        let case = Case::from_text("tract", text).expect("a case");
        let network = case.build(REST).expect("a network").network;
        let fittings = &network.fittings[0];
        assert!(fittings.bend_basis.detail().ends_with(", times 1.3 as given"), "{:?}", fittings.bend_basis);
        assert!(fittings.friction_basis.detail().ends_with(", times 0.9 as given"), "{:?}", fittings.friction_basis);
        let losses = network.joints.iter().flat_map(|joint| &joint.losses);
        let bases: Vec<&str> = losses.map(|loss| loss.basis.detail()).collect();
        assert!(bases.iter().any(|basis| basis.ends_with(", times 1.2 as given")), "{bases:?}");
    }
}
