//! Levers against the exact derivatives of a tract that has a closed form.

use super::*;
use crate::study::{Of, Quantity};

/// Outside air through a wire mesh into a chamber, and out of it into a draw of given flow. So slowly the air keeps its temperature, and its
/// pressure falls by K heads in the mesh and by that of the open share f where the jet ends: p_b^2 - p_a^2 = (K + 1 / f^2) m^2 R T / A^2.
const MESH: &str = "
outside: {pressure: 99 kPa, temperature: 300 K}
parts:
  mesh: {kind: screen, pattern: wire_mesh, open_area: 30 %, area: 200 cm2, thickness: 1 mm}
  chamber: {kind: plenum, volume: 20 L}
  turbo: {kind: draw, flow: 75 g/s, bore: 160 mm}
flow: [[outside, mesh, chamber], [chamber, turbo]]
run: {until: steady}
";

/// Two draws that share a box, the right one at the end of a longer tube.
const TWINS: &str = "
points: {road: {speed: 40 m/s}}
parts:
  nose: {kind: scoop, area: 120 cm2, recovery: 0.8, lip_radius: 8 mm}
  box: {kind: plenum, volume: 8 L}
  left: {kind: duct, length: 300 mm, diameter: 70 mm, inlet: {shape: flared, radius: 14 mm}}
  right: {like: left, length: 600 mm}
  left_turbo: {kind: draw, corrected_flow: 200 g/s}
  right_turbo: {like: left_turbo}
flow: [[nose, box], [box, left, left_turbo], [box, right, right_turbo]]
run: {until: steady, cell: 20 mm}
";

fn levers(text: &str, point: &str, aim: Aim) -> Levers {
    Levers::new(Case::from_text("levers.yaml", text).expect("a case"), point, aim, None).expect("levers")
}

fn moves(levers: &Levers, path: &str) -> Lever {
    let index = levers.numbers().iter().position(|number| number.path == path).expect(path);
    match levers.lever(index) {
        Outcome::Moves(lever) => lever,
        other => panic!("{path}: {other:?}"),
    }
}

#[test]
fn the_levers_of_a_mesh_are_the_exact_derivatives() {
    let levers = levers(MESH, "rest", Aim::Recovery);
    let (open, area, flow, temperature, pressure) = (0.3_f64, 0.02_f64, 0.075_f64, 300.0_f64, 99e3_f64);
    // Idelchik, Handbook of Hydraulic Resistance, 3rd ed. (1994), diagram 8-6, and its derivative.
    let heads = 1.3 * (1.0 - open) + (1.0 / open - 1.0).powi(2) + open.powi(-2);
    let slope = -1.3 - 2.0 * (1.0 / open - 1.0) / (open * open) - 2.0 * open.powi(-3);
    let x = heads * 287.05 * temperature * (flow / (area * pressure)).powi(2);
    let recovery = (1.0 - x).sqrt();
    assert!((levers.now() - recovery).abs() < 1e-3 * (1.0 - recovery), "{} for {recovery}", levers.now());
    for (path, exact) in [
        ("parts.mesh.area", x / (area * recovery)),
        ("parts.mesh.open_area", -0.5 * x * slope / (heads * recovery)),
        ("parts.turbo.flow", -x / (flow * recovery)),
        ("outside.temperature", -0.5 * x / (temperature * recovery)),
        ("outside.pressure", x / (pressure * recovery)),
    ] {
        let lever = moves(&levers, path);
        assert!((lever.derivative / exact - 1.0).abs() < 2e-3, "{path}: {} for {exact}", lever.derivative);
        assert!(lever.sides == Sides::Both && lever.disagreement().expect("a check") < 1e-4, "{path}: {lever:?}");
        assert!((lever.tolerance(1e-3) * exact.abs() / 1e-3 - 1.0).abs() < 3e-3);
    }
    // Straight on to 10 % more area.
    let area_lever = moves(&levers, "parts.mesh.area");
    assert!(
        (area_lever.best - 0.022).abs() < 1e-12
            && (area_lever.gain / (0.002 * area_lever.derivative) - 1.0).abs() < 1e-9
    );
    // The air in the mesh and the chamber and the mouth of the draw have no say in a steady total pressure.
    for path in ["parts.mesh.thickness", "parts.chamber.volume", "parts.turbo.bore"] {
        let index = levers.numbers().iter().position(|number| number.path == path).expect(path);
        assert_eq!(levers.lever(index), Outcome::Nothing, "{path}");
    }
}

#[test]
fn a_lever_is_the_difference_of_two_runs_of_the_case() {
    let levers = levers(TWINS, "road", Aim::Temperature);
    let by_hand = |temperature: &str| {
        let text = format!("outside: {{temperature: {temperature}}}\n{TWINS}");
        let case = Case::from_text("by_hand.yaml", &text).expect("a case");
        let figures = crate::study::figures_of(&case, "road").expect("a steady state");
        figures.value(Quantity::InletTemperature, &Of::Whole).expect("a temperature")
    };
    let slope = (by_hand("21 degC") - by_hand("19 degC")) / 2.0;
    assert!((slope - 1.0).abs() < 1e-3, "{slope}");
    let recovery = moves(&levers, "points.road.speed");
    // Ram: v dv / c_p.
    assert!((recovery.derivative / (40.0 / 1004.7) - 1.0).abs() < 1e-3, "{recovery:?}");
}

#[test]
fn a_difference_is_gained_no_further_than_to_nothing() {
    let levers = levers(TWINS, "road", Aim::Difference);
    let Measure::Between { high, low, .. } = levers.measure() else { panic!("{:?}", levers.measure()) };
    assert_eq!((high.as_str(), low.as_str()), ("left_turbo", "right_turbo"));
    let long = moves(&levers, "parts.right.length");
    assert!(long.derivative > 0.0 && long.best < 0.6, "{long:?}");
    let wide = moves(&levers, "parts.right.diameter");
    assert!((wide.gain / levers.now() - 1.0).abs() < 1e-9, "10 % of a diameter outdo 300 mm of tube: {wide:?}");
}

#[test]
fn a_field_at_its_limit_gets_a_one_sided_difference_and_says_so() {
    let text = TWINS.replace("recovery: 0.8", "recovery: 1");
    let levers = levers(&text, "road", Aim::Recovery);
    let lever = moves(&levers, "parts.nose.recovery");
    assert!(matches!(&lever.sides, Sides::Below(why) if why.contains("0 to 1")), "{:?}", lever.sides);
    assert!(lever.derivative > 0.0 && lever.gain == 0.0 && lever.disagreement().expect("a check") < 1e-3, "{lever:?}");
}

#[test]
fn lengths_are_smooth_where_the_number_of_cells_would_jump() {
    // 310 mm lie halfway between 15 and 16 cells of 20 mm.
    let text = TWINS.replace("length: 300 mm", "length: 310 mm");
    let levers = levers(&text, "road", Aim::Pressure);
    let lever = moves(&levers, "parts.left.length");
    assert!(lever.derivative < 0.0 && lever.disagreement().expect("a check") < 1e-3, "{lever:?}");
}

#[test]
fn a_draw_that_is_not_there_is_refused() {
    let case = Case::from_text("levers.yaml", TWINS).expect("a case");
    let told = Levers::new(case, "road", Aim::Recovery, Some("middle_turbo")).expect_err("no such draw").to_string();
    assert!(told.contains("middle_turbo") && told.contains("left_turbo, right_turbo"), "{told}");
}
