//! Operating points and what they change.

use super::*;

fn with_points(points: &str) -> String {
    format!("{SMALL}points:\n{points}")
}

#[test]
fn points_know_speed_wind_and_fan() {
    let case = case(&with_points(
        "  road: {speed: 162 km/h, wind: -2 m/s}\n  dyno: {fan: {speed: 12 m/s, reaches: [nose]}}\n  \
         half: {fan: {speed: 12 m/s, reaches: {nose: 50 %}}}\n",
    ));
    let names: Vec<&str> = case.points.iter().map(|point| point.name.as_str()).collect();
    assert_eq!(names, ["road", "dyno", "half"]);
    assert!((case.points[0].air_speed() - 43.0).abs() < 1e-12);
    assert_eq!(
        case.points[1].fan,
        Some(Fan { speed: 12.0, temperature: None, reaches: vec![("nose".to_owned(), 1.0)] })
    );
    assert_eq!(
        case.points[2].fan,
        Some(Fan { speed: 12.0, temperature: None, reaches: vec![("nose".to_owned(), 0.5)] })
    );
    assert_eq!(case.points[1].location.to_string(), "t.yaml:12:3");
}

#[test]
fn a_point_changes_parts_and_the_outside_for_itself_alone() {
    let case =
        case(&with_points("  cold: {}\n  hot: {outside: {temperature: 40 degC}, parts: {box: {volume: 5 L}}}\n"));
    let (cold, hot) = (case.at_point("cold").expect("cold"), case.at_point("hot").expect("hot"));
    assert_eq!((cold.outside.temperature, hot.outside.temperature), (297.15, 313.15));
    assert_eq!((cold.outside.pressure, hot.outside.pressure), (99_600.0, 99_600.0));
    assert!(parts(&case, "cold").contains("volume: 0.011") && parts(&case, "hot").contains("volume: 0.005"));
}

#[test]
fn a_key_may_stand_in_every_point_instead_of_in_the_part() {
    let text = with_points("  a: {parts: {box: {volume: 1 L}}}\n  b: {parts: {box: {volume: 2 L}}}\n")
        .replace("{kind: plenum, volume: 11 L}", "{kind: plenum}");
    assert!(parts(&case(&text), "b").contains("volume: 0.002"));
    let told = mistakes(&text.replace("  b: {parts: {box: {volume: 2 L}}}\n", "  b: {}\n"));
    assert_eq!(told, ["6:3 parts.box.volume: no `volume` | a volume such as `11 L` | -"]);
}

#[test]
fn an_unknown_point_is_answered_with_the_nearest() {
    let case = case(&with_points("  road: {}\n  dyno: {}\n"));
    let told = lines(&case.at_point("raod").expect_err("no such point"));
    assert_eq!(told, ["10:1 points: `raod` | one of: road, dyno | road"]);
}

#[test]
fn mistakes_of_points_stand_at_their_places() {
    for (point, told) in [
        ("{speed: -1 m/s}", "11:17 points.road.speed: `-1 m/s` | 0 or more | -"),
        (
            "{sped: 1 m/s}",
            "11:10 points.road.sped: the unknown key `sped` | one of: speed, wind, fan, slope, engine_speed, boost, throttle, pull, throttle_step, roll_on, outside, parts, phases | speed",
        ),
        ("{fan: {speed: 1 m/s, reaches: [nsoe]}}", "11:39 points.road.fan.reaches: `nsoe` | the name of a part | nose"),
        ("{parts: {bok: {volume: 1 L}}}", "11:18 points.road.parts: `bok` | the name of a part | box"),
        ("{parts: {box: {volume: 1}}}", "11:32 parts.box.volume: `1` without a unit | a volume such as `11 L` | -"),
        ("{parts: {box: {volume: null}}}", "11:18 parts.box.volume: no `volume` | a volume such as `11 L` | -"),
        ("{parts: [box]}", "11:17 points.road.parts: a list | a map from part names to their changes | -"),
        (
            "{outside: {temperature: 40}}",
            "11:33 points.road.outside.temperature: `40` without a unit | a temperature such as `24 degC` | -",
        ),
        (
            "{outside: {altitude: 10 m}}",
            "11:30 points.road.outside.altitude: the pressure in two ways | `pressure`, or `airport_pressure` and `altitude` | -",
        ),
    ] {
        let found = mistakes(&with_points(&format!("  road: {point}\n")));
        assert_eq!(found.iter().filter(|line| *line == told).count(), 1, "{found:?} without {told}");
        assert_eq!(found.len(), 1, "{found:?}");
    }
}
