//! Walls, hot parts and bays: how they warm, cool and breathe.

use crate::check::{Check, Failure, Findings, Group, Limit, Row, rows_only};
use crate::data;
use crate::figure::Figure;
use crate::oracle::buoyancy::{exchange_flow, stack_flow};
use tractwright::case::Case;
use tractwright::error::Error;
use tractwright::ledger::WALL_HEAT;
use tractwright::march::slow::Slow;
use tractwright::march::{Marching, Observer, Unobserved};
use tractwright::network::Network;

/// Checks of soak and ventilation.
pub const GROUP: Group = Group {
    name: "soak",
    about: "walls, hot parts and bays: how they warm, cool and breathe",
    checks: &[
        Check {
            name: "soak_nodes",
            about: "a turbine, a housing bolted to it and a shield, heated for 20 minutes and left to cool in a bay of given temperature",
            source: "the same bodies by equations from the literature in another language, integrated by scipy's Radau (validation/data/soak_nodes.py)",
            run: soak_nodes,
        },
        Check {
            name: "stack_flow",
            about: "air through two vents of a warm bay, one above the other",
            source: "stack pressure over two openings in series: ASHRAE Handbook of Fundamentals (2017), chapter 16, from memory",
            run: || rows_only(stacks()),
        },
        Check {
            name: "exchange_flow",
            about: "warm air that leaves a bay by the upper half of its only vent while cold air enters below",
            source: "the flow of each layer past the neutral plane, integrated: Brown and Solvason 1962, Int. J. Heat Mass Transfer 5, 859",
            run: || rows_only(exchanges()),
        },
        Check {
            name: "heat_balance",
            about: "30 minutes of idling, pulling and standing: all heat that came in, went out and is stored; warmth by root cause",
            source: "conservation of energy",
            run: || rows_only(balances()),
        },
    ],
};

pub(super) const GAS: &str = "gas: {gamma: 1.4, gas_constant: 287.05 J/(kg K), viscosity: 2e-5 Pa s}";
const GAS_CONSTANT: f64 = 287.05;

/// The phases of point `day` of `case`, marched slowly, with `look` told of each record.
pub(super) fn march_day(text: &str, look: &mut dyn FnMut(&Slow<'_>)) -> Result<(), Failure> {
    let case = Case::from_text("check", text).map_err(Error::from)?;
    let (built, phases) = (case.build("day").map_err(Error::from)?, case.build_phases("day").map_err(Error::from)?);
    let z = vec![0.0; built.network.layout.unknowns];
    let mut march =
        Slow::new(&phases[0].network, 0.0, built.initial.clone(), z, built.settings).map_err(Error::from)?;
    if built.settings.from_steady {
        march.settle().map_err(Error::from)?;
    }
    let mut looking = Looking(look);
    march.record_start(&mut looking)?;
    for (number, phase) in phases.iter().enumerate() {
        if number > 0 {
            march = march.go_on_in(&phase.network, phase.moving()).map_err(Error::from)?;
        }
        march.run_to(phase.to, &mut looking)?;
    }
    Ok(())
}

struct Looking<'a>(&'a mut dyn FnMut(&Slow<'_>));

impl Observer<Slow<'_>> for Looking<'_> {
    fn record(&mut self, march: &Slow<'_>) -> Result<(), Error> {
        (self.0)(march);
        Ok(())
    }
}

/// Temperature of the first node of `part` [K].
pub(super) fn node(network: &Network, y: &[f64], part: &str) -> Result<f64, Failure> {
    let found = network.thermal.nodes.iter().position(|node| node.part == part);
    let index = found.ok_or_else(|| Failure::Missing(part.to_owned()))?;
    Ok(network.node_temperature(y, index))
}

fn soak_nodes() -> Result<Findings, Failure> {
    let text = format!(
        "outside: {{pressure: 1e5 Pa, temperature: 300 K, {GAS}}}
points:
  heated: {{speed: 0 m/s}}
  cooling: {{parts: {{turbine: {{gas: {{conductance: 0 W/K}}}}}}}}
  day: {{phases: [{{point: heated, for: 20 min}}, {{point: cooling, for: 20 min}}]}}
parts:
  side: {{kind: mouth, area: 30 cm2}}
  tube: {{kind: duct, length: 200 mm, diameter: 60 mm}}
  turbo: {{kind: draw, flow: 50 g/s}}
  bay: {{kind: bay, temperature: 330 K}}
  turbine: {{kind: hot_part, in: bay, area: 800 cm2, mass: 8 kg, material: cast iron, \
           gas: {{temperature: 1100 K, conductance: 6 W/K}}, touches: {{housing: 0.5 W/K}}, sees: {{plate: 0.2}}, start: 300 K}}
  housing: {{kind: hot_part, in: bay, area: 200 cm2, mass: 2 kg, material: aluminium, cools: yes, start: 300 K}}
  plate: {{kind: shield, in: bay, area: 350 cm2, material: aluminium, thickness: 0.8 mm, start: 300 K}}
flow: [[side, tube, turbo]]
run: {{march: slow, start: rest, record_every: 120 s, cell: 50 mm}}
"
    );
    let reference = data::rows(data::SOAK_NODES)?;
    let mut seen: Vec<(f64, [f64; 3])> = Vec::new();
    march_day(&text, &mut |march| {
        let moment = march.moment();
        let of = |part| node(moment.network, moment.y, part).unwrap_or(f64::NAN);
        seen.push((moment.time, [of("turbine"), of("housing"), of("plate")]));
    })?;
    let (mut rows, mut findings) = (Vec::new(), Vec::new());
    for (index, (part, column)) in
        [("turbine", "turbine_K"), ("housing", "housing_K"), ("shield", "shield_K")].into_iter().enumerate()
    {
        let mut figure = Figure::new(format!("Soak of the {part}"), "time, s", "temperature, K");
        let (mut computed, mut exact, mut worst) = (Vec::new(), Vec::new(), (0.0_f64, 0.0_f64, 0.0_f64));
        for (row, (time, temperatures)) in reference.iter().zip(&seen) {
            let (expected, found) = (row.number(column)?, temperatures[index]);
            let at = row.number("time_s")?;
            exact.push((at, expected));
            computed.push((*time, found));
            if (found - expected).abs() >= (worst.1 - worst.2).abs() {
                worst = (at, found, expected);
            }
        }
        figure = figure.computed("slow march", computed).reference("Radau", exact);
        findings.push(figure);
        rows.push(Row::absolute(
            format!("temperature of the {part} where it is farthest off, at {:.0} s [K]", worst.0),
            worst.1,
            worst.2,
            Limit { value: 0.1, why: "the step allows an error of 0.03 K of a wall; published mark for a soak 0.1 K" },
        ));
    }
    rows.push(Row::absolute(
        "records".to_owned(),
        seen.len() as f64,
        reference.len() as f64,
        Limit { value: 0.0, why: "one every two minutes" },
    ));
    let mut all = Findings::from(rows);
    for figure in findings {
        all = all.with(figure);
    }
    Ok(all)
}

/// A bay that a hot part warms, with vents, in steady state: mass flow in by the vents [kg/s] and temperature of the bay [K].
fn ventilated(vents: &str, lines: &str) -> Result<(f64, f64), Failure> {
    let text = format!(
        "outside: {{pressure: 1e5 Pa, temperature: 300 K, {GAS}}}
parts:
  engine_bay: {{kind: bay, volume: 300 L}}
  turbine: {{kind: hot_part, in: engine_bay, area: 1500 cm2, mass: 8 kg, material: cast iron, temperature: 800 K}}
{vents}flow: [{lines}]
run: {{until: steady}}
"
    );
    let case = Case::from_text("check", &text).map_err(Error::from)?;
    let built = case.build(&case.points[0].name).map_err(Error::from)?;
    let z = vec![0.0; built.network.layout.unknowns];
    let mut march = Slow::new(&built.network, 0.0, built.initial.clone(), z, built.settings).map_err(Error::from)?;
    march.run(&mut Unobserved)?;
    let moment = march.moment();
    let flows = moment.work.joints.iter().filter_map(|joint| Some(joint.series()?.mass_flow));
    Ok((0.5 * flows.map(f64::abs).sum::<f64>(), moment.work.volumes[0].temperature))
}

fn stacks() -> Result<Vec<Row>, Failure> {
    let mut rows = Vec::new();
    for (low, high, height) in [(100.0, 100.0, 0.6), (300.0, 80.0, 0.4), (60.0, 200.0, 0.8)] {
        let vents = format!(
            "  floor: {{kind: vent, area: {low} cm2, height: 0 mm, discharge_coefficient: 0.6}}
  roof: {{kind: vent, area: {high} cm2, height: {height} m, discharge_coefficient: 0.6}}
"
        );
        let (flow, bay) = ventilated(&vents, "[outside, floor, engine_bay], [engine_bay, roof, outside]")?;
        let density = |temperature: f64| 1e5 / (GAS_CONSTANT * temperature);
        let expected = stack_flow([density(300.0), density(bay)], [0.6e-4 * low, 0.6e-4 * high], height);
        rows.push(Row::relative(
            format!("flow [kg/s] through {low} cm2 and, {height} m above, {high} cm2, bay at {:.0} K", bay),
            flow,
            expected,
            Limit { value: 1e-3, why: "the compressibility of the jets is left out of the form" },
        ));
    }
    Ok(rows)
}

fn exchanges() -> Result<Vec<Row>, Failure> {
    let mut rows = Vec::new();
    for (area, tall) in [(200.0, 0.2), (400.0, 0.4), (1000.0, 0.5)] {
        let vents = format!("  door: {{kind: vent, area: {area} cm2, tall: {tall} m, discharge_coefficient: 0.6}}\n");
        let (flow, bay) = ventilated(&vents, "[outside, door, engine_bay]")?;
        let density = |temperature: f64| 1e5 / (GAS_CONSTANT * temperature);
        let expected = exchange_flow([density(300.0), density(bay)], 0.6e-4 * area, tall);
        rows.push(Row::relative(
            format!("exchange [kg/s] through {area} cm2 that is {tall} m tall, bay at {bay:.0} K"),
            flow,
            expected,
            Limit {
                value: 1e-2,
                why: "two halves in place of a profile of speed are exact for small differences of density; off by half a per cent at 120 K",
            },
        ));
    }
    Ok(rows)
}

fn balances() -> Result<Vec<Row>, Failure> {
    let turbine = |temperature: &str| format!("turbine: {{{temperature}}}");
    let text = format!(
        "outside: {{pressure: 99.6 kPa, temperature: 24 degC, relative_humidity: 45 %}}
points:
  idle: {{parts: {{turbo: {{corrected_flow: 10 g/s}}, radiator: {{fan_flow: 500 g/s}}, {}}}}}
  pull: {{speed: 45 m/s, parts: {{turbo: {{corrected_flow: 200 g/s}}, {}}}}}
  stop: {{parts: {{turbo: {{corrected_flow: 0.1 g/s}}, {}}}}}
  day: {{phases: [{{point: idle, for: 10 min}}, {{point: pull, for: 5 min}}, {{point: stop, for: 10 min}}, {{point: idle, for: 5 min}}]}}
parts:
  nose: {{kind: scoop, area: 65 cm2, recovery: 0.75, lip_radius: 4 mm}}
  box: {{kind: plenum, volume: 6 L, wall: {{in: bay, layers: [{{material: plastic, thickness: 2 mm}}, {{material: aluminium, thickness: 0.3 mm}}]}}}}
  tube: {{kind: duct, length: 500 mm, diameter: 70 mm, wall: {{in: bay, material: carbon composite, thickness: 1.6 mm}}}}
  turbo: {{kind: draw, corrected_flow: 100 g/s}}
  bay: {{kind: bay, volume: 300 L}}
  radiator: {{kind: radiator, flow_per_speed: 25 g/m, core: 92 degC, still_conductance: 6 W/K}}
  turbine: {{kind: hot_part, in: bay, area: 900 cm2, mass: 7 kg, material: cast iron, temperature: 600 degC, touches: {{tube: 0.3 W/K}}, sees: {{tube: 0.1}}}}
  floor: {{kind: vent, area: 900 cm2, pressure_coefficient: -0.1}}
  roof: {{kind: vent, area: 120 cm2, height: 700 mm, pressure_coefficient: -0.3}}
  seam: {{kind: gap, width: 0.5 mm, length: 300 mm}}
flow: [[nose, box, tube, turbo], [radiator, bay], [outside, floor, bay], [bay, roof, outside], [bay, seam, box]]
run: {{march: slow, record_every: 5 s, cell: 20 mm}}
",
        turbine("temperature: 420 degC"),
        turbine("temperature: 800 degC"),
        turbine("temperature: null, cools: yes"),
    );
    let mut first: Option<f64> = None;
    let mut last = (0.0, 0.0, 0.0);
    // Warmth at the draw that physical roots do not explain, over the rise, as it goes on: the largest, and that of the start.
    let (mut rest, mut at_start) = (0.0_f64, f64::NAN);
    let (mut left_whole, mut drawn_whole) = (0.0, 0.0);
    march_day(&text, &mut |march| {
        let moment = march.moment();
        let held = moment.network.held_heat(moment.y);
        let start = *first.get_or_insert(held);
        let integrals = march.integrals.values.as_slice();
        let places = &march.integrals.places;
        let ducts: f64 = places.ducts.iter().map(|place| integrals[place + WALL_HEAT]).sum();
        let volumes: f64 = places.volumes.iter().map(|place| integrals[*place]).sum();
        last = (held - start + ducts + volumes, integrals[places.beyond], integrals[places.beyond + 1]);
        let Some([now, drawn]) = march.warmth() else { return };
        let (all, own) = (now.iter().sum::<f64>(), now[now.len() - 1]);
        if at_start.is_nan() {
            at_start = (own / all).abs();
        }
        rest = rest.max((own / all).abs());
        (left_whole, drawn_whole) = (drawn[drawn.len() - 1], drawn.iter().sum::<f64>());
    })?;
    let (stored_and_given, beyond, moved) = last;
    Ok(vec![
        Row::absolute(
            "heat stored in walls and given to air, less what came from beyond, over the heat moved".to_owned(),
            (stored_and_given - beyond) / moved,
            0.0,
            Limit { value: 1e-6, why: "Newton's method ends at a change of 1e-10" },
        ),
        Row::absolute(
            "warmth without a root, over the rise, in the steady start".to_owned(),
            at_start,
            0.0,
            Limit { value: 1e-6, why: "what Newton's method leaves of the balances of walls, a millionth of a kelvin" },
        ),
        Row::absolute(
            "warmth without a root, over all that was drawn in 30 minutes".to_owned(),
            left_whole / drawn_whole,
            0.0,
            Limit {
                value: 1e-4,
                why: "steps of time and cells, the air of which moves on while its temperature changes",
            },
        ),
        Row::absolute(
            "warmth without a root, over the rise, at its largest in 360 records".to_owned(),
            rest,
            0.0,
            Limit { value: 5e-3, why: "the accuracy asked of the ledger in transients" },
        ),
    ])
}
