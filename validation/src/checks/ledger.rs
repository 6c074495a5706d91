//! The ledger of a branch against the stations that it is made of.

use crate::case_text::{CaseText, GAS_CONSTANT};
use crate::check::{Check, Failure, Group, Limit, Row, rows_only};
use crate::marched::Tract;
use crate::oracle::handbook;
use crate::oracle::perfect_gas::PerfectGas;
use std::f64::consts::PI;
use tractwright::error::Error;
use tractwright::ledger::{BranchSummary, Readings, Summary, Window};
use tractwright::march::Acoustic;
use tractwright::network::JointState;

/// Checks of the ledger.
pub const GROUP: Group = Group {
    name: "ledger",
    about: "losses, heat and origins of a branch, booked part by part",
    checks: &[Check {
        name: "steady_branches",
        about: "two draws behind a box with air from four places, a filter, a warm trunk and a wye; one line is read against the air",
        source: "the fall of ln p0 along a streamtube, its entropy, and conservation of mass and energy",
        run: || rows_only(steady_branches()),
    }],
};

/// When the flow is steady [s], and until when it is averaged.
const WINDOW: (f64, f64) = (0.4, 0.41);
const BORE: f64 = 0.06;
/// Lowest and highest flows that are said to have been recorded [kg/s].
const EXTREMES: [[f64; 2]; 2] = [[0.1, 0.3], [0.2, 0.25]];
/// More stations than a joint has.
const LAST: usize = usize::MAX;

/// The tract: parts `nose` and `bay` let in, `left_turbo` and `right_turbo` draw.
fn case() -> String {
    CaseText::new(1e5, 300.0)
        .speed(45.0)
        .part("nose", "kind: scoop, area: 70 cm2, recovery: 0.8, lip_radius: 5 mm")
        .part("snout", "kind: duct, length: 200 mm, sections: [{at: 0 mm, diameter: 80 mm}, {at: 200 mm, diameter: 95 mm}]")
        .part("bay", "kind: bay, temperature: 350 K, pressure_coefficient: 0.8")
        .part("hole", "kind: mouth, from: bay, area: 20 cm2")
        .part("hose", "kind: duct, length: 150 mm, diameter: 50 mm")
        .part("seam", "kind: gap, width: 1 mm, length: 400 mm")
        .part("warm", "kind: bay, temperature: 340 K, pressure_coefficient: 0.9")
        .part("breather", "kind: inflow, flow: 6 g/s, temperature: 360 K")
        .part("box", "kind: plenum, volume: 1 L")
        .part(
            "panel",
            "kind: filter, media_area: 0.4 m2, curve: {flow: 60 120 180 g/s, drop: 60 140 240 Pa, at: [20 degC, 1 bar]}",
        )
        .part(
            "trunk",
            "kind: duct, length: 240 mm, diameter: 85 mm, wall: {temperature: 330 K}, \
             bends: [{at: 60 mm, angle: 60 deg, radius: 90 mm}]",
        )
        .part("y", "kind: wye, legs: {trunk: 0 deg, left: 40 deg, right: -60 deg}")
        .part("left", "kind: duct, length: 180 mm, sections: [{at: 0 mm, diameter: 55 mm}, {at: 180 mm, diameter: 60 mm}]")
        .part("right", "kind: duct, length: 150 mm, diameter: 60 mm")
        .part("left_turbo", "kind: draw, corrected_flow: 150 g/s")
        .part("right_turbo", "kind: draw, corrected_flow: 110 g/s")
        .line(&["nose", "snout", "box", "panel", "trunk", "y.trunk"])
        .line(&["hole", "hose", "box"])
        .line(&["warm", "seam", "box"])
        .line(&["breather", "box"])
        .line(&["y.left", "left", "left_turbo"])
        .line(&["right_turbo", "right", "y.right"])
        .run("until: 0.4 s, cell: 15 mm")
        .text()
}

/// The march of a tract at the end of the window, and its summary over it.
fn averaged(tract: &Tract) -> Result<(Acoustic<'_>, Summary), Failure> {
    let start = tract.network().stored(&tract.at_start().march.y);
    let mut march = tract.march()?.march;
    let before = march.integrals.values.clone();
    while march.clock.time < WINDOW.1 {
        march.step(WINDOW.1).map_err(Error::from)?;
    }
    let whole = march.integrals.values.clone();
    let readings = Readings {
        window: Window { from: WINDOW.0, to: WINDOW.1 },
        integrals: whole.iter().zip(&before).map(|(end, start)| end - start).collect(),
        extremes: EXTREMES.to_vec(),
        whole,
        stored: [start, tract.network().stored(&march.y)],
        roots: Vec::new(),
        warmth: Vec::new(),
    };
    let summary = Summary::of(tract.network(), &readings);
    Ok((march, summary))
}

/// A tube that a wall cools by 2 kW between a mouth and a draw: the rise, and what explains it.
fn cooled() -> Result<Vec<Row>, Failure> {
    const COLD: f64 = -2000.0;
    let text = CaseText::new(1e5, 300.0)
        .part("mouth", "kind: mouth, area: 50 cm2")
        .part("tube", format!("kind: duct, length: 300 mm, diameter: 70 mm, wall: {{heat: {COLD} W}}"))
        .part("draw", "kind: draw, corrected_flow: 150 g/s")
        .line(&["mouth", "tube", "draw"])
        .run("until: 0.4 s, cell: 15 mm")
        .text();
    let tract = Tract::read(&text)?;
    let (_, summary) = averaged(&tract)?;
    let [branch] = &summary.branches[..] else { return Err(Failure::Missing("the one branch".to_owned())) };
    let rise = COLD / (branch.mass_flow * PerfectGas::AIR.heat_capacity());
    Ok(vec![
        Row::relative("cooled tube: rise over the outside [K]", branch.rise, rise, STEADY),
        Row::relative("cooled tube: rise explained", branch.heat_closure, 1.0, STEADY),
    ])
}

fn steady_branches() -> Result<Vec<Row>, Failure> {
    let tract = Tract::read(&case())?;
    let (march, summary) = averaged(&tract)?;
    let stations = Stations::of(&march)?;
    let mut rows = balance_rows(&summary);
    let let_in = stations.inlets.iter().map(|inlet| inlet.flow).sum();
    rows.push(Row::relative("flow that comes in [kg/s]", summary.totals.inflow, let_in, STEADY));
    for (branch, leg) in summary.branches.iter().zip(["left", "right"]) {
        rows.extend(loss_rows(branch, leg, &stations));
        rows.extend(state_rows(branch, leg, &stations, &summary));
    }
    rows.extend(cooled()?);
    Ok(rows)
}

/// A stream at a station: flow towards the draws [kg/s], total pressure [Pa] and temperature [K].
#[derive(Debug, Clone, Copy)]
struct Station {
    flow: f64,
    pressure: f64,
    temperature: f64,
}

/// The stations of the tract, from the joints of its last step.
struct Stations {
    /// Where the outside ends: at scoop, hole, seam and breather.
    inlets: [Station; 4],
    /// Where their air enters the box.
    jets: [Station; 4],
    /// In the box, behind the filter, and behind the edge of the trunk.
    filter: [Station; 3],
    /// In the wye, at trunk, left and right.
    legs: [Station; 3],
    /// At the draws.
    draws: [Station; 2],
}

impl Stations {
    fn of(march: &Acoustic<'_>) -> Result<Self, Failure> {
        let find = |parts: &[&str]| {
            let found = march.network.joints.iter().position(|joint| joint.parts == parts);
            found.map(|joint| &march.work.joints[joint]).ok_or_else(|| Failure::Missing(format!("joint {parts:?}")))
        };
        let series = |parts: &[&str], number: usize, sign: f64| {
            let state = find(parts)?.series().ok_or_else(|| Failure::Missing("series".to_owned()))?;
            let pressure = state.total_pressures[number.min(state.total_pressures.len() - 1)];
            Ok::<_, Failure>(Station { flow: sign * state.mass_flow, pressure, temperature: state.total_temperature })
        };
        let JointState::Wye(wye) = find(&["trunk", "left", "right"])? else {
            return Err(Failure::Missing("wye".to_owned()));
        };
        Ok(Self {
            inlets: [
                series(&["nose", "snout"], 0, 1.0)?,
                series(&["hole", "hose"], 0, 1.0)?,
                series(&["warm", "box"], 0, 1.0)?,
                series(&["breather", "box"], 0, 1.0)?,
            ],
            jets: [
                series(&["snout", "box"], LAST, 1.0)?,
                series(&["hose", "box"], LAST, 1.0)?,
                series(&["warm", "box"], LAST, 1.0)?,
                series(&["breather", "box"], LAST, 1.0)?,
            ],
            filter: [
                series(&["box", "trunk"], 0, 1.0)?,
                series(&["box", "trunk"], 1, 1.0)?,
                series(&["box", "trunk"], LAST, 1.0)?,
            ],
            legs: [0, 1, 2].map(|leg| Station {
                flow: wye.mass_flows[leg].abs(),
                pressure: wye.faces[leg].total_pressure,
                temperature: wye.faces[leg].total_temperature,
            }),
            draws: [
                series(&["left", "left_turbo"], LAST, 1.0)?,
                // The ledger's station of a draw is that beside it.
                series(&["right_turbo", "right"], 0, -1.0)?,
            ],
        })
    }
}

const STEADY: Limit =
    Limit { value: 1e-5, why: "what still rings after 0.4 s; bookings below half a pascal are left out" };
const SMALL: Limit = Limit { value: 5e-4, why: "the truncation error of cells of 15 mm stands with the walls" };
const COARSE: Limit =
    Limit { value: 0.03, why: "the closed form knows no density that changes, and the cone has 13 cells" };
const ROUND_OFF: Limit = Limit { value: 1e-11, why: "round-off of some thousand steps" };

fn balance_rows(summary: &Summary) -> Vec<Row> {
    let shares = summary.branches.iter().map(|branch| branch.flow_share).sum();
    vec![
        Row::vanishing("mass that is missing, over what came in", summary.totals.mass_error, ROUND_OFF),
        Row::vanishing("energy that is missing, over what came in", summary.totals.energy_error, ROUND_OFF),
        Row::relative("flow shares, sum", shares, 1.0, ROUND_OFF),
        Row::relative(
            "dynamic pressure [Pa]",
            summary.dynamic_pressure,
            0.5 * 1e5 / (GAS_CONSTANT * 300.0) * 2025.0,
            STEADY,
        ),
    ]
}

/// Rows of the losses: each booking is the fall of ln p0 between the stations on both sides of its part.
fn loss_rows(branch: &BranchSummary, leg: &str, stations: &Stations) -> Vec<Row> {
    let number = usize::from(leg == "right");
    let Stations { inlets, jets, filter, legs, draws } = stations;
    let air = PerfectGas::AIR;
    // The stream of 45 m/s comes to rest.
    let free = 1e5 / air.pressure_ratio(45.0 / air.sound_speed(300.0));
    let whole = (free / draws[number].pressure).ln();
    let share = jets.map(|jet| jet.flow / jets.iter().map(|jet| jet.flow).sum::<f64>());
    let fall = |before: f64, after: f64| (before / after).ln() / whole;
    let mixed: f64 = (0..jets.len()).map(|k| share[k] * jets[k].pressure.ln()).sum();
    let expected = [
        ("nose", "mouth", share[0] * fall(free, inlets[0].pressure)),
        ("hole", "mouth", share[1] * fall(free, inlets[1].pressure)),
        ("warm", "no ram", share[2] * fall(free, inlets[2].pressure)),
        ("seam", "", share[2] * fall(inlets[2].pressure, jets[2].pressure)),
        ("breather", "fed in", share[3] * fall(free, inlets[3].pressure)),
        ("box", "jets lost", (mixed - filter[0].pressure.ln()) / whole),
        ("panel", "", fall(filter[0].pressure, filter[1].pressure)),
        ("trunk", "inlet", fall(filter[1].pressure, filter[2].pressure)),
        ("trunk", "wall bends widening", fall(filter[2].pressure, legs[0].pressure)),
        ("y", "wye", fall(legs[0].pressure, legs[1 + number].pressure)),
        (leg, "wall widening", fall(legs[1 + number].pressure, draws[number].pressure)),
    ];
    let row = |(part, what, fall): (&str, &str, f64)| {
        let own = branch.losses.iter().filter(|item| item.part == part && what.contains(item.what.as_str()));
        let booked = own.map(|item| item.lost).sum::<f64>() / branch.lost;
        Row::absolute(format!("{leg}: share of {part} {what} in the loss"), booked, fall, STEADY)
    };
    let own = |part: &str, what: &str| {
        let found = branch.losses.iter().find(|item| item.part == part && item.what == what);
        found.map_or(f64::NAN, |item| item.lost / branch.lost * whole)
    };
    let head = |station: Station, diameter: f64| {
        let flux = station.flow / (0.25 * PI * diameter * diameter);
        0.5 * flux * flux * GAS_CONSTANT * station.temperature / (station.pressure * station.pressure)
    };
    let all: f64 = branch.losses.iter().map(|item| item.share).sum();
    let mut rows: Vec<Row> = expected.into_iter().map(row).collect();
    // Idelchik, Handbook of Hydraulic Resistance, 3rd ed. (1994), section 5: 3.2 tan^1.25(angle/2) (1 - A1/A2)^2.
    let widening = 3.2 * libm::pow(7.5 / 200.0, 1.25) * (1.0 - (80.0_f64 / 95.0).powi(2)).powi(2);
    let of_snout = share[0] * widening * head(jets[0], 0.08);
    rows.push(Row::relative(
        format!("{leg}: widening of the snout, of ln p0"),
        own("snout", "widening"),
        of_snout,
        COARSE,
    ));
    let rough = handbook::smooth_friction(2e5);
    let bend = handbook::round_bend(PI / 3.0, 90.0 / 85.0, rough) * head(legs[0], 0.085);
    rows.push(Row::relative(format!("{leg}: bend of the trunk, of ln p0"), own("trunk", "bends"), bend, COARSE));
    rows.push(Row::relative(format!("{leg}: shares, sum"), all, 1.0, Limit { value: 1e-4, why: STEADY.why }));
    rows.push(Row::relative(format!("{leg}: loss [Pa]"), branch.lost, free - draws[number].pressure, STEADY));
    rows.push(Row::relative(format!("{leg}: dissipation over loss"), branch.dissipation_closure, 1.0, SMALL));
    rows
}

/// Rows of what the draw gets: flow, pressures, temperature, origins.
fn state_rows(branch: &BranchSummary, leg: &str, stations: &Stations, summary: &Summary) -> Vec<Row> {
    let Stations { jets, filter, legs, draws, .. } = stations;
    let number = usize::from(leg == "right");
    let draw = draws[number];
    let air = PerfectGas::AIR;
    let area = 0.25 * PI * BORE * BORE;
    let function = draw.flow * (GAS_CONSTANT * draw.temperature).sqrt() / (area * draw.pressure);
    let tap = air.subsonic_mach(function).map_or(f64::NAN, |mach| draw.pressure * air.pressure_ratio(mach));
    let origin =
        |name: &str| branch.origins.iter().find(|origin| origin.origin == name).map_or(f64::NAN, |found| found.share);
    let share = |k: usize| jets[k].flow / jets.iter().map(|jet| jet.flow).sum::<f64>();
    let heat = |cause: &str| branch.heat.iter().find(|item| item.cause == cause).map_or(f64::NAN, |item| item.rise);
    let ram = 0.5 * 2025.0 / air.heat_capacity();
    let warm = Limit { value: 2e-4, why: "bookings below a ten-thousandth of a kelvin are left out" };
    let label = |what: &str| format!("{leg}: {what}");
    vec![
        Row::relative(label("mass flow [kg/s]"), branch.mass_flow, draw.flow, STEADY),
        Row::relative(
            label("share of all flow"),
            branch.flow_share,
            draw.flow / (draws[0].flow + draws[1].flow),
            STEADY,
        ),
        Row::relative(
            label("swing of the flow [kg/s]"),
            branch.flow_swing,
            EXTREMES[number][1] - EXTREMES[number][0],
            ROUND_OFF,
        ),
        Row::relative(label("total pressure [Pa]"), branch.total_pressure, draw.pressure, STEADY),
        Row::relative(label("recovery"), branch.recovery, draw.pressure / summary.free_stream_total_pressure, STEADY),
        Row::relative(label("static pressure at the bore [Pa]"), branch.static_pressure, tap, STEADY),
        Row::relative(label("depression [Pa]"), branch.depression, 1e5 - tap, Limit { value: 1e-4, why: STEADY.why }),
        Row::relative(label("total temperature [K]"), branch.total_temperature, draw.temperature, STEADY),
        Row::relative(label("rise over the outside [K]"), branch.rise, draw.temperature - 300.0, STEADY),
        Row::relative(label("rise by ram [K]"), heat("ram"), share(0) * ram, STEADY),
        Row::relative(label("rise by the hole's air [K]"), heat("hole air"), share(1) * 50.0, STEADY),
        Row::relative(label("rise by the seam's air [K]"), heat("warm air"), share(2) * 40.0, STEADY),
        Row::relative(label("rise by what is fed in [K]"), heat("breather"), share(3) * 60.0, STEADY),
        Row::relative(
            label("rise by the trunk's wall [K]"),
            heat("trunk wall"),
            legs[0].temperature - filter[2].temperature,
            STEADY,
        ),
        Row::relative(label("rise explained"), branch.heat_closure, 1.0, warm),
        Row::absolute(label("share of the nose's air"), origin("nose"), share(0), STEADY),
        Row::absolute(label("share of the hole's air"), origin("hole"), share(1), STEADY),
        Row::absolute(label("share of the seam's air"), origin("seam"), share(2), STEADY),
        Row::absolute(label("share of what is fed in"), origin("breather"), share(3), STEADY),
        Row::relative(label("bore [m]"), branch.bore, BORE, ROUND_OFF),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wrong_total_is_seen() {
        let tract = Tract::read(&case()).unwrap();
        let integrals = vec![0.0; tract.at_start().march.integrals.values.len()];
        let stored = [vec![1.0; 2], vec![1.1; 2]];
        let (whole, window) = (integrals.clone(), Window { from: 0.0, to: 1.0 });
        let readings = Readings {
            window,
            integrals,
            extremes: vec![[0.0; 2]; 2],
            whole,
            stored,
            roots: Vec::new(),
            warmth: Vec::new(),
        };
        let rows = balance_rows(&Summary::of(tract.network(), &readings));
        assert_eq!(rows.iter().map(Row::holds).collect::<Vec<_>>(), [false, false, false, true]);
    }
}
