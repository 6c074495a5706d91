//! What stays of parts that are taken out.

use super::*;

/// Two snorkels with branches that meet and part again, so that one duct stands between two wyes.
const BRANCHES: &str = "
outside: {pressure: 100 kPa, temperature: 25 degC}
parts:
  nose: {kind: mouth, area: 27 cm2}
  left_snorkel: {kind: duct, length: 300 mm, sections: [{at: 0 mm, width: 60 mm, height: 45 mm}]}
  cheek: {kind: mouth, area: 40 cm2}
  right_snorkel: {kind: duct, length: 250 mm, diameter: 60 mm, bends: [{at: 100 mm, angle: 70 deg, radius: 70 mm}]}
  meet: {kind: wye, legs: {trunk: 0 deg, left: 30 deg, right: -30 deg}}
  link: {kind: duct, length: 350 mm, sections: [{at: 0 mm, diameter: 75 mm}, {at: 350 mm, diameter: 70 mm}], wall: {temperature: 60 degC}}
  split: {kind: wye, legs: {trunk: 0 deg, left: 45 deg, right: -45 deg}}
  left: {kind: duct, length: 400 mm, diameter: 55 mm, bends: [{at: 100 mm, angle: 90 deg, radius: 80 mm}]}
  hose: {kind: duct, length: 200 mm, diameter: 52 mm}
  right: {like: left}
  left_turbo: {kind: draw, corrected_flow: 90 g/s}
  right_turbo: {like: left_turbo}
flow:
  - [nose, left_snorkel, meet.left]
  - [cheek, right_snorkel, meet.right]
  - [meet.trunk, link, split.trunk]
  - [split.left, left, hose, left_turbo]
  - [split.right, right, right_turbo]
run: {cell: 20 mm}
";

fn branches(text: &str) -> Case {
    Case::from_text("branches.yaml", text).expect("a case")
}

fn full() -> FlowBench {
    bench(Convention::SettlingChamber, Setting::Depression(USUAL))
}

fn without(setup: &BenchSetup, parts: &[&str]) -> BenchSetup {
    BenchSetup { removed: parts.iter().map(|part| (*part).to_owned()).collect(), ..setup.clone() }
}

fn told(case: &Case, setup: &BenchSetup) -> String {
    case.on_bench(setup, 1000.0).expect_err("a mistake").to_string()
}

#[test]
fn a_wye_keeps_its_legs() {
    // A link that narrows would leave a step between its stubs, which costs more than its friction.
    let even =
        BRANCHES.replace("sections: [{at: 0 mm, diameter: 75 mm}, {at: 350 mm, diameter: 70 mm}]", "diameter: 70 mm");
    let case = branches(&even);
    let whole = full().test(&case, &span(None, None)).expect("a reading").mass_flow;
    for part in ["left_snorkel", "right_snorkel", "link", "left", "right"] {
        let out = full().test(&case, &without(&span(None, None), &[part])).expect(part).mass_flow;
        assert!(out > 1.001 * whole, "a duct with friction or bends costs flow: {part} {out} {whole}");
    }
    let all = ["left_snorkel", "right_snorkel", "link", "left", "hose", "right"];
    assert!(full().test(&case, &without(&span(None, None), &all)).expect("stubs").mass_flow > 1.1 * whole);
    let case = branches(BRANCHES);
    // What was at the legs decides on their bores: 60 by 45 mm of the snorkel, and both ends of the link.
    let text = case.on_bench(&without(&span(None, None), &["left_snorkel", "link"]), 1000.0).expect("a bench").case;
    let built = text.build(crate::case::REST).expect("a network").network;
    let bores = |name: &str| {
        let duct = built.ducts.iter().position(|duct| duct == name).expect(name);
        built.arena.face_areas(crate::flow::DuctId(duct))[0]
    };
    for (duct, area) in [("left_snorkel", 60.0 * 45.0), ("link", 4_417.864_669), ("flow_bench_stub", 3_848.451_001)] {
        assert!((bores(duct) / (1e-6 * area) - 1.0).abs() < 1e-9, "{duct}: {}", bores(duct));
    }
}

#[test]
fn a_stub_costs_nothing_of_its_own() {
    // Without friction, bend and change of area there is nothing that could go with the duct.
    let bare = "left: {kind: duct, length: 400 mm, diameter: 52 mm, friction_factor: 0}";
    let bent =
        "left: {kind: duct, length: 400 mm, diameter: 55 mm, bends: [{at: 100 mm, angle: 90 deg, radius: 80 mm}]}";
    let case = branches(&BRANCHES.replace(bent, bare));
    for setup in [span(None, None), span(Some("link"), Some("left")), span(None, Some("left_turbo"))] {
        let with = full().test(&case, &setup).expect("a reading");
        let out = full().test(&case, &without(&setup, &["left"])).expect("a stub");
        assert!((out.mass_flow / with.mass_flow - 1.0).abs() < 1e-6, "{} {}", out.mass_flow, with.mass_flow);
        assert!((out.exit_area / with.exit_area - 1.0).abs() < 1e-9);
    }
}

#[test]
fn a_mouth_leaves_its_hole_in_the_box() {
    let to_box = BenchSetup { entry: BenchEntry::Radiused, ..span(Some("side"), Some("box")) };
    let gentle = bench(Convention::SettlingChamber, Setting::Depression(20.0));
    let read = |setup: &BenchSetup| gentle.test(&tract(), setup).expect("a reading");
    let (radiused, hole) = (read(&to_box), read(&without(&to_box, &["side"])));
    // The ordinary coefficient of a sharp-edged plate between volumes, 0.61; a wide radius loses 0.03 heads (Idelchik, diagram 3-4) beside the exit's one.
    let share = |reading: &BenchReading| reading.effective_area(Formula::Incompressible) / 20e-4;
    assert!((share(&hole) / 0.61 - 1.0).abs() < 3e-4, "{}", share(&hole));
    assert!((share(&radiused) * 1.03_f64.sqrt() - 1.0).abs() < 3e-4, "{}", share(&radiused));
    // What is before the box goes, its hole stays: that of the snout's bore, 90 mm.
    let setup = span(Some("snout"), Some("box"));
    let bore = std::f64::consts::FRAC_PI_4 * 0.09 * 0.09;
    let snout = read(&without(&setup, &["snout"])).effective_area(Formula::Incompressible);
    assert!((snout / (0.61 * bore) - 1.0).abs() < 3e-4, "{snout}");
    let both = read(&without(&span(Some("nose"), Some("box")), &["nose", "snout"]));
    assert!((both.effective_area(Formula::Incompressible) / snout - 1.0).abs() < 1e-6);
}

#[test]
fn what_stands_last_may_go_too() {
    let read = |from: Option<&str>, to: &str, out: &[&str]| {
        full().test(&tract(), &without(&span(from, Some(to)), out)).expect("a reading")
    };
    // Without the tube the filter blows into a chamber, as it does alone.
    let filter = read(Some("paper"), "paper", &[]);
    let stripped = read(Some("paper"), "tube", &["tube"]);
    assert!((stripped.mass_flow / filter.mass_flow - 1.0).abs() < 1e-6 && stripped.exit_area.is_infinite());
    // With both out, the box has the hole of the tube, 70 mm, in its wall.
    let hole = read(Some("box"), "tube", &["paper", "tube"]).effective_area(Formula::Compressible);
    let bore = std::f64::consts::FRAC_PI_4 * 0.07 * 0.07;
    assert!(hole > 0.61 * bore && hole < 0.65 * bore, "{hole} {bore}");
    // A mouth alone has only its lip, and the head behind it.
    let mouth = read(Some("nose"), "snout", &["snout"]);
    assert!(mouth.exit_area.is_infinite() && mouth.effective_area(Formula::Compressible) < 100e-4);
    let alone = told(&tract(), &without(&span(Some("tube"), Some("tube")), &["tube"]));
    assert!(alone.contains("nothing left on the bench without `tube`"), "{alone}");
}

#[test]
fn a_gap_is_sealed_and_a_filter_leaves_a_frame() {
    let rooms = TRACT
        .replace(
            "side: {kind: mouth, area: 20 cm2}",
            "side: {kind: gap, width: 4 mm, length: 500 mm}\n  clean: {kind: plenum, volume: 4 L}",
        )
        .replace("[side, box]", "[outside, side, box]")
        .replace("paper, tube", "paper, clean, tube");
    let case = branches(&rooms);
    let read = |setup: &BenchSetup| full().test(&case, setup).expect("a reading").mass_flow;
    let whole = read(&span(None, Some("tube")));
    let sealed = read(&without(&span(None, Some("tube")), &["side"]));
    assert!((sealed / read(&span(Some("nose"), Some("tube"))) - 1.0).abs() < 1e-9 && sealed < whole);
    let framed = read(&without(&span(None, Some("tube")), &["paper"]));
    assert!(framed > 1.01 * whole);
    // A frame is so wide that its box is one with the room behind it: the opening of a volume that stands open is such a one.
    let open = without(&span(Some("paper"), Some("tube")), &["paper"]);
    assert!((read(&open) / read(&span(Some("clean"), Some("tube"))) - 1.0).abs() < 1e-9);
    let only = told(&case, &without(&span(Some("side"), Some("tube")), &["side"]));
    assert!(only.contains("no way from side to tube with `side` sealed"), "{only}");
}

#[test]
fn a_duct_on_two_lines_is_one() {
    let lines = TRACT.replace("- [nose, snout, box]", "- [nose, snout]\n  - [snout, box]");
    let case = branches(&lines);
    for setup in [span(None, None), without(&span(None, None), &["snout"]), span(None, Some("snout"))] {
        assert_eq!(full().test(&case, &setup).expect("a reading"), chamber(&setup));
    }
}

#[test]
fn an_elbow_and_a_screen_keep_the_bore_of_what_stood_beside_them() {
    let told = |text: &str| {
        let case = branches(text);
        let read = |setup: &BenchSetup| full().test(&case, setup).expect("a reading").mass_flow;
        [
            read(&span(None, None)),
            read(&without(&span(None, None), &["side"])),
            read(&without(&span(None, None), &["snout"])),
            read(&span(Some("corner"), Some("left"))),
            read(&without(&span(Some("corner"), Some("left")), &["tube"])),
        ]
    };
    let with = |grid: &str, corner: &str| {
        let parts = format!(
            "parts:\n  grid: {{kind: screen, pattern: wire_mesh, open_area: 64 %{grid}}}\n  \
             corner: {{kind: elbow, angle: 70 deg, radius: 60 mm{corner}}}\n"
        );
        let lines = TRACT.replace("[side, box]", "[side, grid, box]").replace("snout, box", "snout, corner, box");
        lines.replace("parts:\n", &parts)
    };
    let [implied, given] = [told(&with("", "")), told(&with(", area: 20 cm2", ", diameter: 90 mm"))];
    for (implied, given) in implied.iter().zip(given) {
        assert!((implied / given - 1.0).abs() < 1e-9, "{implied} {given}");
    }
}
