//! A duct that opens into a box, and a jet that crosses the box.

use super::{GAS, flow_at, found, measured};
use crate::bench::{CELL, LENGTH};
use crate::case_text::{CaseText, draw, mouth, settled, smooth_duct};
use crate::check::{Failure, Findings, Limit, Row};
use crate::figure::Figure;
use crate::marched::{Reading, Tract};
use tractwright::flow::End;

/// Bore of both ducts [m].
const BORE: f64 = 0.06;

/// Readings in the duct into a box and in the one out of it, and the pressure in the box [Pa], at a velocity [m/s] and with a share of
/// the jet that crosses.
fn through_a_box(velocity: f64, share: f64) -> Result<([Reading; 2], f64), Failure> {
    let crossing = format!("carry_over: [{{from: before, into: behind, share: {share}}}]");
    in_and_out(box_case(velocity, &crossing).line(&["mouth", "before", "box", "behind", "draw"]))
}

/// The same through a step before the box, which nothing of the jet crosses.
fn through_a_step(velocity: f64) -> Result<([Reading; 2], f64), Failure> {
    let line = ["mouth", "before", "step", "box", "behind", "draw"];
    in_and_out(box_case(velocity, "").part("step", "kind: step").line(&line))
}

/// The parts, with further `keys` of the box.
fn box_case(velocity: f64, keys: &str) -> CaseText {
    CaseText::new(1e5, 300.0)
        .part("mouth", mouth(BORE))
        .part("before", smooth_duct(LENGTH, BORE))
        .part("box", format!("kind: plenum, volume: 1 L, {keys}"))
        .part("behind", format!("{}, inlet: {{shape: rounded, radius: {BORE} m}}", smooth_duct(LENGTH, BORE)))
        .part("draw", draw(flow_at(velocity, BORE), 1e5, 300.0))
}

fn in_and_out(case: CaseText) -> Result<([Reading; 2], f64), Failure> {
    let tract = Tract::read(&case.run(settled(CELL)).text())?;
    let marched = tract.march()?;
    let (pressure, _) = marched.volume("box")?;
    Ok(([marched.rake("before", End::Last)?, marched.rake("behind", End::First)?], pressure))
}

pub(super) fn exits() -> Result<Findings, Failure> {
    const COMPRESSED: Limit =
        Limit { value: 3e-3, why: "p0 - p exceeds half rho V^2 by a quarter of Mach squared, here up to 0.1" };
    let points = measured([5.0, 10.0, 20.0, 35.0], |velocity| {
        let ([before, _], pressure) = through_a_box(velocity, 0.0)?;
        Ok((before.total_pressure - pressure) / before.head(GAS))
    })?;
    let row = |&(velocity, found): &(f64, f64)| {
        Row::relative(format!("velocity heads at {velocity} m/s"), found, 1.0, COMPRESSED)
    };
    let ([before, _], pressure) = through_a_step(20.0)?;
    let stepped = (before.total_pressure - pressure) / before.head(GAS);
    let step_row = Row::relative("velocity heads at 20 m/s, through a step", stepped, 1.0, COMPRESSED);
    let compressed = points.iter().map(|&(velocity, _)| {
        let mach = velocity / GAS.sound_speed(300.0);
        (velocity, 1.0 + 0.25 * mach * mach)
    });
    let figure = Figure::new("Exit into a box", "velocity [m/s]", "total-pressure loss / velocity head")
        .computed("marched network", points.clone())
        .reference("one head, compressible", compressed);
    found(points.iter().map(row).chain([step_row]).collect(), figure)
}

pub(super) fn carried() -> Result<Findings, Failure> {
    const LIMIT: Limit = Limit { value: 3e-3, why: "heads of constant density; here Mach is 0.06" };
    /// What the well-rounded entry behind the box loses, Idelchik's diagram 3-4.
    const ENTRY: f64 = 0.03;
    let points = measured([0.0, 0.25, 0.5, 0.75, 0.9, 1.0], |share| {
        let ([before, behind], _) = through_a_box(21.0, share)?;
        Ok((before.total_pressure - behind.total_pressure) / before.head(GAS))
    })?;
    let rows = points.iter().map(|&(share, found)| {
        Row::absolute(format!("heads lost when {share} of the jet cross"), found, 1.0 - share + ENTRY, LIMIT)
    });
    let figure =
        Figure::new("Jet across a box", "share of the jet that crosses", "total-pressure loss / velocity head")
            .computed("marched network", points.clone())
            .reference(
                "head of what stops, and the entry",
                points.iter().map(|&(share, _)| (share, 1.0 - share + ENTRY)),
            );
    found(rows.collect(), figure)
}
