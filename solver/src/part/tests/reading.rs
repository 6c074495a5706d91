//! Parts that are read without mistakes.

use std::f64::consts::PI;

use super::super::{Course, Demand, Edge, KINDS, Kind, Part};
use crate::error::CaseError;
use crate::fields::{DefaultUsed, read_text};
use crate::gas::Gas;
use crate::loss::{Basis, Direction, Place, Stream};

/// Reads a part of `kind` from the keys in `text`.
pub(super) fn part(kind: &str, text: &str) -> Result<(Part, Vec<DefaultUsed>), CaseError> {
    let kind: &Kind = KINDS.iter().find(|known| known.name == kind).unwrap();
    read_text("part", text, kind.keys, kind.read)
}

fn read(kind: &str, text: &str) -> Part {
    part(kind, text).unwrap_or_else(|error| panic!("{kind}: {error}")).0
}

#[test]
fn every_example_is_read() {
    for kind in KINDS {
        read(kind.name, kind.example);
    }
}

#[test]
fn a_duct_takes_shapes_bends_and_edges() {
    let text = "{length: 450 mm, sections: [{at: 0 mm, width: 190 mm, height: 70 mm}, {at: 450 mm, diameter: 110 mm}], \
                bends: [{at: 200 mm, angle: 35 deg, radius: 160 mm}], wall: {material: carbon composite, thickness: 1.6 mm}, \
                outlet: {shape: rounded, radius: 5 mm}, corrugation: {depth: 3 mm, pitch: 8 mm}, separation: no}";
    let Part::Duct(duct) = read("duct", text) else { panic!("not a duct") };
    assert!((duct.sections[0].area - 0.0133).abs() < 1e-12 && (duct.sections[0].perimeter - 0.52).abs() < 1e-12);
    assert!((duct.sections[1].area - 0.25 * PI * 0.0121).abs() < 1e-12);
    assert!((duct.bends[0].end() - 0.2 - 0.16 * 35.0 * PI / 180.0).abs() < 1e-12);
    assert_eq!((duct.inlet, duct.outlet), (Edge::Sharp, Edge::Rounded(0.005)));
    assert_eq!((duct.wall_temperature, duct.corrugation, duct.separation), (None, Some((0.003, 0.008)), false));
    assert!((duct.roughness - 1.5e-6).abs() < 1e-18);
}

#[test]
fn a_wall_takes_a_temperature_or_a_heat() {
    let wall = |keys: &str| {
        let Part::Duct(duct) = read("duct", &format!("{{length: 1 m, diameter: 70 mm, wall: {{{keys}}}}}")) else {
            panic!("not a duct")
        };
        (duct.wall_temperature, duct.wall_heat)
    };
    assert_eq!(wall("temperature: 350 K"), (Some(350.0), 0.0));
    assert_eq!(wall("heat: -1.5 kW"), (None, -1500.0));
}

#[test]
fn a_default_is_told_with_its_words() {
    let (_, defaults) = part("duct", "{length: 1 m, diameter: 70 mm}").unwrap();
    let roughness = defaults.iter().find(|default| default.key == "roughness").unwrap();
    assert_eq!(roughness.value, Some(1.5e-6));
    assert!(roughness.holds.contains("Moody"));
}

#[test]
fn a_filter_meets_its_own_bench_sheet() {
    let text =
        "{media_area: 0.21 m2, curve: {flow: 60 120 180 240 g/s, drop: 90 205 345 510 Pa, at: [20 degC, 101.3 kPa]}}";
    let Part::Loss(mut filter) = read("filter", text) else { panic!("not a loss") };
    filter.place(Place::default()).unwrap();
    assert!(matches!(filter.basis(), Basis::Measured(text) if text.starts_with("element curve of 4 points")));
    for (flow, drop) in [(0.06, 90.0), (0.12, 205.0), (0.18, 345.0), (0.24, 510.0)] {
        let stream = Stream { mass_flow: flow, total_temperature: 293.15 };
        let before = filter.total_pressure_before(&Gas::dry_air(), &stream, Direction::Forward, 101_300.0 - drop);
        // Four points, two resistances: this sheet is met within 1 %.
        assert!(((before - 101_300.0) / drop).abs() < 0.01, "{flow}: {before}");
    }
}

#[test]
fn pleats_and_volume_flow_say_the_same_as_area_and_mass_flow() {
    let by_area = "{media_area: 0.6 m2, curve: {flow: 60 120 180 g/s, drop: 90 205 345 Pa, at: [20 degC, 100 kPa]}}";
    // 60 g/s at 100 kPa and 293.15 K are 0.050489 m3/s with R = 287.05287.
    let by_pleats = "{pleats: {count: 40, depth: 30 mm, height: 250 mm}, \
                     curve: {volume_flow: 50.489 100.978 151.467 L/s, drop: 90 205 345 Pa, at: [20 degC, 100 kPa]}}";
    let drop = |text: &str| {
        let Part::Loss(filter) = read("filter", text) else { panic!("not a loss") };
        let stream = Stream { mass_flow: 0.1, total_temperature: 300.0 };
        filter.total_pressure_before(&Gas::dry_air(), &stream, Direction::Reverse, 1e5) - 1e5
    };
    assert!((drop(by_area) / drop(by_pleats) - 1.0).abs() < 1e-4);
}

#[test]
fn dust_and_medium_are_read() {
    let drop = |dust: &str| {
        let text = format!("{{media_area: 0.2 m2, medium: {{permeability: 8e-12 m2, thickness: 0.6 mm}}{dust}}}");
        let Part::Loss(filter) = read("filter", &text) else { panic!("not a loss") };
        let stream = Stream { mass_flow: 0.01, total_temperature: 300.0 };
        filter.total_pressure_before(&Gas::dry_air(), &stream, Direction::Forward, 1e5) - 1e5
    };
    let ratio = drop(", dust: {load: 100 %}") / drop("");
    assert!((2.9..3.0).contains(&ratio), "{ratio}");
}

#[test]
fn a_scoop_reads_each_form_of_recovery() {
    let curve = |text: &str| {
        let Part::Mouth(mouth) = read("scoop", &format!("{{area: 100 cm2, {text}}}")) else { panic!("not a mouth") };
        mouth.recovery
    };
    assert_eq!(curve("recovery: 75 %"), [(0.0, 0.75)]);
    assert_eq!(
        curve("recovery_curve: {speed_ratio: 0 0.5 1, recovery: 0.9 0.85 0.8}"),
        [(0.0, 0.9), (0.5, 0.85), (1.0, 0.8)]
    );
    assert_eq!(curve("form: pitot").len(), 3);
}

#[test]
fn a_mouth_names_its_bay_or_none() {
    for (text, bay) in [
        ("{area: 60 cm2}", None),
        ("{area: 60 cm2, from: outside}", None),
        ("{area: 60 cm2, from: engine}", Some("engine")),
    ] {
        let Part::Mouth(mouth) = read("mouth", text) else { panic!("not a mouth") };
        assert_eq!(mouth.from.as_deref(), bay, "{text}");
        assert!(mouth.recovery.is_empty());
    }
}

#[test]
fn a_draw_reads_each_demand_and_course() {
    let draw = |text: &str| {
        let Part::Draw(draw) = read("draw", text) else { panic!("not a draw") };
        draw
    };
    let corrected = Demand::CorrectedFlow { flow: 0.215, slope: 0.0, pressure: 101_325.0, temperature: 288.15 };
    assert_eq!(draw("{corrected_flow: 215 g/s}").demand, corrected);
    let stated = Demand::CorrectedFlow { flow: 0.2, slope: 0.3, pressure: 1e5, temperature: 298.15 };
    assert_eq!(draw("{corrected_flow: 200 g/s, slope: 0.3, at: [25 degC, 100 kPa]}").demand, stated);
    assert_eq!(draw("{depression: 28 inH2O}").demand, Demand::Depression(28.0 * 249.088_91));
    let table = draw("{flow: 200 g/s, table: {time: 0 10 20 ms, factor: 1 1 0.5}}");
    assert_eq!(table.demand, Demand::Flow(0.2));
    assert_eq!(table.course, Course::Table(vec![(0.0, 1.0), (0.01, 1.0), (0.02, 0.5)]));
    let pulsed = draw("{flow: 200 g/s, pulse: {amplitude: 20 %, frequency: 180 Hz}, bore: 70 mm}");
    assert_eq!(pulsed.course, Course::Pulsed { amplitude: 0.2, frequency: 180.0, phase: 0.0 });
    assert_eq!(pulsed.bore, Some(0.07));
}

#[test]
fn a_plenum_without_surface_is_a_cube() {
    let Part::Plenum(plenum) =
        read("plenum", "{volume: 8 L, wall: {temperature: 60 degC}, carry_over: [{from: a, into: b, share: 30 %}]}")
    else {
        panic!("not a plenum")
    };
    assert!((plenum.surface - 0.24).abs() < 1e-12);
    assert_eq!(plenum.wall_temperature, Some(333.15));
    assert_eq!((plenum.carry_over[0].from.as_str(), plenum.carry_over[0].into.as_str()), ("a", "b"));
}

#[test]
fn a_wye_keeps_the_order_of_its_legs() {
    let Part::Wye(wye) = read("wye", "{legs: {trunk: 0 deg, right: -35 deg, left: 35 deg}}") else {
        panic!("not a wye")
    };
    let names: Vec<&str> = wye.legs.iter().map(|leg| leg.0.as_str()).collect();
    assert_eq!(names, ["trunk", "right", "left"]);
    assert!((wye.legs[1].1 + 35.0 * PI / 180.0).abs() < 1e-15);
}

#[test]
fn a_step_takes_the_missing_side_from_its_place() {
    let Part::Loss(mut step) = read("step", "{diameter_before: 50 mm}") else { panic!("not a loss") };
    step.place(Place { before: None, after: Some(0.004) }).unwrap();
    assert!((step.area() - 0.25 * PI * 0.0025).abs() < 1e-15);
}

#[test]
fn bends_that_stand_close_are_told_with_the_basis() {
    let basis = |second: &str| {
        let text = format!(
            "{{length: 1 m, diameter: 70 mm, bends: [{{at: 0 m, angle: 90 deg, radius: 100 mm}}, {{at: {second}, angle: 45 deg, radius: 100 mm}}]}}"
        );
        let Part::Duct(duct) = read("duct", &text) else { panic!("not a duct") };
        duct.bend_basis.detail().contains("closer than 4 D")
    };
    // The first bend ends at 157 mm; four bores more are 437 mm.
    assert!(basis("430 mm") && !basis("440 mm"));
}

#[test]
fn a_draw_may_give_its_power_and_the_air_that_it_takes() {
    // 210 kW at 3.6 kg/kWh are 210 g/s.
    let Part::Draw(draw) = read("draw", "{power: 210 kW, air_per_power: 3.6 kg/kWh}") else { panic!("not a draw") };
    assert!(matches!(draw.demand, Demand::CorrectedFlow { flow, .. } if (flow - 0.21).abs() < 1e-12), "{draw:?}");
}

#[test]
fn a_film_factor_belongs_to_a_wall_with_a_temperature() {
    let Part::Plenum(plenum) = read("plenum", "{volume: 8 L, wall: {temperature: 60 degC, film_factor: 1.5}}") else {
        panic!("not a plenum")
    };
    assert!((plenum.film - 30.0).abs() < 1e-12);
}
