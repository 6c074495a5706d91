//! A dyno pull beside steady points: the slower, the nearer.

use super::demo::clean;
use crate::check::{Failure, Findings, Limit, Row};
use tractwright::run::EngineFigures;

const FAN: &str = "fan: {speed: 20 m/s, reaches: [nose]}";
/// Crank speeds that are compared [rpm], well behind where the charge builds up.
const SPEEDS: [f64; 3] = [3500.0, 4500.0, 6000.0];
/// Times of the pulls from 2500 to 7000 rpm [s].
const TIMES: [f64; 2] = [15.0, 60.0];

const SLOW: Limit = Limit {
    value: 0.01,
    why: "charge and shafts lag behind what is wanted by their time constants, a fraction of a second",
};
const FASTER: Limit =
    Limit { value: 1.0, why: "of the ratio 4 that lags in proportion to the rate give; interpolated rows" };

/// The rows.
pub(super) fn rows() -> Result<Findings, Failure> {
    let pull = |time: f64| clean(&format!("engine_speed: 2500 rpm, pull: {{to: 7000 rpm, in: {time} s}}, {FAN}"));
    let [quick, slow] = [pull(TIMES[0])?, pull(TIMES[1])?];
    let mut rows = Vec::new();
    for speed in SPEEDS {
        let steady = clean(&format!("engine_speed: {speed} rpm, {FAN}"))?.last()?.power;
        let at = |rows: &[EngineFigures]| power_at(rows, speed * std::f64::consts::PI / 30.0);
        let [quick, slow] = [at(&quick.rows)?, at(&slow.rows)?];
        rows.push(Row::relative(format!("{speed} rpm: power of a pull over {} s [W]", TIMES[1]), slow, steady, SLOW));
        rows.push(falls(speed, [quick, slow], steady));
    }
    Ok(rows.into())
}

/// How much farther from `steady` the quick pull is than the slow one, on the same side of it.
fn falls(speed: f64, [quick, slow]: [f64; 2], steady: f64) -> Row {
    let name = format!("{speed} rpm: difference of a pull over {} s over that of {} s", TIMES[0], TIMES[1]);
    Row::at_least(name, (quick - steady) / (slow - steady), TIMES[1] / TIMES[0], FASTER)
}

/// Power [W] at crank speed `speed` [rad/s], on the line between the rows around it.
fn power_at(rows: &[EngineFigures], speed: f64) -> Result<f64, Failure> {
    let around = rows.windows(2).find(|pair| pair[0].crank_speed <= speed && speed < pair[1].crank_speed);
    let Some([low, high]) = around else { return Err(Failure::Missing(format!("rows around {speed} rad/s"))) };
    let share = (speed - low.crank_speed) / (high.crank_speed - low.crank_speed);
    Ok(low.power + share * (high.power - low.power))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_difference_that_does_not_fall_with_the_rate_does_not_hold() {
        assert!(falls(4500.0, [104.0, 101.0], 100.0).holds());
        assert!(!falls(4500.0, [102.0, 101.0], 100.0).holds() && !falls(4500.0, [96.0, 101.0], 100.0).holds());
    }
}
