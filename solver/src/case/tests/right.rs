//! Cases without mistakes.

use super::*;

#[test]
fn a_small_case_is_read() {
    let case = case(SMALL);
    assert_eq!((case.title.as_str(), case.file.as_str()), ("Small", "t.yaml"));
    assert_eq!((case.outside.pressure, case.outside.temperature), (99_600.0, 297.15));
    assert_eq!(case.run.until, Until::Time(0.4));
    let stops: Vec<&str> = case.flow[0].stops.iter().map(|stop| stop.part.as_str()).collect();
    assert_eq!(stops, ["outside", "nose", "tube", "box"]);
    assert_eq!(case.flow[0].stops[2].location.to_string(), "t.yaml:8:21");
    let point = case.at_point(REST).expect("the car at rest");
    assert_eq!((point.point.air_speed(), point.parts.len()), (0.0, 3));
    assert_eq!(point.parts[2].0, "box");
}

#[test]
fn a_case_may_say_no_more_than_parts_and_flow() {
    let case = case("parts: {a: {kind: plenum, volume: 1 L}, b: {like: a}}\nflow: [[a, b]]\n");
    assert_eq!(case.run, RunPlan::default());
    assert!((case.outside.pressure - 101_325.0).abs() < 1e-9);
    let told: Vec<_> = case.defaults.iter().map(|default| default.key).collect();
    assert_eq!(told, ["outside", "points", "run"]);
}

#[test]
fn defaults_are_told_with_part_and_value() {
    let text = with("  box: {kind: plenum, volume: 11 L}", "  box: {kind: inflow, flow: 1 g/s}");
    let case = case(&text);
    let default = case.defaults.iter().find(|default| default.path == "parts.box").expect("a default of the box");
    assert_eq!((default.key, default.holds, default.value), ("temperature", "300 K", Some(300.0)));
    let point = case.at_point(REST).expect("the car at rest");
    assert!(point.defaults.contains(default) && point.defaults.iter().any(|default| default.key == "courant"));
}

#[test]
fn places_and_texts_of_values_can_be_asked_for() {
    let case = case(SMALL);
    for (path, place) in [
        ("parts.box", "t.yaml:6:3"),
        ("parts.box.volume", "t.yaml:6:31"),
        ("parts.box.nothing", "t.yaml:6:3"),
        ("parts.tube.sections[0].diameter", "t.yaml:5:70"),
        ("flow[0][3]", "t.yaml:8:27"),
        ("nothing", "t.yaml"),
    ] {
        assert_eq!(case.location(path).to_string(), place, "{path}");
    }
    assert_eq!(case.as_written("parts.box.volume"), Some("11 L"));
    assert_eq!(case.as_written("parts.box"), None);
}

#[test]
fn like_copies_and_changes_in_any_order() {
    let text = "parts:\n  c: {like: b, sections: null}\n  b: {like: a, length: 2 m}\n  \
        a: {kind: duct, length: 1 m, sections: [{at: 0 m, diameter: 70 mm}]}\nflow: [[a, b]]\n";
    // What `c` deletes is missing then: the copy itself went through both steps.
    let told = mistakes(text);
    assert_eq!(told.len(), 1);
    assert!(told[0].starts_with("2:3 parts.c.sections: no `sections`"), "{told:?}");
    let case = case(&text.replace("{like: b, sections: null}", "{like: b}"));
    assert_eq!(case.as_written("parts.c.length"), Some("2 m"));
    assert_eq!(case.location("parts.c.sections").to_string(), "t.yaml:4:42");
}

#[test]
fn a_resolved_text_reads_back_to_the_same_case() {
    let text = format!("{SMALL}points: {{road: {{speed: 45 m/s, parts: {{box: {{volume: 0.50 L}}}}}}}}\n")
        .replace("flow:\n", "  twin: {like: box, volume: 12 L}\nflow:\n")
        .replace("flow:\n", "initial: [{part: tube, to: 0.2 m, pressure: 2 bar}]\nflow:\n");
    let first = case(&text);
    let again = Case::load("other.yaml", &first.resolved_text(), &Files::Nowhere, KINDS).expect("the same case");
    assert_eq!(again.resolved_text(), first.resolved_text());
    assert!(!first.resolved_text().contains("like:"));
    assert_eq!(again.as_written("points.road.parts.box.volume"), Some("0.50 L"));
    assert_eq!(parts(&again, "road"), parts(&first, "road"));
    assert_eq!((again.run, again.title), (first.run, first.title));
    assert_eq!(again.initial[0].pressure, Some(2e5));
}

#[test]
fn every_word_of_the_run_has_a_meaning_of_its_own() {
    for key in keys::RUN_KEYS {
        let Value::Word(words) = key.value else { continue };
        let plan =
            |word: &str| format!("{:?}", case(&with("{until: 0.4 s}", &format!("{{{}: {word}}}", key.name))).run);
        let mut plans: Vec<String> = words.iter().map(|word| plan(word)).collect();
        assert_eq!(plans[0], format!("{:?}", RunPlan::default()), "the first word of `{}` is the default", key.name);
        plans.sort();
        plans.dedup();
        assert_eq!(plans.len(), words.len(), "{}", key.name);
    }
}

#[test]
fn the_end_of_a_run_is_a_time_or_a_settled_state() {
    let until = |run: &str| case(&with("{until: 0.4 s}", run)).run.until;
    assert_eq!(until("{until: settled}"), Until::Settled { below: 1e-4, at_most: 5.0 });
    assert_eq!(
        until("{until: settled, settled_below: 0.1 %, at_most: 2 s}"),
        Until::Settled { below: 1e-3, at_most: 2.0 }
    );
    assert_eq!(until("{until: 30 min}"), Until::Time(1_800.0));
}

#[test]
fn the_outside_may_be_humid_high_or_no_air_at_all() {
    let outside = |section: &str| case(&with("{pressure: 99.6 kPa, temperature: 24 degC}", section)).outside;
    let humid = outside("{pressure: 99.6 kPa, temperature: 24 degC, relative_humidity: 45 %}");
    assert!((humid.relative_humidity - 0.45).abs() < 1e-15 && humid.gas.gas_constant > 287.06);
    let high = outside("{airport_pressure: 1013.25 hPa, altitude: 1000 m}");
    // US Standard Atmosphere 1976, table: 1000 m.
    assert!((high.pressure / 89_874.6 - 1.0).abs() < 1e-6);
    let gas =
        outside("{pressure: 1 Pa, temperature: 1 K, gas: {gamma: 1.4, gas_constant: 1 J/(kg K), viscosity: 0 Pa s}}")
            .gas;
    assert_eq!((gas.gamma, gas.gas_constant, gas.fixed_viscosity), (1.4, 1.0, Some(0.0)));
}

#[test]
fn a_stop_may_name_a_leg() {
    let case = case(&with("[outside, nose, tube, box]", "[nose, box.left]"));
    assert_eq!(case.flow[0].stops[1].leg.as_deref(), Some("left"));
    assert_eq!(case.flow[0].stops[0].leg, None);
}

#[test]
fn names_may_use_any_alphabet() {
    let case = case(
        "parts: {k\u{e4}fig_1: {kind: plenum, volume: 1 L}, \u{7bb1}-2: {kind: plenum, volume: 1 L}}\nflow: [[k\u{e4}fig_1, \u{7bb1}-2]]\n",
    );
    assert_eq!(case.flow[0].stops[1].part, "\u{7bb1}-2");
}
