//! Shocks that run into a wye: what comes back and what goes on into its legs.

use crate::case_text::{CaseText, GAS_CONSTANT, Stretch, smooth_duct};
use crate::check::{Check, Failure, Findings, Group, Limit, Row};
use crate::checks::shock_passage::{shocked, without_units};
use crate::data;
use crate::figure::Figure;
use crate::marched::{Cell, Tract};
use crate::oracle::riemann::State;
use crate::oracle::shock_passage::{Passage, ShockPassage};
use crate::shock_tube::Shown;
use std::f64::consts::PI;

/// Checks of shocks into junctions.
pub const GROUP: Group = Group {
    name: "junction_waves",
    about: "shocks of Mach 1.001 to 1.3 into wyes, 200 cells a duct",
    checks: &[
        Check {
            name: "shock_into_wye",
            about: "into two legs as wide as the trunk, against one static pressure at all ends",
            source: "Benson (1982), The Thermodynamics and Gas Dynamics of Internal-Combustion Engines, vol. 1; solved to 1e-9",
            run: || tabulated(&Fork { legs: 2, area: 2.0, degrees: level_angle(2.0) }),
        },
        Check {
            name: "shock_into_three_legs",
            about: "into three legs as wide as the trunk, against one static pressure at all ends",
            source: "Benson (1982), The Thermodynamics and Gas Dynamics of Internal-Combustion Engines, vol. 1; solved to 1e-9",
            run: || tabulated(&Fork { legs: 3, area: 3.0, degrees: level_angle(3.0) }),
        },
        Check {
            name: "shock_into_halves",
            about: "into two legs of half the area that go straight on: nothing comes back",
            source: "mass, momentum and energy of a divided stream",
            run: || tabulated(&Fork { legs: 2, area: 1.0, degrees: 0.0 }),
        },
        Check {
            name: "shock_turned",
            about: "into two legs at 45 and at 60 degrees, against the loss of a dividing branch",
            source: "Hager (1984), Proc. IMechE 198C, 63, with p0 - p for the heads; shocks and rarefactions Toro (2009), chapter 4",
            run: turned,
        },
        Check {
            name: "weak_shock_turned",
            about: "a shock of Mach 1.001 into legs at any angle is divided by areas alone",
            source: "acoustics: 2 A1 / sum of A goes on, 2 A1 / sum of A - 1 comes back; Kinsler et al. (2000), chapter 10",
            run: weak,
        },
    ],
};

const GAMMA: f64 = 1.4;
/// Temperature [K] and pressure [Pa] of the gas at rest, those of the table.
const AHEAD: (f64, f64) = (298.15, 101_325.0);
/// Length of a duct [m].
const LENGTH: f64 = 1.0;
/// Bore of the trunk [m].
const BORE: f64 = 0.05;

/// A trunk and equal legs.
struct Fork {
    legs: u32,
    /// Area of all legs over that of the trunk.
    area: f64,
    /// Angle by which each turns air from the trunk.
    degrees: f64,
}

/// Angle [deg] at which Hager's branch in slow flow has the static pressure of the trunk: its loss is `1 + w^2 - 2 w cos(3/4 angle)` heads
/// at the velocity ratio w, that of one static pressure `1 - w^2`, which meet where the cosine is w.
fn level_angle(area: f64) -> f64 {
    libm::acos(1.0 / area) / 0.75 * 180.0 / PI
}

/// Findings for all shocks of the table with one static pressure into such a fork.
fn tabulated(fork: &Fork) -> Result<Findings, Failure> {
    const STATES: Limit = Limit {
        value: 3e-3,
        why: "200 cells a duct; the wye's heads are p0 - p, which in fast gas is a little more than rho u^2/2",
    };
    const SHARES: Limit = Limit { value: 3e-3, why: "of the incoming amplitude, as above" };
    let mut found = Findings::default();
    let speed = (GAS_CONSTANT * AHEAD.0).sqrt();
    for row in data::rows(data::JUNCTION_WAVES)? {
        let number = |column: &str| row.number(column);
        let same =
            (number("A_out_A1")? - fork.area).abs() < 1e-9 && (number("n_out")? - f64::from(fork.legs)).abs() < 0.5;
        if !same {
            continue;
        }
        let mach = number("Ms")?;
        let side = |pressure, velocity| -> Result<[f64; 2], Failure> {
            Ok([row.number(pressure)? / AHEAD.1, row.number(velocity)? / speed])
        };
        let (before, behind) = (side("p_L_Pa", "u_L")?, side("p_out_Pa", "u_out")?);
        let marched = fork.march(mach)?;
        let [trunk, leg] = marched.beside();
        let pairs = [
            (trunk.pressure / before[0], 1.0),
            (trunk.velocity / before[1], 1.0),
            (leg.pressure / behind[0], 1.0),
            (leg.velocity / behind[1], 1.0),
        ];
        found.rows.push(Row::worst(
            format!("worst of pressures and velocities over exact, Mach {mach}"),
            pairs,
            STATES,
        ));
        let [on, back] = marched.shares();
        found.rows.push(Row::absolute(format!("share that goes on, Mach {mach}"), on, number("T_amp")?, SHARES));
        found.rows.push(Row::absolute(format!("share that comes back, Mach {mach}"), back, number("R_amp")?, SHARES));
        if (mach - 1.2).abs() < 1e-9 {
            found.figures.push(marched.figure(before[0], behind[0]));
        }
    }
    Ok(found)
}

fn turned() -> Result<Findings, Failure> {
    const STATES: Limit = Limit { value: 2e-3, why: "200 cells a duct; the wye itself is solved to round-off" };
    let mut found = Findings::default();
    for (degrees, area) in [(45.0, 2.0), (60.0, 1.0), (60.0, 2.0)] {
        for mach in [1.05, 1.1, 1.2, 1.3] {
            let fork = Fork { legs: 2, area, degrees };
            let exact = ShockPassage::new(GAMMA, mach, area, Passage::Turn(degrees * PI / 180.0))
                .ok_or_else(|| Failure::NoSolution(format!("shock of Mach {mach} into legs at {degrees} deg")))?;
            let marched = fork.march(mach)?;
            let pairs = marched.beside().into_iter().zip([exact.before, exact.behind]).flat_map(|(found, exact)| {
                [(found.pressure / exact.pressure, 1.0), (found.velocity / exact.velocity, 1.0)]
            });
            let name = format!("worst of pressures and velocities over exact, {degrees} deg, area {area}, Mach {mach}");
            found.rows.push(Row::worst(name, pairs, STATES));
            if (mach - 1.3).abs() < 1e-9 {
                found.figures.push(marched.figure(exact.before.pressure, exact.behind.pressure));
            }
        }
    }
    Ok(found)
}

fn weak() -> Result<Findings, Failure> {
    const LIMIT: Limit =
        Limit { value: 3e-3, why: "of the incoming amplitude: the losses of a wye vanish with the flow" };
    let mut found = Findings::default();
    for (degrees, area) in [(10.0, 2.0), (45.0, 2.0), (90.0, 2.0), (120.0, 2.0), (45.0, 0.5), (45.0, 4.0)] {
        let marched = Fork { legs: 2, area, degrees }.march(1.001)?;
        let [on, back] = marched.shares();
        let name = format!("{degrees} deg, area {area}");
        found.rows.push(Row::absolute(format!("share that goes on, {name}"), on, 2.0 / (1.0 + area), LIMIT));
        found.rows.push(Row::absolute(
            format!("share that comes back, {name}"),
            back,
            (1.0 - area) / (1.0 + area),
            LIMIT,
        ));
    }
    Ok(found)
}

/// A fork some time after a shock has arrived; units of the gas ahead.
struct Arrived {
    title: String,
    incident: State,
    trunk: Vec<Cell>,
    leg: Vec<Cell>,
}

impl Fork {
    fn march(&self, mach: f64) -> Result<Arrived, Failure> {
        // From here the shock arrives before the wave from the wall behind it, and the way back leaves some cells beside the wye.
        const SHOCK: f64 = 0.75;
        let until = 0.7 / (mach * (GAMMA * GAS_CONSTANT * AHEAD.0).sqrt());
        let incident = ShockPassage::new(GAMMA, mach, 1.0, Passage::Gradual)
            .ok_or_else(|| Failure::NoSolution(format!("shock of Mach {mach}")))?
            .incident;
        let names: Vec<String> = (1..=self.legs).map(|leg| format!("leg_{leg}")).collect();
        // Legs left and right; what a third one does to an incoming stream does not depend on where it lies.
        let angle = |index: usize| if index.is_multiple_of(2) { self.degrees } else { -self.degrees };
        let angles: Vec<String> =
            names.iter().enumerate().map(|(index, name)| format!("{name}: {} deg", angle(index))).collect();
        let mut case = CaseText::new(AHEAD.1, AHEAD.0)
            .part("y", format!("kind: wye, legs: {{trunk: 0 deg, {}}}", angles.join(", ")))
            .part("trunk", smooth_duct(LENGTH, BORE))
            .part("end", "kind: wall")
            .line(&["end", "trunk", "y.trunk"])
            .initial("trunk", Stretch { from: 0.0, to: SHOCK }, shocked(incident));
        let bore = BORE * (self.area / f64::from(self.legs)).sqrt();
        for name in &names {
            let end = format!("{name}_end");
            case = case.part(name, smooth_duct(LENGTH, bore)).part(&end, "kind: wall").line(&[
                &format!("y.{name}"),
                name,
                &end,
            ]);
        }
        let run =
            format!("march: acoustic, until: {until} s, cell: {} m, limiter: van_leer, courant: 0.4", LENGTH / 200.0);
        let tract = Tract::read(&case.run(run).text())?;
        let marched = tract.march()?;
        let cells = |name: &str| Ok::<_, Failure>(marched.cells(name)?.iter().map(without_units).collect());
        let Self { area, degrees, .. } = self;
        let title = format!("shock of Mach {mach} into legs at {degrees:.0} deg, area {area}");
        Ok(Arrived { title, incident, trunk: cells("trunk")?, leg: cells("leg_1")? })
    }
}

impl Arrived {
    /// Mean states of cells beside the wye, in the trunk and in a leg.
    fn beside(&self) -> [State; 2] {
        [&self.trunk[195..198], &self.leg[2..5]].map(|cells| {
            let mean = |shown: Shown| cells.iter().map(|cell| shown.of(cell.state)).sum::<f64>() / cells.len() as f64;
            State { density: mean(Shown::Density), velocity: mean(Shown::Velocity), pressure: mean(Shown::Pressure) }
        })
    }

    /// Amplitudes of pressure that go on and come back, over the incoming one.
    fn shares(&self) -> [f64; 2] {
        let [trunk, leg] = self.beside();
        let amplitude = self.incident.pressure - 1.0;
        [(leg.pressure - 1.0) / amplitude, (trunk.pressure - self.incident.pressure) / amplitude]
    }

    fn figure(&self, before: f64, behind: f64) -> Figure {
        let line = [(LENGTH - 0.15, before), (LENGTH, before), (LENGTH, behind), (LENGTH + 0.15, behind)];
        let moved = self.leg.iter().map(|cell| (cell.middle() + LENGTH, cell.state.pressure));
        Figure::new(&self.title, "place along trunk and leg [m]", "pressure over that ahead")
            .reference("exact beside the wye", line)
            .computed("200 cells a duct", Shown::Pressure.points(&self.trunk).chain(moved))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn legs_of_another_angle_are_seen() {
        let marched = Fork { legs: 2, area: 2.0, degrees: 45.0 }.march(1.3).unwrap();
        let exact = |degrees: f64| ShockPassage::new(GAMMA, 1.3, 2.0, Passage::Turn(degrees * PI / 180.0)).unwrap();
        let off = |degrees: f64| (marched.beside()[1].pressure / exact(degrees).behind.pressure - 1.0).abs();
        assert!(off(45.0) < 2e-3 && off(90.0) > 5e-3, "{} {}", off(45.0), off(90.0));
    }

    #[test]
    fn the_angle_of_one_pressure_is_that_of_the_velocity_ratio() {
        assert!((level_angle(2.0) - 80.0).abs() < 1e-9 && level_angle(1.0).abs() < 1e-9);
    }
}
