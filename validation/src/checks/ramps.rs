//! Ramps between phases: what moves in a straight line, and what follows it, against closed forms.

use super::soak::{GAS, march_day, node};
use crate::check::{Check, Failure, Findings, Group, Limit, Row};
use crate::figure::Figure;
use tractwright::march::Marching;

/// Checks of ramps.
pub const GROUP: Group = Group {
    name: "ramps",
    about: "phases whose numbers move in a straight line first",
    checks: &[
        Check {
            name: "ramp_flow",
            about: "a draw whose flow rises in a straight line, then stays",
            source: "the integral of a straight line",
            run: flow,
        },
        Check {
            name: "ramp_lag",
            about: "a hot part whose gas becomes hotter in a straight line, then stays",
            source: "a first-order lag behind a ramp: Incropera et al., 7th ed. (2011), section 5.1, integrated",
            run: lag,
        },
        Check {
            name: "ramp_speed",
            about: "the pressure in a blind tube behind a mouth while the car gathers speed",
            source: "isentropic stagnation: Shapiro (1953), The Dynamics and Thermodynamics of Compressible Fluid Flow, volume 1, chapter 4",
            run: speed,
        },
    ],
};

/// Start, end of the ramp, and end of the run [s].
const TIMES: [f64; 3] = [10.0, 18.0, 30.0];

/// Share of the ramp that lies behind at `time` [s].
fn share(time: f64) -> f64 {
    ((time - TIMES[0]) / (TIMES[1] - TIMES[0])).clamp(0.0, 1.0)
}

/// A case of the phases `before` and `after`, with a ramp between them.
fn case(before: &str, after: &str, parts: &str) -> String {
    let [from, to, end] = TIMES;
    let (first, second, ramp) = (from, end - from, to - from);
    format!(
        "outside: {{pressure: 1e5 Pa, temperature: 300 K, {GAS}}}
points:
  before: {before}
  after: {after}
  day: {{phases: [{{point: before, for: {first} s}}, {{point: after, for: {second} s, ramp: {ramp} s}}]}}
{parts}
run: {{march: slow, record_every: 1 s, cell: 50 mm}}
"
    )
}

fn flow() -> Result<Findings, Failure> {
    let text = case(
        "{parts: {turbo: {flow: 20 g/s}}}",
        "{parts: {turbo: {flow: 120 g/s}}}",
        "parts:
  side: {kind: mouth, area: 60 cm2}
  tube: {kind: duct, length: 400 mm, diameter: 70 mm}
  turbo: {kind: draw, flow: 50 g/s}
flow: [[side, tube, turbo]]",
    );
    let mut drawn = Vec::new();
    march_day(&text, &mut |march| {
        let joint = march.moment().network.draws()[0];
        drawn.push((march.clock.time, march.integrals.values[march.integrals.places.joints[joint]]));
    })?;
    let limit =
        Limit { value: 1e-9, why: "the method integrates a straight line exactly; Newton's method ends at 1e-10" };
    let expected = |time: f64| {
        let rising = share(time) * (TIMES[1] - TIMES[0]);
        0.02 * time.min(TIMES[0]) + rising * (0.02 + 0.05 * share(time)) + 0.12 * (time - TIMES[1]).max(0.0)
    };
    let rows = [0, 1, 2].map(|row| {
        let time = [14.0, 18.0, 30.0][row];
        let found = drawn.iter().find(|seen| (seen.0 - time).abs() < 1e-9).map_or(f64::NAN, |seen| seen.1);
        Row::relative(format!("mass drawn by {time} s [kg]"), found, expected(time), limit)
    });
    Ok(Findings::from(rows.to_vec()))
}

fn lag() -> Result<Findings, Failure> {
    // Next to nothing of it meets the air, so that the gas inside alone heats it.
    let text = case(
        "{parts: {turbine: {gas: {temperature: 600 K}}}}",
        "{parts: {turbine: {gas: {temperature: 1000 K}}}}",
        "parts:
  side: {kind: mouth, area: 30 cm2}
  tube: {kind: duct, length: 200 mm, diameter: 60 mm}
  turbo: {kind: draw, flow: 50 g/s}
  bay: {kind: bay, temperature: 300 K}
  turbine: {kind: hot_part, in: bay, area: 0.01 cm2, mass: 0.5 kg, material: aluminium, gas: {temperature: 600 K, conductance: 100 W/K}, start: 600 K}
flow: [[side, tube, turbo]]",
    );
    let (mut seen, mut capacity) = (Vec::new(), f64::NAN);
    march_day(&text, &mut |march| {
        let moment = march.moment();
        capacity = moment.network.thermal.nodes[0].capacity;
        seen.push((moment.time, node(moment.network, moment.y, "turbine").unwrap_or(f64::NAN)));
    })?;
    let (time_constant, rise) = (capacity / 100.0, 400.0 / (TIMES[1] - TIMES[0]));
    let behind = |since: f64| 1.0 - (-since / time_constant).exp();
    let expected = |time: f64| {
        let since = (time - TIMES[0]).clamp(0.0, TIMES[1] - TIMES[0]);
        let on_ramp = 600.0 + rise * (since - time_constant * behind(since));
        let beyond = (time - TIMES[1]).max(0.0);
        on_ramp + if beyond > 0.0 { (1000.0 - on_ramp) * behind(beyond) } else { 0.0 }
    };
    let worst = |part: &dyn Fn(f64) -> bool| {
        let of_part = seen.iter().filter(|seen| part(seen.0));
        of_part.fold((0.0, 0.0, 0.0), |most: (f64, f64, f64), (time, found)| {
            let exact = expected(*time);
            if (found - exact).abs() >= (most.1 - most.2).abs() { (*time, *found, exact) } else { most }
        })
    };
    let limit =
        Limit { value: 0.1, why: "the step allows an error of 0.03 K of a wall; published mark for a soak 0.1 K" };
    let row = |when: &str, (time, found, exact): (f64, f64, f64)| {
        Row::absolute(format!("temperature {when} where it is farthest off, at {time} s [K]"), found, exact, limit)
    };
    let rows = vec![
        row("on the ramp", worst(&|time| time <= TIMES[1])),
        row("behind the ramp", worst(&|time| time > TIMES[1])),
    ];
    let exact: Vec<(f64, f64)> = seen.iter().map(|seen| (seen.0, expected(seen.0))).collect();
    let figure = Figure::new("A hot part behind a ramp of its gas", "time, s", "temperature, K");
    Ok(Findings::from(rows).with(figure.computed("slow march", seen).reference("lag behind a ramp", exact)))
}

fn speed() -> Result<Findings, Failure> {
    let text = case(
        "{speed: 0 m/s}",
        "{speed: 60 m/s}",
        "parts:
  nose: {kind: scoop, area: 60 cm2, recovery: 1}
  tube: {kind: duct, length: 400 mm, diameter: 70 mm}
  box: {kind: plenum, volume: 5 L}
flow: [[nose, tube, box]]",
    );
    let mut seen = Vec::new();
    march_day(&text, &mut |march| {
        let moment = march.moment();
        seen.push((moment.time, moment.work.volumes[0].pressure));
    })?;
    let rows = [12.0, 16.0, 18.0, 30.0].map(|time| {
        let found = seen.iter().find(|seen| (seen.0 - time).abs() < 1e-9).map_or(f64::NAN, |seen| seen.1);
        let mach_squared = (60.0 * share(time)).powi(2) / (1.4 * 287.05 * 300.0);
        let expected = 1e5 * (1.0 + 0.2 * mach_squared).powf(3.5);
        let why = "what still flows in to fill the box costs a little of the pressure";
        Row::relative(format!("pressure in the box at {time} s [Pa]"), found, expected, Limit { value: 1e-6, why })
    });
    Ok(Findings::from(rows.to_vec()))
}
