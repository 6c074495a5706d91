//! Logs in SI.

use super::*;
use crate::measured::{Mean, doubts, stations};

/// A tract with one draw, and `measured` of these keys.
fn case(measured: &str) -> Case {
    let text = format!(
        "outside: {{pressure: 100 kPa, temperature: 20 degC}}\n\
         points: {{road: {{speed: 40 m/s}}}}\n\
         parts:\n  nose: {{kind: mouth, from: outside, area: 60 cm2}}\n  tube: {{kind: duct, length: 500 mm, diameter: 80 mm}}\n  \
         turbo: {{kind: draw, flow: 150 g/s}}\n\
         flow: [[nose, tube, turbo]]\nmeasured:\n  point: road\n{measured}"
    );
    Case::from_text("case.yaml", &text).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

const COLUMNS: &str = "  columns:\n    time: {is: time}\n    flow: {sets: parts.turbo.flow}\n    \
                       p: {tap: turbo, reads: static, pressure: depression, accuracy: 25 Pa}\n";

fn log(case: &Case, text: &str) -> Result<Log, CaseError> {
    let measured = case.measured.as_ref().expect("a section");
    let sheet = Sheet::from_bytes("log.csv", text.as_bytes(), &wanted(measured)).expect("a header");
    Log::of(case, measured, &sheet)
}

fn refused(case: &Case, text: &str) -> String {
    log(case, text).expect_err("a mistake").to_string()
}

#[test]
fn columns_are_read_in_their_units_and_what_is_wrong_is_kept_out_with_its_line() {
    let case = case(COLUMNS);
    let text = "time [s],flow [g/s],p [mbar],other\n\
                0.0,100,12,x\n\
                0.1,one hundred,12,x\n\
                0.1,101,12.5,x\n\
                0.1,102,12.6,x\n\
                0.2,-,13,x\n\
                ,103,13,x\n\
                0.3,104\n\
                2.5,105,14,x\n\
                0.0,100,12.2,x\n";
    let log = log(&case, text).expect("a log");
    assert_eq!(log.rows.iter().map(|row| row.line).collect::<Vec<_>>(), [2, 4, 6, 9, 10]);
    assert_eq!(log.rows[0].values, [Some(0.0), Some(0.1), Some(1200.0)]);
    assert_eq!(log.rows[2].values[1], None);
    let kept_out: Vec<usize> = log.told.iter().filter(|told| told.kept_out).map(|told| told.line).collect();
    assert_eq!(kept_out, [3, 5, 7, 8]);
    assert!(log.told[0].text.contains("`one hundred` in `flow`"), "{:?}", log.told);
    assert_eq!((log.rows_read, log.dropouts, log.runs), (9, 1, 2));
    assert_eq!(log.unused, ["other"]);
    assert_eq!(log.channels[1].expect("flow").missing, 1);
}

#[test]
fn a_column_without_a_unit_or_with_two_is_asked_for() {
    let case_alone = case(COLUMNS);
    let message = refused(&case_alone, "time [s],flow,p [mbar]\n0,1,2\n");
    assert!(
        message.contains("measured.columns.flow")
            && message.contains("without a unit")
            && message.contains("a mass flow"),
        "{message}"
    );
    let message = refused(&case_alone, "time [s],flow [g/s],p [degC]\n0,1,2\n");
    assert!(message.contains("`degC` as its unit") && message.contains("a pressure difference"), "{message}");
    let said = case(&COLUMNS.replace("{tap: turbo", "{unit: kPa, tap: turbo"));
    let message = refused(&said, "time [s],flow [g/s],p [mbar]\n0,1,2\n");
    assert!(message.contains("`mbar` in the header and `kPa` here"), "{message}");
    assert_eq!(log(&said, "time [s],flow [g/s],p\n0,1,2\n").expect("a log").rows[0].values[2], Some(2000.0));
}

#[test]
fn a_long_form_is_put_on_one_clock() {
    let long = format!(
        "{COLUMNS}  long: {{time: SECONDS, time_unit: s, name: PID, value: VALUE, unit: UNITS}}\n  every: 1 s\n"
    );
    let case = case(&long.replace("    time: {is: time}\n", ""));
    let text = "\"SECONDS\";\"PID\";\"VALUE\";\"UNITS\"\n0;flow;100;g/s\n0,5;p;10;mbar\n1;flow;120;g/s\n1,5;p;20;mbar\n2;flow;100;g/s\n2,5;x;1;V\n2,6;p;1;kPa\n";
    let log = log(&case, text).expect("a log");
    assert_eq!(log.rows.len(), 3);
    assert_eq!(log.rows[1].values, [Some(0.12), Some(1500.0)]);
    assert_eq!(log.rows[0].values, [Some(0.1), None]);
    assert_eq!(log.unused, ["x"]);
    // Each channel has its own rate, before they are put on one clock.
    assert!(log.channels.iter().flatten().all(|data| data.step == Some(1.0)), "{:?}", log.channels);
    assert!(log.told[0].kept_out && log.told[0].text.contains("`kPa` in `p`, expected mbar"), "{:?}", log.told);
}

#[test]
fn rows_of_pulls_become_stations_with_the_scatter_between_pulls() {
    let pulls = "  columns:\n    n: {is: engine_speed}\n    flow: {sets: parts.turbo.flow}\n    \
                 p: {tap: turbo, reads: static, pressure: depression, accuracy: 30 Pa}\n  pulls: n\n  stations: {of: n, every: 1000 rpm}\n";
    let case = case(pulls);
    let text = "n [rpm],flow [g/s],p [Pa]\n3000,100,1000\n4000,120,1500\n5000,140,2000\n4000,50,300\n3000,100,1100\n4010,120,1420\n5000,140,2000\n";
    let log = log(&case, text).expect("a log");
    assert_eq!((log.runs, log.rows.len()), (2, 6), "the row in which the speed falls is left out");
    let measured = case.measured.as_ref().expect("a section");
    let found = stations(measured, &log).expect("stations");
    assert_eq!(
        found.iter().map(|station| station.name.as_str()).collect::<Vec<_>>(),
        ["3000 rpm", "4000 rpm", "5000 rpm"]
    );
    let Mean { value, spread, rows, runs } = found[1].means[2].expect("a mean");
    // Two pulls 80 Pa apart: 40 Pa for their mean, and 30 Pa of accuracy beside them.
    assert_eq!((value, rows, runs), (1460.0, 2, 2));
    assert!((spread - 50.0).abs() < 1e-9, "{spread}");
    assert_eq!(found[1].sets, [("parts.turbo.flow".to_owned(), 0.12)]);
    let there = found[1].case(&case).expect("a case");
    assert_eq!(there.as_written("parts.turbo.flow"), Some("120 g/s"));
}

#[test]
fn a_log_without_a_reading_makes_no_station() {
    let case = case(COLUMNS);
    let log = log(&case, "time [s],flow [g/s]\n0,100\n").expect("a log");
    let message = stations(case.measured.as_ref().expect("a section"), &log).expect_err("no reading").to_string();
    assert!(message.contains("no row that makes a steady state"), "{message}");
}

#[test]
fn more_than_the_air_stream_gives_colder_than_outside_and_odd_air_are_doubted() {
    let columns = "  columns:\n    v: {sets: points.road.speed}\n    p: {tap: tube:100mm, reads: total, pressure: gauge, accuracy: 20 Pa}\n    \
                   t: {tap: turbo, reads: temperature, accuracy: 0.5 K}\n    air: {is: air_flow}\n    \
                   kw: {is: power, at: wheel, driveline: 0.85, correction: 1.02, smoothing: unknown}\n";
    let case = case(columns);
    let measured = case.measured.as_ref().expect("a section");
    let doubted = |row: &str| {
        let log = log(&case, &format!("v [km/h],p [inH2O],t [degC],air [kg/h],kw [kW]\n{row}\n")).expect("a log");
        let found = stations(measured, &log).expect("stations");
        doubts(&case, measured, &log, &found).expect("doubts")
    };
    // 60 mph: the air stream gives some 1.7 inH2O, so that six are another thing than ram.
    let odd = doubted("96.56,6,18,500,85");
    let of = |channel: usize| odd.iter().find(|doubt| doubt.channel == channel).map_or("", |doubt| doubt.text.as_str());
    assert!(of(1).contains("Pa above the outside"), "{odd:?}");
    assert!(of(2).contains("2.0 K colder"), "{odd:?}");
    assert!(of(3).contains("5.10 kg of air for each kWh"), "{odd:?}");
    assert!(of(4).contains("nobody knows"), "{odd:?}");
    let fine = doubted("96.56,1.5,24,360,85");
    assert_eq!(fine.iter().map(|doubt| doubt.channel).collect::<Vec<_>>(), [4], "{fine:?}");
}

#[test]
fn a_power_and_a_gauge_must_say_how_they_were_measured() {
    let wrong = |column: &str| {
        let text = format!(
            "points: {{road: {{speed: 40 m/s}}}}\nparts:\n  nose: {{kind: mouth, from: outside, area: 60 cm2}}\n  \
             tube: {{kind: duct, length: 500 mm, diameter: 80 mm}}\n  turbo: {{kind: draw, flow: 150 g/s}}\n\
             flow: [[nose, tube, turbo]]\nmeasured:\n  point: road\n  columns:\n    x: {column}\n"
        );
        Case::from_text("case.yaml", &text).expect_err("a mistake").to_string()
    };
    let power = wrong("{is: power}");
    for key in ["at: crank", "correction: none", "smoothing: none"] {
        assert!(power.contains(key), "{power}");
    }
    assert!(wrong("{tap: tube:1mm, reads: static, accuracy: 1 Pa}").contains("`depression` (below it)"));
    assert!(wrong("{tap: tube:1mm, accuracy: 1 Pa}").contains("`static`, `total`, `temperature` or `flow`"));
    assert!(wrong("{tap: tube:1mm, reads: temperature}").contains("without its accuracy"));
    assert!(wrong("{tap: tube:1mm, reads: temperature, accuracy: 1 Pa}").contains("`1 Pa`"));
    assert!(wrong("{sets: points.road.sped}").contains("did you mean `points.road.speed`"));
    assert!(wrong("{is: power, at: wheel, correction: none, smoothing: none}").contains("`driveline: 87 %`"));
    let crank = wrong("{is: power, at: crank, driveline: 87 %, correction: none, smoothing: none}");
    assert!(crank.contains("`driveline` beside `at: crank`"), "{crank}");
    assert!(wrong("{unit: kPa}").contains("without a meaning"));
    assert!(wrong("{is: time, reads: static}").contains("no gauge"));
}

#[test]
fn a_column_that_sets_numbers_must_be_there() {
    let told = refused(&case(COLUMNS), "time [s],flw [g/s],p [Pa]\n0,100,1000\n");
    assert!(
        told.contains("no column `flow`, which sets `parts.turbo.flow`") && told.contains("did you mean `flw`"),
        "{told}"
    );
}

#[test]
fn a_long_form_may_stand_channel_after_channel() {
    let long =
        format!("{COLUMNS}  long: {{time: s, time_unit: s, name: name, value: value, unit: unit}}\n  every: 1 s\n");
    let case = case(&long.replace("    time: {is: time}\n", ""));
    let text = "s,name,value,unit\n0,flow,100,g/s\n1,flow,120,g/s\n2,flow,140,g/s\n0,p,10,mbar\n2,p,30,mbar\n0,flow,90,g/s\n0,p,9,mbar\n";
    let log = log(&case, text).expect("a log");
    let rows: Vec<(usize, &[Option<f64>])> = log.rows.iter().map(|row| (row.run, row.values.as_slice())).collect();
    let near =
        |found: Option<f64>, exact: f64| assert!((found.expect("a value") - exact).abs() < 1e-9, "{found:?} {exact}");
    assert_eq!(rows.iter().map(|row| row.0).collect::<Vec<_>>(), [0, 0, 0, 1]);
    near(rows[1].1[0], 0.12);
    near(rows[1].1[1], 2000.0);
    near(rows[3].1[1], 900.0);
    assert_eq!(log.told.len(), 1, "one other run: {:?}", log.told);
}

#[test]
fn numbers_whose_sign_may_part_thousands_are_asked_for() {
    let told = refused(&case(COLUMNS), "time [s];flow [g/s];p [Pa]\n1;100;1,270\n2;120;1,500\n");
    assert!(told.contains("`1,270`") && told.contains("`decimal: point` or `decimal: comma`"), "{told}");
    let said = case(&format!("{COLUMNS}  decimal: comma\n"));
    let said = log(&said, "time [s];flow [g/s];p [Pa]\n1;100;1,270\n").expect("a log");
    assert_eq!(said.rows[0].values[2], Some(1.27));
    // One number that can only be a decimal one tells all.
    let clear = log(&case(COLUMNS), "time [s];flow [g/s];p [Pa]\n0,5;100;1,270\n").expect("a log");
    assert_eq!(clear.rows[0].values[2], Some(1.27));
}

#[test]
fn two_columns_of_one_name_are_refused() {
    let told = refused(&case(COLUMNS), "time [s],flow [g/s],p [Pa],p [Pa]\n0,100,1,2\n");
    assert!(told.contains("two columns `p`"), "{told}");
}

#[test]
fn what_no_outside_and_no_gauge_does_is_doubted() {
    let columns = "  columns:\n    amb: {sets: outside.pressure}\n    v: {sets: points.road.speed}\n    \
                   p: {tap: tube:100mm, reads: static, pressure: depression, accuracy: 20 Pa}\n    \
                   t: {tap: turbo, reads: temperature, accuracy: 0.5 K}\n";
    let case = case(columns);
    let measured = case.measured.as_ref().expect("a section");
    let doubted = |rows: &[&str]| {
        let log = log(&case, &format!("amb [kPa],v [km/h],p [Pa],t [degC]\n{}\n", rows.join("\n"))).expect("a log");
        let found = stations(measured, &log).expect("stations");
        doubts(&case, measured, &log, &found).expect("doubts")
    };
    let odd = doubted(&["996,90,500,24", "99,900,30000,120"]);
    let of = |channel: usize| odd.iter().find(|doubt| doubt.channel == channel).map_or("", |doubt| doubt.text.as_str());
    assert!(of(0).contains("an outside of 996.0 kPa"), "{odd:?}");
    assert!(of(1).contains("a road speed of 250.0 m/s"), "{odd:?}");
    assert!(of(2).contains("more than a fifth"), "{odd:?}");
    assert!(of(3).contains("100 K warmer"), "{odd:?}");
    let still = doubted(&["99,90,500,24", "99,95,500,25", "99,99,500,26", "99,80,500,23", "99,70,500,22"]);
    assert!(still.len() == 1 && still[0].text.contains("as if it were stuck"), "{still:?}");
    assert!(doubted(&["99,90,500,24", "99,95,510,25"]).is_empty());
}
