use crate::support::{call, code, said, small_case, workspace, write};
use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

/// Layouts with an engine.
const POWER: [&str; 2] = ["shared_panel", "twin_sealed"];
/// A study of six runs.
const STUDY: &str = "
title: Bore and box
layouts: {plain: {case: plain.yaml}}
points: [road]
vary:
  left: {fields: parts.left.diameter, values: 66 70 74 mm}
  nose: {fields: parts.nose.area, values: 80 100 cm2}
require: [{figure: recovery, at_least: 50 %}]
aims: [{figure: recovery, want: most}, {figure: nose, want: least}]
";

/// A script of the tests, with some files of `folder`; what it said when it did not answer with success.
fn python(script: &str, folder: &Path, pages: &[&str]) {
    let python = workspace().join("target/venv/bin/python");
    assert!(python.exists(), "{} is missing: README's second command makes it", python.display());
    let script = workspace().join("tests").join(script);
    let done =
        Command::new(python).current_dir(folder).arg("-B").arg(script).args(pages).output().expect("python runs");
    assert!(done.status.success(), "{}{}", String::from_utf8_lossy(&done.stdout), said(&done));
}

fn made(folder: &Path, arguments: &[&str], expected: i32) {
    let output = call(folder, arguments);
    assert_eq!(code(&output), expected, "{arguments:?}: {}", said(&output));
}

fn page(folder: &Path, name: &str, arguments: &[&str]) {
    made(folder, &[&["report"], arguments, &["-o", name]].concat(), 0);
    let text = std::fs::read_to_string(folder.join(name)).expect("a page");
    assert!(text.len() < 6_000_000, "{name}: {} bytes", text.len());
    // Pictures stand in it as base64, where any letters may come together.
    let word = |letter: char| letter.is_ascii_alphanumeric() || "+/=.".contains(letter);
    let numbers = text.split(|letter| !word(letter)).all(|word| word != "NaN");
    assert!(numbers && !text.contains(">inf<") && !text.contains("<script>alert"), "{name}");
}

/// A chain of so many ducts between a mouth and a draw.
fn chain(count: usize) -> String {
    let mut text = "title: A long chain\npoints: {road: {speed: 30 m/s}}\nparts:\n  mouth: {kind: mouth, from: outside, area: 60 cm2}\n".to_owned();
    let mut flow = "mouth".to_owned();
    for number in 0..count {
        let _ = writeln!(text, "  duct_{number}: {{kind: duct, length: 60 mm, diameter: {} mm}}", 70 + number % 3);
        let _ = write!(flow, ", duct_{number}");
    }
    let _ = write!(
        text,
        "  turbo: {{kind: draw, flow: 60 g/s}}\nflow: [[{flow}, turbo]]\nrun: {{until: steady, cell: 20 mm}}\n"
    );
    text
}

#[test]
fn pages_are_whole_and_answer_and_run_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    // Waves, in a case whose title wants to be run.
    let plain = small_case(0.12);
    write(folder, "plain.yaml", &plain);
    let title = "title: \"<script>alert('1')</script> Ansaugluft für größere Μοτέρ & 吸気\"";
    write(folder, "strange.yaml", &plain.replace("title: Two draws, one box", title));
    made(folder, &["run", "plain.yaml", "strange.yaml", "--point", "road"], 0);
    page(folder, "waves.html", &["plain.road.h5", "strange.road.h5"]);
    // One branch of 42 parts, alone.
    write(folder, "chain.yaml", &chain(40));
    made(folder, &["run", "chain.yaml"], 0);
    page(folder, "chain.html", &["chain.road.h5"]);
    // A run that the physics stopped.
    let burst = "  burst: {kind: inflow, flow: 1e305 kg/s, temperature: 20 degC, table: {time: 0 50 51 ms, factor: [0, 0, 1]}}\nflow:\n  - [burst, box]\n";
    write(folder, "burst.yaml", &plain.replace("flow:\n", burst));
    made(folder, &["run", "burst.yaml", "--point", "road"], 1);
    page(folder, "burst.html", &["burst.road.h5"]);
    // A day of phases.
    let cases = workspace().join("cases");
    let hill = cases.join("heat/hill.yaml").display().to_string();
    made(folder, &["run", &hill, "--point", "hill"], 0);
    page(folder, "hill.html", &["hill.hill.h5"]);
    // An engine: a pull, a roll-on and points that are held, with ranges and levers.
    for case in POWER {
        let file = cases.join(format!("power/{case}.yaml")).display().to_string();
        for point in ["dyno_raised", "roll_raised", "road_stock", "road_raised"] {
            made(folder, &["run", &file, "--point", point], 0);
        }
    }
    let results = |points: &[&str]| -> Vec<String> {
        POWER.iter().flat_map(|case| points.iter().map(move |point| format!("{case}.{point}.h5"))).collect()
    };
    let driven = results(&["dyno_raised", "roll_raised"]);
    let driven: Vec<&str> = driven.iter().map(String::as_str).chain(["--spread", "10"]).collect();
    page(folder, "driven.html", &driven);
    let text = std::fs::read_to_string(folder.join("driven.html")).expect("a page");
    assert!(text.contains("areas: 10 to 90 % of its samples"), "no range of power over crank speed");
    let held = results(&["road_stock", "road_raised"]);
    let held: Vec<&str> = held.iter().map(String::as_str).chain(["--spread", "12", "--levers"]).collect();
    page(folder, "held.html", &held);
    let text = std::fs::read_to_string(folder.join("held.html")).expect("a page");
    for words in ["not measurable", "what to change next", "A-B-A", "speed-limited"] {
        assert!(text.contains(words), "{words}");
    }
    // Readings of the car beside a result in their state.
    let measured = |name: &str| workspace().join("cases/measured").join(name);
    let case = std::fs::read_to_string(measured("coupe.yaml")).expect("a case");
    write(folder, "car.yaml", &case.replace("flow: 200 g/s", "flow: 190 g/s"));
    made(folder, &["run", "car.yaml"], 0);
    page(folder, "car.html", &["car.road.h5", "--measured", &measured("road.csv").display().to_string()]);
    // A study.
    write(folder, "bore.study.yaml", STUDY);
    made(folder, &["study", "bore.study.yaml"], 0);
    page(folder, "study.html", &["bore.study.yaml"]);

    let pages =
        ["waves.html", "chain.html", "burst.html", "hill.html", "driven.html", "held.html", "car.html", "study.html"];
    python("pages.py", folder, &pages);
    python("page_answers.py", folder, &pages);
}

#[test]
fn every_view_is_drawn_and_what_it_cannot_show_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    write(folder, "plain.yaml", &small_case(0.1));
    write(folder, "bore.study.yaml", STUDY);
    made(folder, &["run", "plain.yaml", "--point", "road"], 0);
    made(folder, &["study", "bore.study.yaml"], 0);
    for (number, arguments) in [
        &["plain.road.h5", "branches"][..],
        &["plain.road.h5", "losses"],
        &["plain.road.h5", "heat"],
        &["plain.road.h5", "air"],
        &["plain.road.h5", "spectrum"],
        &["plain.road.h5", "waves", "--draw", "right_turbo"],
        &["bore.study.yaml", "front"],
        &["bore.study.yaml", "surface", "--inputs", "nose,left"],
    ]
    .into_iter()
    .enumerate()
    {
        for ending in ["svg", "png"] {
            made(folder, &[&["picture"], arguments, &["-o", &format!("{number}.{ending}")]].concat(), 0);
        }
        let svg = std::fs::read_to_string(folder.join(format!("{number}.svg"))).expect("a picture");
        assert!(!svg.contains("NaN") && svg.contains("<title>"), "{arguments:?}");
    }
    for (arguments, words) in [
        (&["plain.road.h5", "waves", "--draw", "middle"][..], "expected one of: left_turbo, right_turbo"),
        (&["plain.road.h5", "power"], "a case without an engine"),
        (&["plain.road.h5", "front"], "expected one that ends in .yaml"),
        (&["plain.road.h5", "plain.road.h5", "losses"], "expected one a picture"),
        (&["bore.study.yaml", "surface", "--inputs", "nose,box"], "expected two of: left, nose"),
        (&["bore.study.yaml", "front", "--point", "lane"], "expected one of: road"),
        (&["plain.road.h5", "over_speed"], "expected three at least"),
    ] {
        let output = call(folder, &[&["picture"], arguments, &["-o", "none.svg"]].concat());
        assert!(code(&output) == 2 && said(&output).contains(words), "{arguments:?}: {}", said(&output));
        assert!(!folder.join("none.svg").exists());
    }
    for (arguments, status, words) in [
        (&["report", "plain.road.h5", "-o", "page.txt"][..], 2, "ends in .html"),
        (&["report", "bore.study.yaml", "--folder", "away", "-o", "page.html"], 74, "found no folder"),
        (&["report", "plain.yaml", "-o", "page.html"], 3, "plain.yaml"),
    ] {
        let output = call(folder, arguments);
        assert!(code(&output) == status && said(&output).contains(words), "{arguments:?}: {}", said(&output));
        assert!(!folder.join("page.html").exists());
    }
    let plot = call(folder, &["summary", "plain.road.h5", "--plot"]);
    let text = String::from_utf8_lossy(&plot.stdout);
    assert!(text.contains("static pressure at left_turbo, kPa, over s") && text.contains('⠀'), "{text}");
}
