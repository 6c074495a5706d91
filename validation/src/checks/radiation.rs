//! Sound at an open end: what comes back of it, and that nothing of this touches a steady flow.

use crate::case_text::{CaseText, settled, smooth_duct};
use crate::check::{Check, Failure, Findings, Group, Limit, Measure, Row, rows_only};
use crate::data;
use crate::figure::Figure;
use crate::marched::{Reading, Tract};
use crate::sound::{Heard, Phasor, STILL, bell, listen, sound_speed, travelling, with_shape};
use std::f64::consts::{FRAC_PI_4, PI, TAU};
use tractwright::flow::End;
use tractwright::joint::side::Side;
use tractwright::network::JointKind;

/// Checks of open ends.
pub const GROUP: Group = Group {
    name: "radiation",
    about: "what an open end reflects, radiates and leaves alone",
    checks: &[
        Check {
            name: "unflanged_end",
            about: "modulus of reflection and end correction over ka, both marches",
            source: "Levine and Schwinger (1948), Physical Review 73, 383, integrals evaluated",
            run: || measure("unflanged"),
        },
        Check {
            name: "flanged_end",
            about: "modulus of reflection and end correction over ka, both marches",
            source: "mode matching; Nomura and others (1960), J. Phys. Soc. Japan 15, 510; Norris and Sheng (1989), J. Sound Vib. 135, 85",
            run: || measure("flanged"),
        },
        Check {
            name: "passive_end",
            about: "an end that radiates gives back less than it gets at every ka",
            source: "conservation of energy",
            run: || rows_only(passive()),
        },
        Check {
            name: "steady_end",
            about: "a steady flow through a mouth with and without radiation, slow and choked",
            source: "conservation of momentum: a steady flow radiates nothing",
            run: || rows_only(steady()),
        },
        Check {
            name: "swinging_end",
            about: "mass and energy through a mouth that breathes in and out",
            source: "conservation of mass and energy",
            run: || rows_only(swinging()),
        },
    ],
};

/// Radius of the end [m].
const RADIUS: f64 = 0.05;
/// Cells of the pipe, and their length [m]: 125 cells a wave at ka = 1.
const PIPE: (u32, f64) = (640, 0.0025);
/// Standard deviation of the bell [m], and its middle before the end [m].
const BELL: (f64, f64) = (0.02, 0.3);
/// Cells between the end and the place where one listens.
const APART: u32 = 8;
/// Time from sample to sample [s].
const STEP: f64 = 1e-5;
/// Time that is watched [s]: a dozen times what the slowest state before the end takes, and too short for the far end.
const WATCH: f64 = 6e-3;

/// The two ways of marching, as keys of `run`.
const MARCHES: [(&str, &str); 2] = [("Runge-Kutta", "none"), ("Hancock", "hancock")];

/// What was heard before an end.
struct Echo(Heard);

impl Echo {
    fn of(end: &str, predictor: &str) -> Result<Self, Failure> {
        let tract = Tract::read(&case(end, predictor))?;
        let mut heard = listen(&tract, STEP, &[("pipe", (PIPE.0 - APART) as usize)])?;
        heard.pop().map(Self).ok_or_else(|| Failure::Missing("sound".to_owned()))
    }

    /// Reflection coefficient of the end at `ka`.
    fn reflection(&self, ka: f64) -> Phasor {
        let wave_number = ka / RADIUS;
        let frequency = wave_number * sound_speed() / TAU;
        let back = Phasor::of(&self.0.backward, STEP, frequency);
        let there = Phasor::of(&self.0.forward, STEP, frequency);
        let distance = (f64::from(APART) - 0.5) * PIPE.1;
        back.over(there).turned(2.0 * wave_number * distance)
    }

    /// End correction over the radius at `ka`.
    fn correction(&self, ka: f64) -> f64 {
        -self.reflection(ka).turned(PI).phase() / (2.0 * ka)
    }
}

/// The case file: parts `far`, `pipe`, `mouth`.
fn case(end: &str, predictor: &str) -> String {
    let (length, area) = (f64::from(PIPE.0) * PIPE.1, PI * RADIUS * RADIUS);
    let case = CaseText::new(STILL.0, STILL.1)
        .part("far", "kind: wall")
        .part("pipe", smooth_duct(length, 2.0 * RADIUS))
        .part("mouth", format!("kind: mouth, area: {area} m2, radiation: {end}"))
        .line(&["far", "pipe", "mouth"]);
    let shape = |place: f64| bell(place, length - BELL.1, BELL.0);
    let cell = PIPE.1;
    with_shape(case, ("pipe", length, PIPE.0), 1e-4 * STILL.0, travelling, shape)
        .run(format!(
            "march: acoustic, until: {WATCH} s, cell: {cell} m, record_every: {STEP} s, predictor: {predictor}"
        ))
        .text()
}

fn measure(end: &str) -> Result<Findings, Failure> {
    let mut table = data::rows(data::OPEN_ENDS)?;
    table.retain(|row| row.text("end") == Ok(end));
    let mut rows = Vec::new();
    let known = |column: &str| -> Result<Vec<(f64, f64)>, Failure> {
        table.iter().map(|row| Ok((row.number("ka")?, row.number(column)?))).collect()
    };
    let (moduli, corrections) = (known("R")?, known("l_over_a")?);
    let mut reflected =
        Figure::new(format!("Reflection of an {end} end"), "ka", "|R|").reference("exact", moduli.clone());
    let mut added =
        Figure::new(format!("End correction of an {end} end"), "ka", "l / a").reference("exact", corrections.clone());
    for (march, predictor) in MARCHES {
        let echo = Echo::of(end, predictor)?;
        rows.extend(moduli.iter().map(|(ka, exact)| modulus_row(march, *ka, echo.reflection(*ka).modulus(), *exact)));
        rows.extend(corrections.iter().map(|(ka, exact)| correction_row(march, *ka, echo.correction(*ka), *exact)));
        let points = || (1..=60).map(|index| 0.05 * f64::from(index));
        reflected = reflected.computed(march, points().map(|ka| (ka, echo.reflection(ka).modulus())));
        added = added.computed(march, points().map(|ka| (ka, echo.correction(ka))));
    }
    Ok(Findings::from(rows).with(reflected).with(added))
}

/// Largest ka up to which an end is judged: the circuit before it has two states.
const JUDGED: f64 = 1.5;
const BEYOND: Limit = Limit::none("beyond ka 1.5 two stored states follow the exact curve only roughly");

fn modulus_row(march: &str, ka: f64, found: f64, exact: f64) -> Row {
    const LIMIT: Limit =
        Limit { value: 0.02, why: "a reflection known to two hundredths; two stored states fit it to 0.005" };
    Row::absolute(format!("{march}: reflection at ka {ka}"), found, exact, if ka <= JUDGED { LIMIT } else { BEYOND })
}

fn correction_row(march: &str, ka: f64, found: f64, exact: f64) -> Row {
    const LIMIT: Limit =
        Limit { value: 0.015, why: "0.01 by the fit of two stored states, the rest by 125 cells a wave" };
    Row::absolute(
        format!("{march}: end correction at ka {ka}, over the radius"),
        found,
        exact,
        if ka <= JUDGED { LIMIT } else { BEYOND },
    )
}

fn passive() -> Result<Vec<Row>, Failure> {
    const GAIN: Limit = Limit { value: 1e-4, why: "the resolution of an amplitude of 10 Pa near ka = 0" };
    let mut rows = Vec::new();
    for (end, (march, predictor)) in
        ["unflanged", "flanged"].into_iter().flat_map(|end| MARCHES.map(|march| (end, march)))
    {
        let echo = Echo::of(end, predictor)?;
        let most = (1..=500).map(|index| echo.reflection(0.01 * f64::from(index)).modulus()).fold(0.0, f64::max);
        rows.push(Row::at_least(
            format!("{end}, {march}: one less the largest reflection up to ka 5"),
            1.0 - most,
            0.0,
            GAIN,
        ));
    }
    Ok(rows)
}

/// Depressions of the bench [Pa] that draw a slow flow through its plate, and one that chokes there.
const DEPRESSIONS: [(&str, f64); 2] = [("slow", 2e3), ("choked", 7e4)];

fn steady() -> Result<Vec<Row>, Failure> {
    const SAME: Limit = Limit { value: 1e-8, why: "flows that ring below a billionth of themselves" };
    let mut rows = Vec::new();
    for (speed, depression) in DEPRESSIONS {
        let ideal = drawn(depression, "none")?;
        for end in ["unflanged", "flanged"] {
            let radiating = drawn(depression, end)?;
            let quantity = |what: &str| format!("{speed} flow, {end}: {what}");
            rows.push(Row::relative(quantity("mass flow [kg/s]"), radiating.mass_flow, ideal.mass_flow, SAME));
            let (found, exact) = (radiating.total_pressure, ideal.total_pressure);
            rows.push(Row::relative(quantity("total pressure in the pipe [Pa]"), found, exact, SAME));
        }
    }
    Ok(rows)
}

/// What a rake behind a mouth reads when a bench draws with some depression [Pa] through a plate.
fn drawn(depression: f64, end: &str) -> Result<Reading, Failure> {
    let text = CaseText::new(STILL.0, STILL.1)
        .part("mouth", format!("kind: mouth, area: {} m2, radiation: {end}", FRAC_PI_4 * 0.06 * 0.06))
        .part("pipe", smooth_duct(0.2, 0.06))
        .part("plate", "kind: orifice_plate, diameter: 44 mm")
        .part("bench", format!("kind: draw, depression: {depression} Pa"))
        .line(&["mouth", "pipe", "plate", "bench"])
        .run(settled(0.01))
        .text();
    Tract::read(&text)?.march()?.rake("pipe", End::First)
}

/// A vessel of high pressure breathes out through a mouth and in again.
fn swinging() -> Result<Vec<Row>, Failure> {
    const KEPT: Limit = Limit { value: 1e-12, why: "round-off of a thousand steps" };
    let mut rows = Vec::new();
    for (march, predictor) in MARCHES {
        let text = CaseText::new(STILL.0, STILL.1)
            .part("mouth", "kind: mouth, area: 20 cm2")
            .part("neck", "kind: duct, length: 200 mm, diameter: 50 mm")
            .part("vessel", "kind: plenum, volume: 3 L")
            .line(&["mouth", "neck", "vessel"])
            .initial_volume("vessel", 1.5 * STILL.0, STILL.1)
            .run(format!("march: acoustic, until: 30 ms, cell: 10 mm, predictor: {predictor}"))
            .text();
        let tract = Tract::read(&text)?;
        let network = tract.network();
        let before = network.stored(&tract.at_start().march.y);
        let end = tract.march()?.march;
        let after = network.stored(&end.y);
        let is_mouth = |side: &Side| matches!(side, Side::Mouth { .. });
        let joint = network
            .joints
            .iter()
            .position(|joint| matches!(&joint.kind, JointKind::Series(series) if series.sides.iter().any(is_mouth)));
        let joint = joint.ok_or_else(|| Failure::Missing("mouth".to_owned()))?;
        let place = end.integrals.places.joints[joint];
        let entered = [end.integrals.values[place], network.gas.heat_capacity * end.integrals.values[place + 1]];
        for (what, index) in [("mass [kg]", 0), ("energy [J]", 1)] {
            let pair = (after[index], before[index] + entered[index]);
            rows.push(Row::worst_by(Measure::Relative, format!("{march}: {what} at the end"), [pair], KEPT));
        }
    }
    Ok(rows)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_ideal_end_is_told_from_one_that_radiates() {
        assert!(modulus_row("", 0.5, 0.89, 0.896_4).holds());
        assert!(!modulus_row("", 0.5, 1.0, 0.896_4).holds());
        assert!(correction_row("", 0.5, 0.585, 0.581_8).holds());
        assert!(!correction_row("", 0.5, 0.0, 0.581_8).holds());
        assert!(modulus_row("", 3.0, 0.3, 0.15).informs());
    }

    #[test]
    fn the_phase_of_an_end_is_its_correction() {
        // An echo that comes from 0.6 radii behind the end, turned over.
        let delay = 2.0 * ((f64::from(APART) - 0.5) * PIPE.1 + 0.6 * RADIUS) / sound_speed();
        let sound = |late: f64| -> Vec<f64> {
            (0..400).map(|index| bell(STEP * f64::from(index) - late, 1e-3, 1e-4)).collect()
        };
        let backward = sound(delay).iter().map(|value| -0.9 * value).collect();
        let echo = Echo(Heard { step: STEP, forward: sound(0.0), backward });
        assert!((echo.correction(0.5) - 0.6).abs() < 1e-9);
        assert!((echo.reflection(0.5).modulus() - 0.9).abs() < 1e-9);
    }
}
