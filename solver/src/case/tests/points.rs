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

/// A whole tract with these points.
const WHOLE: &str = "\
outside: {pressure: 99.6 kPa, temperature: 24 degC}
parts:
  nose: {kind: mouth, area: 130 cm2}
  tube: {kind: duct, length: 450 mm, diameter: 70 mm}
  box: {kind: plenum, volume: 11 L}
flow: [[nose, tube, box]]
";

/// Two points that differ, and a day through both whose phases are these.
fn with_phases(phases: &str) -> String {
    format!(
        "{WHOLE}points:\n  idle: {{speed: 0 m/s}}\n  drive: {{speed: 30 m/s, wind: 2 m/s, outside: {{temperature: 44 degC}}, parts: {{box: {{volume: 21 L}}}}}}\n  \
         day: {{phases: [{phases}]}}\n"
    )
}

fn whole(text: &str) -> Case {
    Case::from_text("t.yaml", text).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn a_ramp_moves_all_numbers_in_a_straight_line() {
    let case = whole(&with_phases("{point: idle, for: 10 s}, {point: drive, for: 60 s, ramp: 20 s}"));
    let phases = case.build_phases("day").expect("phases");
    assert!(phases[0].ramp.is_none() && phases[0].moving().is_none());
    assert_eq!((phases[1].from, phases[1].still_from(), phases[1].to), (10.0, 30.0, 70.0));
    let moving = phases[1].moving().expect("a ramp");
    for (time, share) in [(10.0, 0.0), (15.0, 0.25), (20.0, 0.5), (30.0, 1.0), (50.0, 1.0)] {
        let network = moving.network_at(time).expect("a network");
        assert!((network.stream.speed - 32.0 * share).abs() < 1e-12, "{time}");
        assert!((network.outside.temperature - (297.15 + 20.0 * share)).abs() < 1e-10, "{time}");
        assert!((network.volumes[0].size - 1e-3 * (11.0 + 10.0 * share)).abs() < 1e-15, "{time}");
        assert!((phases[1].outside_pressure(time) - 99_600.0).abs() < 1e-9);
    }
    // At its ends it is what the points are, to the last bit.
    let [first, last] = [moving.network_at(10.0).expect("a network"), moving.network_at(30.0).expect("a network")];
    assert_eq!(
        (first.stream.speed, first.volumes[0].size),
        (phases[0].network.stream.speed, phases[0].network.volumes[0].size)
    );
    assert_eq!(
        (last.stream.speed, last.volumes[0].size),
        (phases[1].network.stream.speed, phases[1].network.volumes[0].size)
    );
}

#[test]
fn a_fan_comes_with_what_it_covers_and_what_is_no_number_changes_at_once() {
    let points = "points:\n  idle: {}\n  blown: {fan: {speed: 12 m/s, reaches: {nose: 80 %}}}\n  \
                  day: {phases: [{point: idle, for: 1 s}, {point: blown, for: 4 s, ramp: 4 s}]}\n";
    let phases = whole(&format!("{WHOLE}{points}")).build_phases("day").expect("phases");
    assert_eq!(phases[1].still_from().to_bits(), phases[1].from.to_bits());
    let fan = phases[1].moving().expect("a ramp").network_at(2.0).expect("a network").stream.fan.expect("a fan");
    assert_eq!((fan.speed, fan.reaches[0].0.as_str()), (12.0, "nose"));
    assert!((fan.reaches[0].1 - 0.2).abs() < 1e-15);
}

#[test]
fn ramps_that_cannot_be_are_refused() {
    for (phases, told) in [
        (
            "{point: idle, for: 10 s, ramp: 5 s}, {point: drive, for: 60 s}",
            "points.day.phases[0].ramp: a ramp in the first phase | no `ramp`: there is no phase before it",
        ),
        (
            "{point: idle, for: 10 s}, {point: drive, for: 60 s, ramp: 61 s}",
            "points.day.phases[1].ramp: 61 s | at most the 60 s of `for`",
        ),
        (
            "{point: idle, for: 10 s}, {point: drive, for: 60 s, ramp: -1 s}",
            "points.day.phases[1].ramp: `-1 s` | 0 or more",
        ),
    ] {
        let refused = Case::from_text("t.yaml", &with_phases(phases)).expect_err("a ramp that cannot be");
        let found = lines(&refused);
        assert!(found.len() == 1 && found[0].contains(told), "{found:?} without {told}");
    }
}
