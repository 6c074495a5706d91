//! Parts that are refused, each with the key that is wrong.

use super::reading::part;

/// Kind, keys, the wrong key, and what the message says was expected.
const REFUSED: &[(&str, &str, &str, &str)] = &[
    ("duct", "{length: 1 m}", "diameter", "exactly one of `diameter`, `sections`"),
    ("duct", "{length: 1 m, diameter: 70 mm, sections: [{at: 0 m, diameter: 70 mm}]}", "sections", "exactly one of"),
    (
        "duct",
        "{length: 1 m, sections: [{at: 0 m, diameter: 70 mm}, {at: 1.2 m, diameter: 80 mm}]}",
        "sections",
        "inside the length",
    ),
    (
        "duct",
        "{length: 1 m, sections: [{at: 0.5 m, diameter: 70 mm}, {at: 0.2 m, diameter: 80 mm}]}",
        "sections",
        "rise",
    ),
    ("duct", "{length: 1 m, sections: [{at: 0 m, width: 70 mm}]}", "sections[0].height", "a height"),
    (
        "duct",
        "{length: 1 m, sections: [{at: 0 m, area: 40 cm2, perimeter: 100 mm}]}",
        "sections[0].perimeter",
        "circle",
    ),
    (
        "duct",
        "{length: 1 m, sections: [{at: 0 m, width: 20 mm, height: 70 mm, shape: D}]}",
        "sections[0].width",
        "half the height",
    ),
    (
        "duct",
        "{length: 1 m, diameter: 70 mm, bends: [{at: 0.9 m, angle: 90 deg, radius: 100 mm}]}",
        "bends",
        "inside the length",
    ),
    (
        "duct",
        "{length: 1 m, diameter: 70 mm, bends: [{at: 0.1 m, angle: 90 deg, radius: 100 mm}, {at: 0.2 m, angle: 10 deg, radius: 100 mm}]}",
        "bends",
        "not before the end of bend 1",
    ),
    ("duct", "{length: 1 m, diameter: 70 mm, inlet: {shape: flared}}", "inlet.radius", "a radius"),
    (
        "duct",
        "{length: 1 m, diameter: 70 mm, inlet: {shape: sharp, radius: 3 mm}}",
        "inlet.radius",
        "none for a sharp edge",
    ),
    (
        "duct",
        "{length: 1 m, diameter: 70 mm, wall: {temperature: 350 K, heat: 1 kW}}",
        "wall.heat",
        "at most one of `temperature`, `heat`",
    ),
    ("filter", "{media_area: 0.2 m2}", "curve", "exactly one of `curve`, `medium`"),
    (
        "filter",
        "{media_area: 0.2 m2, curve: {flow: 60 120 g/s, drop: 90 205 Pa, at: [20 degC, 1 bar]}}",
        "curve.flow",
        "at least 3",
    ),
    (
        "filter",
        "{media_area: 0.2 m2, curve: {flow: 60 120 180 g/s, drop: 90 205 Pa, at: [20 degC, 1 bar]}}",
        "curve.drop",
        "one for each",
    ),
    (
        "filter",
        "{media_area: 0.2 m2, curve: {flow: 60 120 110 g/s, drop: 90 205 300 Pa, at: [20 degC, 1 bar]}}",
        "curve.flow",
        "rise",
    ),
    (
        "filter",
        "{media_area: 0.2 m2, curve: {flow: 60 120 180 g/s, drop: 90 205 200 Pa, at: [20 degC, 1 bar]}}",
        "curve.drop",
        "rise",
    ),
    (
        "filter",
        "{pleats: {count: 0, depth: 30 mm, height: 200 mm}, medium: {permeability: 1e-11 m2, thickness: 1 mm}}",
        "pleats.count",
        "at least one",
    ),
    ("scoop", "{area: 100 cm2}", "recovery", "exactly one of"),
    (
        "scoop",
        "{area: 100 cm2, recovery_curve: {speed_ratio: 0 0.1, recovery: 0 1}}",
        "recovery_curve.recovery",
        "a rise of at most 2",
    ),
    (
        "scoop",
        "{area: 100 cm2, recovery_curve: {speed_ratio: 0 1, recovery: 1}}",
        "recovery_curve.recovery",
        "one for each",
    ),
    ("draw", "{}", "corrected_flow", "exactly one of"),
    ("draw", "{flow: 1 g/s, corrected_flow: 1 g/s}", "flow", "exactly one of"),
    ("draw", "{flow: 1 g/s, slope: 0.1}", "slope", "to which it belongs"),
    ("draw", "{flow: 1 g/s, table: {time: 0 1 ms, factor: 1}}", "table.factor", "one for each"),
    ("draw", "{flow: 1 g/s, table: {time: 1 0 ms, factor: 1 1}}", "table.time", "rise"),
    ("wye", "{legs: {trunk: 0 deg, left: 30 deg}}", "legs", "at least 3"),
    ("wye", "{legs: {trunk: 10 deg, left: 30 deg, right: -30 deg}}", "legs", "0 deg"),
    ("step", "{diameter_before: 50 mm, area_before: 20 cm2}", "area_before", "at most one"),
    ("orifice_plate", "{}", "diameter", "exactly one of"),
    ("screen", "{pattern: wire_mesh, open_area: 0 %}", "open_area", "5"),
];

#[test]
fn mistakes_are_told_with_key_and_expectation() {
    for (kind, text, key, expected) in REFUSED {
        let error = part(kind, text).expect_err(text);
        let path = format!("part.{key}");
        assert!(
            error.problems.iter().any(|problem| problem.path == path && problem.expected.contains(expected)),
            "{kind} {text}: {error}"
        );
    }
}

#[test]
fn all_mistakes_of_a_part_are_told_together() {
    let text = "{length: -1 m, sections: [{at: 0 m}], inlet: {shape: flared}, bends: [{at: 0 m, angle: 90 deg}]}";
    let error = part("duct", text).expect_err("four mistakes");
    assert_eq!(error.problems.len(), 4, "{error}");
}
