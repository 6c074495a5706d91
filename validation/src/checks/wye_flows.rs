//! Coefficients of wyes, measured with rakes in the three ducts of a marched network.

use crate::bench::{CELL, LENGTH};
use crate::case_text::{CaseText, draw, mouth, settled, smooth_duct};
use crate::check::{Failure, Findings, Limit, Measure, Row};
use crate::data::{self, DataError};
use crate::figure::Figure;
use crate::marched::Tract;
use crate::oracle::handbook::{hager_branch, idelchik_run, momentum_joining};
use crate::oracle::perfect_gas::PerfectGas;
use rayon::prelude::*;
use std::f64::consts::PI;
use tractwright::flow::End;

const GAS: PerfectGas = PerfectGas::AIR;
/// Bore of the common duct [m].
const BORE: f64 = 0.06;
/// Mass flow through it [kg/s]: Mach 0.026, and twice that in a narrow branch.
const FLOW: f64 = 0.03;
/// Shares of the branch.
const SHARES: [f64; 6] = [0.1, 0.25, 0.4, 0.6, 0.8, 0.95];
/// Key of a draw that takes more at more pressure, and so throws back less sound: what rings is gone sooner.
const ABSORBING: &str = "slope: 5";

const CLOSED_FORM: Limit = Limit { value: 1e-2, why: "a closed form of constant density; here Mach is below 0.06" };
const SPREAD: Limit = Limit { value: 0.2, why: "what the sources differ by; beyond the band that they span" };

/// A wye of which two legs take from a common one, or feed it.
#[derive(Debug, Clone, Copy)]
struct Shape {
    joining: bool,
    /// What air between the common leg and each of the others is turned by [deg]: the branch, the run.
    degrees: [f64; 2],
    /// Their areas over that of the common leg.
    areas: [f64; 2],
}

/// A marched wye: the share of the branch, and the coefficients of branch and run on the head of the common leg.
#[derive(Debug, Clone, Copy)]
struct Split {
    share: f64,
    coefficients: [f64; 2],
}

impl Shape {
    fn tee(joining: bool, degrees: f64, area: f64) -> Self {
        Self { joining, degrees: [degrees, 0.0], areas: [area, 1.0] }
    }

    /// The wye with a share of the flow through the branch.
    fn measure(&self, share: f64) -> Result<Split, Failure> {
        let [branch, run] = self.degrees;
        let case = CaseText::new(1e5, 300.0)
            .part("y", format!("kind: wye, legs: {{common: 0 deg, branch: {branch} deg, run: {} deg}}", -run))
            .part("common", smooth_duct(LENGTH, BORE))
            .part("branch", smooth_duct(LENGTH, BORE * self.areas[0].sqrt()))
            .part("run", smooth_duct(LENGTH, BORE * self.areas[1].sqrt()));
        let taken = |flow: f64| format!("{}, {ABSORBING}", draw(flow, 1e5, 300.0));
        let case = if self.joining {
            case.part("feed", format!("kind: inflow, flow: {} kg/s, temperature: 300 K", share * FLOW))
                .part("mouth", mouth(BORE * self.areas[1].sqrt()))
                .part("draw", taken(FLOW))
                .line(&["feed", "branch", "y.branch"])
                .line(&["mouth", "run", "y.run"])
                .line(&["y.common", "common", "draw"])
        } else {
            case.part("mouth", mouth(BORE))
                .part("branch_draw", taken(share * FLOW))
                .part("run_draw", taken((1.0 - share) * FLOW))
                .line(&["mouth", "common", "y.common"])
                .line(&["y.branch", "branch", "branch_draw"])
                .line(&["y.run", "run", "run_draw"])
        };
        let tract = Tract::read(&case.run(settled(CELL)).text())?;
        let marched = tract.march()?;
        let (end, far, sign) = if self.joining { (End::First, End::Last, -1.0) } else { (End::Last, End::First, 1.0) };
        let common = marched.rake("common", end)?;
        let legs = [marched.rake("branch", far)?, marched.rake("run", far)?];
        let coefficient = |leg: usize| sign * (common.total_pressure - legs[leg].total_pressure) / common.head(GAS);
        Ok(Split { share: legs[0].mass_flow / common.mass_flow, coefficients: [coefficient(0), coefficient(1)] })
    }

    fn sweep(&self) -> Result<Vec<Split>, Failure> {
        SHARES.into_par_iter().map(|share| self.measure(share)).collect()
    }
}

/// A curve over the share of the branch.
type Curve = Vec<(f64, f64)>;

/// Columns of the table at one angle [deg] and area ratio: of branch and run, by three sources.
fn published(joining: bool, degrees: f64, area: f64) -> Result<[[Curve; 3]; 2], DataError> {
    const COLUMNS: [[&str; 3]; 2] = [["K_branch_A", "K_branch_B", "K_branch_G"], ["K_run_A", "K_run_B", "K_run_G"]];
    let mut curves: [[Curve; 3]; 2] = Default::default();
    for row in data::rows(data::JUNCTION_LOSSES)? {
        let here = (row.text("flow")? == "combining") == joining
            && (row.number("angle_deg")? - degrees).abs() < 1e-9
            && (row.number("phi_Ab_Ac")? - area).abs() < 1e-9;
        if here {
            for (leg, columns) in COLUMNS.iter().enumerate() {
                for (source, column) in columns.iter().enumerate() {
                    curves[leg][source].push((row.number("q_mb_mc")?, row.number(column)?));
                }
            }
        }
    }
    Ok(curves)
}

/// Value of a curve between its points.
fn between(curve: &Curve, at: f64) -> f64 {
    let inside = curve.windows(2).find(|pair| at <= pair[1].0 && at >= pair[0].0);
    inside.map_or(f64::NAN, |pair| pair[0].1 + (pair[1].1 - pair[0].1) * (at - pair[0].0) / (pair[1].0 - pair[0].0))
}

/// A coefficient, and the nearest value of the band that the sources span.
fn beside_band(found: f64, share: f64, sources: &[Curve; 3]) -> (f64, f64) {
    let values = sources.iter().map(|curve| between(curve, share));
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |band, k| (band.0.min(k), band.1.max(k)));
    (found, if low <= high { found.clamp(low, high) } else { f64::NAN })
}

/// Widest distance between two sources at a share that was measured.
fn widest(splits: &[Split], sources: &[Curve; 3]) -> f64 {
    let width = |split: &Split| {
        let values = sources.each_ref().map(|curve| between(curve, split.share));
        values.iter().fold(f64::NEG_INFINITY, |most: f64, k| most.max(*k))
            - values.iter().fold(f64::INFINITY, |least: f64, k| least.min(*k))
    };
    splits.iter().map(width).fold(0.0, f64::max)
}

/// Rows of tees at four angles and two areas, where streams join or divide.
fn tees(joining: bool) -> Result<Findings, Failure> {
    let names = if joining { ["momentum balance", "Idelchik", "Gardel"] } else { ["Hager", "Idelchik", "Gardel"] };
    let word = if joining { "joining" } else { "dividing" };
    let mut findings = Findings::default();
    for (degrees, area) in [30.0, 45.0, 60.0, 90.0].into_iter().flat_map(|deg| [(deg, 1.0), (deg, 0.5)]) {
        let splits = Shape::tee(joining, degrees, area).sweep()?;
        let published = published(joining, degrees, area)?;
        let title = format!("{word} at {degrees} deg, area ratio {area}");
        if !joining {
            let hager = splits.iter().map(|split| (split.coefficients[0], hager_branch(degrees, split.share / area)));
            let idelchik = splits.iter().map(|split| (split.coefficients[1], idelchik_run(split.share)));
            let row = |name: &str, pairs: Vec<_>| {
                Row::worst_by(Measure::Absolute, format!("{title}: {name}"), pairs, CLOSED_FORM)
            };
            findings.rows.push(row("branch against Hager", hager.collect()));
            findings.rows.push(row("run against Idelchik", idelchik.collect()));
        }
        for (leg, name) in ["branch", "run"].into_iter().enumerate() {
            let pairs = splits.iter().map(|split| beside_band(split.coefficients[leg], split.share, &published[leg]));
            let spread = widest(&splits, &published[leg]);
            let quantity = format!("{title}: {name} beside three sources, which spread by {spread:.2}");
            findings.rows.push(Row::worst_by(Measure::Absolute, quantity, pairs, SPREAD));
            let mut figure = Figure::new(
                format!("Tee {title}: {name}"),
                "share of the branch",
                "total-pressure loss / head of the common leg",
            )
            .computed("marched network", splits.iter().map(|split| (split.share, split.coefficients[leg])));
            for (source, curve) in names.into_iter().zip(&published[leg]) {
                figure = figure.reference(source, curve.clone());
            }
            findings.figures.push(figure);
        }
    }
    Ok(findings)
}

/// Tees whose streams divide.
///
/// # Errors
/// The solver refused or stopped.
pub fn dividing() -> Result<Findings, Failure> {
    tees(false)
}

/// Tees whose streams join.
///
/// # Errors
/// The solver refused or stopped.
pub fn joining() -> Result<Findings, Failure> {
    tees(true)
}

/// Wyes whose two legs are turned alike.
///
/// # Errors
/// The solver refused or stopped.
pub fn symmetrical() -> Result<Findings, Failure> {
    const ALIKE: Limit = Limit { value: 1e-6, why: "two legs that mirror each other" };
    const THRUST: Limit =
        Limit { value: 0.2, why: "the leg opposite to where a stream is turned bears its push; within the spread" };
    const NO_TABLE: Limit = Limit::none("a balance with equal pressures in both legs; no measured values at hand");
    let mut findings = Findings::default();
    for (degrees, area) in [(30.0, 1.0), (30.0, 0.5), (45.0, 0.5), (60.0, 0.5)] {
        for joining in [false, true] {
            let shape = Shape { joining, degrees: [degrees; 2], areas: [area; 2] };
            let splits = shape.sweep()?;
            let (word, limit) = match joining {
                true => ("joining", NO_TABLE),
                false if degrees > 45.0 => ("dividing", THRUST),
                false => ("dividing", CLOSED_FORM),
            };
            let law = |share: f64| match joining {
                true => momentum_joining(degrees, area, share),
                false => hager_branch(degrees, share / area),
            };
            // The run is the other leg, with the other share.
            let points: Curve = splits
                .iter()
                .flat_map(|split| [(split.share, split.coefficients[0]), (1.0 - split.share, split.coefficients[1])])
                .collect();
            let title = format!("symmetrical, {word} at {degrees} deg, area ratio {area}");
            let against = if joining { "momentum balance" } else { "Hager, each leg by its own turn" };
            let pairs = points.iter().map(|&(share, found)| (found, law(share)));
            findings.rows.push(Row::worst_by(Measure::Absolute, format!("{title}: {against}"), pairs, limit));
            if !joining {
                let even = shape.measure(0.5)?.coefficients;
                findings.rows.push(Row::absolute(format!("{title}: legs at an even split"), even[0], even[1], ALIKE));
            }
            let line = (1..20).map(|step| 0.05 * f64::from(step));
            let up = "total-pressure loss / head of the common leg";
            findings.figures.push(
                Figure::new(format!("Wye, {title}"), "share of the leg", up)
                    .computed("marched network", points)
                    .reference(against, line.map(|share| (share, law(share)))),
            );
        }
    }
    Ok(findings)
}

/// Total dissipation of wyes around all six patterns of flow, over the highest velocity head and the largest flow.
#[must_use]
pub fn dissipation(name: &str, areas: [f64; 3], law: impl Fn([f64; 3]) -> [f64; 3]) -> Figure {
    let narrowest = areas.into_iter().fold(f64::INFINITY, f64::min);
    let points = (0..=360).map(|degree| {
        let flows = super::wye::around(f64::from(degree) * PI / 180.0);
        let sum: f64 = flows.iter().zip(law(flows)).map(|(flow, offset)| flow * offset).sum();
        (f64::from(degree), sum * narrowest * narrowest)
    });
    let title = format!("Dissipation around all patterns of flow: {name}");
    Figure::new(title, "angle around the patterns [deg]", "dissipation / head and flow")
        .computed("law", points)
        .reference("none", [(0.0, 0.0), (360.0, 0.0)])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_leaves_the_band_is_seen() {
        let sources = [vec![(0.0, 0.0), (1.0, 1.0)], vec![(0.0, 0.2), (1.0, 1.2)], vec![(0.0, 0.1), (1.0, 1.1)]];
        assert!((beside_band(0.6, 0.5, &sources).1 - 0.6).abs() < 1e-15);
        assert!((beside_band(0.9, 0.5, &sources).1 - 0.7).abs() < 1e-12);
        assert!(beside_band(0.9, 1.5, &sources).1.is_nan());
    }
}
