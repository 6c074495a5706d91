//! Marches of small networks against what is known of them.

use super::{Acoustic, March, Outcome, Settings, Unobserved, Until};
use crate::case::Case;
use crate::error::Location;
use crate::flow::{DuctId, Predictor, Scheme};
use crate::gas::Gas;
use crate::loss::Basis;
use crate::network::{AirStream, Blueprint, Entry, Network, Outside, Stretch};
use crate::part::{CarryOver, Course, CrossSection, Demand, Draw, Duct, Edge, Mouth, Part, Plenum, Wye};
use std::f64::consts::{FRAC_PI_4, PI};

fn round(at: f64, diameter: f64) -> CrossSection {
    CrossSection { at, area: FRAC_PI_4 * diameter * diameter, perimeter: PI * diameter }
}

fn duct(length: f64, diameter: f64) -> Duct {
    Duct {
        air_meter: None,
        length,
        sections: vec![round(0.0, diameter)],
        bends: Vec::new(),
        roughness: 1.5e-6,
        corrugation: None,
        friction_factor: None,
        separation: false,
        wall_temperature: None,
        film_factor: 1.0,
        wall_heat: 0.0,
        clad: None,
        inlet: Edge::Sharp,
        outlet: Edge::Sharp,
        cell: None,
        friction_basis: Basis::Assumed("test".into()),
        bend_basis: Basis::Assumed("test".into()),
    }
}

fn mouth(area: f64) -> Part {
    Part::Mouth(Mouth {
        area,
        from: None,
        pressure_coefficient: 0.0,
        recovery: Vec::new(),
        published: None,
        lip_radius: 0.05,
        radiation: None,
        basis: Basis::Assumed("test".into()),
    })
}

fn draw(flow: f64, course: Course) -> Part {
    let demand = Demand::CorrectedFlow { flow, slope: 0.0, pressure: 101_325.0, temperature: 288.15 };
    Part::Draw(Draw { demand, course, bore: None, backflow_temperature: None })
}

fn plenum(volume: f64) -> Part {
    Part::Plenum(Plenum {
        volume,
        surface: 0.0,
        wall_temperature: None,
        film: 20.0,
        clad: None,
        carry_over: Vec::new(),
    })
}

fn blueprint(parts: Vec<(&str, Part)>, lines: &[&[&str]]) -> Blueprint {
    let entry = |word: &str| {
        let (name, leg) = word.split_once('.').map_or((word, None), |(name, leg)| (name, Some(leg.to_owned())));
        Entry { name: name.to_owned(), leg, location: Location::default() }
    };
    Blueprint {
        gas: Gas::new(1.4, 287.05),
        outside: Outside { pressure: 101_325.0, temperature: 298.15 },
        stream: AirStream::default(),
        powertrain: None,
        parts: parts.into_iter().map(|(name, part)| (name.to_owned(), Location::default(), part)).collect(),
        lines: lines.iter().map(|line| line.iter().map(|word| entry(word)).collect()).collect(),
        initial: Vec::new(),
        cell: 0.01,
        scheme: Scheme::default(),
        deviations: crate::loss::Deviations::default(),
    }
}

fn settings(end: f64) -> Settings {
    Settings { march: March::Acoustic, from_steady: false, courant: 0.8, until: Until::Time(end), record_every: end }
}

/// Twin draws behind a box with one mouth: the shape of the main job.
fn twin() -> Network {
    let tube = |length: f64| Part::Duct(duct(length, 0.07));
    let parts = vec![
        ("mouth", mouth(0.0095)),
        ("snout", Part::Duct(duct(0.45, 0.11))),
        ("box", plenum(0.011)),
        ("left_tube", tube(0.62)),
        ("right_tube", tube(0.70)),
        ("left_turbo", draw(0.21, Course::Steady)),
        ("right_turbo", draw(0.21, Course::Steady)),
    ];
    Network::build(blueprint(
        parts,
        &[&["mouth", "snout", "box"], &["box", "left_tube", "left_turbo"], &["box", "right_tube", "right_turbo"]],
    ))
    .expect("a sound network")
}

#[test]
fn a_twin_tract_settles_and_keeps_mass() {
    let network = twin();
    let y = network.initial_state(&[]);
    let before = network.stored(&y);
    let mut march = Acoustic::new(&network, y, settings(0.3));
    march.run(&mut Unobserved).expect("a sound march");
    let after = network.stored(&march.y);
    let flows: Vec<f64> =
        network.draws().iter().map(|joint| march.work.joints[*joint].series().expect("series").mass_flow).collect();
    assert!(flows.iter().all(|flow| *flow > 0.15 && *flow < 0.21), "{flows:?}");
    // Tubes of different length, so the longer one gets a little less.
    assert!(flows[0] > flows[1] && flows[0] < 1.01 * flows[1], "{flows:?}");
    let places = &march.integrals.places;
    let balance: f64 = (0..network.joints.len())
        .map(|joint| {
            let mass = march.integrals.values[places.joints[joint]];
            match network.joints[joint].parts[0].as_str() {
                "mouth" => mass,
                "left_tube" | "right_tube" => -mass,
                _ => 0.0,
            }
        })
        .sum();
    assert!((balance - (after[0] - before[0])).abs() < 1e-13, "{balance}");
    let shares: f64 = after[2..].iter().sum();
    assert!((shares / after[0] - 1.0).abs() < 1e-12);
}

#[test]
fn nothing_moves_in_a_tract_at_rest() {
    let parts = vec![
        ("mouth", mouth(0.0095)),
        ("snout", Part::Duct(Duct { sections: vec![round(0.0, 0.11), round(0.3, 0.06)], ..duct(0.45, 0.11) })),
        ("box", plenum(0.011)),
        ("trunk", Part::Duct(duct(0.3, 0.08))),
        ("y", Part::Wye(Wye { legs: vec![("trunk".into(), 0.0), ("left".into(), 0.6), ("right".into(), -0.6)] })),
        ("left", Part::Duct(duct(0.3, 0.06))),
        ("right", Part::Duct(duct(0.3, 0.05))),
        ("left_end", Part::Wall),
        ("right_end", Part::Wall),
    ];
    let lines: &[&[&str]] = &[
        &["mouth", "snout", "box", "trunk", "y.trunk"],
        &["y.left", "left", "left_end"],
        &["y.right", "right", "right_end"],
    ];
    let network = Network::build(blueprint(parts, lines)).expect("a sound network");
    let mut march = Acoustic::new(&network, network.initial_state(&[]), settings(0.05));
    march.run(&mut Unobserved).expect("a sound march");
    for duct in network.arena.ducts() {
        for velocity in network.arena.cell_states(&march.work.cells, duct).velocity {
            assert!(velocity.abs() < 1e-9, "{velocity}");
        }
    }
}

#[test]
fn a_closed_network_keeps_mass_and_energy() {
    let parts = vec![
        ("left_end", Part::Wall),
        ("left", Part::Duct(duct(0.5, 0.06))),
        ("box", plenum(0.002)),
        ("trunk", Part::Duct(duct(0.3, 0.08))),
        ("y", Part::Wye(Wye { legs: vec![("trunk".into(), 0.0), ("up".into(), 0.6), ("down".into(), -0.9)] })),
        ("up", Part::Duct(duct(0.3, 0.06))),
        ("down", Part::Duct(duct(0.25, 0.05))),
        ("up_end", Part::Wall),
        ("down_end", Part::Wall),
    ];
    let lines: &[&[&str]] =
        &[&["left_end", "left", "box", "trunk", "y.trunk"], &["y.up", "up", "up_end"], &["y.down", "down", "down_end"]];
    let network = Network::build(blueprint(parts, lines)).expect("a sound network");
    let stretch = Stretch {
        part: "left".into(),
        from: 0.0,
        to: 0.25,
        pressure: Some(2.2e5),
        temperature: Some(360.0),
        velocity: None,
    };
    let y = network.initial_state(&[stretch]);
    let before = network.stored(&y);
    let mut march = Acoustic::new(&network, y, settings(0.25));
    march.run(&mut Unobserved).expect("a sound march");
    let after = network.stored(&march.y);
    assert!(march.clock.step > 10_000, "{}", march.clock.step);
    for k in 0..2 {
        assert!((after[k] / before[k] - 1.0).abs() < 1e-12, "{k}: {:e}", after[k] / before[k] - 1.0);
    }
}

fn flows(network: &Network, march: &Acoustic<'_>) -> Vec<f64> {
    network.draws().iter().map(|joint| march.work.joints[*joint].series().expect("a draw").mass_flow).collect()
}

#[test]
fn both_marches_settle_on_the_same_flow() {
    let marched = |predictor| {
        let parts = vec![
            ("mouth", mouth(0.0095)),
            ("snout", Part::Duct(duct(0.45, 0.11))),
            ("box", plenum(0.011)),
            ("tube", Part::Duct(duct(0.62, 0.07))),
            ("turbo", draw(0.21, Course::Steady)),
        ];
        let mut drawing = blueprint(parts, &[&["mouth", "snout", "box", "tube", "turbo"]]);
        drawing.scheme.march = predictor;
        let network = Network::build(drawing).expect("a sound network");
        let mut march = Acoustic::new(&network, network.initial_state(&[]), settings(0.4));
        march.run(&mut Unobserved).expect("a sound march");
        flows(&network, &march)[0]
    };
    let (runge_kutta, hancock) = (marched(Predictor::None), marched(Predictor::Hancock));
    // Hancock's losses carry the step in them (second order): a thousandth of the flow covers it here.
    assert!((hancock / runge_kutta - 1.0).abs() < 1e-3, "{runge_kutta} {hancock}");
}

#[test]
fn a_draw_named_first_takes_what_one_named_last_takes() {
    // At the start the tube is emptier than the outside, from where a draw could be thought to push.
    let flow = |line: &[&str]| {
        let parts =
            vec![("box", plenum(0.011)), ("tube", Part::Duct(duct(0.3, 0.07))), ("turbo", draw(0.21, Course::Steady))];
        let network = Network::build(blueprint(parts, &[line])).expect("a sound network");
        let emptier = |part: &str| Stretch {
            part: part.into(),
            from: 0.0,
            to: 0.3,
            pressure: Some(0.8e5),
            temperature: None,
            velocity: None,
        };
        let y = network.initial_state(&[emptier("box"), emptier("tube")]);
        let mut march = Acoustic::new(&network, y, settings(0.005));
        march.run(&mut Unobserved).expect("a sound march");
        flows(&network, &march)[0]
    };
    let (last, first) = (flow(&["box", "tube", "turbo"]), flow(&["turbo", "tube", "box"]));
    assert!(last > 0.1 && (first / last + 1.0).abs() < 1e-9, "{last} {first}");
}

#[test]
fn a_forced_flow_leaves_the_pressures_to_the_side_that_is_not_forced() {
    for lines in
        ["[fan, in_screen, box], [box, tube, out_screen, pump]", "[box, in_screen, fan], [pump, out_screen, tube, box]"]
    {
        let text = format!(
            "
parts:
  fan: {{kind: inflow, flow: 100 g/s, temperature: 20 degC}}
  in_screen: {{kind: screen, pattern: wire_mesh, open_area: 60 %, area: 40 cm2}}
  box: {{kind: plenum, volume: 11 L}}
  tube: {{kind: duct, length: 300 mm, diameter: 71.4 mm}}
  out_screen: {{like: in_screen}}
  pump: {{kind: draw, flow: 100 g/s}}
flow: [{lines}]
run: {{until: 10 ms}}
"
        );
        let case = Case::from_text("forced", &text).unwrap_or_else(|error| panic!("{error}"));
        let built = case.build(&case.points[0].name).expect("a sound network");
        let mut march = Acoustic::new(&built.network, built.initial.clone(), built.settings);
        march.run(&mut Unobserved).expect("a sound march");
        let around = |name: &str| {
            let joint = built.network.joints.iter().position(|joint| joint.parts.iter().any(|part| part == name));
            let state = march.work.joints[joint.expect("its joint")].series().expect("a series");
            let [first, last] = state.total_pressures[..] else { panic!("{:?}", state.total_pressures) };
            if state.mass_flow > 0.0 { (first, last) } else { (last, first) }
        };
        // Idelchik, diagram 8-6: 1.3 (1 - f) + (1/f - 1)^2 = 0.964 heads, of 25 kg/(s m^2) at 1.2 kg/m^3.
        let expected = 0.964 * 0.5 * 25.0 * 25.0 / 1.2;
        for name in ["fan", "pump"] {
            let (before, after) = around(name);
            assert!(((before - after) / expected - 1.0).abs() < 0.05, "{name}: {before} {after} {expected}");
        }
        // What is pushed in stands above the box, at its exit by the head in the openings of the screen: 723 Pa.
        let (room, (_, entering)) = (march.work.volumes[0].pressure, around("fan"));
        assert!(((entering - room) / 723.0 - 1.0).abs() < 0.05, "{entering} {room}");
    }
}

#[test]
fn a_settled_run_ends_before_its_cap_and_a_pulsed_one_when_it_repeats() {
    for course in [Course::Steady, Course::Pulsed { amplitude: 0.2, frequency: 150.0, phase: 0.0 }] {
        let parts =
            vec![("mouth", mouth(0.0095)), ("snout", Part::Duct(duct(0.45, 0.08))), ("turbo", draw(0.21, course))];
        let network = Network::build(blueprint(parts, &[&["mouth", "snout", "turbo"]])).expect("a sound network");
        let until = Until::Settled { at_most: 3.0, tolerance: 1e-4 };
        let settings = Settings { march: March::Acoustic, from_steady: false, courant: 0.8, until, record_every: 1.0 };
        let mut march = Acoustic::new(&network, network.initial_state(&[]), settings);
        let outcome = march.run(&mut Unobserved).expect("a sound march");
        assert_eq!(outcome, Outcome::Settled, "at {} s", march.clock.time);
        assert!(march.clock.time < 2.0, "{}", march.clock.time);
    }
}

#[test]
fn the_residual_of_a_marched_state_is_zero_in_its_joints_and_a_pure_function() {
    let network = twin();
    let mut march = Acoustic::new(&network, network.initial_state(&[]), settings(0.02));
    march.run(&mut Unobserved).expect("a sound march");
    let (mut work, mut rates, mut g) = (network.work(), vec![0.0; march.y.len()], vec![0.0; network.layout.unknowns]);
    network.residual(0.02, &march.y, &march.z, &mut work, &mut rates, &mut g).expect("a state");
    assert!(g.iter().all(|mismatch| mismatch.abs() < 1e-6), "{g:?}");
    let again = (network.work(), vec![1.0; march.y.len()], vec![1.0; network.layout.unknowns]);
    let (mut other_work, mut other_rates, mut other_g) = again;
    network.residual(0.02, &march.y, &march.z, &mut other_work, &mut other_rates, &mut other_g).expect("a state");
    assert_eq!((rates, g), (other_rates, other_g));
}

#[test]
fn the_residual_knows_prescribed_flows() {
    let given =
        Part::Draw(Draw { demand: Demand::Flow(0.1), course: Course::Steady, bore: None, backflow_temperature: None });
    let parts = vec![
        ("mouth", mouth(0.0095)),
        ("snout", Part::Duct(duct(0.2, 0.08))),
        ("box", plenum(0.011)),
        ("tube", Part::Duct(duct(0.3, 0.07))),
        ("pump", given),
        ("stub", Part::Duct(duct(0.1, 0.05))),
        ("end", Part::Wall),
    ];
    let lines: &[&[&str]] = &[&["mouth", "snout", "box", "tube", "pump"], &["box", "stub", "end"]];
    let network = Network::build(blueprint(parts, lines)).expect("a sound network");
    let mut march = Acoustic::new(&network, network.initial_state(&[]), settings(0.02));
    march.run(&mut Unobserved).expect("a sound march");
    let (mut work, mut rates, mut g) = (network.work(), vec![0.0; march.y.len()], vec![0.0; network.layout.unknowns]);
    network.residual(0.02, &march.y, &march.z, &mut work, &mut rates, &mut g).expect("a state");
    assert!(g.iter().all(|mismatch| mismatch.abs() < 1e-6), "{g:?}");
    let wrong: Vec<f64> = march.z.iter().map(|flow| flow + 1e-3).collect();
    network.residual(0.02, &march.y, &wrong, &mut work, &mut rates, &mut g).expect("a state");
    assert!(g.iter().all(|mismatch| *mismatch < -10.0), "{g:?}");
}

#[test]
fn a_carried_jet_saves_what_its_share_would_lose() {
    let flow = |share: f64| {
        let carry_over = CarryOver { from: "snout".into(), into: "tube".into(), share };
        let Part::Plenum(plenum) = plenum(0.011) else { unreachable!("a plenum") };
        let parts = vec![
            ("mouth", mouth(0.0095)),
            ("snout", Part::Duct(duct(0.2, 0.08))),
            ("box", Part::Plenum(Plenum { carry_over: vec![carry_over], ..plenum })),
            ("tube", Part::Duct(duct(0.3, 0.07))),
            ("turbo", draw(0.21, Course::Steady)),
        ];
        let network = Network::build(blueprint(parts, &[&["mouth", "snout", "box", "tube", "turbo"]])).expect("sound");
        let mut march = Acoustic::new(&network, network.initial_state(&[]), settings(0.4));
        march.run(&mut Unobserved).expect("a sound march");
        let draw = network.draws()[0];
        let inlet = network.joints.iter().position(|joint| joint.parts == ["box", "tube"]).expect("the tube's inlet");
        let into_tube = march.work.joints[inlet].series().expect("series").total_pressures[0];
        let stored = network.stored(&march.y);
        assert!((stored[2..].iter().sum::<f64>() / stored[0] - 1.0).abs() < 1e-12);
        (march.work.joints[draw].series().expect("a draw").mass_flow, into_tube - march.work.volumes[0].pressure)
    };
    let ((without, none), (with, gained)) = (flow(0.0), flow(0.5));
    assert!(none.abs() < 1e-6, "{none}");
    // Half of the jet's head: 0.5 x rho V^2 / 2 at about 0.19 kg/s through 80 mm.
    let head = 0.5 * 0.5 * with * with / (1.17 * (FRAC_PI_4 * 0.08 * 0.08).powi(2));
    assert!((gained / head - 1.0).abs() < 0.02, "{gained} {head}");
    assert!(with > without);
}

#[test]
fn a_state_that_is_none_stops_the_run_by_name_and_keeps_the_last_good_one() {
    let network = twin();
    let mut march = Acoustic::new(&network, network.initial_state(&[]), settings(0.02));
    march.start().expect("a state");
    march.step(1.0).expect("a step");
    let good = march.y.clone();
    let spoiled = network.arena.slots_of(DuctId(1)).start + 3;
    march.y[2 * network.arena.slots() + spoiled] = -1.0;
    let error = march.start().expect_err("no state");
    let text = error.to_string();
    assert!(text.contains("left_tube") && text.contains("cell 3") && text.contains("pressure"), "{text}");
    march.y.copy_from_slice(&good);
    march.start().expect("the good state again");
}

#[test]
fn a_given_flow_straight_from_a_plenum_is_capped_where_its_bore_chokes() {
    let given =
        Draw { demand: Demand::Flow(0.5), course: Course::Steady, bore: Some(0.07), backflow_temperature: None };
    let parts = vec![
        ("box", plenum(0.001)),
        ("pump", Part::Draw(given)),
        ("stub", Part::Duct(duct(0.1, 0.02))),
        ("end", Part::Wall),
    ];
    let network = Network::build(blueprint(parts, &[&["box", "pump"], &["box", "stub", "end"]])).expect("sound");
    let mut march = Acoustic::new(&network, network.initial_state(&[]), settings(0.02));
    march.run(&mut Unobserved).expect("a plenum that is emptied, not overdrawn");
    assert!(march.counters.choked > 0);
    let (state, flow) = (march.work.volumes[0], flows(&network, &march)[0]);
    assert!(state.pressure > 0.0 && state.pressure < 2e4, "{state:?}");
    // NACA Report 1135: m sqrt(R T) / (A p) is 0.684 731 456 at Mach one.
    let reduced = flow * (287.05 * state.temperature).sqrt() / (FRAC_PI_4 * 0.07 * 0.07 * state.pressure);
    assert!((reduced / 0.684_731_456 - 1.0).abs() < 1e-6, "{reduced}");
}
