//! Losses without length, measured with rakes close before and behind them in a marched network.

use crate::bench::Bench;
use crate::check::{Check, Failure, Findings, Group, Limit, Row};
use crate::data::{self, DataError};
use crate::figure::Figure;
use crate::marched::Reading;
use crate::oracle::perfect_gas::PerfectGas;
use rayon::prelude::*;
use std::f64::consts::PI;

mod area_changes;
mod bends;
mod cones;
mod entries;
mod exits;
mod screens;

/// Checks of losses without length.
pub const GROUP: Group = Group {
    name: "losses",
    about: "handbook losses read back from marched networks",
    checks: &[
        Check {
            name: "entry_loss",
            about: "edges between the outside and a duct: sharp, protruding, rounded in a wall",
            source: "Idelchik, Handbook of Hydraulic Resistance, 3rd ed. (1994), diagram 3-4; Miller (1990), Rennels and Hudson (2012), \
                     Crane TP-410 for the spread",
            run: entries::rounded,
        },
        Check {
            name: "flare_loss",
            about: "flares whose rim stands free",
            source: "Idelchik (1994), diagram 3-4 without end wall, from memory",
            run: entries::flared,
        },
        Check {
            name: "lip_loss",
            about: "lips of a mouth on a car at rest",
            source: "Idelchik (1994), diagram 3-4 without end wall, from memory",
            run: entries::lips,
        },
        Check {
            name: "exit_loss",
            about: "a duct that opens into a box",
            source: "Borda and Carnot: one velocity head, exact for a uniform stream",
            run: exits::exits,
        },
        Check {
            name: "carry_over",
            about: "a jet that crosses a box and goes on into the duct that it faces",
            source: "Borda and Carnot for the part that stops; a stated share that crosses is common practice, no source",
            run: exits::carried,
        },
        Check {
            name: "sudden_expansion",
            about: "a step to a wider duct, up to Mach 0.8",
            source: "Borda and Carnot in compressible form: Benedict et al. (1966), Trans. ASME J. Eng. Power 88, 67",
            run: area_changes::expansions,
        },
        Check {
            name: "sudden_contraction",
            about: "a step to a narrower duct",
            source: "Idelchik (1994), diagram 4-9, from memory; Rennels and Hudson (2012), Crane TP-410 for the spread",
            run: area_changes::contractions,
        },
        Check {
            name: "diffuser_loss",
            about: "a duct that widens over a cone, friction apart",
            source: "Idelchik (1994), section 5, from memory; Rennels and Hudson (2012), Crane TP-410 (Gibson) for the spread",
            run: cones::diffusers,
        },
        Check {
            name: "narrowing_cone",
            about: "a duct that narrows over a cone, friction apart",
            source: "Rennels and Hudson (2012), chapter 10, with the friction of the cone; Crane TP-410",
            run: cones::contractions,
        },
        Check {
            name: "cone_scheme",
            about: "what the scheme itself loses in a cone of 20 degrees between ducts, area ratio 0.5",
            source: "isentropic flow: nothing",
            run: cones::own,
        },
        Check {
            name: "elbow_loss",
            about: "bends between two ducts, over radius and angle",
            source: "Rennels and Hudson, Pipe Flow, 2nd ed. (2012), equation 15.1; Miller (1990), Ito (1960) for the spread",
            run: bends::elbows,
        },
        Check {
            name: "mitre_loss",
            about: "mitres between two ducts",
            source: "Rennels and Hudson (2012), equation 15.2; Crane TP-410 for the spread",
            run: bends::mitres,
        },
        Check {
            name: "duct_bend",
            about: "bends of a duct with the wall friction of their arcs",
            source: "Rennels and Hudson (2012), equation 15.1, smooth wall, Reynolds number 2e5",
            run: bends::duct_bends,
        },
        Check {
            name: "screen_loss",
            about: "wire mesh and perforated plates across a duct",
            source: "Idelchik (1994), diagrams 8-1 and 8-6, from memory; Blevins (1984) for the spread",
            run: screens::screens,
        },
    ],
};

const GAS: PerfectGas = PerfectGas::AIR;
/// A law that a march solves exactly, read back through the ducts beside it.
const READ_BACK: Limit =
    Limit { value: 2e-3, why: "a handbook's head is that of constant density; here Mach is below 0.1" };

/// Values that a method gives for a component over its parameter.
fn published(component: &str, parameter: &str, method: &str) -> Result<Vec<(f64, f64)>, DataError> {
    let mut points = Vec::new();
    for row in data::rows(data::LOSS_COEFFICIENTS)? {
        let named = (row.text("component")?, row.text("parameter")?) == (component, parameter);
        if named && row.text("method")?.starts_with(method) {
            points.push((row.number("value")?, row.number("K")?));
        }
    }
    points.sort_by(|one, other| one.0.total_cmp(&other.0));
    if points.is_empty() { Err(DataError::NoRow(format!("{component}, {method}"))) } else { Ok(points) }
}

/// Coefficients measured at places of a parameter, side by side.
fn measured(
    places: impl IntoIterator<Item = f64>,
    measure: impl Fn(f64) -> Result<f64, Failure> + Sync,
) -> Result<Vec<(f64, f64)>, Failure> {
    let places: Vec<f64> = places.into_iter().collect();
    places.into_par_iter().map(|place| Ok((place, measure(place)?))).collect()
}

/// A row for each of the `found` coefficients, which stand at the places of the `expected` ones.
fn rows(name: &str, found: &[(f64, f64)], expected: &[(f64, f64)], limit: Limit) -> Vec<Row> {
    let row = |(found, expected): (&(f64, f64), &(f64, f64))| {
        Row::relative(format!("{name} {}", expected.0), found.1, expected.1, limit)
    };
    found.iter().zip(expected).map(row).collect()
}

/// What is found beside the band that other handbooks span at the same places: the worst of those inside lie on their own value.
fn beside(found: &[(f64, f64)], others: &[Vec<(f64, f64)>]) -> Vec<(f64, f64)> {
    let near = |&(place, value): &(f64, f64)| {
        let there = others.iter().flatten().filter(|point| (point.0 - place).abs() < 1e-9).map(|point| point.1);
        let (low, high) = there.fold((f64::INFINITY, f64::NEG_INFINITY), |band, k| (band.0.min(k), band.1.max(k)));
        (low <= high).then(|| (value, value.clamp(low, high)))
    };
    found.iter().filter_map(near).collect()
}

/// Picture of what was found over the law that is meant, with other handbooks.
fn picture(title: &str, across: &str, found: &[(f64, f64)], law: (&str, &[(f64, f64)])) -> Figure {
    Figure::new(title, across, "total-pressure loss / velocity head")
        .computed("marched network", found.to_vec())
        .reference(law.0, law.1.to_vec())
}

fn lost(before: &Reading, behind: &Reading) -> f64 {
    before.total_pressure - behind.total_pressure
}

fn disc(diameter: f64) -> f64 {
    0.25 * PI * diameter * diameter
}

/// Mass flow [kg/s] of air of 1 bar and 300 K at a velocity [m/s] through a duct of a diameter [m], without what it expands.
fn flow_at(velocity: f64, diameter: f64) -> f64 {
    1e5 / (GAS.gas_constant * 300.0) * velocity * disc(diameter)
}

/// Coefficient of a loss in a duct of a diameter [m] at a velocity [m/s], spread along its way: on the mean of the heads before and
/// behind it.
fn along(diameter: f64, keys: String, velocity: f64) -> Result<f64, Failure> {
    let [before, behind] = Bench::straight(diameter, keys, flow_at(velocity, diameter)).measure()?;
    Ok(lost(&before, &behind) / (0.5 * (before.head(GAS) + behind.head(GAS))))
}

/// Findings of rows and one picture.
fn found(rows: Vec<Row>, figure: Figure) -> Result<Findings, Failure> {
    Ok(Findings::from(rows).with(figure))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_coefficient_is_read_back() {
        let expected = [(0.1, 0.5)];
        assert!(rows("K", &[(0.1, 0.5)], &expected, READ_BACK)[0].holds());
        assert!(!rows("K", &[(0.1, 0.505)], &expected, READ_BACK)[0].holds());
    }

    #[test]
    fn what_leaves_the_band_is_seen() {
        let others = [vec![(0.1, 0.4), (0.2, 0.3)], vec![(0.1, 0.6)]];
        let pairs = beside(&[(0.1, 0.5), (0.2, 0.7), (0.3, 9.0)], &others);
        assert_eq!(pairs.len(), 2);
        assert!((pairs[0].0 - pairs[0].1).abs() < 1e-15 && (pairs[1].1 - 0.3).abs() < 1e-15);
    }

    #[test]
    fn an_unknown_method_is_told() {
        assert!(published("mitre_bend", "angle_deg", "nobody").is_err());
        assert_eq!(published("mitre_bend", "angle_deg", "0.42").unwrap().len(), 6);
    }
}
