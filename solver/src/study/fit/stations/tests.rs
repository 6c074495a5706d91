//! A small tract whose numbers are known, fitted to what it says itself.

use super::*;
use crate::loss::Deviations;
use crate::measured::Mean;
use crate::study::fit::{Certainty, Failure, Prior, Spreads, Stop, Unknown, least_squares, with_priors};

/// Mouth, plate, box, two plates in series without a gauge between them, draw. `more` are further columns.
fn tract(more: &str) -> Case {
    Case::from_text("tract", &text(more)).expect("a case")
}

fn text(more: &str) -> String {
    format!(
        "outside: {{pressure: 99.6 kPa, temperature: 24 degC}}
points: {{bench: {{speed: 0 m/s}}}}
parts:
  nose: {{kind: mouth, from: outside, area: 40 cm2}}
  snout: {{kind: duct, length: 200 mm, diameter: 70 mm}}
  plate: {{kind: orifice_plate, diameter: 55 mm, discharge_coefficient: 0.66 +- 0.2}}
  box: {{kind: plenum, volume: 8 L}}
  tube: {{kind: duct, length: 300 mm, diameter: 70 mm}}
  first: {{kind: orifice_plate, diameter: 60 mm, discharge_coefficient: 0.70 +- 0.1}}
  between: {{kind: duct, length: 100 mm, diameter: 70 mm}}
  second: {{kind: orifice_plate, diameter: 60 mm, discharge_coefficient: 0.72 +- 0.1}}
  end: {{kind: duct, length: 100 mm, diameter: 70 mm}}
  turbo: {{kind: draw, flow: 100 g/s}}
flow: [[nose, snout, plate, box], [box, tube, first, between, second, end, turbo]]
run: {{until: steady, cell: 50 mm}}
measured:
  point: bench
  columns:
    flow: {{unit: g/s, sets: parts.turbo.flow}}
    p_box: {{tap: box, reads: static, pressure: depression, unit: Pa, accuracy: 10 Pa}}
    p_tube: {{tap: 'tube:150mm', reads: static, pressure: depression, unit: Pa, accuracy: 20 Pa}}
    p_turbo: {{tap: turbo, reads: total, pressure: depression, unit: Pa, accuracy: 20 Pa}}
{more}"
    )
}

/// Stations of these flows [g/s] with an empty reading of each gauge.
fn at(flows: &[f64], measured: &Measured) -> Vec<Station> {
    let station = |flow: &f64| Station {
        name: format!("{flow} g/s"),
        file: String::new(),
        line: 1,
        sets: vec![("parts.turbo.flow".to_owned(), 1e-3 * flow)],
        means: measured
            .channels
            .iter()
            .map(|channel| Some(Mean { value: 0.0, spread: channel.accuracy, rows: 1, runs: 1 }))
            .collect(),
    };
    flows.iter().map(station).collect()
}

fn fields(case: &Case, texts: &[&str]) -> Vec<Fitted> {
    texts.iter().map(|text| Fitted::of(case, text).expect(text)).collect()
}

fn unknowns(fitted: &[Fitted]) -> Vec<Unknown> {
    fitted.iter().map(|fitted| fitted.unknown.clone()).collect()
}

/// Gives the model the readings that it has itself with these values.
fn read_at(model: &mut Stations<'_>, values: &[f64]) {
    let off = model.residuals(values).expect("a state");
    let read = model.fit_readings().iter().zip(off).map(|(reading, off)| reading.value + off * reading.spread);
    let read: Vec<f64> = read.collect();
    model.read_instead(&read);
}

#[test]
fn values_are_found_again_and_what_is_told_apart_by_no_reading_is_named() {
    let case = tract("");
    let measured = case.measured.clone().expect("a section");
    let stations = at(&[60.0, 100.0, 140.0], &measured);
    let fitted = fields(
        &case,
        &[
            "parts.plate.discharge_coefficient=0.6",
            "parts.first.discharge_coefficient=0.65 +- 0.1",
            "parts.second.discharge_coefficient=0.65 +- 0.1",
        ],
    );
    let mut model = Stations::new(&case, &measured, &stations, &fitted, &[], &Alone);
    assert_eq!(model.readings(), 9);
    read_at(&mut model, &[0.66, 0.70, 0.72]);
    let unknowns = unknowns(&fitted);
    let found = least_squares(&mut model, &unknowns, &Stop::default()).expect("a fit");
    let certainty = Certainty::of(&found, &unknowns, Spreads::Known).expect("numbers");
    // The priors of the two behind it pull a little at the first one too.
    assert!((found.values[0] - 0.66).abs() < 2e-4, "{:?}", found.values);
    // Of the two plates the readings know what both cost together, which the priors share out evenly.
    let cost = |a: f64, b: f64| a.powi(-2) + b.powi(-2);
    assert!((cost(found.values[1], found.values[2]) / cost(0.70, 0.72) - 1.0).abs() < 0.02, "{:?}", found.values);
    assert!((found.values[1] - found.values[2]).abs() < 0.01, "{:?}", found.values);
    assert_eq!(certainty.alike.len(), 1, "{:?}", certainty.alike);
    assert_eq!(certainty.alike[0].unknowns, [1, 2]);
    assert_eq!(certainty.alike[0].unknown_combinations, 1);
    assert!(certainty.correlations[1][2] < -0.9 && certainty.from_readings[0] > 0.99, "{certainty:?}");
}

#[test]
fn a_shared_value_is_told_where_two_are_not() {
    let case = tract("");
    let measured = case.measured.clone().expect("a section");
    let stations = at(&[80.0, 140.0], &measured);
    let both = "parts.first.discharge_coefficient, parts.second.discharge_coefficient=0.6";
    let fitted = fields(&case, &[both]);
    let mut model = Stations::new(&case, &measured, &stations, &fitted, &["p_box".to_owned()], &Alone);
    assert_eq!(model.readings(), 4, "one gauge is left out");
    read_at(&mut model, &[0.71]);
    let found = least_squares(&mut model, &unknowns(&fitted), &Stop::default()).expect("a fit");
    assert!((found.values[0] - 0.71).abs() < 1e-5, "{:?}", found.values);
}

/// Hands that do the last one first.
struct Backwards;

impl Hands for Backwards {
    fn each(&self, count: usize, one: &(dyn Fn(usize) -> Answer + Sync)) -> Option<Vec<Answer>> {
        let mut answers: Vec<Answer> = (0..count).rev().map(one).collect();
        answers.reverse();
        Some(answers)
    }
}

#[test]
fn the_same_readings_give_the_same_bits_whoever_computes_what() {
    let case = tract("");
    let measured = case.measured.clone().expect("a section");
    let stations = at(&[60.0, 120.0], &measured);
    let fitted = fields(&case, &["parts.plate.discharge_coefficient=0.6", "parts.first.discharge_coefficient=0.6"]);
    let bits = |hands: &dyn Hands| {
        let mut model = Stations::new(&case, &measured, &stations, &fitted, &[], hands);
        let read: Vec<f64> = (0..model.readings()).map(|row| 300.0 + 70.0 * row as f64).collect();
        model.read_instead(&read);
        let found = least_squares(&mut model, &unknowns(&fitted), &Stop::default()).expect("a fit");
        let of = |values: &[f64]| values.iter().map(|value| value.to_bits()).collect::<Vec<_>>();
        (of(&found.values), of(&found.slopes.residuals), of(&found.slopes.columns.concat()))
    };
    assert_eq!(bits(&Alone), bits(&Backwards));
}

#[test]
fn a_station_that_cannot_be_and_a_path_that_nobody_knows_are_named() {
    let case = tract("");
    let measured = case.measured.clone().expect("a section");
    // A length that no tube has.
    let mut stations = at(&[80.0, 100.0], &measured);
    stations[1].sets.push(("parts.tube.length".to_owned(), -0.1));
    let fitted = fields(&case, &["parts.plate.discharge_coefficient"]);
    let mut model = Stations::new(&case, &measured, &stations, &fitted, &[], &Alone);
    let failure = least_squares(&mut model, &unknowns(&fitted), &Stop::default()).expect_err("no state");
    let Failure::Model(why) = failure else { panic!("{failure:?}") };
    let why = why.to_string();
    assert!(why.starts_with("station `100 g/s`: ") && why.contains("parts.tube.length"), "{why}");
    let told = |text: &str| Fitted::of(&case, text).expect_err(text).to_string();
    assert!(told("parts.plate.discharge_coeficient").contains("did you mean `parts.plate.discharge_coefficient`?"));
    assert!(told("parts.plate.diameter,parts.box.volume").contains("to share its value"));
    assert!(told("parts.plate.diameter=-3 mm").contains("more than 0"));
    assert!(told("parts.plate.diameter=3 kg").contains("a length"));
}

#[test]
fn spreads_give_priors_or_bounds_and_texts_give_values_back() {
    let case = tract("");
    let all: Vec<String> = Fitted::all_that_spread(&case).into_iter().map(|fitted| fitted.paths.concat()).collect();
    assert_eq!(all, ["plate", "first", "second"].map(|part| format!("parts.{part}.discharge_coefficient")));
    let flat = Fitted::of(&case, "parts.plate.diameter=55 +- 2 mm uniform").expect("bounds");
    assert!(flat.unknown.prior.is_none());
    assert!((flat.unknown.bounds[0] - 0.053).abs() < 1e-12 && (flat.unknown.bounds[1] - 0.057).abs() < 1e-12);
    assert_eq!(flat.text(0.054_321_234, Some(0.000_123)), "54.321 +- 0.123 mm");
    assert_eq!(flat.text(0.054, None), "54 mm");
    assert_eq!(flat.text(0.054, Some(f64::INFINITY)), "54 mm");
    assert_eq!(flat.text(0.054, Some(5.0)), "54.00 +- 5000.00 mm");
}

#[test]
fn what_no_reading_feels_stays_where_it_starts() {
    let case = tract("");
    let measured = case.measured.clone().expect("a section");
    let stations = at(&[80.0, 140.0], &measured);
    // The volume of a box does nothing to a steady state.
    let fitted = fields(&case, &["parts.plate.discharge_coefficient=0.6", "parts.box.volume"]);
    let mut model = Stations::new(&case, &measured, &stations, &fitted, &[], &Alone);
    read_at(&mut model, &[0.66, 0.008]);
    let unknowns = unknowns(&fitted);
    let found = least_squares(&mut model, &unknowns, &Stop::default()).expect("a fit");
    let certainty = Certainty::of(&found, &unknowns, Spreads::Known).expect("numbers");
    assert!((found.values[0] - 0.66).abs() < 1e-5 && (found.values[1] - 0.008).abs() < 1e-12, "{:?}", found.values);
    assert_eq!(certainty.unfelt, [1]);
    assert_eq!(certainty.errors[1], Some(f64::INFINITY));
}

#[test]
fn what_a_gauge_is_off_is_found_where_another_one_reads_the_same_air() {
    let offset = "depression, unit: Pa, accuracy: 10 Pa, offset: 5 +- 40 Pa}";
    let text = text("").replace("depression, unit: Pa, accuracy: 10 Pa}", offset);
    let case = Case::from_text("tract", &text).expect("a case");
    let measured = case.measured.clone().expect("a section");
    let stations = at(&[60.0, 100.0, 140.0], &measured);
    let plate = "parts.plate.discharge_coefficient=0.6";
    let fitted = fields(&case, &[plate, "measured.columns.p_box.offset"]);
    let mut model = Stations::new(&case, &measured, &stations, &fitted, &[], &Alone);
    // A gauge that is 30 Pa off, of which 5 have been taken off.
    read_at(&mut model, &[0.66, 30.0]);
    let differences: Vec<f64> = {
        let [up, down] = [31.0, 29.0].map(|offset| model.residuals(&[0.66, offset]).expect("states"));
        up.iter().zip(down).map(|(up, down)| 0.5 * (up - down)).collect()
    };
    let slopes = model.slopes(&[0.66, 30.0]).expect("slopes");
    for (slope, difference) in slopes.columns[1].iter().zip(differences) {
        assert!((slope - difference).abs() < 1e-9, "{slope} for {difference}");
    }
    let unknowns = unknowns(&fitted);
    let found = least_squares(&mut model, &unknowns, &Stop::default()).expect("a fit");
    assert!((found.values[0] - 0.66).abs() < 1e-3, "{:?}", found.values);
    // The prior of 5 +- 40 Pa pulls a little.
    assert!((found.values[1] - 30.0).abs() < 2.0, "{:?}", found.values);
    let certainty = Certainty::of(&found, &unknowns, Spreads::Known).expect("numbers");
    let error = certainty.errors[1].expect("free");
    // Six readings of two other gauges know the box's air: worse than the gauge's own 10 Pa over the root of three, better than its prior.
    assert!(error > 10.0 / 3.0_f64.sqrt() && error < 20.0, "{error}");
    let all: Vec<String> = Fitted::all_that_spread(&case).into_iter().map(|fitted| fitted.paths.concat()).collect();
    assert_eq!(all.last().map(String::as_str), Some("measured.columns.p_box.offset"), "{all:?}");
    assert!(case.numbers().iter().all(|number| !number.path.starts_with("measured")), "a gauge is not the car");
    let told = Fitted::of(&case, "measured.columns.p_tube.offset").expect_err("none is written").to_string();
    assert!(told.contains("`offset: 0 +- 20 Pa` in that column"), "{told}");
}

#[test]
fn a_published_law_of_loss_is_fitted_by_its_factor() {
    let own_coefficient = "diameter: 55 mm, discharge_coefficient: 0.66 +- 0.2}";
    let text = text("").replace(own_coefficient, "diameter: 50 mm}") + "loss_factors: {orifice_plate: 1 +- 0.3}\n";
    let case = Case::from_text("tract", &text).expect("a case");
    let measured = case.measured.clone().expect("a section");
    let stations = at(&[60.0, 140.0], &measured);
    let fitted = fields(&case, &["loss_factors.orifice_plate"]);
    let mut model = Stations::new(&case, &measured, &stations, &fitted, &[], &Alone);
    let [plain, more] = [1.0, 1.2].map(|factor| model.residuals(&[factor]).expect("states"));
    // Of the box's depression at 140 g/s, in its 10 Pa: a fifth more of the plate's share, which is most of it.
    assert!(more[3] / plain[3] > 1.1 && more[3] / plain[3] < 1.2, "{plain:?} {more:?}");
    read_at(&mut model, &[1.15]);
    let found = least_squares(&mut model, &unknowns(&fitted), &Stop::default()).expect("a fit");
    assert!((found.values[0] - 1.15).abs() < 1e-3, "{:?}", found.values);
    // What is known of this car is not drawn from the law's published spread as well.
    let known = KnownPoint::of(&case, "bench").expect("a state");
    let box_of = |case: &Case| {
        let moved = Deviations::new(|law| if law == "orifice plate" { 20.0 } else { 0.0 });
        let there = known.neighbour(case, "bench", moved).expect("a state");
        read_in(&measured, &there).expect("readings").readings[1].expect("a gauge")
    };
    let own = read_in(&measured, &known).expect("readings").readings[1].expect("a gauge");
    assert!((box_of(&case) / own - 1.0).abs() < 1e-6, "{} {own}", box_of(&case));
    let published = text.replace("loss_factors: {orifice_plate: 1 +- 0.3}", "");
    assert!(box_of(&Case::from_text("tract", &published).expect("a case")) > 1.1 * own);
    // Left out, it starts from 1 with the law's published spread.
    let open = Case::from_text("tract", &published).expect("a case");
    let with = with_priors(&open, &["loss_factors.orifice_plate".to_owned()]).expect("a prior");
    let fitted = fields(&with, &["loss_factors.orifice_plate"]);
    assert_eq!(fitted[0].unknown.prior, Some(Prior { value: 1.0, spread: 0.01 }));
    let told = with_priors(&open, &["loss_factors.bend".to_owned()]).expect_err("it has none").to_string();
    assert!(told.contains("one of: mouth_lip, orifice_plate, sharp_entry, step, wall_friction"), "{told}");
}
