//! Bends: lumped between two ducts, and spread along a duct.

use super::{READ_BACK, along, beside, flow_at, found, lost, measured, picture, published, rows};
use crate::bench::LENGTH;
use crate::case_text::{CaseText, draw, mouth, settled, smooth_duct};
use crate::check::{Failure, Findings, Limit, Row};
use crate::figure::Figure;
use crate::marched::Tract;
use crate::oracle::handbook::{round_bend, smooth_friction};
use crate::oracle::wall::churchill;
use std::f64::consts::PI;
use tractwright::flow::End;

/// Bore [m] of the lumped bends.
const BORE: f64 = 0.08;
/// Reynolds number of the tables.
const REYNOLDS: f64 = 2e5;
/// Radii over bore of the tables.
const RADII: [&str; 7] = ["0.5", "0.75", "1.0", "1.5", "2.0", "3.0", "5.0"];

fn table(ratio: &str, method: &str) -> Result<Vec<(f64, f64)>, Failure> {
    Ok(published("bend_round_smooth_Re2e5", &format!("R/D={ratio};angle_deg"), method)?)
}

fn elbow(ratio: f64, degrees: f64) -> Result<f64, Failure> {
    along(BORE, format!("kind: elbow, angle: {degrees} deg, radius: {} m", ratio * BORE), 21.0)
}

/// Wall friction of the arc of a smooth bend, in heads.
fn arc(ratio: f64, degrees: f64) -> f64 {
    smooth_friction(REYNOLDS) * ratio * degrees * PI / 180.0
}

pub(super) fn elbows() -> Result<Findings, Failure> {
    const TABLE: Limit =
        Limit { value: 7e-3, why: "the table's friction is Colebrook's, the solver's Churchill's: 0.6 % apart" };
    const SPREAD: Limit = Limit { value: 0.2, why: "what handbooks differ by, beyond the band that they span" };
    const WIDE: Limit =
        Limit::none("handbooks of bends below 90 deg or tighter than R/D 0.75 differ by a factor of two");
    let mut all = Vec::new();
    let (mut tabled, mut right_angle, mut rest) = (Vec::new(), Vec::new(), Vec::new());
    let mut figure =
        Figure::new("Elbow", "angle [deg]", "total-pressure loss with the friction of the arc / velocity head");
    for name in RADII {
        let ratio: f64 = name.parse().unwrap_or(f64::NAN);
        let (rennels, miller) = (table(name, "Rennels")?, table(name, "Miller")?);
        let points = measured(rennels.iter().map(|point| point.0), |degrees| elbow(ratio, degrees))?;
        let whole: Vec<_> = points.iter().map(|&(degrees, k)| (degrees, k + arc(ratio, degrees))).collect();
        let without: Vec<_> = rennels.iter().map(|&(degrees, k)| (degrees, k - arc(ratio, degrees))).collect();
        let friction = churchill(REYNOLDS, 0.0);
        let law: Vec<_> = points.iter().map(|&(deg, _)| (deg, round_bend(deg * PI / 180.0, ratio, friction))).collect();
        all.extend(rows(&format!("R/D {ratio}, deg"), &points, &law, READ_BACK));
        tabled.extend(points.iter().zip(without).map(|(point, table)| (point.1, table.1)));
        let others = [miller.clone(), table(name, "Ito").unwrap_or_default()];
        let (square, other): (Vec<_>, Vec<_>) =
            whole.iter().copied().partition(|point| ratio >= 0.75 && (point.0 - 90.0).abs() < 1e-9);
        right_angle.extend(beside(&square, &others));
        rest.extend(beside(&other, &others));
        if ["0.75", "1.0", "2.0", "5.0"].contains(&name) {
            figure = figure
                .computed(format!("R/D {name}"), whole)
                .reference(format!("Rennels, {name}"), rennels)
                .reference(format!("Miller, {name}"), miller);
        }
    }
    all.push(Row::worst("all bends against the table", tabled, TABLE));
    all.push(Row::worst("90 deg, R/D from 0.75: outside the band of Miller and Ito", right_angle, SPREAD));
    all.push(Row::worst("other bends: outside the band of Miller and Ito", rest, WIDE));
    found(all, figure)
}

pub(super) fn mitres() -> Result<Findings, Failure> {
    const SPREAD: Limit = Limit { value: 0.35, why: "Crane's and Rennels' mitres differ by 18 to 30 %" };
    let of = |method| published("mitre_bend", "angle_deg", method);
    let (law, crane) = (of("0.42 sin")?, of("Crane")?);
    let points = measured(law.iter().map(|point| point.0), |degrees| elbow(0.0, degrees))?;
    let mut all = rows("deg", &points, &law, READ_BACK);
    all.push(Row::worst("against Crane", beside(&points, std::slice::from_ref(&crane)), SPREAD));
    found(all, picture("Mitre", "angle [deg]", &points, ("Rennels", &law)).reference("Crane", crane))
}

/// Heads lost in a duct that is one bend from end to end.
fn duct_bend(ratio: f64, degrees: f64) -> Result<f64, Failure> {
    // Wide, so that the Reynolds number of the tables comes at a Mach number of 0.04.
    const WIDE: f64 = 0.22;
    let length = ratio * WIDE * degrees * PI / 180.0;
    let (density, viscosity) = (1e5 / (super::GAS.gas_constant * 300.0), crate::oracle::filter::sutherland(300.0));
    let velocity = REYNOLDS * viscosity / (density * WIDE);
    let bend = format!("{{at: 0 m, angle: {degrees} deg, radius: {} m}}", ratio * WIDE);
    let cell = length / 6.0;
    let text = CaseText::new(1e5, 300.0)
        .part("mouth", mouth(WIDE))
        .part("before", smooth_duct(LENGTH, WIDE))
        .part(
            "bend",
            format!(
                "kind: duct, length: {length} m, diameter: {WIDE} m, roughness: 0 m, cell: {cell} m, bends: [{bend}]"
            ),
        )
        .part("behind", smooth_duct(LENGTH, WIDE))
        .part("draw", draw(flow_at(velocity, WIDE), 1e5, 300.0))
        .line(&["mouth", "before", "bend", "behind", "draw"])
        .run(settled(cell))
        .text();
    let tract = Tract::read(&text)?;
    let marched = tract.march()?;
    let (before, behind) = (marched.rake("bend", End::First)?, marched.rake("bend", End::Last)?);
    Ok(lost(&before, &behind) / (0.5 * (before.head(super::GAS) + behind.head(super::GAS))))
}

pub(super) fn duct_bends() -> Result<Findings, Failure> {
    const LIMIT: Limit =
        Limit { value: 1e-2, why: "Churchill's law of friction for Prandtl's, within 0.6 % for a smooth wall" };
    let mut all = Vec::new();
    let mut figure = Figure::new("Bend of a duct", "angle [deg]", "total-pressure loss / velocity head");
    for name in ["1.0", "2.0", "5.0"] {
        let ratio: f64 = name.parse().unwrap_or(f64::NAN);
        let rennels = table(name, "Rennels")?;
        let points = measured(rennels.iter().map(|point| point.0), |degrees| duct_bend(ratio, degrees))?;
        all.extend(rows(&format!("R/D {ratio}, deg"), &points, &rennels, LIMIT));
        figure = figure.computed(format!("R/D {name}"), points).reference(format!("Rennels, {name}"), rennels);
    }
    found(all, figure)
}
