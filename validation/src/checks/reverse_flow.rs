//! Strong flow backwards through every kind of part: finite, kept, the right way, and no more than an ideal nozzle lets out.

use crate::check::{Check, Failure, Findings, Group, Limit, Measure, Row};
use crate::checks::conservation::Holdings;
use crate::figure::{Figure, Role};
use crate::marched::{Marched, Tract, volume};
use crate::oracle::blowdown::Blowdown;
use crate::oracle::orifice::Opening;
use crate::oracle::perfect_gas::PerfectGas;
use crate::time_series::Series;
use tractwright::joint::side::Side;
use tractwright::network::JointKind;

mod setups;

use setups::{END, Expected, FED, OUTSIDE, Setup, TEMPERATURE, VESSEL, setups};

/// Checks of flow backwards.
pub const GROUP: Group = Group {
    name: "reverse_flow",
    about: "every kind of part with a strong pressure against its flow line, choked and not",
    checks: &[
        Check {
            name: "choked_backwards",
            about: "a pressure ratio of 4 against the flow line",
            source: SOURCE,
            run: || backwards(4.0),
        },
        Check {
            name: "blown_backwards",
            about: "a pressure ratio of 1.5 against the flow line",
            source: SOURCE,
            run: || backwards(1.5),
        },
    ],
};

const SOURCE: &str = "conservation of mass and energy; a vessel that empties through an ideal nozzle: NACA Report 1135 (1953), Moran and \
                      Shapiro, section 4.12";

const GAS: PerfectGas = PerfectGas::AIR;

/// Findings for all kinds with a pressure ratio between vessel and outside.
fn backwards(ratio: f64) -> Result<Findings, Failure> {
    let mut rows = Vec::new();
    let title = format!("vessel behind each kind of part, pressure ratio {ratio}");
    let mut figure = Figure::new(title, "time [s]", "pressure in the vessel over that outside");
    for setup in setups(ratio) {
        let tract = Tract::read(&setup.case)?;
        let start = Holdings::of(&tract.at_start());
        let vessel = volume(tract.network(), "vessel")?;
        let (marched, pressures) = tract.march_recording(|march| march.work.volumes[vessel].pressure / OUTSIDE)?;
        rows.extend(kept_rows(setup.kind, start, &marched));
        rows.extend(setup.flow_rows(&marched, vessel));
        let Series { times, values } = pressures;
        if let Expected::Ideal(blowdown) | Expected::Between(blowdown, ..) = &setup.expected
            && figure.curves.is_empty()
        {
            let ideal = (0..=20_u32)
                .map(|point| END * f64::from(point) / 20.0)
                .map(|time| (time, blowdown.pressure(blowdown.left(time)) / OUTSIDE));
            figure = figure.curve(Role::Bound, "ideal nozzle of the ducts' bore", ideal);
        }
        figure = figure.computed(setup.kind, times.into_iter().zip(values));
    }
    Ok(Findings::from(rows).with(figure))
}

/// Rows: what the network holds is what it held and what came in through its ends.
fn kept_rows(kind: &str, start: Holdings, marched: &Marched<'_>) -> Vec<Row> {
    const LIMIT: Limit = Limit { value: 1e-12, why: "round-off of some hundred steps" };
    let end = Holdings::of(marched);
    let came = came_in(marched);
    vec![
        Row::relative(format!("{kind}: mass kept [kg]"), end.mass - came.mass, start.mass, LIMIT),
        Row::relative(format!("{kind}: energy kept [J]"), end.energy - came.energy, start.energy, LIMIT),
    ]
}

/// Mass [kg] and total enthalpy [J] that came into a network through its ends, with the heat of walls.
fn came_in(marched: &Marched<'_>) -> Holdings {
    let mut sum = Holdings { mass: 0.0, energy: 0.0 };
    let integrals = &marched.march.integrals;
    for (joint, first) in marched.march.network.joints.iter().zip(&integrals.places.joints) {
        let JointKind::Series(series) = &joint.kind else { continue };
        let inner = series.sides.each_ref().map(|side| matches!(side, Side::Duct { .. } | Side::Volume { .. }));
        let sign = match inner {
            [false, true] => 1.0,
            [true, false] => -1.0,
            _ => continue,
        };
        sum.mass += sign * integrals.values[*first];
        sum.energy += sign * GAS.heat_capacity() * integrals.values[*first + 1];
    }
    // The skin of a bay.
    sum.energy += integrals.places.volumes.iter().map(|first| integrals.values[*first]).sum::<f64>();
    sum
}

impl Setup {
    /// Rows of the mass that left the vessel, or came into it.
    fn flow_rows(&self, marched: &Marched<'_>, vessel: usize) -> Vec<Row> {
        const IDEAL: Limit =
            Limit { value: 5e-3, why: "the inertia of the air in the passage, in the first fraction of a millisecond" };
        const FED_LIMIT: Limit = Limit { value: 1e-12, why: "round-off; what is fed in does not ask for the pressure" };
        const SHUT: Limit = Limit { value: 1e-15, why: "a wall lets nothing through" };
        let kind = self.kind;
        let march = &marched.march;
        let left = self.vessel_mass - march.network.layout.volume(&march.y, vessel)[0];
        match &self.expected {
            Expected::Ideal(blowdown) => {
                let ideal = blowdown.mass() * (1.0 - blowdown.left(END));
                vec![Row::relative(format!("{kind}: mass that left the vessel [kg]"), left, ideal, IDEAL)]
            }
            Expected::Between(blowdown, [least, most], why) => {
                let share = left / (blowdown.mass() * (1.0 - blowdown.left(END)));
                let limit = Limit { value: 0.5 * (most - least), why };
                let name = format!("{kind}: mass that left the vessel over that through an ideal nozzle");
                vec![Row { measure: Measure::Absolute, ..Row::relative(name, share, 0.5 * (least + most), limit) }]
            }
            Expected::Filled(opening, [least, most], why) => {
                let share = -left / (opening.mass_flow(self.vessel_pressure()) * END);
                let limit = Limit { value: 0.5 * (most - least), why };
                let name = format!("{kind}: mass that filled the vessel over that through an ideal nozzle");
                vec![Row { measure: Measure::Absolute, ..Row::relative(name, share, 0.5 * (least + most), limit) }]
            }
            Expected::Fed => {
                vec![Row::relative(format!("{kind}: mass that was fed in [kg]"), -left, FED * END, FED_LIMIT)]
            }
            Expected::Shut => {
                vec![Row::vanishing(format!("{kind}: mass that came in [kg]"), came_in(marched).mass, SHUT)]
            }
        }
    }

    fn vessel_pressure(&self) -> f64 {
        self.vessel_mass * GAS.gas_constant * TEMPERATURE / VESSEL
    }
}

/// The vessel with an ideal opening [m^2] to the outside.
fn ideal(ratio: f64, area: f64) -> Blowdown {
    let opening =
        Opening { gas: GAS, effective_area: area, total_pressure: ratio * OUTSIDE, total_temperature: TEMPERATURE };
    Blowdown { opening, volume: VESSEL, back_pressure: OUTSIDE }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_part_is_blown_through() {
        let kinds: Vec<_> = setups(4.0).iter().map(|setup| setup.kind).collect();
        // Air goes past these, not through them.
        let passed = |kind: &&tractwright::part::Kind| !["hot_part", "shield"].contains(&kind.name);
        for kind in tractwright::part::KINDS.iter().filter(passed) {
            assert!(kinds.contains(&kind.name), "{}", kind.name);
        }
    }

    #[test]
    fn a_leak_and_a_flow_the_wrong_way_are_seen() {
        let setup = setups(4.0).into_iter().find(|setup| setup.kind == "orifice_plate").unwrap();
        let tract = Tract::read(&setup.case).unwrap();
        let mut marched = tract.march().unwrap();
        let start = Holdings::of(&tract.at_start());
        let vessel = volume(tract.network(), "vessel").unwrap();
        assert!(setup.flow_rows(&marched, vessel).iter().all(Row::holds));
        marched.march.integrals.values[0] *= 1.0 + 1e-9;
        assert!(!kept_rows("leaky", start, &marched)[0].holds());
        let still = tract.at_start();
        assert!(!setup.flow_rows(&still, vessel).iter().any(Row::holds));
    }
}
