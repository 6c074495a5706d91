use super::*;
use crate::powertrain::finite::{falls, is_smooth};

const REFERENCE: Reference = Reference { pressure: 1e5, temperature: 298.15 };

/// An invented map: speeds in thousands of turns a minute, flow in g/s.
const TABLE: &str = "\
# an invented map
corrected_speed [krpm],corrected_flow [g/s],pressure_ratio,efficiency [%]
60,40,1.290,66
60,60,1.285,73
60,85,1.240,74
60,105,1.150,64
90,70,1.690,67
90,95,1.700,74
90,125,1.640,76.5
90,160,1.450,68
90,170,1.320,58
120,105,2.360,68
120,140,2.350,75
120,180,2.240,76
120,215,1.950,68
120,225,1.600,55
150,160,3.250,66
150,200,3.200,72
150,240,3.020,71
150,262,2.600,63
150,268,2.000,52
";

fn map() -> Compressor {
    Compressor::Map(SpeedLines::from_table("map.csv", TABLE, REFERENCE, None).unwrap())
}

fn generic() -> Compressor {
    Compressor::Generic(Generic::at_design(0.22, 2.4, 0.76, 12_000.0, REFERENCE))
}

fn both() -> [(&'static str, Compressor); 2] {
    [("map", map()), ("generic", generic())]
}

fn turns(thousands: f64) -> f64 {
    thousands * 1e3 / 60.0 * 2.0 * std::f64::consts::PI
}

#[test]
fn every_point_right_of_a_hump_is_met() {
    let (map, mut met) = (map(), 0);
    for line in TABLE.lines().skip(2) {
        let [speed, flow, ratio, efficiency] =
            <[f64; 4]>::try_from(line.split(',').map(|cell| cell.parse().unwrap()).collect::<Vec<_>>()).unwrap();
        let (flow, speed) = (1e-3 * flow, turns(speed));
        assert!((map.efficiency(flow, speed) - 0.01 * efficiency).abs() < 1e-13, "{line}");
        let found = map.pressure_ratio(flow, speed);
        if line == "90,70,1.690,67" {
            assert!(found > 1.7 && found < 1.715, "{found} in place of the hump");
        } else {
            assert!((found - ratio).abs() < 1e-12, "{line}: {found}");
            met += 1;
        }
    }
    assert_eq!(met, 18);
    assert!((map.surge_flow(turns(90.0)) - 0.070).abs() < 1e-15 && (map.choke_flow(turns(90.0)) - 0.170).abs() < 1e-15);
    assert!((map.speed_limit() - turns(150.0)).abs() < 1e-9);
}

#[test]
fn the_design_point_is_met_between_surge_and_choke() {
    for ratio in [1.2, 1.8, 2.4, 4.0] {
        let generic = Compressor::Generic(Generic::at_design(0.22, ratio, 0.76, 12_000.0, REFERENCE));
        assert!((generic.pressure_ratio(0.22, 12_000.0) - ratio).abs() < 1e-13);
        assert!((generic.efficiency(0.22, 12_000.0) - 0.76).abs() < 1e-13);
        assert!((generic.surge_flow(12_000.0) - 0.55 * 0.22).abs() < 1e-15);
        assert!((generic.choke_flow(12_000.0) - 1.25 * 0.22).abs() < 1e-15);
        assert!((generic.speed_limit() - 13_800.0).abs() < 1e-9);
        let top = generic.pressure_ratio(generic.surge_flow(12_000.0), 12_000.0);
        assert!((1.1..1.4).contains(&((top - 1.0) / (ratio - 1.0))), "{top}");
        for (flow, speed) in [(0.22, 15_000.0), (0.3, 12_000.0), (0.12, 12_000.0), (0.05, 3000.0)] {
            assert!(generic.efficiency(flow, speed) < 0.76);
        }
    }
}

#[test]
fn pressure_ratio_falls_with_flow_and_stays_above_nothing() {
    for (name, compressor) in both() {
        for share in [0.0, 0.1, 0.3, 0.5, 0.77, 1.0, 1.1, 1.6] {
            let speed = share * compressor.speed_limit();
            falls(name, [1e-4, 0.8], |flow| compressor.pressure_ratio(flow, speed));
            assert!(compressor.pressure_ratio(0.8, speed) > 0.0 && compressor.pressure_ratio(0.8, speed) < 1.0);
        }
        assert!((compressor.pressure_ratio(0.0, 0.0) - 1.0).abs() < 1e-15);
    }
}

#[test]
fn pressure_ratio_rises_with_speed() {
    for (name, compressor) in both() {
        for step in 0..60 {
            let flow = 0.01 * f64::from(step);
            falls(name, [-1.5 * compressor.speed_limit(), -1e-3], |speed| compressor.pressure_ratio(flow, -speed));
        }
    }
}

#[test]
fn all_is_smooth_over_flow_and_speed() {
    for (name, compressor) in both() {
        for share in [0.0, 1e-9, 0.1, 0.4, 0.75, 1.0, 1.3] {
            let speed = share * compressor.speed_limit();
            is_smooth(name, [-0.2, 0.6], |flow| compressor.pressure_ratio(flow, speed));
            if share > 1e-3 {
                is_smooth(name, [-0.2, 0.6], |flow| compressor.efficiency(flow, speed));
            }
            let flow = 0.3 * share;
            is_smooth(name, [-1e3, 3e4], |speed| compressor.pressure_ratio(flow, speed));
            is_smooth(name, [1.0, 3e4], |speed| compressor.efficiency(flow, speed));
            is_smooth(name, [0.0, 3e4], |speed| compressor.choke_flow(speed) - compressor.surge_flow(speed));
        }
    }
}

#[test]
fn slopes_join_where_one_law_follows_another() {
    for (name, compressor) in both() {
        for speed in [turns(30.0), turns(60.0), turns(90.0), turns(110.0), turns(150.0), turns(180.0)] {
            let choke = compressor.choke_flow(speed);
            for step in 0..400 {
                let flow = choke * 0.004 * f64::from(step);
                let slope = |flow: f64| {
                    (compressor.pressure_ratio(flow + 1e-9, speed) - compressor.pressure_ratio(flow - 1e-9, speed))
                        / 2e-9
                };
                let (left, right) = (slope(flow - 3e-7), slope(flow + 3e-7));
                assert!((left - right).abs() < 0.05 * (1.0 + left.abs()), "{name} {speed} {flow}: {left} {right}");
            }
        }
    }
}

#[test]
fn efficiency_stays_between_its_floor_and_the_best() {
    for (name, compressor) in both() {
        let best = if name == "map" { 0.765 } else { 0.76 };
        for (row, column) in (0..50).flat_map(|row| (0..50).map(move |column| (row, column))) {
            let (flow, speed) = (0.02 * f64::from(row) - 0.1, 600.0 * f64::from(column));
            let found = compressor.efficiency(flow, speed);
            assert!((0.3 - 1e-12..=best + 1e-12).contains(&found), "{name} {flow} {speed}: {found}");
        }
    }
}

#[test]
fn any_finite_input_gives_a_finite_answer() {
    for (name, compressor) in both() {
        for flow in [-1e60, -1.0, -0.0, 0.0, 1e-300, 1e-9, 0.2, 1e60] {
            for speed in [-1e60, -1.0, 0.0, 1e-300, 1e-9, 1e4, 1e60] {
                let found = [compressor.pressure_ratio(flow, speed), compressor.efficiency(flow, speed)];
                assert!(found.iter().all(|value| value.is_finite() && *value > 0.0), "{name} {flow} {speed} {found:?}");
            }
        }
    }
}

#[test]
fn below_the_lowest_line_the_affinity_laws_hold() {
    let map = map();
    for (share, flow) in [(0.5, 0.085), (0.2, 0.060), (0.01, 0.1), (0.3, 0.03)] {
        let (low, line) =
            (map.pressure_ratio(share * flow, share * turns(60.0)), map.pressure_ratio(flow, turns(60.0)));
        assert!(line > 1.0 && (low - 1.0 - share * share * (line - 1.0)).abs() < 1e-12, "{share} {flow}: {low} {line}");
    }
}

#[test]
fn corrected_values_and_work_follow_from_their_definitions() {
    assert!((REFERENCE.corrected_flow(0.3, 1e5, 298.15) - 0.3).abs() < 1e-15);
    assert!((REFERENCE.corrected_flow(0.3, 5e4, 4.0 * 298.15) - 1.2).abs() < 1e-14);
    assert!((REFERENCE.corrected_speed(9e3, 4.0 * 298.15) - 4.5e3).abs() < 1e-9);
    assert!((outlet_temperature(1.4, 300.0, 2.0_f64.powf(3.5), 1.0) - 600.0).abs() < 1e-9);
    assert!((work(1000.0, 1.4, 300.0, 2.0_f64.powf(3.5), 0.75) - 400_000.0).abs() < 1e-6);
    assert!(work(1000.0, 1.4, 300.0, 1.0, 0.7).abs() < 1e-12 && work(1000.0, 1.4, 300.0, 0.5, 0.7).is_finite());
}

fn refused(from: &str, to: &str) -> String {
    assert!(TABLE.contains(from));
    SpeedLines::from_table("map.csv", &TABLE.replacen(from, to, 1), REFERENCE, None).unwrap_err().to_string()
}

#[test]
fn what_is_wrong_with_a_table_is_named_with_its_place() {
    for (from, to, message) in [
        ("60,85,", "60,8x5,", "map.csv:5:4: column `corrected_flow`: found `8x5`, expected a number"),
        ("60,85,1.240,74", "60,85,1.240", "map.csv:5:1: found 3 cells, expected 4, as in the header"),
        ("flow [g/s]", "flow [mm]", "map.csv:2:24: column `corrected_flow`: found the unit `mm`, expected a mass flow"),
        ("efficiency [%]", "eta", "map.csv:2:60: found the column `eta`, expected one of the columns `corrected_speed"),
        (
            "efficiency [%]",
            "pressure_ratio",
            "map.csv:2:60: column `pressure_ratio`: found it twice, expected each column once",
        ),
        (
            ",efficiency [%]",
            "",
            "map.csv:2:1: column `efficiency`: found no such column, expected a column `efficiency`",
        ),
        ("60,85,1.240,74", "60,85,1.240,100", "map.csv:5:1: found an efficiency of 1, expected between 0 and 1"),
        ("60,85,", "60,60,", "map.csv:5:1: found the flow of row 2 again, expected each flow of a line once"),
        ("90,160,1.450", "90,160,1.645", "map.csv:10:1: found a pressure ratio of 1.645 after 1.64 at a lower flow"),
        ("150,262,2.600,63", "151,262,2.600,63", "map.csv:20:1: found 1 points at this speed, expected at least 3"),
        (
            "60,105,1.150",
            "60,105,1.350",
            "map.csv:6:1: found the highest pressure ratio of the line, 1.35, at its highest flow",
        ),
    ] {
        let found = refused(from, to);
        assert!(found.starts_with(message), "{found}");
    }
    let low = [("120,140,2.350", "120,140,1.3"), ("120,180,2.240", "120,180,1.2"), ("120,215,1.950", "120,215,1.1")];
    let low =
        low.iter().fold(TABLE.replace("120,225,1.600", "120,225,1.05"), |text, (from, to)| text.replace(from, to));
    let fault = SpeedLines::from_table("map.csv", &low, REFERENCE, None).unwrap_err().to_string();
    assert!(fault.contains("lines that cross"), "{fault}");
    let two: String = TABLE
        .lines()
        .filter(|line| !line.starts_with("60") && !line.starts_with("90"))
        .map(|line| format!("{line}\n"))
        .collect();
    let fault = SpeedLines::from_table("map.csv", &two, REFERENCE, None).unwrap_err().to_string();
    assert_eq!(fault, "map.csv: found 2 speed lines, expected at least 3");
    let fault = SpeedLines::from_table("map.csv", "# nothing\n", REFERENCE, None).unwrap_err().to_string();
    assert!(fault.starts_with("map.csv: found no header, expected the columns `corrected_speed"), "{fault}");
}

#[test]
fn quoted_cells_and_any_order_are_read() {
    let text = TABLE.replace("60,85,1.240,74", "\"60\",\"85\",1.240,74");
    assert_eq!(
        SpeedLines::from_table("map.csv", &text, REFERENCE, None),
        SpeedLines::from_table("map.csv", TABLE, REFERENCE, None)
    );
    let mut lines: Vec<&str> = TABLE.lines().collect();
    lines[2..].reverse();
    assert_eq!(
        SpeedLines::from_table("map.csv", &lines.join("\n"), REFERENCE, None),
        SpeedLines::from_table("map.csv", TABLE, REFERENCE, None)
    );
}
