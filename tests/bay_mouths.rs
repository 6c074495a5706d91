//! Mouths that breathe from a bay whose air is stored, against mouths out of air of given state, and what becomes of the air of the bay.

use tractwright::case::Case;
use tractwright::joint::side::Side;
use tractwright::ledger::{Readings, Summary, Window};
use tractwright::march::slow::{Slow, roots};
use tractwright::march::{Acoustic, Marching, Unobserved};
use tractwright::network::{JointKind, Network};
use tractwright_validation::case_text::CaseText;
use tractwright_validation::marched::Tract;

/// Temperature of the bay and outside [K].
const WARM: f64 = 345.0;
const OUTSIDE: f64 = 300.0;

/// A tube that breathes by a mouth from a `bay` of these keys, with a lip and a step, `radiation` and what stands behind it.
fn tube(bay: &str, radiation: &str, behind: &str) -> CaseText {
    CaseText::new(1e5, OUTSIDE)
        .part("bay", format!("kind: bay, {bay}"))
        .part("hole", format!("kind: mouth, from: bay, area: 34 cm2, lip_radius: 3 mm, radiation: {radiation}"))
        .part("tube", "kind: duct, length: 320 mm, diameter: 60 mm")
        .part("turbo", behind)
        .line(&["hole", "tube", "turbo"])
}

/// A bay that stores so much air that nothing changes it.
const HUGE: &str = "volume: 1e9 m3, skin: {area: 1 cm2}";

fn given(temperature: f64) -> String {
    format!("temperature: {temperature} K")
}

/// Largest difference of density, velocity head and pressure between the cells of two networks of the same ducts, over their sizes.
fn difference(network: &Network, one: &[f64], other: &Network, another: &[f64]) -> f64 {
    let (slots, others) = (network.arena.slots(), other.arena.slots());
    let mut worst: f64 = 0.0;
    for duct in network.arena.ducts() {
        for (slot, same) in network.arena.slots_of(duct).zip(other.arena.slots_of(duct)) {
            for (row, size) in [1.0, 100.0, 2.5e5].iter().enumerate() {
                worst = worst.max((one[row * slots + slot] - another[row * others + same]).abs() / size);
            }
        }
    }
    worst
}

#[test]
fn waves_meet_a_huge_bay_as_they_meet_air_of_given_state() {
    let run = "march: acoustic, until: 60 ms, cell: 10 mm";
    // The air before a mouth that radiates is that of the outside: with it both bays are as warm as that.
    for (temperature, radiation, flow) in [(WARM, "none", 40), (OUTSIDE, "unflanged", 4), (OUTSIDE, "flanged", 4)] {
        let pulsed = &format!("kind: draw, flow: {flow} g/s, pulse: {{amplitude: 1.4, frequency: 90 Hz}}");
        let stored = tube(HUGE, radiation, pulsed).initial_volume("bay", 1e5, temperature);
        let [stored, given] = [stored, tube(&given(temperature), radiation, pulsed)]
            .map(|case| Tract::read(&case.run(run).text()).expect("a tract"));
        let [stored, given] = [&stored, &given].map(|tract| tract.march().expect("a march").march);
        let apart = difference(stored.network, &stored.y, given.network, &given.y);
        // The lip takes its head at the density behind it in the one, and before the pressure of sound in the other: off by their ratio, a share that
        // grows with the flow.
        assert!(apart < 2e-6, "{temperature} K, {radiation}: {apart:e}");
        let moved =
            stored.y.iter().zip(&stored.network.initial_state(&[])).take(100).any(|(y, rest)| (y - rest).abs() > 0.01);
        assert!(moved, "waves have passed");
    }
}

#[test]
fn the_slow_march_meets_a_huge_bay_as_it_meets_air_of_given_state() {
    for behind in ["kind: draw, corrected_flow: 60 g/s", "kind: inflow, flow: 60 g/s, temperature: 380 K"] {
        let run = "march: slow, start: rest, until: 5 s, cell: 20 mm";
        let stored = tube(HUGE, "unflanged", behind).initial_volume("bay", 1e5, WARM);
        let [stored, given] = [stored, tube(&given(WARM), "unflanged", behind)].map(|case| {
            let case = Case::from_text("check", &case.run(run).text()).expect("a case");
            case.build(&case.points[0].name).expect("a network")
        });
        let ends = [&stored, &given].map(|built| {
            let z = vec![0.0; built.network.layout.unknowns];
            let mut march = Slow::new(&built.network, 0.0, built.initial.clone(), z, built.settings).expect("a march");
            march.run(&mut Unobserved).expect("an end");
            march.moment().y.to_vec()
        });
        let apart = difference(&stored.network, &ends[0], &given.network, &ends[1]);
        assert!(apart < 2e-6, "{behind}: {apart:e}");
    }
}

/// A bay that a radiator and a draw of its own keep moving, a box that breathes from it and from outside, and a turbo.
fn tract(run: &str) -> Tract {
    let text = CaseText::new(1e5, OUTSIDE)
        .speed(30.0)
        .part("bay", "kind: bay, volume: 120 L")
        .part("core", "kind: radiator, fan_flow: 150 g/s, core: 365 K")
        .part("floor", "kind: vent, area: 250 cm2")
        .part("hole", "kind: mouth, from: bay, area: 30 cm2, lip_radius: 2 mm")
        .part("hose", "kind: duct, length: 150 mm, diameter: 60 mm")
        .part("nose", "kind: scoop, area: 15 cm2, recovery: 0.8")
        .part("box", "kind: plenum, volume: 4 L")
        .part("tube", "kind: duct, length: 300 mm, diameter: 65 mm")
        .part("turbo", "kind: draw, corrected_flow: 140 g/s")
        .line(&["core", "bay"])
        .line(&["outside", "floor", "bay"])
        .line(&["hole", "hose", "box"])
        .line(&["nose", "box"])
        .line(&["box", "tube", "turbo"])
        .run(run)
        .text();
    Tract::read(&text).expect("a tract")
}

/// Mass [kg] and energy [J] that came in so far: through ends, and into the air from walls.
fn come_in(march: &Acoustic<'_>) -> [f64; 2] {
    let (network, places, values) = (march.network, &march.integrals.places, &march.integrals.values);
    let mut sum = [0.0; 2];
    for (joint, first) in network.joints.iter().zip(&places.joints) {
        let JointKind::Series(series) = &joint.kind else { continue };
        let beyond = series.sides.each_ref().map(|side| !matches!(side, Side::Duct { .. } | Side::Volume { .. }));
        let inward = f64::from(i8::from(beyond[0])) - f64::from(i8::from(beyond[1]));
        sum[0] += inward * values[*first];
        sum[1] += inward * network.gas.heat_capacity * values[first + 1];
    }
    sum[1] += places.volumes.iter().map(|first| values[*first]).sum::<f64>();
    sum
}

#[test]
fn mass_and_energy_of_the_bay_are_kept_whichever_way_its_mouth_blows() {
    let tract = tract("march: acoustic, until: 50 ms, cell: 15 mm");
    let mut marched = tract.at_start().march;
    let network = marched.network;
    // A box at half as much again blows into the bay first.
    let room = network.volumes.iter().position(|volume| volume.name == "box").expect("a box");
    let shares: Vec<f64> = (0..network.origins.len()).map(|origin| f64::from(u8::from(origin == 0))).collect();
    let first = network.layout.volume_start(room);
    let place = first..first + network.layout.per_volume();
    network.volumes[room].store(&network.gas, 1.5e5, 320.0, &shares, &mut marched.y[place]);
    let hole = network.joints.iter().position(|joint| joint.parts[0] == "hole").expect("the mouth");
    let before = network.stored(&marched.y);
    let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
    while marched.clock.time < 0.05 {
        marched.step(0.05).expect("a step");
        let flow = marched.work.joints[hole].series().expect("a series").mass_flow;
        (least, most) = (least.min(flow), most.max(flow));
    }
    assert!(least < -0.05 && most > 0.01, "{least} to {most} kg/s");
    let (after, come) = (network.stored(&marched.y), come_in(&marched));
    for (kept, come) in [0, 1].into_iter().zip(come) {
        let error = (after[kept] - before[kept] - come) / before[kept];
        assert!(error.abs() < 1e-12, "{kept}: {error:e}");
    }
}

#[test]
fn air_of_a_bay_keeps_its_origins_and_the_root_of_its_warmth() {
    let tract = tract("march: slow, until: steady, cell: 15 mm");
    let network = tract.network();
    let z = vec![0.0; network.layout.unknowns];
    let start = tract.at_start().march.y;
    let mut march = Slow::new(network, 0.0, start.clone(), z, tract.settings()).expect("a march");
    march.run(&mut Unobserved).expect("a steady state");
    let moment = march.moment();
    let flow = |name: &str| {
        let joint = network.joints.iter().position(|joint| joint.parts[0] == name).expect("a joint");
        moment.work.joints[joint].series().expect("a series").mass_flow
    };
    assert!(!network.origins.contains(&"hole".to_owned()), "{:?}", network.origins);
    let [hole, nose, vent] = ["hole", "nose", "outside"].map(flow);
    assert!(hole > 0.005 && nose > 0.02 && vent < 0.0, "{hole} {nose} {vent}");
    // All that is in the bay came by the radiator, whose air is as warm as it makes it, apart from what the skin takes.
    let draw = network.draws()[0];
    let shares = &moment.work.stream_shares[draw * network.origins.len()..][..network.origins.len()];
    let share = |name: &str| shares[network.origins.iter().position(|origin| origin == name).expect("an origin")];
    assert!((share("core") - hole / (hole + nose)).abs() < 1e-9, "{shares:?}");
    assert!((share("core") + share("nose") - 1.0).abs() < 1e-9);
    let bay = network.volumes.iter().position(|volume| volume.name == "bay").expect("a bay");
    let mixed = hole / (hole + nose) * (moment.work.volumes[bay].temperature - OUTSIDE);
    let ram = nose / (hole + nose) * 0.5 * 30.0 * 30.0 / network.gas.heat_capacity;
    let known = roots([network]);
    let warmth = &march.warmth().expect("warmth")[0];
    let by = |root: &str| warmth[known.iter().position(|name| name == root).expect("a root")];
    assert!((by("core") - mixed).abs() < 1e-6 && mixed > 2.0, "{} of {mixed} K", by("core"));
    assert!((by("ram") - ram).abs() < 1e-6, "{} of {ram} K", by("ram"));
    assert!(!known.contains(&"hole".to_owned()), "{known:?}");

    // The ledger books the lip on the mouth, and all of the loss.
    let window = Window { from: 0.0, to: march.clock.time };
    let integrals = march.integrals.values.clone();
    let readings = Readings {
        window,
        whole: integrals.clone(),
        integrals,
        extremes: vec![[0.1, 0.2]],
        stored: [network.stored(&start), network.stored(march.moment().y)],
        roots: Vec::new(),
        warmth: Vec::new(),
    };
    let summary = Summary::of(network, &readings);
    let branch = &summary.branches[0];
    let lip = branch.losses.iter().find(|item| item.part == "hole" && item.what == "mouth").expect("the lip");
    assert!(lip.lost > 0.0);
    let all: f64 = branch.losses.iter().map(|item| item.share).sum();
    assert!((all - 1.0).abs() < 1e-4, "{all}");
}

#[test]
fn a_mouth_back_into_its_own_bay_is_refused() {
    let text = "points: {still: {}}\nparts:\n  bay: {kind: bay, volume: 100 L}\n  hole: {kind: mouth, from: bay, area: 20 cm2}\nflow:\n  - [hole, bay]\n";
    let case = Case::from_text("loop.yaml", text).expect("a case");
    let refused = case.build("still").expect_err("nothing flows").to_string();
    assert!(refused.contains("`hole` joined to `bay`, which is the same air"), "{refused}");
}
