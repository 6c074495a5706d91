//! Pictures of what an engine makes, drawn as a user asks for them.

use crate::opened::Opened;
use crate::{Streams, exit, run};
use std::path::Path;

/// The engine of the examples.
const ENGINE: &str = include_str!("../../../cases/power/twin_sealed.yaml");
/// A name that SVG must not take for markup.
const NAME: &str = "box & <tube>";

fn call(words: &[&str]) -> (u8, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let streams = Streams { out: &mut out, err: &mut err, bars: false };
    let code = run(["tractwright"].into_iter().chain(words.iter().copied()), streams);
    (code, String::from_utf8(err).expect("text"))
}

/// Runs a point of a case with coarse cells, and answers with the file of its result.
fn result(folder: &Path, case: &str, text: &str, point: &str) -> String {
    let file = folder.join(format!("{case}.yaml"));
    std::fs::write(&file, text).expect("a folder");
    let (file, folder) = (file.display().to_string(), folder.display().to_string());
    let (code, err) = call(&["run", &file, "--point", point, "-o", &folder, "--force"]);
    assert_eq!(code, exit::DONE, "{err}");
    format!("{folder}/{case}.{point}.h5")
}

/// Points with short events.
const POINTS: &str = "points:
  road_6500: {speed: 45 m/s, engine_speed: 6500 rpm}
  road_3000: {speed: 30 m/s, engine_speed: 3000 rpm}
  road_6500_raised: {speed: 45 m/s, engine_speed: 6500 rpm, boost: raised}
  dyno_pull: {engine_speed: 2500 rpm, pull: {to: 7000 rpm, in: 3 s}, fan: {speed: 12 m/s, reaches: [nose]}}
  roll_on: {roll_on: {from: 100 km/h, to: 150 km/h}}
  response: {speed: 25 m/s, engine_speed: 3500 rpm, throttle_step: {from: 30 %}}
";

/// The case with short events and coarse cells.
fn short() -> String {
    let (head, rest) = ENGINE.split_once("points:\n").expect("points");
    let (_, engine) = rest.split_once("\nengine:").expect("an engine");
    let text = format!("{head}{POINTS}\nengine:{engine}");
    let text = text.replace("run: {until: steady}", "run: {until: steady, cell: 60 mm}");
    assert!(text.contains("in: 3 s") && text.contains("150 km/h") && text.contains("cell: 60 mm"));
    text
}

/// The same with filters and tubes that lose more.
fn narrow() -> String {
    let text =
        short().replace("media_area: 0.21 m2", "media_area: 0.1 m2").replace("diameter: 70 mm", "diameter: 62 mm");
    assert_ne!(text, short());
    text
}

fn drawn(folder: &Path, results: &[&str], view: &str) -> String {
    let file = folder.join("picture.svg");
    let name = file.display().to_string();
    let (code, err) = call(&[&["picture"], results, &[view, "-o", &name, "--force"]].concat());
    assert_eq!(code, exit::DONE, "{err}");
    let svg = std::fs::read_to_string(file).expect("a picture");
    assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
    assert_eq!(super::palette::unknown(&svg), Vec::<&str>::new(), "colours without another for a dark page");
    resvg::usvg::Tree::from_str(&svg, &resvg::usvg::Options::default()).expect("SVG that can be read");
    svg
}

/// Heights of the texts that hold `words` [px].
fn heights(svg: &str, words: &str) -> Vec<f64> {
    let lines = svg.lines().filter(|line| line.starts_with("<text") && line.contains(words));
    let height = |line: &str| line.split(" y=\"").nth(1)?.split('"').next()?.parse().ok();
    lines.map(|line| height(line).expect("a height")).collect()
}

#[test]
fn a_pull_is_drawn_over_crank_speed() {
    let folder = tempfile::tempdir().expect("a folder");
    let pull = result(folder.path(), NAME, &short(), "dyno_pull");
    let svg = drawn(folder.path(), &[&pull], "power");
    for words in [
        ">box &amp; &lt;tube&gt;: power, torque and charge pressure over crank speed<",
        "dyno pull, 2500 to 7000 rpm at 1500 rpm/s",
        "99.6 kPa 24.0 degC 45 % RH",
        ">power, kW<",
        ">torque, N m<",
        "charge pressure, kPa absolute",
        ">crank speed, rpm<",
        ">wastegate shut<",
        ">W wastegate shut<",
        ">wanted<",
    ] {
        assert!(svg.contains(words), "no `{words}` in\n{svg}");
    }
    // Power, torque, charge and what is wanted of it; a ring at the most of power and torque.
    assert_eq!((svg.matches("<polyline").count(), svg.matches("<circle").count()), (4, 2), "{svg}");
    let opened = Opened::read(Path::new(&pull)).expect("a result");
    let rows = opened.reading.engine_figures().expect("an engine");
    let most = rows.iter().map(|row| row.torque * row.crank_speed).fold(0.0, f64::max);
    assert!(svg.contains(&format!(">most {:.1} kW at ", 1e-3 * most)), "{most}: {svg}");
    // The regimes lie in the strip and behind each of the three panels.
    let shades = svg.matches("fill=\"#ecd1a6\"/>").count();
    assert!(shades >= 4, "{shades}: {svg}");
}

#[test]
fn pulls_of_layouts_stand_side_by_side() {
    let folder = tempfile::tempdir().expect("a folder");
    let wide = result(folder.path(), "wide", &short(), "dyno_pull");
    let narrow = result(folder.path(), NAME, &narrow(), "dyno_pull");
    let svg = drawn(folder.path(), &[&wide, &narrow, &wide], "power");
    assert_eq!(svg.matches("<polyline").count(), 3 * 4 + 2, "{svg}");
    let svg = drawn(folder.path(), &[&wide, &narrow], "power");
    assert_eq!(svg.matches("<polyline").count(), 2 * 4 + 1, "{svg}");
    assert_eq!(svg.matches(">box &amp; &lt;tube&gt;").count(), 5, "strip, three panels and difference: {svg}");
    assert!(svg.contains("power less that of wide, kW") && svg.contains("&gt;: mean -"), "{svg}");
    assert_eq!(svg.matches("dyno pull, 2500").count(), 1, "conditions that are alike are told once: {svg}");
    for (one, other) in heights(&svg, ">wide").iter().zip(heights(&svg, ">box &amp;")) {
        assert!((one - other).abs() >= 16.9, "{one} {other}");
    }
}

#[test]
fn held_points_are_dots_in_one_series_for_each_boost() {
    let folder = tempfile::tempdir().expect("a folder");
    let points = ["road_6500", "road_3000", "road_6500_raised"];
    let results = points.map(|point| result(folder.path(), "car", &short(), point));
    let two = drawn(folder.path(), &[&results[0], &results[1]], "power");
    assert!(two.contains(">points at 3000, 6500 rpm | 99.6 kPa"), "{two}");
    // Two dots in each panel, two of what is wanted, and the signs beside the four names.
    assert_eq!((two.matches("<circle").count(), two.matches("<polyline").count()), (8 + 4, 0), "{two}");
    let all = drawn(folder.path(), &[&results[0], &results[1], &results[2]], "power");
    assert_eq!(all.matches(">held, raised: most ").count(), 2, "{all}");
    assert!(all.contains(">held, raised: points at 6500 rpm | boost raised"), "{all}");
}

#[test]
fn roll_ons_are_drawn_over_time() {
    let folder = tempfile::tempdir().expect("a folder");
    let wide = result(folder.path(), "wide", &short(), "roll_on");
    let one = drawn(folder.path(), &[&wide], "roll_on");
    let opened = Opened::read(Path::new(&wide)).expect("a result");
    let end = opened.end().expect("times");
    let time = format!(">100 to 150 km/h in {end:.2} s<");
    for words in [&time, ">road speed, km/h", ">power, kW<", ">time, s<", ">gear 3<", ">3 to 4<", ">from 100 km/h<"] {
        assert!(one.contains(words), "no `{words}` in\n{one}");
    }
    assert_eq!(one.matches("<polyline").count(), 2);
    let narrow = result(folder.path(), NAME, &narrow(), "roll_on");
    let two = drawn(folder.path(), &[&wide, &narrow], "roll_on");
    assert_eq!(two.matches("<polyline").count(), 4);
    assert_eq!(two.matches(">gear 3<").count(), 2, "a strip each: {two}");
    assert!(two.contains(&format!(">wide: {end:.3} s<")) && two.contains("&gt;: "), "{two}");
    assert!(two.contains(" s (+"), "the narrow one is later: {two}");
}

#[test]
fn responses_are_drawn_with_the_time_to_nine_tenths() {
    let folder = tempfile::tempdir().expect("a folder");
    let wide = result(folder.path(), "wide", &short(), "response");
    let one = drawn(folder.path(), &[&wide], "response");
    let opened = Opened::read(Path::new(&wide)).expect("a result");
    let rows = opened.reading.engine_figures().expect("an engine");
    let time = tractwright::run::response_time(&rows).expect("a response");
    let told = format!(">90 % in {time:.2} s<");
    for words in [&told, ">charge pressure, kPa absolute", ">torque at the crank, N m<", ">90 % of the wanted: "] {
        assert!(one.contains(words), "no `{words}` in\n{one}");
    }
    assert_eq!((one.matches("<polyline").count(), one.matches("<circle").count()), (2, 1), "{one}");
    let narrow = result(folder.path(), NAME, &narrow(), "response");
    let two = drawn(folder.path(), &[&wide, &narrow], "response");
    assert_eq!((two.matches("<polyline").count(), two.matches("<circle").count()), (4, 2), "{two}");
    assert!(two.contains(" s (+"), "the narrow one responds later: {two}");
}

#[test]
fn what_a_view_cannot_show_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let pull = result(folder.path(), "car", &short(), "dyno_pull");
    let step = result(folder.path(), "car", &short(), "response");
    let tract = "parts: {nose: {kind: scoop, area: 90 cm2, recovery: 0.8, lip_radius: 5 mm}, tube: {kind: duct, length: 300 mm, \
                 diameter: 70 mm}, turbo: {kind: draw, corrected_flow: 100 g/s}}\nflow: [[nose, tube, turbo]]\n\
                 run: {until: steady, cell: 60 mm}\n";
    let bare = result(folder.path(), "bare", tract, "rest");
    let picture = folder.path().join("none.svg").display().to_string();
    for (results, view, words) in [
        (vec![&bare], "power", "bare.rest.h5: found a case without an engine, expected one whose section `engine`"),
        (vec![&pull, &bare], "power", "bare.rest.h5: found a case without an engine"),
        (
            vec![&step],
            "power",
            "found a throttle step at a held crank speed, expected a dyno pull or points that are held",
        ),
        (vec![&pull], "roll_on", "found a dyno pull, expected a roll-on"),
        (vec![&pull], "response", "found a dyno pull, expected a throttle step"),
        (vec![&pull, &step], "losses", "found 2 results for `losses`, expected one a picture"),
    ] {
        let results: Vec<&str> = results.into_iter().map(String::as_str).collect();
        let (code, err) = call(&[&["picture"], &results[..], &[view, "-o", &picture]].concat());
        assert!(code == exit::WRONG_USE && err.contains(words), "{view}: {code} {err}");
        assert!(!Path::new(&picture).exists());
    }
}
