//! Factors that a case leaves out: where one is fitted, it starts from 1 with what is published of its law as the prior.

use crate::case::{Case, LossFactors};
use crate::error::{CaseError, Problem};
use crate::joint::side::Side;
use crate::loss::{Deviations, PublishedSpread, published};
use crate::network::{JointKind, Network};
use crate::part::Part;
use std::collections::BTreeSet;

/// Spread of the film inside walls over itself: Gnielinski's law holds within some 10 to 25 % (Incropera et al., Fundamentals of Heat and Mass Transfer,
/// section 8.5; from memory).
const FILM: f64 = 0.25;

/// The case with the factors in it that are to be fitted and that it leaves out, each as 1 with a prior: `loss_factors.LAW` with the published spread
/// of the law, the largest one among its losses at the measured point; `parts.X.bends[i].loss_factor` with that of bends; `parts.X.wall.film_factor` with
/// that of films. `fields` are texts as [`super::Fitted::of`] takes them.
///
/// # Errors
/// A law of which the case has no loss at that point, a wall whose film gives no heat, a case that cannot be built there.
pub fn with_priors(case: &Case, fields: &[String]) -> Result<Case, CaseError> {
    let Some(measured) = &case.measured else { return Ok(case.clone()) };
    let numbers = case.numbers();
    let known = |path: &str| numbers.iter().any(|number| number.path == path);
    let paths = fields.iter().flat_map(|field| field.split('=').next().unwrap_or_default().split(',')).map(str::trim);
    let (mut alike, mut priors) = (Vec::new(), Vec::new());
    for path in paths.filter(|path| !known(path)) {
        let law = path.strip_prefix("loss_factors.").filter(|law| LossFactors::laws().any(|known| known == *law));
        let spread = if let Some(law) = law {
            of_law(case, &measured.point, path, law)?
        } else if path.strip_suffix(".loss_factor").is_some_and(|bend| known(&format!("{bend}.angle"))) {
            published::BEND.relative
        } else if let Some(wall) = path.strip_suffix(".film_factor") {
            if !has_film(case, wall) {
                let found = "no film between a wall and the air".to_owned();
                return Err(refusal(case, path, found, "a wall with `temperature` or `in`".to_owned()));
            }
            alike.extend(films_alike(case, &measured.point, wall)?);
            FILM
        } else {
            continue;
        };
        priors.push((path.to_owned(), format!("1 +- {}", (1e3 * spread).round() / 1e3)));
    }
    // What has a prior stands over what stays as it is.
    alike.extend(priors);
    if alike.is_empty() { Ok(case.clone()) } else { case.with_inserted(&alike) }
}

/// Largest published spread over itself among the losses of a law at a point.
fn of_law(case: &Case, point: &str, path: &str, law: &str) -> Result<f64, CaseError> {
    let network = case.build_deviating(point, Deviations::default())?.network;
    let spreads = spreads(&network, &case.at_point(point)?.parts);
    let key = |spread: &PublishedSpread| spread.law.replace(' ', "_");
    let own = spreads.iter().filter(|spread| key(spread) == law).map(|spread| spread.relative);
    own.reduce(f64::max).ok_or_else(|| {
        let laws: BTreeSet<String> = spreads.iter().map(key).collect();
        let laws: Vec<String> = laws.into_iter().collect();
        refusal(case, path, format!("no loss of this law at {point}"), format!("one of: {}", laws.join(", ")))
    })
}

/// The published spreads of all losses on whose law a factor has a say.
fn spreads(network: &Network, parts: &[(String, Part)]) -> Vec<PublishedSpread> {
    let mut found = Vec::new();
    for joint in &network.joints {
        match &joint.kind {
            JointKind::Series(series) => {
                found.extend(series.losses.iter().filter_map(|loss| loss.published_spread()));
                found.extend(series.sides.iter().filter_map(|side| match side {
                    Side::Mouth { air, .. } => Some(air.published_spread()),
                    _ => None,
                }));
            }
            JointKind::Wye(_) => found.push(published::WYE),
        }
    }
    for fittings in &network.fittings {
        if fittings.widening.iter().flatten().any(|drag| *drag > 0.0) {
            found.push(published::WIDENING);
        }
    }
    for (_, part) in parts {
        let Part::Duct(duct) = part else { continue };
        if duct.bends.iter().any(|bend| bend.loss_factor.is_none()) {
            found.push(published::BEND);
        }
        if duct.friction_factor.is_none() {
            found.push(published::FRICTION);
        }
    }
    found.retain(|spread| spread.relative > 0.0);
    found
}

/// Whether a wall gives heat to the air beside it, or takes it.
fn has_film(case: &Case, wall: &str) -> bool {
    ["temperature", "in"].iter().any(|key| case.as_written(&format!("{wall}.{key}")).is_some())
}

/// The films of parts that are written as the part of this wall, by `like`, and give no factor: what it is given is not theirs.
fn films_alike(case: &Case, point: &str, wall: &str) -> Result<Vec<(String, String)>, CaseError> {
    let kind = |part: &str| case.location(&format!("{part}.kind"));
    let part = wall.trim_end_matches(".wall");
    let parts = case.at_point(point)?.parts;
    let others = parts.iter().map(|(name, _)| format!("parts.{name}"));
    let others = others.filter(|other| other != part && kind(other) == kind(part));
    let walls = others.map(|other| format!("{other}.wall")).filter(|wall| has_film(case, wall));
    let open = walls.map(|wall| format!("{wall}.film_factor")).filter(|path| case.as_written(path).is_none());
    Ok(open.map(|path| (path, "1".to_owned())).collect())
}

fn refusal(case: &Case, path: &str, found: String, expected: String) -> CaseError {
    let (location, path) = (case.location(path), path.to_owned());
    CaseError { problems: vec![Problem { location, path, found, expected, nearest: None }] }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TRACT: &str = "points: {bench: {speed: 20 m/s}}
parts:
  nose: {kind: scoop, area: 60 cm2, recovery: 0.8, lip_radius: 2 mm}
  snout: {kind: duct, length: 300 mm, sections: [{at: 0 mm, diameter: 88 mm}, {at: 300 mm, diameter: 110 mm}]}
  box: {kind: plenum, volume: 8 L}
  left: {kind: duct, length: 500 mm, diameter: 70 mm, bends: [{at: 100 mm, angle: 60 deg, radius: 100 mm}], wall: {temperature: 60 degC}}
  right: {like: left}
  bare: {kind: duct, length: 300 mm, diameter: 70 mm}
  a: {kind: draw, flow: 100 g/s}
  b: {kind: draw, flow: 100 g/s}
  c: {kind: draw, flow: 20 g/s}
flow: [[nose, snout, box], [box, left, a], [box, right, b], [box, bare, c]]
measured:
  point: bench
  columns: {p: {tap: box, reads: static, pressure: depression, unit: Pa, accuracy: 10 Pa}}
";

    fn inserted(fields: &[&str]) -> Result<Vec<(String, String)>, String> {
        let case = Case::from_text("tract", TRACT).expect("a case");
        let fields: Vec<String> = fields.iter().map(|field| (*field).to_owned()).collect();
        let with = with_priors(&case, &fields).map_err(|error| error.to_string())?;
        let old = case.numbers();
        let new = with.numbers().into_iter().filter(|number| old.iter().all(|old| old.path != number.path));
        Ok(new.map(|number| (number.path, number.text)).collect())
    }

    #[test]
    fn what_the_case_leaves_out_has_the_published_spread_as_its_prior() {
        for (path, text) in [
            ("loss_factors.bend", "1 +- 0.2"),
            ("loss_factors.wall_friction", "1 +- 0.1"),
            ("loss_factors.widening", "1 +- 0.25"),
            // A sharp entry of half a head, which sources give to 0.05 heads.
            ("loss_factors.sharp_entry", "1 +- 0.1"),
            ("parts.left.bends[0].loss_factor", "1 +- 0.2"),
        ] {
            assert_eq!(inserted(&[path]), Ok(vec![(path.to_owned(), text.to_owned())]));
            assert_eq!(inserted(&[&format!("{path}=1.1 +- 0.3")]), inserted(&[path]), "given behind it");
        }
        assert!(inserted(&["loss_factors.mouth_lip"]).is_ok_and(|new| new.len() == 1));
        // What is like the left tube keeps its own film.
        let [left, right] = ["left", "right"].map(|part| format!("parts.{part}.wall.film_factor"));
        let films = |of_left: &str, of_right: &str| {
            Ok(vec![(left.clone(), of_left.to_owned()), (right.clone(), of_right.to_owned())])
        };
        assert_eq!(inserted(&[&left]), films("1 +- 0.25", "1"));
        assert_eq!(inserted(&[&format!("{left},{right}")]), films("1 +- 0.25", "1 +- 0.25"));
        assert_eq!(inserted(&["parts.box.volume", "parts.left.bends[3].loss_factor"]), Ok(Vec::new()));
    }

    #[test]
    fn what_this_network_does_not_have_is_refused_with_what_it_has() {
        let told = inserted(&["loss_factors.wye"]).expect_err("there is none");
        assert!(told.contains("bend, mouth_lip, sharp_entry, wall_friction, widening"), "{told}");
        for wall in ["parts.bare.wall.film_factor", "parts.lft.wall.film_factor"] {
            let told = inserted(&[wall]).expect_err("there is none");
            assert!(told.contains("a wall with `temperature` or `in`"), "{told}");
        }
    }
}
