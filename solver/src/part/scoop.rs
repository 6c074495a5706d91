//! A scoop: a mouth that faces the air stream.

use super::mouth::{AREA, LIP_RADIUS, Mouth, OpenEnd, PRESSURE_COEFFICIENT, radiation_key, read_radiation};
use super::{Kind, Part, exactly_one, optional, required, rising};
use crate::fields::{Fields, Key, Range, Value};
use crate::loss::Basis;
use crate::loss::published::PublishedSpread;
use crate::quantity::Dimension;

/// Steepest rise of recovery over speed ratio that a curve may have. Above it the total pressure would rise with flow at a
/// slope that nears the wave resistance of a duct, and the flow through the mouth would no longer be unique.
const STEEPEST_RISE: f64 = 2.0;

/// Word, recovery over speed ratio, and how far that may be off.
type Form = (&'static str, &'static [(f64, f64)], PublishedSpread);

/// Recovery over speed ratio by form. NACA ACR 5I20 (1945), RM A7I30 (1948), TN 2323 (1951) and Hoerner, Fluid-Dynamic Drag (1965),
/// chapter 9; all quoted from memory, with the band in which their measurements lie.
const FORMS: [Form; 5] = [
    ("pitot", &[(0.0, 1.0), (0.5, 0.995), (1.0, 0.98)], banded("pitot recovery", 0.01)),
    ("protruding", &[(0.0, 0.98), (0.4, 0.97), (0.8, 0.95), (1.0, 0.92)], banded("protruding recovery", 0.04)),
    (
        "protruding_in_boundary_layer",
        &[(0.4, 0.75), (0.8, 0.78), (1.0, 0.78)],
        banded("recovery in a boundary layer", 0.1),
    ),
    (
        "flush_diverging_ramp",
        &[(0.0, 0.55), (0.2, 0.75), (0.4, 0.88), (0.6, 0.92), (0.7, 0.92), (0.8, 0.90), (1.0, 0.84), (1.2, 0.76)],
        banded("diverging ramp recovery", 0.05),
    ),
    (
        "flush_parallel_ramp",
        &[(0.4, 0.70), (0.6, 0.74), (0.8, 0.72), (1.0, 0.68)],
        banded("parallel ramp recovery", 0.08),
    ),
];

const fn banded(law: &'static str, band: f64) -> PublishedSpread {
    PublishedSpread { law, relative: band, source: "NACA reports and Hoerner, bands from memory" }
}

const CURVE: &[Key] = &[
    required(
        "speed_ratio",
        Value::Quantities(Dimension::Ratio, Range::NotNegative),
        "speed in the mouth over road speed, rising",
    ),
    required(
        "recovery",
        Value::Quantities(Dimension::Ratio, Range::Share),
        "recovery at each speed ratio, held outside them",
    ),
];

pub(super) const KIND: Kind = Kind {
    name: "scoop",
    about: "a mouth that faces the air stream and recovers part of its dynamic pressure",
    keys: &[
        AREA,
        optional(
            "recovery",
            Value::Quantity(Dimension::Ratio, Range::Share),
            "none: give `recovery_curve` or `form`",
            "share of the local dynamic pressure that becomes total pressure in the mouth, at any flow",
        ),
        optional(
            "recovery_curve",
            Value::Map(CURVE),
            "none: give `recovery` or `form`",
            "recovery over speed in the mouth / road speed",
        ),
        optional(
            "form",
            Value::Word(&[
                "pitot",
                "protruding",
                "protruding_in_boundary_layer",
                "flush_diverging_ramp",
                "flush_parallel_ramp",
            ]),
            "none: give `recovery` or `recovery_curve`",
            "recovery curve of a common form, NACA reports quoted from memory: within 0.03 to 0.1 on a clean surface",
        ),
        PRESSURE_COEFFICIENT,
        LIP_RADIUS,
        radiation_key("flanged for the flush forms, unflanged for all others"),
    ],
    read,
    example: "{kind: scoop, area: 130 cm2, recovery: 0.75, lip_radius: 4 mm, pressure_coefficient: 0.2}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let area = fields.si("area");
    let recovery = read_recovery(fields);
    let pressure_coefficient = fields.si_or("pressure_coefficient", 0.0);
    let lip_radius = fields.si_or("lip_radius", 0.0);
    let flush = fields.word("form").is_some_and(|form| form.starts_with("flush"));
    let radiation = read_radiation(fields, if flush { OpenEnd::Flanged } else { OpenEnd::Unflanged });
    let (recovery, basis) = recovery?;
    let form = fields.word("form").and_then(|word| FORMS.iter().find(|(name, ..)| *name == word));
    Some(Part::Mouth(Mouth {
        area: area?,
        from: None,
        pressure_coefficient,
        recovery,
        published: form.map(|form| form.2),
        lip_radius,
        radiation,
        basis: Basis::Assumed(basis),
    }))
}

/// The recovery curve and what it stands on.
fn read_recovery(fields: &Fields<'_>) -> Option<(Vec<(f64, f64)>, String)> {
    match exactly_one(fields, &["recovery", "recovery_curve", "form"])? {
        "recovery" => {
            let share = fields.si("recovery")?;
            Some((vec![(0.0, share)], format!("recovery {share} as given")))
        }
        "form" => {
            let word = fields.word("form")?;
            let (_, curve, _) = FORMS.iter().find(|(name, ..)| *name == word)?;
            Some((curve.to_vec(), format!("recovery of a {word} inlet, NACA reports quoted from memory")))
        }
        _ => Some((read_curve(&fields.map("recovery_curve")?)?, "recovery curve as given".to_owned())),
    }
}

fn read_curve(fields: &Fields<'_>) -> Option<Vec<(f64, f64)>> {
    let (ratios, shares) = (fields.list("speed_ratio"), fields.list("recovery"));
    let (ratios, shares) = (ratios?, shares?);
    if !rising(&ratios) {
        fields.problem("speed_ratio", format!("{ratios:?}"), "speed ratios that rise");
        return None;
    }
    if ratios.len() != shares.len() || ratios.is_empty() {
        fields.problem(
            "recovery",
            format!("{} values", shares.len()),
            format!("one for each of {} ratios", ratios.len()),
        );
        return None;
    }
    let curve: Vec<(f64, f64)> = ratios.into_iter().zip(shares).collect();
    let too_steep = |pair: &[(f64, f64)]| pair[1].1 - pair[0].1 > STEEPEST_RISE * (pair[1].0 - pair[0].0);
    if curve.windows(2).any(too_steep) {
        fields.problem(
            "recovery",
            "a steeper rise",
            format!("a rise of at most {STEEPEST_RISE} a unit of speed ratio"),
        );
        return None;
    }
    Some(curve)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_forms_are_usable_curves_and_the_words_are_theirs() {
        for (name, curve, spread) in FORMS {
            assert!(crate::loss::published::LAWS.contains(&spread.law) && spread.relative > 0.0);
            assert!(curve.windows(2).all(|pair| pair[0].0 < pair[1].0), "{name}");
            assert!(curve.iter().all(|point| (0.0..=1.0).contains(&point.1)), "{name}");
        }
        let form = KIND.keys.iter().find(|key| key.name == "form").map(|key| key.value);
        assert!(matches!(form, Some(Value::Word(words)) if words.iter().eq(FORMS.iter().map(|(name, ..)| name))));
    }
}
