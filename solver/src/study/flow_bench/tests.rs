use super::*;
use crate::case::BenchEntry;

mod refusals;
mod taken_out;
mod volumes;

const TRACT: &str = "
outside: {pressure: 100 kPa, temperature: 25 degC}
points: {road: {speed: 50 m/s}, filled: {parts: {paper: {curve: {flow: 60 120 180 g/s, drop: 600 1400 2400 Pa, at: [20 degC, 101.3 kPa]}}}}}
parts:
  nose: {kind: scoop, area: 100 cm2, recovery: 0.75, lip_radius: 4 mm}
  snout: {kind: duct, length: 300 mm, diameter: 90 mm}
  side: {kind: mouth, area: 20 cm2}
  box: {kind: plenum, volume: 8 L}
  paper: {kind: filter, media_area: 0.3 m2, curve: {flow: 60 120 180 g/s, drop: 60 140 240 Pa, at: [20 degC, 101.3 kPa]}}
  tube: {kind: duct, length: 400 mm, diameter: 70 mm, inlet: {shape: flared, radius: 14 mm}, wall: {temperature: 60 degC}}
  split: {kind: wye, legs: {trunk: 0 deg, left: 45 deg, right: -45 deg}}
  left: {kind: duct, length: 200 mm, diameter: 55 mm}
  right: {like: left}
  left_turbo: {kind: draw, corrected_flow: 90 g/s}
  right_turbo: {like: left_turbo}
flow:
  - [nose, snout, box]
  - [side, box]
  - [box, paper, tube, split.trunk]
  - [split.left, left, left_turbo]
  - [split.right, right, right_turbo]
run: {until: 0.2 s, cell: 40 mm}
";

fn tract() -> Case {
    Case::from_text("tract.yaml", TRACT).expect("a case")
}

fn bench(convention: Convention, setting: Setting) -> FlowBench {
    FlowBench { convention, setting }
}

fn chamber(setup: &BenchSetup) -> BenchReading {
    bench(Convention::SettlingChamber, Setting::Depression(USUAL)).test(&tract(), setup).expect("a reading")
}

fn span(from: Option<&str>, to: Option<&str>) -> BenchSetup {
    BenchSetup { from: from.map(str::to_owned), to: to.map(str::to_owned), ..BenchSetup::default() }
}

#[test]
fn no_ram_and_no_heat_reach_the_bench() {
    let still = chamber(&BenchSetup::default());
    let moving = chamber(&BenchSetup { point: Some("road".to_owned()), ..BenchSetup::default() });
    assert_eq!(still, moving, "speed is nothing to a bench");
    assert!((still.air.density() - 1.168_47).abs() < 1e-4, "{}", still.air.density());
    let filled = chamber(&BenchSetup { point: Some("filled".to_owned()), ..BenchSetup::default() });
    assert!(filled.mass_flow < 0.97 * still.mass_flow, "changed parts of a point hold");
}

#[test]
fn the_last_head_stands_between_the_conventions() {
    let setup = BenchSetup::default();
    let read = chamber(&setup);
    let tap = bench(Convention::TubeTap, Setting::MassFlow(read.mass_flow)).test(&tract(), &setup).expect("a reading");
    assert!((tap.static_depression / read.static_depression - 1.0).abs() < 1e-7);
    let heads = [&read, &tap].map(|reading| reading.loss_coefficient(Formula::Incompressible).expect("an exit"));
    // One head of air that has become thinner on the way: a little more than one of the air before the bench.
    let apart = heads[0] - heads[1];
    assert!(apart > 1.0 && apart < 1.15, "{heads:?}");
}

#[test]
fn a_flow_gives_back_its_depression() {
    for convention in [Convention::SettlingChamber, Convention::TubeTap] {
        let setup = span(None, Some("left_turbo"));
        let read = bench(convention, Setting::Depression(2500.0)).test(&tract(), &setup).expect("a reading");
        assert!((read.depression - 2500.0).abs() < 1e-5);
        for setting in [Setting::MassFlow(read.mass_flow), Setting::VolumeFlow(read.volume_flow())] {
            let again = bench(convention, setting).test(&tract(), &setup).expect("a reading");
            assert!((again.depression / 2500.0 - 1.0).abs() < 1e-6, "{again:?}");
        }
    }
}

#[test]
fn a_span_is_cut_out_and_the_rest_plugged() {
    let on = |setup: &BenchSetup| tract().on_bench(setup, 1000.0).expect("a bench");
    let whole = on(&BenchSetup::default());
    assert_eq!(whole.draws, ["left_turbo", "right_turbo"]);
    assert_eq!(whole.parts, ["nose", "snout", "side", "paper", "tube", "left", "right"]);
    let middle = on(&span(Some("snout"), Some("tube")));
    assert_eq!(middle.parts, ["snout", "paper", "tube"]);
    let text = middle.case.resolved_text();
    assert!(!text.contains("  side:") && !text.contains("split") && !text.contains("60 degC"), "{text}");
    let one = on(&span(None, Some("left_turbo")));
    assert!(one.case.resolved_text().contains("flow_bench_plug_1"), "the other leg is closed");
    // One branch alone passes less than both, and more than half.
    let [both, left] = [chamber(&BenchSetup::default()), chamber(&span(None, Some("left_turbo")))];
    assert!(left.mass_flow < both.mass_flow && left.mass_flow > 0.5 * both.mass_flow);
}

#[test]
fn the_entry_counts_as_it_is_asked_for() {
    let read = |entry| chamber(&BenchSetup { entry, ..span(Some("snout"), Some("snout")) }).mass_flow;
    let [sharp, own, radiused] = [BenchEntry::Sharp, BenchEntry::AsIs, BenchEntry::Radiused].map(read);
    assert!((sharp / own - 1.0).abs() < 1e-9, "a duct's own inlet is sharp when nothing is said");
    assert!(radiused > 1.1 * own, "{radiused} {own}");
    let mouth = |entry| chamber(&BenchSetup { entry, ..span(Some("nose"), Some("snout")) }).mass_flow;
    assert!(
        mouth(BenchEntry::Sharp) < mouth(BenchEntry::AsIs) && mouth(BenchEntry::AsIs) < mouth(BenchEntry::Radiused)
    );
}

#[test]
fn factors_on_laws_hold_on_the_bench() {
    let text = TRACT.replace("parts:\n", "loss_factors: {wall_friction: 2, sharp_entry: 1.5}\nparts:\n");
    let case = Case::from_text("tract.yaml", &text).expect("a case");
    let setup = span(Some("snout"), Some("snout"));
    let full = bench(Convention::SettlingChamber, Setting::Depression(USUAL));
    let read = full.test(&case, &setup).expect("a reading").mass_flow;
    assert!(read < 0.95 * chamber(&setup).mass_flow, "a quarter of a head more, of one and a half: {read}");
}

#[test]
fn a_part_that_is_taken_out_leaves_its_loss() {
    let setup = span(Some("snout"), Some("tube"));
    let with = chamber(&setup);
    let without = chamber(&BenchSetup { removed: vec!["paper".to_owned()], ..setup.clone() });
    let [with, without] = [with, without].map(|reading| reading.effective_area(Formula::Incompressible));
    assert!(without > with);
    let area = series_area(with, without).expect("a loss");
    assert!((1.0 / (area * area) + 1.0 / (without * without) - 1.0 / (with * with)).abs() < 1e-6 / (with * with));
    let passes = |part: &str, setup: &BenchSetup| tract().bench_air_all_passes(setup, part).expect("a span");
    assert!(passes("paper", &setup) && passes("paper", &BenchSetup::default()));
    assert!(!passes("left", &BenchSetup::default()) && !passes("snout", &BenchSetup::default()));
    assert!(passes("left", &span(None, Some("left_turbo"))));
}

#[test]
fn a_loss_alone_blows_into_a_chamber() {
    let filter = chamber(&span(Some("paper"), Some("paper")));
    assert!(filter.exit_area.is_infinite() && filter.loss_coefficient(Formula::Incompressible).is_none());
    let sheet = TRACT.replace("100 kPa, temperature: 25 degC", "101.3 kPa, temperature: 20 degC");
    let sheet = Case::from_text("sheet.yaml", &sheet).expect("a case");
    for (drop, flow) in [(60.0, 0.06), (140.0, 0.12), (240.0, 0.18)] {
        let tap = bench(Convention::TubeTap, Setting::Depression(drop));
        let read = tap.test(&sheet, &span(Some("paper"), Some("paper"))).expect("a reading").mass_flow;
        assert!((read / flow - 1.0).abs() < 2e-3, "in its own air the filter gives back its sheet: {read}");
    }
}

#[test]
fn mistakes_are_told_with_their_place() {
    let told = |setup: &BenchSetup| tract().on_bench(setup, 1000.0).expect_err("a mistake").to_string();
    for (setup, words) in [
        (span(Some("snot"), None), "did you mean `snout`"),
        (span(Some("split"), None), "tract.yaml:11:3: parts.split: found a wye at the beginning"),
        (span(Some("tube"), Some("snout")), "no way from tube to snout"),
        (BenchSetup { point: Some("rode".to_owned()), ..BenchSetup::default() }, "did you mean `road`"),
        (BenchSetup { removed: vec!["box".to_owned()], ..BenchSetup::default() }, "a plenum that is to be taken out"),
        (BenchSetup { removed: vec!["left".to_owned()], ..span(None, Some("tube")) }, "no tested air passes"),
    ] {
        assert!(told(&setup).contains(words), "{words}: {}", told(&setup));
    }
    let most = bench(Convention::SettlingChamber, Setting::MassFlow(30.0)).test(&tract(), &BenchSetup::default());
    assert!(most.expect_err("choked").to_string().contains("at most"));
}

#[test]
fn a_jet_goes_over_to_what_takes_the_place_of_a_part_that_is_out() {
    let jets = "box: {kind: plenum, volume: 8 L, carry_over: [{from: snout, into: paper, share: 0.4}]}";
    let with = Case::from_text("tract.yaml", &TRACT.replace("box: {kind: plenum, volume: 8 L}", jets)).expect("a case");
    let reads = |case: &Case, removed: &[&str]| {
        let removed = removed.iter().map(|part| (*part).to_owned()).collect();
        let setup = BenchSetup { removed, ..span(None, None) };
        bench(Convention::SettlingChamber, Setting::Depression(USUAL)).test(case, &setup).expect("a reading").mass_flow
    };
    for removed in [&[][..], &["paper"], &["snout"]] {
        let (plain, jet) = (reads(&tract(), removed), reads(&with, removed));
        assert!(jet > 1.001 * plain, "{removed:?}: {jet} beside {plain}");
    }
    // With its way in and its way out plugged there is no jet, and no mistake either.
    let only = BenchSetup { to: Some("left_turbo".to_owned()), ..span(None, None) };
    assert!(bench(Convention::SettlingChamber, Setting::Depression(USUAL)).test(&with, &only).is_ok());
}
