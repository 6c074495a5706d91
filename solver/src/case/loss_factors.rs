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

    /// The factor on a law that is given one.
    #[must_use]
    pub fn of(&self, law: &str) -> Option<f64> {
        self.0.iter().find(|given| given.0 == law).map(|given| given.1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::loss::published::LAWS;

    #[test]
    fn every_published_law_of_loss_has_its_key() {
        let known = |law: &&&str| !law.contains("recovery");
        let laws: Vec<String> = LAWS.iter().filter(known).map(|law| law.replace(' ', "_")).collect();
        assert_eq!(laws, LOSS_FACTOR_KEYS.iter().map(|key| key.name).collect::<Vec<_>>());
    }
}
