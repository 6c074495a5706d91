//! Weak pulses that meet the end of a pipe, a change of area, a junction: what comes back and what passes.

use crate::case_text::{CaseText, smooth_duct};
use crate::check::{Failure, Limit, Row};
use crate::marched::Tract;
use crate::oracle::transmission::area_change;
use crate::sound::{STILL, bell, listen, sound_speed, travelling, with_shape};
use std::f64::consts::FRAC_PI_4;

/// Diameter of the pipe in which the pulse arrives [m].
const DIAMETER: f64 = 0.05;
/// Cells of each pipe, and their length [m].
const PIPE: (u32, f64) = (400, 0.005);
/// Standard deviation of the pulse [m], 47 cells at half its height, and its middle before the end [m].
const BELL: (f64, f64) = (0.1, 0.8);
/// Amplitude over the pressure of the air.
const AMPLITUDE: f64 = 1e-3;
/// Cells between the end and the places where one listens.
const APART: usize = 4;
/// Time from sample to sample [s].
const STEP: f64 = 1e-5;

/// What the pulse meets.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Meets {
    OpenEnd,
    ClosedEnd,
    /// So many alike pipes of so much area in all, over that of the first.
    Pipes(u32, f64),
}

const MET: [(Meets, &str); 7] = [
    (Meets::OpenEnd, "open end"),
    (Meets::ClosedEnd, "closed end"),
    (Meets::Pipes(1, 0.5), "half the area"),
    (Meets::Pipes(1, 2.0), "twice the area"),
    (Meets::Pipes(2, 1.0), "two pipes of half the area each"),
    (Meets::Pipes(2, 2.0), "two pipes of the same area each"),
    (Meets::Pipes(3, 3.0), "three pipes of the same area each"),
];

/// Rows of all that a pulse can meet.
///
/// # Errors
/// A march stopped.
pub fn rows() -> Result<Vec<Row>, Failure> {
    let mut rows = Vec::new();
    for (meets, name) in MET {
        let answer = meets.measure()?;
        let (passes, back) = match meets {
            Meets::OpenEnd => (None, -1.0),
            Meets::ClosedEnd => (None, 1.0),
            Meets::Pipes(_, ratio) => {
                let (passes, back) = area_change(ratio);
                (Some(passes), back)
            }
        };
        rows.push(back_row(name, answer.back, back));
        rows.extend(passes.map(|exact| passed_row(name, answer.passed, exact)));
    }
    Ok(rows)
}

const LIMIT: Limit =
    Limit { value: 0.01, why: "common practice for a pulse of 30 cells and a thousandth of the pressure" };

fn back_row(name: &str, found: f64, exact: f64) -> Row {
    Row::absolute(format!("{name}: amplitude that comes back, over what arrives"), found, exact, LIMIT)
}

fn passed_row(name: &str, found: f64, exact: f64) -> Row {
    Row::relative(format!("{name}: amplitude that passes, over what arrives"), found, exact, LIMIT)
}

struct Answer {
    back: f64,
    passed: f64,
}

impl Meets {
    fn measure(self) -> Result<Answer, Failure> {
        let tract = Tract::read(&self.case())?;
        let near = PIPE.0 as usize - 1 - APART;
        let mut places = vec![("pipe", near)];
        if matches!(self, Self::Pipes(..)) {
            places.push(("pipe1", APART));
        }
        let heard = listen(&tract, STEP, &places)?;
        let peak = |values: &[f64]| {
            values.iter().fold(0.0, |most: f64, value| if value.abs() > most.abs() { *value } else { most })
        };
        let arrives = peak(&heard[0].forward);
        let passed = heard.get(1).map_or(0.0, |pipe| peak(&pipe.forward));
        Ok(Answer { back: peak(&heard[0].backward) / arrives, passed: passed / arrives })
    }

    /// The case file: part `pipe` with the pulse, and the parts `pipe1` and so on behind it.
    fn case(self) -> String {
        let length = f64::from(PIPE.0) * PIPE.1;
        let mut case =
            CaseText::new(STILL.0, STILL.1).part("start", "kind: wall").part("pipe", smooth_duct(length, DIAMETER));
        let area = FRAC_PI_4 * DIAMETER * DIAMETER;
        case = match self {
            Self::OpenEnd => case
                .part("end", format!("kind: mouth, area: {area} m2, radiation: none"))
                .line(&["start", "pipe", "end"]),
            Self::ClosedEnd => case.part("end", "kind: wall").line(&["start", "pipe", "end"]),
            Self::Pipes(1, ratio) => case
                .part("pipe1", smooth_duct(length, DIAMETER * ratio.sqrt()))
                .part("end1", "kind: wall")
                .line(&["start", "pipe", "pipe1", "end1"]),
            Self::Pipes(count, ratio) => {
                let legs: String = (1..=count).map(|leg| format!(", leg{leg}: {} deg", 40 * leg)).collect();
                case = case
                    .part("y", format!("kind: wye, legs: {{trunk: 0 deg{legs}}}"))
                    .line(&["start", "pipe", "y.trunk"]);
                for leg in 1..=count {
                    let (pipe, end, at) = (format!("pipe{leg}"), format!("end{leg}"), format!("y.leg{leg}"));
                    case = case
                        .part(&pipe, smooth_duct(length, DIAMETER * (ratio / f64::from(count)).sqrt()))
                        .part(&end, "kind: wall")
                        .line(&[&at, &pipe, &end]);
                }
                case
            }
        };
        let until = 2.0 * BELL.1 / sound_speed();
        let shape = |place: f64| bell(place, length - BELL.1, BELL.0);
        with_shape(case, ("pipe", length, PIPE.0), AMPLITUDE * STILL.0, travelling, shape)
            .run(format!("march: acoustic, until: {until} s, cell: {} m, record_every: {STEP} s", PIPE.1))
            .text()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrong_amplitudes_do_not_hold() {
        assert!(back_row("end", -0.995, -1.0).holds());
        assert!(!back_row("end", -0.98, -1.0).holds());
        assert!(!back_row("end", 1.0, -1.0).holds());
        assert!(passed_row("step", 0.67, 2.0 / 3.0).holds());
        assert!(!passed_row("step", 0.65, 2.0 / 3.0).holds());
    }
}
