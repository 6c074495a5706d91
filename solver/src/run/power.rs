//! What the engine made: its figures at an instant, in a result, and over a pull or a roll-on.

use super::Reading;
use crate::error::OutputError;
use crate::march::Moment;
use crate::network::Network;
use crate::powertrain::{Powertrain, Regime, Standing};
use crate::record::{Axis, Coordinates, Group, Precision, Series};
use serde::Serialize;

/// Group of the engine in a result.
const GROUP: &str = "engine";
/// Values of the whole engine: name, unit, meaning.
const OF_ENGINE: [(&str, &str, &str); 7] = [
    ("crank_speed", "rad s-1", "crank speed"),
    ("road_speed", "m s-1", "road speed that the wheels make; zero on a brake"),
    ("gear", "1", "gear, counted from one; zero where none is engaged"),
    ("torque", "N m", "torque at the crank"),
    ("fuel_flow", "kg s-1", "fuel"),
    ("boost_target", "Pa", "charge pressure that is wanted"),
    ("direction", "1", "1 on the way out, -1 on the way back"),
];
/// Values of each turbo.
const OF_TURBO: [(&str, &str, &str); 15] = [
    ("air", "kg s-1", "air into the compressor"),
    ("charge_pressure", "Pa", "charge pressure behind the cooler"),
    ("exhaust_pressure", "Pa", "pressure before the turbine"),
    ("back_pressure", "Pa", "pressure behind the turbine"),
    ("shaft_speed", "rad s-1", "shaft speed"),
    ("wastegate_opening", "1", "opening of the wastegate"),
    ("pressure_ratio", "1", "total-to-total pressure ratio of the compressor"),
    ("efficiency", "1", "isentropic efficiency of the compressor"),
    ("corrected_flow", "kg s-1", "corrected flow of the compressor"),
    ("outlet_temperature", "K", "temperature behind the compressor"),
    ("charge_temperature", "K", "temperature of the charge behind the cooler"),
    ("surge_margin", "1", "share of its flow by which the compressor may fall before it surges"),
    ("choke_margin", "1", "share of its choking flow that the compressor leaves free"),
    ("speed_margin", "1", "share of its speed limit that the shaft leaves free"),
    ("regime", "1", "what holds the power: 0 boost-controlled, 1 wastegate shut, 2 speed-limited, 3 changing"),
];
const REGIMES: [Regime; 4] = [Regime::BoostControlled, Regime::WastegateShut, Regime::SpeedLimited, Regime::Changing];

/// An engine at an instant.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EngineFigures {
    /// Time [s].
    pub time: f64,
    /// Crank speed [rad/s].
    pub crank_speed: f64,
    /// Road speed [m/s].
    pub road_speed: f64,
    /// Gear, counted from one; zero where none is engaged.
    pub gear: usize,
    /// Torque at the crank [N m].
    pub torque: f64,
    /// Power at the crank [W].
    pub power: f64,
    /// Fuel [kg/s].
    pub fuel_flow: f64,
    /// Charge pressure that is wanted [Pa].
    pub boost_target: f64,
    /// Whether the car is on the way out, not on the way back.
    pub outward: bool,
    /// Turbos, in the order of the case.
    pub turbos: Vec<TurboFigures>,
}

/// A turbo at an instant.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TurboFigures {
    /// Draw that feeds it.
    pub draw: String,
    /// Air [kg/s].
    pub air: f64,
    /// Charge pressure [Pa].
    pub charge_pressure: f64,
    /// Pressure before the turbine [Pa].
    pub exhaust_pressure: f64,
    /// Pressure behind the turbine [Pa].
    pub back_pressure: f64,
    /// Shaft speed [rad/s].
    pub shaft_speed: f64,
    /// Opening of the wastegate, from nothing to one.
    pub wastegate_opening: f64,
    /// Pressure ratio of the compressor.
    pub pressure_ratio: f64,
    /// Its efficiency.
    pub efficiency: f64,
    /// Its corrected flow [kg/s].
    pub corrected_flow: f64,
    /// Temperature behind it [K].
    pub outlet_temperature: f64,
    /// Temperature of the charge [K].
    pub charge_temperature: f64,
    /// Margin to surge, as a share of the flow.
    pub surge_margin: f64,
    /// Margin to choking, as a share of the choking flow.
    pub choke_margin: f64,
    /// Margin to the speed limit, as a share of it.
    pub speed_margin: f64,
    /// What holds the power: in words.
    pub regime: &'static str,
}

/// Margin to surge below which a compressor counts as near it. Common practice, no source.
const NEAR_SURGE: f64 = 0.1;
/// Pressure ratio below which a surge line is extrapolated too far to be believed. Common practice, no source.
const LOADED: f64 = 1.2;

impl TurboFigures {
    /// Whether the compressor has so much to do that its surge line means something.
    #[must_use]
    pub fn loaded(&self) -> bool {
        self.pressure_ratio > LOADED
    }

    /// Whether the compressor is near surge, or beyond it.
    #[must_use]
    pub fn near_surge(&self) -> bool {
        self.loaded() && self.surge_margin < NEAR_SURGE
    }

    /// What holds the power, and whether surge is near, in words.
    #[must_use]
    pub fn regime_words(&self) -> String {
        let near = if self.near_surge() { ", near surge" } else { "" };
        format!("{}{near}", self.regime)
    }
}

impl EngineFigures {
    /// What holds the power of the banks, each once, in words.
    #[must_use]
    pub fn regime_words(&self) -> String {
        let mut words: Vec<String> = self.turbos.iter().map(TurboFigures::regime_words).collect();
        words.dedup();
        words.join("/")
    }
}

/// The values of one row: those of the engine, then each value of all turbos.
fn values(powertrain: &Powertrain, standing: &Standing) -> Vec<f64> {
    let Standing { crank, gear, road_speed, target, torque, fuel, .. } = *standing;
    let direction = if standing.outward { 1.0 } else { -1.0 };
    let mut values = vec![crank, road_speed, gear as f64, torque, fuel, target, direction];
    for kind in 0..OF_TURBO.len() {
        for (bank, now) in standing.turbos().iter().enumerate() {
            let regime = powertrain.regime(standing, bank);
            let code = REGIMES.iter().position(|known| *known == regime).unwrap_or(0) as f64;
            values.push(
                [
                    now.inlet.mass_flow,
                    now.charge_pressure,
                    now.exhaust_pressure,
                    now.back_pressure,
                    now.shaft,
                    now.opening,
                    now.pressure_ratio,
                    now.efficiency,
                    now.corrected_flow,
                    now.outlet_temperature,
                    now.charge_temperature,
                    powertrain.surge_margin(standing, bank),
                    powertrain.choke_margin(standing, bank),
                    powertrain.speed_margin(standing, bank),
                    code,
                ][kind],
            );
        }
    }
    values
}

fn figures(time: f64, draws: &[String], values: &[f64]) -> EngineFigures {
    let (own, of_turbos) = values.split_at(OF_ENGINE.len());
    let turbo = |bank: usize| {
        let of = |kind: usize| of_turbos[kind * draws.len() + bank];
        TurboFigures {
            draw: draws[bank].clone(),
            air: of(0),
            charge_pressure: of(1),
            exhaust_pressure: of(2),
            back_pressure: of(3),
            shaft_speed: of(4),
            wastegate_opening: of(5),
            pressure_ratio: of(6),
            efficiency: of(7),
            corrected_flow: of(8),
            outlet_temperature: of(9),
            charge_temperature: of(10),
            surge_margin: of(11),
            choke_margin: of(12),
            speed_margin: of(13),
            regime: REGIMES[(of(14) as usize).min(3)].words(),
        }
    };
    EngineFigures {
        time,
        crank_speed: own[0],
        road_speed: own[1],
        gear: own[2] as usize,
        torque: own[3],
        power: own[3] * own[0],
        fuel_flow: own[4],
        boost_target: own[5],
        outward: own[6] > 0.0,
        turbos: (0..draws.len()).map(turbo).collect(),
    }
}

fn draws(powertrain: &Powertrain) -> Vec<String> {
    powertrain.turbos.iter().map(|turbo| turbo.draw.clone()).collect()
}

/// What the engine makes at a moment; nothing without one.
#[must_use]
pub fn engine_at(moment: &Moment<'_>) -> Option<EngineFigures> {
    let powertrain = &moment.network.drive.as_ref()?.powertrain;
    let standing = moment.network.standing(moment.y, moment.work)?;
    Some(figures(moment.time, &draws(powertrain), &values(powertrain, &standing)))
}

/// The group of a result that holds the engine.
pub(super) fn group(network: &Network) -> Option<Group> {
    let powertrain = &network.drive.as_ref()?.powertrain;
    let series = |(name, units, long_name): &(&str, &str, &str), axis: Option<&str>| Series {
        name: (*name).to_owned(),
        units: (*units).to_owned(),
        long_name: (*long_name).to_owned(),
        axis: axis.map(str::to_owned),
        precision: Precision::F64,
    };
    let turbos = Axis {
        name: "turbo".to_owned(),
        units: String::new(),
        long_name: "draw that feeds the turbo".to_owned(),
        coordinates: Coordinates::Names(draws(powertrain)),
    };
    let of_engine = OF_ENGINE.iter().map(|of| series(of, None));
    let of_turbos = OF_TURBO.iter().map(|of| series(of, Some("turbo")));
    Some(Group {
        name: GROUP.to_owned(),
        kind: GROUP.to_owned(),
        axes: vec![turbos],
        series: of_engine.chain(of_turbos).collect(),
        ..Group::default()
    })
}

/// The values of [`group`] at a moment.
pub(super) fn push(moment: &Moment<'_>, row: &mut Vec<f64>) {
    if let (Some(drive), Some(standing)) = (&moment.network.drive, moment.network.standing(moment.y, moment.work)) {
        row.extend(values(&drive.powertrain, &standing));
    }
}

impl Reading {
    /// What the engine made, row by row; empty without one.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn engine_figures(&self) -> Result<Vec<EngineFigures>, OutputError> {
        let Some(drive) = &self.built.network.drive else { return Ok(Vec::new()) };
        let draws = draws(&drive.powertrain);
        let time = self.file.time()?;
        let mut rows = vec![Vec::new(); time.len()];
        for (name, ..) in &OF_ENGINE {
            for (row, value) in rows.iter_mut().zip(self.file.series(GROUP, name)?) {
                row.push(value);
            }
        }
        for (name, ..) in &OF_TURBO {
            for (row, values) in rows.iter_mut().zip(self.file.field(GROUP, name)?.rows()) {
                row.extend(values.iter());
            }
        }
        Ok(time.iter().zip(&rows).map(|(time, row)| figures(*time, &draws, row)).collect())
    }
}

/// Share of the wanted charge pressure at which an engine counts as having responded. Common practice, no source.
pub const RESPONDED: f64 = 0.9;

/// Time [s] that a roll-on takes to road speed `speed` [m/s]: the mean of both directions where it was driven in both.
#[must_use]
pub fn roll_on_time(rows: &[EngineFigures], speed: f64) -> Option<f64> {
    let [out, back] = directions(rows);
    let there = out.time_at_speed(speed)?;
    if back.rows.is_empty() { Some(there) } else { Some(0.5 * (there + back.time_at_speed(speed)?)) }
}

/// A roll-on in one direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Direction<'a> {
    /// Its rows; none where it was not driven.
    pub rows: &'a [EngineFigures],
    /// Time at which it began [s].
    pub begun: f64,
}

/// A roll-on on the way out and on the way back.
#[must_use]
pub fn directions(rows: &[EngineFigures]) -> [Direction<'_>; 2] {
    let (out, back) = rows.split_at(rows.iter().position(|row| !row.outward).unwrap_or(rows.len()));
    let time = |row: Option<&EngineFigures>| row.map_or(0.0, |row| row.time);
    [Direction { rows: out, begun: time(out.first()) }, Direction { rows: back, begun: time(out.last()) }]
}

impl Direction<'_> {
    /// Time [s] from its beginning at which it reaches road speed `speed` [m/s], between rows in proportion, as what an end falls short
    /// of it is; nothing when it does not.
    #[must_use]
    pub fn time_at_speed(&self, speed: f64) -> Option<f64> {
        // An end that an event has found lies within its tolerance.
        let reached = |row: &EngineFigures| row.road_speed >= speed * (1.0 - 1e-5);
        let first = self.rows.iter().position(reached)?;
        let after = &self.rows[first];
        let Some(before) = first.checked_sub(1).map(|before| &self.rows[before]) else { return Some(0.0) };
        let share = ((speed - before.road_speed) / (after.road_speed - before.road_speed)).max(0.0);
        Some(before.time + share * (after.time - before.time) - self.begun)
    }
}

/// Time [s] after a throttle step at which the mean charge pressure reaches nine tenths of what is wanted; nothing when it does not.
#[must_use]
pub fn response_time(rows: &[EngineFigures]) -> Option<f64> {
    let share = |row: &EngineFigures| {
        let charge: f64 = row.turbos.iter().map(|turbo| turbo.charge_pressure).sum();
        charge / (row.turbos.len() as f64 * row.boost_target)
    };
    let start = rows.first()?.time;
    let first = rows.iter().position(|row| share(row) >= RESPONDED)?;
    let after = &rows[first];
    let Some(before) = first.checked_sub(1).map(|before| &rows[before]) else { return Some(0.0) };
    let part = (RESPONDED - share(before)) / (share(after) - share(before));
    Some(before.time + part * (after.time - before.time) - start)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(time: f64, road_speed: f64, outward: bool) -> EngineFigures {
        EngineFigures {
            time,
            crank_speed: 400.0,
            road_speed,
            gear: 3,
            torque: 300.0,
            power: 120e3,
            fuel_flow: 0.01,
            boost_target: 180e3,
            outward,
            turbos: Vec::new(),
        }
    }

    #[test]
    fn a_speed_is_reached_between_two_rows() {
        let rows = [row(0.0, 20.0, true), row(1.0, 24.0, true), row(2.0, 23.0, true), row(3.0, 27.0, true)];
        let at = |speed: f64| directions(&rows)[0].time_at_speed(speed);
        assert_eq!([at(20.0), at(23.0), at(25.0)], [Some(0.0), Some(0.75), Some(2.5)]);
        // A march that ends at the speed falls short of it by rounding: it would have gone on as it went.
        assert!((at(27.000_001).expect("a time") - 3.000_000_25).abs() < 1e-12 && at(28.0).is_none());
    }

    #[test]
    fn the_time_of_both_directions_is_their_mean() {
        let rows = [row(0.0, 20.0, true), row(2.0, 24.0, true), row(2.5, 21.0, false), row(3.0, 24.0, false)];
        assert_eq!(roll_on_time(&rows, 24.0), Some(1.5));
        assert_eq!(roll_on_time(&rows[..2], 24.0), Some(2.0));
        assert_eq!(roll_on_time(&rows, 25.0), None);
    }
}
