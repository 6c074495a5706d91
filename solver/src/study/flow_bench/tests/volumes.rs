//! Volumes at the ends of what is tested.

use super::*;

/// Depression so small that air does not expand [Pa].
const GENTLE: f64 = 20.0;

/// Two holes into one box, of which one comes through a front room, and two ways out of it.
const HOLES: &str = "
outside: {pressure: 101.325 kPa, temperature: 20 degC}
parts:
  near: {kind: orifice_plate, diameter: 40 mm}
  far: {kind: orifice_plate, diameter: 50 mm}
  middle: {kind: orifice_plate, diameter: 35 mm}
  front: {kind: plenum, volume: 3 L}
  box: {kind: plenum, volume: 8 L}
  tube: {kind: duct, length: 300 mm, diameter: 60 mm, inlet: {shape: flared, radius: 12 mm}}
  turbo: {kind: draw, corrected_flow: 60 g/s}
  straight: {kind: draw, corrected_flow: 40 g/s, bore: 45 mm}
flow:
  - [outside, near, box]
  - [outside, far, front, middle, box]
  - [box, tube, turbo]
  - [box, straight]
run: {cell: 20 mm}
";

fn area(millimetres: f64) -> f64 {
    std::f64::consts::FRAC_PI_4 * 1e-6 * millimetres * millimetres
}

/// The ordinary equation of a sharp-edged orifice between volumes, `m = Cd A sqrt(2 rho dp)`, with Cd 0.61.
fn orifice_flow(area: f64, depression: f64) -> f64 {
    let density = 101_325.0 / (Gas::dry_air().gas_constant * 293.15);
    0.61 * area * (2.0 * density * depression).sqrt()
}

#[test]
fn a_box_is_the_settling_chamber_behind_what_feeds_it() {
    let holes = Case::from_text("holes.yaml", HOLES).expect("a case");
    let gentle = bench(Convention::SettlingChamber, Setting::Depression(GENTLE));
    let to_box = |from: Option<&str>| gentle.test(&holes, &span(from, Some("box"))).expect("a reading");
    // The air expands by dp over p, 2e-4.
    let close = |found: f64, exact: f64| assert!((found / exact - 1.0).abs() < 3e-4, "{found} {exact}");
    close(to_box(Some("near")).mass_flow, orifice_flow(area(40.0), GENTLE));
    // In series the squares of the resistances add, in parallel the areas.
    let series = 1.0 / (area(50.0).powi(-2) + area(35.0).powi(-2)).sqrt();
    close(to_box(Some("far")).mass_flow, orifice_flow(series, GENTLE));
    close(to_box(Some("front")).mass_flow, orifice_flow(area(35.0), GENTLE));
    let all = to_box(None);
    close(all.mass_flow, orifice_flow(area(40.0) + series, GENTLE));
    assert!(all.exit_area.is_infinite() && all.loss_coefficient(Formula::Incompressible).is_none());
    // No head is lost in a bore of a metre.
    let tap = bench(Convention::TubeTap, Setting::Depression(GENTLE)).test(&holes, &span(None, Some("box")));
    close(tap.expect("a reading").mass_flow, all.mass_flow);
    let text = holes.on_bench(&span(None, Some("box")), GENTLE).expect("a bench").case.resolved_text();
    assert!(!text.contains("tube") && !text.contains("turbo") && !text.contains("straight"), "{text}");
}

#[test]
fn a_box_at_rest_is_the_room() {
    let holes = Case::from_text("holes.yaml", HOLES).expect("a case");
    let full = bench(Convention::SettlingChamber, Setting::Depression(USUAL));
    let read = |case: &Case, from, to| full.test(case, &span(Some(from), Some(to))).expect("a reading").mass_flow;
    // The duct has the same inlet on a box as on the room; an opening of a square metre costs 1e-5 of the depression.
    let close = |one: f64, other: f64| assert!((one / other - 1.0).abs() < 1e-5, "{one} {other}");
    close(read(&holes, "box", "tube"), read(&holes, "tube", "tube"));
    close(read(&tract(), "box", "tube"), read(&tract(), "paper", "tube"));
    let draw = full.test(&holes, &span(Some("box"), Some("straight"))).expect("a reading");
    close(draw.exit_area, area(45.0));
    // Nothing but the bore: the isentropic flow through it.
    close(draw.mass_flow, area(45.0) * Formula::Compressible.flux(&draw.air, USUAL));
    // Both ways out at once, side by side, do not know of each other.
    let both = full.test(&holes, &span(Some("box"), None)).expect("a reading").mass_flow;
    close(both, read(&holes, "box", "turbo") + draw.mass_flow);
    let text = holes.on_bench(&span(Some("box"), None), USUAL).expect("a bench").case.resolved_text();
    assert!(!text.contains("near") && !text.contains("front"), "what fed it is out: {text}");
}

#[test]
fn a_jet_into_a_settling_chamber_is_lost() {
    let jets = "box: {kind: plenum, volume: 8 L, carry_over: [{from: snout, into: paper, share: 0.4}]}";
    let with = Case::from_text("tract.yaml", &TRACT.replace("box: {kind: plenum, volume: 8 L}", jets)).expect("a case");
    for setup in [span(None, Some("box")), span(Some("box"), None)] {
        let full = bench(Convention::SettlingChamber, Setting::Depression(USUAL));
        assert_eq!(full.test(&with, &setup).expect("a reading"), chamber(&setup));
    }
}

#[test]
fn a_leak_into_the_room_lets_air_in_whichever_way_it_is_read() {
    let leak = |line: &str| {
        let parts =
            "parts:\n  leak: {kind: gap, width: 2 mm, length: 200 mm}\n  bay: {kind: bay, temperature: 70 degC}\n";
        let text = HOLES.replace("parts:\n", parts).replace("flow:\n", &format!("flow:\n  - {line}\n"));
        Case::from_text("leak.yaml", &text).expect("a case")
    };
    let gentle = bench(Convention::SettlingChamber, Setting::Depression(GENTLE));
    let read = |case: &Case| gentle.test(case, &span(None, Some("box"))).expect("a reading").mass_flow;
    let [tight, inwards, outwards, bay] = [
        Case::from_text("tight.yaml", HOLES).expect("a case"),
        leak("[outside, leak, box]"),
        leak("[box, leak, outside]"),
        leak("[box, leak, bay]"),
    ]
    .map(|case| read(&case));
    assert!((inwards / outwards - 1.0).abs() < 1e-9 && (inwards / bay - 1.0).abs() < 1e-9);
    // A gap passes 0.62 of the ideal flow.
    assert!(((inwards - tight) / (0.62 / 0.61 * orifice_flow(4e-4, GENTLE)) - 1.0).abs() < 3e-4);
}
