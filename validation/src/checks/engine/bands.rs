//! What a restricted inlet costs, printed beside published bands. The bands are those of unboosted engines; what holds a turbo's power
//! decides how near it comes to them.

use super::demo::{clean, restricted};
use crate::check::{Failure, Findings, Limit, Row};

/// Restriction of a soiled filter [Pa], the middle of the published 6 to 7 kPa.
const MORE: f64 = 6.5e3;

const UNBOOSTED: Limit =
    Limit::none("published of engines without turbos; a boosted engine's control makes up for part of it");
const LIMITED: Limit = Limit::none("where the charge falls with the inlet's pressure, as in an unboosted engine");
const HELD: Limit =
    Limit::none("a balance by hand of an engine whose charge is held: compressor, pumping, later spark");

/// The rows.
pub(super) fn rows() -> Result<Findings, Failure> {
    let mut rows = Vec::new();
    let points = [
        ("4500 rpm", "engine_speed: 4500 rpm", [0.2, 0.4], HELD),
        ("1800 rpm", "engine_speed: 1800 rpm", [1.0, 1.5], LIMITED),
        ("7000 rpm, raised", "engine_speed: 7000 rpm, boost: raised", [1.0, 1.5], LIMITED),
    ];
    for (name, keys, band, limit) in points {
        let keys = format!("speed: 20 m/s, {keys}");
        let flow = 1e3 * clean(&keys)?.last()?.turbos[0].air;
        let before = restricted(&keys, 0.0, flow)?;
        let engine = before.last()?;
        let after = restricted(&keys, MORE, flow)?;
        let cost = 1e-3 * (before.inlet_pressure() - after.inlet_pressure());
        let lost = 100.0 * (1.0 - after.last()?.power / engine.power);
        let regime = engine.turbos[0].regime;
        rows.push(Row::within(format!("{name}, {regime}: restriction [kPa]"), cost, [6.0, 7.0], UNBOOSTED));
        rows.push(Row::within(format!("{name}, {regime}: power lost for each kPa [%]"), lost / cost, band, limit));
    }
    rows.push(Row::within("roll-on from 100 to 200 km/h: longer by [%]", 100.0 * longer()?, [6.0, 12.0], UNBOOSTED));
    Ok(rows.into())
}

/// Share by which a roll-on takes longer when the filters cost as much more at their highest flow.
fn longer() -> Result<f64, Failure> {
    const ROLL_ON: &str = "roll_on: {from: 100 km/h, to: 200 km/h}";
    let most = 1e3 * clean(ROLL_ON)?.rows.iter().map(|row| row.turbos[0].air).fold(0.0, f64::max);
    Ok(restricted(ROLL_ON, MORE, most)?.time / restricted(ROLL_ON, 0.0, most)?.time - 1.0)
}
