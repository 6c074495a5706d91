//! Ducts that widen or narrow over a cone.

use super::{GAS, beside, disc, found, lost, published, rows};
use crate::bench::{CELL, LENGTH};
use crate::case_text::{CaseText, draw, mouth, settled, smooth_duct};
use crate::check::{Failure, Findings, Limit, Row};
use crate::figure::Figure;
use crate::marched::Tract;
use rayon::prelude::*;
use std::f64::consts::PI;
use tractwright::flow::End;

/// Narrow bore [m]: large, so that steep cones are not short beside the cells of the ducts.
const NARROW: f64 = 0.5;
/// Cells of a cone.
const CELLS: f64 = 16.0;
/// Velocity in the narrow section [m/s]: Mach 0.06.
const VELOCITY: f64 = 21.0;
/// Key of a draw that takes more at more pressure, and so throws back less sound: what rings is gone sooner.
const ABSORBING: &str = "slope: 5";

/// Heads of the narrow section lost in a cone from one bore to the other [m] of a full angle [deg] on some cells, with or without the law
/// of separation.
fn cone([from, to]: [f64; 2], degrees: f64, cells: f64, separation: &str) -> Result<f64, Failure> {
    let length = 0.5 * (to - from).abs() / libm::tan(degrees * PI / 360.0);
    let sections = format!("[{{at: 0 m, diameter: {from} m}}, {{at: {length} m, diameter: {to} m}}]");
    let cell = length / cells;
    let flow = 1e5 / (GAS.gas_constant * 300.0) * VELOCITY * disc(NARROW);
    let text = CaseText::new(1e5, 300.0)
        .part("mouth", mouth(from))
        .part("before", smooth_duct(LENGTH, from))
        .part(
            "cone",
            format!(
                "kind: duct, length: {length} m, friction_factor: 0, separation: {separation}, cell: {cell} m, \
                 sections: {sections}"
            ),
        )
        .part("behind", smooth_duct(LENGTH, to))
        .part("draw", format!("{}, {ABSORBING}", draw(flow, 1e5, 300.0)))
        .line(&["mouth", "before", "cone", "behind", "draw"])
        .run(settled(CELL))
        .text();
    let tract = Tract::read(&text)?;
    let marched = tract.march()?;
    let (before, behind) = (marched.rake("cone", End::First)?, marched.rake("cone", End::Last)?);
    let narrow = if from < to { before } else { behind };
    Ok(lost(&before, &behind) / narrow.head(GAS))
}

/// Heads that the law of separation adds in a cone that widens to an area ratio. The scheme's own loss, which goes with the cells, is the
/// same with it and without.
fn separated(ratio: f64, degrees: f64) -> Result<f64, Failure> {
    let bores = [NARROW, NARROW / ratio.sqrt()];
    Ok(cone(bores, degrees, CELLS, "yes")? - cone(bores, degrees, CELLS, "no")?)
}

/// Rows of what the scheme itself loses in a cone without any law, on finer and finer cells.
fn own_loss(name: &str, bores: [f64; 2]) -> Result<Vec<Row>, Failure> {
    const OWN: Limit =
        Limit { value: 2e-2, why: "a tenth of what handbooks differ by in a sudden change of this area" };
    const ORDER: Limit =
        Limit { value: 0.0, why: "the scheme is of second order; the kinks at the ends of the cone are not" };
    let losses = [12.0, 24.0, 48.0].map(|cells| cone(bores, 20.0, cells, "no"));
    let [coarse, middle, fine] = losses;
    let (coarse, middle, fine) = (coarse?, middle?, fine?);
    Ok(vec![
        Row::absolute(format!("{name}: heads lost without a law, 12 cells"), coarse, 0.0, Limit::none("a coarse grid")),
        Row::absolute(format!("{name}: heads lost without a law, 24 cells"), middle, 0.0, OWN),
        Row::absolute(format!("{name}: heads lost without a law, 48 cells"), fine, 0.0, OWN),
        Row::at_least(format!("{name}: order from 24 to 48 cells"), libm::log2(middle / fine), 1.4, ORDER),
    ])
}

pub(super) fn own() -> Result<Findings, Failure> {
    let (narrow, wide) = (NARROW, NARROW / f64::sqrt(0.5));
    let mut rows = own_loss("widening", [narrow, wide])?;
    rows.extend(own_loss("narrowing", [wide, narrow])?);
    Ok(Findings::from(rows))
}

pub(super) fn diffusers() -> Result<Findings, Failure> {
    const FORMULA: Limit =
        Limit { value: 5e-3, why: "the law is spread over 16 cells; heads of constant density, Mach 0.06" };
    const SPREAD: Limit = Limit { value: 0.25, why: "what handbooks differ by, beyond the band that they span" };
    const SLIM: Limit = Limit::none("below 20 deg friction rules, which the others count in and the duct has apart");
    let mut all = Vec::new();
    let mut figure =
        Figure::new("Cone that widens", "full angle [deg]", "total-pressure loss / head of the narrow section");
    for ratio in [0.4, 0.64] {
        let parameter = format!("A1/A2={ratio};theta_total_deg");
        let of = |method| published("conical_diffuser", &parameter, method);
        let (mut law, crane, rennels) = (of("3.2 tan")?, of("2.6 sin")?, of("Rennels")?);
        // Beyond this Idelchik's formula exceeds the sudden expansion, which the solver does not.
        law.push((60.0, (1.0 - ratio) * (1.0 - ratio)));
        let measure = |degrees: f64| Ok((degrees, separated(ratio, degrees)?));
        let points: Vec<(f64, f64)> = law.par_iter().map(|point| measure(point.0)).collect::<Result<_, Failure>>()?;
        all.extend(rows(&format!("area ratio {ratio}, deg"), &points, &law, FORMULA));
        let others = [crane.clone(), rennels.clone()];
        let (steep, slim): (Vec<_>, Vec<_>) = points.iter().copied().partition(|point| point.0 >= 20.0);
        let quantity =
            |which: &str| format!("area ratio {ratio}, {which} cones: outside the band of Crane and Rennels");
        all.push(Row::worst(quantity("steep"), beside(&steep, &others), SPREAD));
        all.push(Row::worst(quantity("slim"), beside(&slim, &others), SLIM));
        figure = figure
            .computed(format!("A1/A2 {ratio}"), points)
            .reference(format!("Idelchik, {ratio}"), law)
            .reference(format!("Crane, {ratio}"), crane)
            .reference(format!("Rennels with friction, {ratio}"), rennels);
    }
    found(all, figure)
}

pub(super) fn contractions() -> Result<Findings, Failure> {
    const NO_LAW: Limit = Limit::none(
        "the solver has no law for it beside wall friction; what is found is the scheme's own loss on 16 cells",
    );
    let parameter = "A2/A1=0.5;theta_total_deg";
    let of = |method| published("conical_contraction", parameter, method);
    let (rennels, crane) = (of("Rennels")?, of("0.8 sin")?);
    let places: Vec<f64> = rennels.iter().map(|point| point.0).filter(|&degrees| degrees <= 60.0).collect();
    let measure = |&degrees: &f64| Ok((degrees, cone([NARROW / f64::sqrt(0.5), NARROW], degrees, CELLS, "yes")?));
    let points: Vec<(f64, f64)> = places.par_iter().map(measure).collect::<Result<_, Failure>>()?;
    let row = |(found, expected): (&(f64, f64), &(f64, f64))| {
        Row::absolute(format!("heads lost, area ratio 0.5, {} deg", expected.0), found.1, expected.1, NO_LAW)
    };
    let all = points.iter().zip(&rennels).map(row).collect();
    let figure =
        Figure::new("Cone that narrows", "full angle [deg]", "total-pressure loss / head of the narrow section")
            .computed("marched network", points)
            .reference("Rennels with friction", rennels)
            .reference("Crane", crane);
    found(all, figure)
}
