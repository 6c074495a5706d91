//! What can be wrong with an engine, a vehicle and what they do at a point.

use super::*;

const POWER: &str = include_str!("../../../../cases/power/twin_sealed.yaml");

/// What the case says of the point when `line` is changed to `other`.
fn told(point: &str, line: &str, other: &str) -> String {
    assert!(POWER.contains(line), "{line}");
    let case = Case::from_text("power.yaml", &POWER.replace(line, other));
    let built = case.and_then(|case| case.build(point).map(|_| ()));
    let problems = built.expect_err(other).problems;
    let told: Vec<String> = problems.iter().map(|p| format!("{} | {} | {}", p.path, p.found, p.expected)).collect();
    told.join("\n")
}

#[test]
fn each_mistake_is_told_with_its_place() {
    for (point, line, other, path, found) in [
        ("road_raised", "boost: raised}", "boost: rised}", "points.road_raised.boost", "`rised`"),
        ("road_stock", "engine_speed: 6500 rpm}", "wind: 1 m/s}", "points.road_stock.engine_speed", "without a speed"),
        ("dyno_stock", "pull: {to: 7000 rpm", "pull: {to: 2900 rpm", "points.dyno_stock.pull.to", "below its end"),
        (
            "roll_stock",
            "from: 100 km/h, to: 200",
            "from: 100 km/h, to: 90",
            "points.roll_stock.roll_on.to",
            "not above",
        ),
        ("roll_stock", "to: 200 km/h}", "to: 200 km/h, gear: 9}", "points.roll_stock.roll_on.gear", "gear 9"),
        (
            "road_stock",
            "turbos: [left_turbo, right_turbo]",
            "turbos: [left_turbo]",
            "flow",
            "`engine: yes` in `right_turbo`",
        ),
        ("road_stock", "turbos: [left_turbo", "turbos: [left_tube", "flow", "`engine: yes` in `left_turbo`"),
        ("road_stock", "engine: yes}", "engine: yes, flow: 1 g/s}", "parts.left_turbo.flow", "beside `engine: yes`"),
        ("road_stock", "[0.35, ", "[", "engine.cooler.effectiveness", "4 for 5 speeds"),
        ("road_stock", "displacement: 3.2 L", "shared: [cranks]\n  displacement: 3.2 L", "engine.shared", "`cranks`"),
        ("road_stock", ", speed: 122 krpm", "", "engine.compressor", "neither `lines` nor a whole design point"),
        (
            "road_stock",
            "inlet_pressure: 205 kPa",
            "inlet_pressure: 110 kPa",
            "engine.turbine.inlet_pressure",
            "not above",
        ),
        ("road_stock", "speed: 1000 4000 7000 rpm", "speed: 1000 4000 rpm", "engine.friction.engine_speed", "2 speeds"),
    ] {
        let told = told(point, line, other);
        assert!(told.contains(path) && told.contains(found), "{other}: {told}");
    }
}

#[test]
fn a_roll_on_asks_for_a_vehicle() {
    let (head, rest) = POWER.split_once("vehicle:").expect("a vehicle");
    let (_, tail) = rest.split_once("\nparts:").expect("parts");
    let case = Case::from_text("power.yaml", &format!("{head}\nparts:{tail}")).expect("a case");
    assert!(case.build("road_stock").is_ok());
    let told = case.build("roll_stock").expect_err("no vehicle").to_string();
    assert!(told.contains("a roll-on without a `vehicle`"), "{told}");
}

#[test]
fn a_measured_map_makes_the_compressor() {
    let design = "{flow: 165 g/s, pressure_ratio: 2.2, efficiency: 0.76, speed: 122 krpm}";
    let map = "
    lines:
      - {speed: 60 krpm, flow: 30 60 90 g/s, pressure_ratio: [1.35, 1.3, 1.1], efficiency: [0.62, 0.7, 0.6]}
      - {speed: 100 krpm, flow: 70 115 155 g/s, pressure_ratio: [1.9, 1.8, 1.4], efficiency: [0.66, 0.75, 0.62]}
      - {speed: 130 krpm, flow: 105 155 200 g/s, pressure_ratio: [2.6, 2.4, 1.8], efficiency: [0.66, 0.74, 0.6]}
    speed_limit: 140 krpm";
    assert!(POWER.contains(design));
    let case = Case::from_text("power.yaml", &POWER.replace(design, map)).expect("a case");
    let built = case.build("road_stock").expect("a network");
    let turbo = &built.network.drive.as_ref().expect("an engine").powertrain.turbos[0];
    let speed = 2.0 * std::f64::consts::PI * 1e5 / 60.0;
    assert!((turbo.compressor.pressure_ratio(0.115, speed) - 1.8).abs() < 1e-12);
    let falling = map.replace("[1.9, 1.8, 1.4]", "[1.4, 1.8, 1.9]");
    let told = told("road_stock", design, &falling);
    assert!(told.contains("engine.compressor.lines"), "{told}");
}

const MAP: &str = "\
# an invented map
corrected_speed [krpm], corrected_flow [g/s], pressure_ratio, efficiency
60, 30, 1.35, 0.62
60, 60, 1.3, 0.7
60, 90, 1.1, 0.6
100, 70, 1.9, 0.66
100, 115, 1.8, 0.75
100, 155, 1.4, 0.62
130, 105, 2.6, 0.66
130, 155, 2.4, 0.74
130, 200, 1.8, 0.6
";

#[test]
fn a_measured_map_may_stand_in_a_file_and_comes_along_in_the_resolved_case() {
    let design = "{flow: 165 g/s, pressure_ratio: 2.2, efficiency: 0.76, speed: 122 krpm}";
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("power.yaml");
    std::fs::write(&path, POWER.replace(design, "{lines: map.csv}")).expect("a file");
    let ratio = |case: &Case| {
        let built = case.build("road_stock").expect("a network");
        let turbo = &built.network.drive.as_ref().expect("an engine").powertrain.turbos[0];
        turbo.compressor.pressure_ratio(0.115, 2.0 * std::f64::consts::PI * 1e5 / 60.0)
    };
    std::fs::write(folder.path().join("map.csv"), MAP).expect("a file");
    let case = Case::from_path(&path).expect("a case");
    assert!((ratio(&case) - 1.8).abs() < 1e-12);
    let resolved = Case::from_text("resolved", &case.resolved_text()).expect("a case of its own");
    assert!((ratio(&resolved) - 1.8).abs() < 1e-12);
    std::fs::write(folder.path().join("map.csv"), MAP.replace("115, 1.8", "115 g, 1.8")).expect("a file");
    let told = Case::from_path(&path).expect_err("a wrong map").to_string();
    assert!(
        told.contains("map.csv:7:") && !told.contains("power.yaml:") && told.contains("engine.compressor.lines"),
        "{told}"
    );
}
