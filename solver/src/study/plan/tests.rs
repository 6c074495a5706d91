use super::*;
use std::fs;
use std::path::PathBuf;
use tempfile::TempDir;

const CASE: &str = "\
outside: {pressure: 100 kPa, temperature: 20 +- 4 degC}
points:
  road: {speed: 40 m/s}
  town: {speed: 10 m/s}
parts:
  nose: {kind: mouth, from: outside, area: 60 cm2}
  tube: {kind: duct, length: 400 mm, diameter: 76 mm}
  turbo: {kind: draw, flow: 150 g/s}
flow:
  - [nose, tube, turbo]
";

fn folder(study: &str) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("case.yaml"), CASE).unwrap();
    fs::write(folder.path().join("short.yaml"), "extends: case.yaml\nparts: {tube: {length: 300 mm}}\n").unwrap();
    let path = folder.path().join("bore.study.yaml");
    fs::write(&path, study).unwrap();
    (folder, path)
}

fn plan(study: &str) -> Plan {
    let (_folder, path) = folder(study);
    Plan::from_path(&path).unwrap_or_else(|error| panic!("{error}"))
}

fn refused(study: &str) -> String {
    let (_folder, path) = folder(study);
    Plan::from_path(&path).unwrap_err().to_string()
}

const GRID: &str = "\
layouts: {long: {case: case.yaml}, short: {case: short.yaml, set: {parts.nose.area: 55 cm2}}}
points: [road, town]
vary:
  bore: {fields: parts.tube.diameter, from: 70 mm, to: 80 mm, count: 3}
  speed: {fields: points.*.speed, values: 36 72 km/h}
";

#[test]
fn a_grid_runs_every_combination_of_every_layout_at_every_point() {
    let plan = plan(GRID);
    assert_eq!((plan.count(), plan.places(), plan.combinations()), (24, 4, 6));
    let run = |layout, point, numbers: [f64; 2]| Run { layout, point, numbers: numbers.to_vec(), draw: None };
    assert_eq!(plan.run(0), run(0, 0, [70.0, 36.0]));
    assert_eq!(plan.run(1), run(0, 0, [70.0, 72.0]));
    assert_eq!(plan.run(2), run(0, 0, [75.0, 36.0]));
    assert_eq!(plan.run(6), run(0, 1, [70.0, 36.0]));
    assert_eq!(plan.run(23), run(1, 1, [80.0, 72.0]));
    let case = plan.case_of(&plan.run(23)).unwrap();
    let written = |path: &str| case.as_written(path).unwrap().to_owned();
    assert_eq!(written("parts.tube.diameter"), "80 mm");
    assert_eq!(written("parts.tube.length"), "300 mm");
    assert_eq!(written("parts.nose.area"), "55 cm2");
    assert_eq!((written("points.town.speed").as_str(), written("points.road.speed").as_str()), ("72 km/h", "40 m/s"));
    assert_eq!(case.run.until, crate::case::Until::Steady);
}

#[test]
fn a_run_is_known_by_its_content() {
    let ids = |study: &str| {
        let plan = plan(study);
        let id = |number: usize| {
            let run = plan.run(number);
            plan.id(&run, plan.anchor(run.layout, run.point))
        };
        (0..plan.count()).map(id).collect::<Vec<_>>()
    };
    let all = ids(GRID);
    let once: BTreeSet<Id> = all.iter().copied().collect();
    assert_eq!(once.len(), all.len());
    // Another value of one layout changes its runs alone, another title and another value more change none.
    let other = ids(&GRID.replace("55 cm2", "56 cm2"));
    assert_eq!(all[..12], other[..12]);
    assert!(all[12..].iter().zip(&other[12..]).all(|(a, b)| a != b));
    assert_eq!(all, ids(&format!("title: another\n{GRID}")));
    let more: BTreeSet<Id> = ids(&GRID.replace("36 72 km/h", "36 54 72 km/h")).into_iter().collect();
    assert!(once.is_subset(&more) && more.len() == 36);
    // Another way of running changes all.
    let waves: BTreeSet<Id> = ids(&format!("{GRID}run: {{until: 0.1 s}}\n")).into_iter().collect();
    assert!(once.is_disjoint(&waves));
}

#[test]
fn samples_fill_the_space_and_depend_on_their_number_alone() {
    let study = |count: usize| GRID.replace(", count: 3", "") + &format!("sample: {{method: sobol, count: {count}}}\n");
    let (few, many) = (plan(&study(64)), plan(&study(128)));
    assert_eq!(few.run(5), many.run(5));
    // A Sobol sequence puts as many of 64 points into each of 16 boxes of a plane as its strength says: four (Joe and Kuo 2008 call it a (0, 2)
    // sequence in its first two axes, from memory).
    let mut boxes = [0_usize; 16];
    for number in 0..64 {
        let bore = few.run(number).numbers[0];
        assert!((70.0..80.0).contains(&bore));
        boxes[((bore - 70.0) / 10.0 * 16.0) as usize] += 1;
    }
    assert_eq!(boxes, [4; 16]);
}

#[test]
fn draws_from_the_spreads_are_the_same_in_all_layouts() {
    let plan = plan(
        "layouts: {long: {case: case.yaml}, short: {case: short.yaml}}\npoints: [road]\nsample: {method: spread, count: 5, seed: 3}\n",
    );
    assert_eq!(plan.count(), 10);
    let drawn = |number: usize| plan.case_of(&plan.run(number)).unwrap().outside.temperature;
    for number in 0..5 {
        assert_eq!(drawn(number).to_bits(), drawn(number + 5).to_bits());
        assert!((drawn(number) - 293.15).abs() < 20.0 && (drawn(number) - 293.15).abs() > 0.0);
    }
}

#[test]
fn mistakes_are_told_with_their_place() {
    for (study, told) in [
        ("points: [road]\n", "no `layouts`"),
        ("layouts: {}\n", "no layout"),
        ("layouts: {a: {case: absent.yaml}}\n", "bore.study.yaml:1:21: layouts.a.case"),
        ("layouts: {a: {case: ../case.yaml}}\n", "without `..`"),
        ("layouts: {a: {case: case.yaml, set: {parts.tube.bore: 3 mm}}}\n", "no numeric field"),
        ("layouts: {a: {case: case.yaml}}\npoints: [raod]\n", "`raod`"),
        (&GRID.replace("parts.tube.diameter", "parts.tube.diametre"), "did you mean `parts.tube.diameter`?"),
        (&GRID.replace("70 mm", "70 kPa"), "vary.bore.from"),
        (&GRID.replace("bore: {", "power: {"), "which the table has already"),
        (&GRID.replace("from: 70 mm", "from: -70 mm"), "more than 0"),
        (&GRID.replace(", count: 3", ""), "no `count` of the input `bore`"),
        (&GRID.replace("count: 3", "count: 1"), "2 or more"),
        (&GRID.replace("to: 80 mm", "to: 60 mm"), "more than 70 mm"),
        (&GRID.replace("values: 36", "from: 3 m/s, values: 36"), "`from` beside `values`"),
        (&format!("{GRID}aims: [{{figure: pwoer, want: most}}]\n"), "did you mean `power`?"),
        (&format!("{GRID}aims: [{{figure: power, want: most}}]\n"), "no engine"),
        (&format!("{GRID}require: [{{figure: recovery}}]\n"), "`at_least`, `at_most` or both"),
        (&format!("{GRID}require: [{{figure: recovery, at_least: 3 mm}}]\n"), "`3 mm`"),
        (&format!("{GRID}sample: {{method: spread, count: 5}}\n"), "inputs beside samples of the spreads"),
        (&format!("{GRID}search: {{}}\naims: [{{figure: recovery, want: most}}]\n"), "a search without bounds"),
        (
            "layouts: {a: {case: case.yaml}}\nsample: {method: spread, count: 3}\nrun: {until: 0.1 s}\n",
            "whose fields are not kept",
        ),
        (&format!("{GRID}run: {{march: slow, until: settled}}\n"), "until it settles"),
        (&format!("{GRID}vary_more: 3\n"), "unknown key"),
    ] {
        let text = refused(study);
        assert!(
            text.contains(told) && text.contains("bore.study.yaml") || text.contains("case.yaml"),
            "{study}\n{text}"
        );
        assert!(text.contains(told), "{study}\n{text}");
    }
}

#[test]
fn bounds_of_inputs_and_figures_are_read_in_their_units() {
    let plan = plan(&format!(
        "{GRID}require: [{{figure: bore, at_most: 7.6 cm}}, {{figure: inlet_temperature.difference, at_most: 3 K}}]\n"
    ));
    assert_eq!(plan.limits[0].what, What::Variable(0));
    assert!((plan.limits[0].at_most.unwrap() - 76.0).abs() < 1e-9);
    assert_eq!(plan.limits[1].at_most, Some(3.0));
    assert!((plan.limits[1].margin(1.5).unwrap() - 0.5).abs() < 1e-12);
    assert_eq!(plan.limits[1].margin(f64::NAN), None);
}
