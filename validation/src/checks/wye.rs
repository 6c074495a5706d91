//! Wyes: their law and the joint that balances it, through all patterns of flow; published coefficients; weak waves.

use crate::check::{Check, Failure, Findings, Group, Limit, Measure, Row, rows_only};
use crate::checks::{wye_flows, wye_waves};
use crate::data;
use std::f64::consts::PI;
use tractwright::loss::wye::Wye;

/// Checks of wyes.
pub const GROUP: Group = Group {
    name: "wye",
    about: "junctions of three ducts through all six patterns of flow",
    checks: &[
        Check {
            name: "wye_law",
            about: "offsets of the legs of a tee, a branch at 45 degrees and a symmetrical wye: no jump, no gain",
            source: "second law; continuity of the flow around a junction",
            run: law,
        },
        Check {
            name: "wye_joint",
            about: "the same wyes balanced between three ducts: no jump, no gain, mass and energy kept",
            source: "second law; conservation of mass and energy",
            run: || {
                let rows: Result<Vec<_>, Failure> = SHAPES.iter().map(wye_waves::joint_rows).collect();
                rows_only(Ok(rows?.concat()))
            },
        },
        Check {
            name: "wye_coefficients",
            about: "losses of branches and runs, dividing and joining",
            source: "Hager (1984), Proc. IMechE 198C, 63; Idelchik (1994), chapter 7; Gardel (1957): the last two from memory",
            run: || rows_only(coefficients()),
        },
        Check {
            name: "wye_dividing",
            about: "tees between three ducts whose streams divide, over the share of the branch",
            source: "Hager (1984), Proc. IMechE 198C, 63; Idelchik (1994), chapter 7, and Gardel (1957), both from memory",
            run: wye_flows::dividing,
        },
        Check {
            name: "wye_joining",
            about: "tees between three ducts whose streams join, over the share of the branch",
            source: "momentum balance (Vazsonyi); Idelchik (1994), chapter 7, and Gardel (1957), both from memory",
            run: wye_flows::joining,
        },
        Check {
            name: "wye_symmetrical",
            about: "wyes whose legs are turned alike, dividing and joining",
            source: "Hager (1984), each leg by its own turn; momentum balance where streams join (derived)",
            run: wye_flows::symmetrical,
        },
        Check {
            name: "wye_pulse",
            about: "share of a weak pulse that goes on into each of two ducts, and that comes back",
            source: "Kinsler et al. (2000), Fundamentals of Acoustics, 4th ed., section 10.10: T = 2 A1 / sum A",
            run: || rows_only(wye_waves::pulse()),
        },
    ],
};

/// A wye: what each leg turns air from the first one by [deg], and the areas of the legs over that of the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    /// Name in rows.
    pub name: &'static str,
    /// Turns [deg].
    pub degrees: [f64; 3],
    /// Areas.
    pub areas: [f64; 3],
}

const SHAPES: [Shape; 4] = [
    Shape { name: "tee", degrees: [0.0, 0.0, 90.0], areas: [1.0, 1.0, 1.0] },
    Shape { name: "branch at 45 deg", degrees: [0.0, 0.0, 45.0], areas: [1.0, 1.0, 0.5] },
    Shape { name: "symmetrical wye", degrees: [0.0, 35.0, -35.0], areas: [1.0, 1.0, 1.0] },
    Shape { name: "symmetrical wye, narrow legs", degrees: [0.0, 60.0, -60.0], areas: [1.0, 0.5, 0.5] },
];

/// Points of a sweep.
pub const POINTS: u32 = 3600;

/// Three numbers that sum to nothing, at an angle [rad] around the circle of all patterns. A full turn meets each of the six: one leg or
/// two legs in, with each leg the odd one.
#[must_use]
pub fn around(angle: f64) -> [f64; 3] {
    let third = 2.0 * PI / 3.0;
    [0.0, third, 2.0 * third].map(|shift| libm::cos(angle + shift))
}

impl Shape {
    /// The law of the solver.
    #[must_use]
    pub fn law(&self) -> Wye {
        Wye::new(&self.degrees.map(|degrees| degrees * PI / 180.0), 1.0)
    }

    /// Total pressures of the legs over that of a common datum at these flows, in heads of a unit flow in the first leg.
    fn offsets(&self, flows: [f64; 3]) -> [f64; 3] {
        let (law, legs) = (self.law(), [0, 1, 2]);
        let heads = legs.map(|leg| (flows[leg] / self.areas[leg]) * (flows[leg] / self.areas[leg]));
        legs.map(|leg| law.offset(leg, &flows, &heads))
    }
}

fn law() -> Result<Findings, Failure> {
    let mut findings = Findings::from(SHAPES.iter().flat_map(law_rows).collect::<Vec<_>>());
    for shape in &SHAPES {
        findings = findings.with(wye_flows::dissipation(shape.name, shape.areas, |flows| shape.offsets(flows)));
    }
    Ok(findings)
}

fn law_rows(shape: &Shape) -> Vec<Row> {
    let narrowest = shape.areas.iter().copied().fold(f64::INFINITY, f64::min);
    sweep_rows(shape.name, |flows| shape.offsets(flows), 1.0 / (narrowest * narrowest))
}

/// Rows of a law that gives the total pressures of the legs from unit flows into the wye; `scale` is the highest velocity head.
#[must_use]
pub fn sweep_rows(name: &str, law: impl Fn([f64; 3]) -> [f64; 3], scale: f64) -> Vec<Row> {
    const GAIN: Limit = Limit { value: 1e-12, why: "round-off; the second law allows none" };
    let step = 2.0 * PI / f64::from(POINTS);
    // A law without a jump moves by at most its slope times the step.
    let jump = Limit { value: 30.0 * step, why: "thirty heads a radian, some ten times the steepest published slope" };
    let answers: Vec<_> = (0..=POINTS).map(|point| around(f64::from(point) * step)).map(|q| (q, law(q))).collect();
    let dissipation = |(flows, offsets): &([f64; 3], [f64; 3])| -> f64 {
        flows.iter().zip(offsets).map(|(flow, offset)| flow * offset).sum::<f64>() / scale
    };
    let least =
        answers.iter().map(dissipation).fold(f64::INFINITY, |least, now| if now >= least { least } else { now });
    let moved = answers.windows(2).flat_map(|pair| {
        // Offsets share a datum, so differences between legs are what counts.
        (0..3).map(move |leg| {
            let between = |offsets: &[f64; 3]| offsets[leg] - offsets[(leg + 1) % 3];
            ((between(&pair[1].1) - between(&pair[0].1)).abs() / scale, 0.0)
        })
    });
    vec![
        Row::worst_by(Measure::Absolute, format!("{name}: step between neighbours, over the head"), moved, jump),
        Row::at_least(format!("{name}: least dissipation, over head and flow"), least, 0.0, GAIN),
    ]
}

/// Coefficients of branch and run on the head of the common leg, of a branch at an angle [deg] of `area` times the other two that takes
/// the share `q`.
fn tee(joining: bool, degrees: f64, area: f64, q: f64) -> [f64; 2] {
    // The first leg is the common one where streams divide, the run where they join: there the branch turns by what is left of 180.
    let (degrees, areas, common) = if joining {
        ([0.0, 0.0, 180.0 - degrees], [1.0, 1.0, area], 1)
    } else {
        ([0.0, 0.0, degrees], [1.0, 1.0, area], 0)
    };
    let (sign, run) = if joining { (-1.0, 0) } else { (1.0, 1) };
    let mut flows = [0.0; 3];
    (flows[common], flows[run], flows[2]) = (sign, sign * (q - 1.0), -sign * q);
    let offsets = Shape { name: "", degrees, areas }.offsets(flows);
    [2, run].map(|leg| sign * (offsets[common] - offsets[leg]))
}

fn coefficients() -> Result<Vec<Row>, Failure> {
    const FORMULA: Limit = Limit { value: 1e-7, why: "the same closed formula; the table has 8 digits" };
    const SPREAD: Limit = Limit { value: 0.2, why: "what the sources differ by; beyond the band that they span" };
    let (mut hager, mut run, mut branches, mut runs) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for row in data::rows(data::JUNCTION_LOSSES)? {
        let (value, joining) = (|column| row.number(column), row.text("flow")? == "combining");
        let (degrees, area, q) = (value("angle_deg")?, value("phi_Ab_Ac")?, value("q_mb_mc")?);
        let [branch, straight] = tee(joining, degrees, area, q);
        branches.push((branch, nearest(branch, &row, ["K_branch_A", "K_branch_B", "K_branch_G"])?));
        runs.push((straight, nearest(straight, &row, ["K_run_A", "K_run_B", "K_run_G"])?));
        if !joining {
            hager.push((branch, value("K_branch_A")?));
            run.push((straight, value("K_run_B")?));
        }
    }
    let worst = |name, pairs, limit| Row::worst_by(Measure::Absolute, name, pairs, limit);
    Ok(vec![
        worst("dividing branch, Hager", hager, FORMULA),
        worst("dividing run, Idelchik", run, FORMULA),
        worst("branch against the nearest of three sources", branches, SPREAD),
        worst("run against the nearest of three sources", runs, SPREAD),
    ])
}

/// `found` itself where it lies among the published values, the nearest of them where it does not.
fn nearest(found: f64, row: &data::Row, columns: [&str; 3]) -> Result<f64, data::DataError> {
    let values = columns.iter().map(|column| row.number(column)).collect::<Result<Vec<_>, _>>()?;
    let bound = |keep: fn(f64, f64) -> f64| values.iter().copied().reduce(keep).unwrap_or(f64::NAN);
    Ok(found.clamp(bound(f64::min), bound(f64::max)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A wye that loses the velocity head of each leg, wherever it flows.
    fn lossy(flows: [f64; 3]) -> [f64; 3] {
        flows.map(|flow| flow * flow.abs())
    }

    #[test]
    fn all_six_patterns_are_met() {
        let signs: std::collections::BTreeSet<[bool; 3]> = (0..POINTS)
            .map(|point| around(2.0 * PI * (f64::from(point) + 0.5) / f64::from(POINTS)).map(|flow| flow > 0.0))
            .collect();
        assert_eq!(signs.len(), 6);
    }

    #[test]
    fn a_smooth_wye_holds_and_one_that_jumps_or_gains_does_not() {
        assert!(sweep_rows("", lossy, 1.0).iter().all(Row::holds));
        let shifted = |flows: [f64; 3]| lossy(flows).map(|offset| if flows[0] > 0.5 { offset + 0.5 } else { offset });
        assert!(sweep_rows("", shifted, 1.0)[0].holds(), "a common shift is no jump");
        let torn = |flows: [f64; 3]| {
            let [first, second, third] = lossy(flows);
            [if flows[0] > 0.5 { first + 0.5 } else { first }, second, third]
        };
        assert!(!sweep_rows("", torn, 1.0)[0].holds());
        assert!(!sweep_rows("", |flows| lossy(flows).map(|offset| -offset), 1.0)[1].holds());
    }
}
