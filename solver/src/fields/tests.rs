//! Reading by tables of keys: every mistake with its place.

use super::*;
use crate::quantity::Dimension;

const WALL: &[Key] = &[
    Key {
        name: "thickness",
        value: Value::Quantity(Dimension::Length, Range::Positive),
        need: Need::Required,
        about: "",
    },
    Key { name: "material", value: Value::Text, need: Need::Optional("steel"), about: "" },
];
const KEYS: &[Key] = &[
    Key { name: "length", value: Value::Quantity(Dimension::Length, Range::Positive), need: Need::Required, about: "" },
    Key {
        name: "share",
        value: Value::Quantity(Dimension::Ratio, Range::Share),
        need: Need::Optional("half"),
        about: "",
    },
    Key {
        name: "gap",
        value: Value::Quantity(Dimension::Length, Range::Between(0.0, 0.01)),
        need: Need::Optional(""),
        about: "",
    },
    Key {
        name: "flow",
        value: Value::Quantities(Dimension::MassFlow, Range::NotNegative),
        need: Need::Optional(""),
        about: "",
    },
    Key { name: "count", value: Value::Count, need: Need::Optional(""), about: "" },
    Key { name: "shape", value: Value::Word(&["sharp", "flared"]), need: Need::Optional(""), about: "" },
    Key { name: "note", value: Value::Text, need: Need::Optional(""), about: "" },
    Key { name: "open", value: Value::Flag, need: Need::Optional(""), about: "" },
    Key { name: "wall", value: Value::Map(WALL), need: Need::Optional(""), about: "" },
    Key { name: "layers", value: Value::Maps(WALL), need: Need::Optional(""), about: "" },
    Key { name: "rooms", value: Value::NamedMaps(WALL), need: Need::Optional(""), about: "" },
    Key { name: "legs", value: Value::Named(Dimension::Angle, Range::Any), need: Need::Optional(""), about: "" },
    Key { name: "reaches", value: Value::Names, need: Need::Optional(""), about: "" },
    Key {
        name: "at",
        value: Value::Tuple(&[Dimension::Temperature, Dimension::Pressure]),
        need: Need::Optional(""),
        about: "",
    },
    Key {
        name: "until",
        value: Value::Either(&Value::Quantity(Dimension::Time, Range::Positive), &Value::Word(&["settled"])),
        need: Need::Optional(""),
        about: "",
    },
];

fn read<T>(text: &str, take: impl FnOnce(&Fields<'_>) -> Option<T>) -> (T, Vec<DefaultUsed>) {
    read_text("part", text, KEYS, take).expect("a text without mistakes")
}

/// The mistakes as `line:column path: found | expected | nearest`.
fn mistakes(text: &str) -> Vec<String> {
    let error = read_text("part", text, KEYS, |_| Some(())).expect_err("a text with mistakes");
    let line = |problem: &Problem| {
        let Problem { location, path, found, expected, nearest } = problem;
        let nearest = nearest.as_deref().unwrap_or("-");
        format!("{}:{} {path}: {found} | {expected} | {nearest}", location.line, location.column)
    };
    error.problems.iter().map(line).collect()
}

#[test]
fn every_form_is_read() {
    let text = "length: 76mm\nshare: 25 %\nflow: 60 120 g/s\ncount: 4\nshape: flared\nnote: 'a: b'\nopen: yes\n\
        wall: {thickness: 1.6 mm}\nlayers: [{thickness: 1 mm}, {thickness: 2 mm, material: felt}]\n\
        rooms: {left: {thickness: 3 mm}}\nlegs: {trunk: 0 deg, left: 180 deg}\nreaches: [nose, rear]\n\
        at: [20 degC, 101.3 kPa]\nuntil: settled\n";
    let ((), defaults) = read(text, |fields| {
        assert_eq!(fields.name(), "part");
        assert_eq!(fields.si("length"), Some(0.076));
        assert!((fields.si_or("share", 0.5) - 0.25).abs() < 1e-15);
        assert_eq!(fields.list("flow"), Some(vec![0.06, 0.12]));
        assert_eq!(fields.count("count"), Some(4));
        assert_eq!(fields.word("shape"), Some("flared"));
        assert_eq!(fields.text("note").as_deref(), Some("a: b"));
        assert_eq!(fields.flag("open"), Some(true));
        assert_eq!(fields.map("wall")?.si("thickness"), Some(0.0016));
        let layers = fields.maps("layers");
        assert_eq!(layers[1].path(), "part.layers[1]");
        assert_eq!(layers[1].text("material").as_deref(), Some("felt"));
        assert_eq!(fields.named_maps("rooms")[0].name(), "left");
        let legs = fields.named("legs")?;
        assert_eq!(legs[1], ("left".to_owned(), std::f64::consts::PI));
        assert_eq!(fields.names("reaches"), ["nose", "rear"]);
        assert_eq!(fields.tuple("at"), Some(vec![293.15, 101_300.0]));
        assert_eq!((fields.word("until"), fields.si("until")), (Some("settled"), None));
        assert_eq!(fields.as_written("length").as_deref(), Some("76mm"));
        assert_eq!(fields.as_written("at").as_deref(), Some("[20 degC, 101.3 kPa]"));
        assert_eq!((fields.location("share").line, fields.location("share").column), (2, 8));
        Some(())
    });
    let told: Vec<_> = defaults.iter().map(|default| (default.path.as_str(), default.key, default.holds)).collect();
    assert_eq!(
        told,
        [
            ("part.wall", "material", "steel"),
            ("part.layers[0]", "material", "steel"),
            ("part.rooms.left", "material", "steel")
        ]
    );
}

#[test]
fn a_list_may_be_a_yaml_list_and_an_alternative_a_quantity() {
    read("{length: 1 m, flow: [60 g/s, 0.12 kg/s], until: 0.4 s}", |fields| {
        assert_eq!(fields.list("flow"), Some(vec![0.06, 0.12]));
        assert_eq!((fields.word("until"), fields.si("until")), (None, Some(0.4)));
        Some(())
    });
}

#[test]
fn a_default_is_noted_once_with_the_value_that_was_used() {
    let ((), defaults) = read("length: 1 m", |fields| {
        assert!((fields.si_or("share", 0.5) - 0.5).abs() < 1e-15);
        assert!((fields.si_or("share", 0.5) - 0.5).abs() < 1e-15);
        Some(())
    });
    let expected = DefaultUsed { path: "part".to_owned(), key: "share", holds: "half", value: Some(0.5) };
    assert_eq!(defaults, [expected]);
}

#[test]
fn an_unknown_key_gets_the_nearest_one() {
    let told = mistakes("length: 1 m\nshpae: flared\n");
    assert!(told[0].starts_with("2:1 part.shpae: the unknown key `shpae` | one of: length, share"), "{told:?}");
    assert!(told[0].ends_with("| shape"), "{told:?}");
}

#[test]
fn a_duplicate_key_names_both_lines() {
    assert_eq!(
        mistakes("length: 1 m\nshare: 0.5\nlength: 2 m\n"),
        ["3:1 length: `length` a second time, after line 1 | each key once | -"]
    );
}

#[test]
fn a_missing_key_is_told_with_an_example() {
    assert_eq!(
        mistakes("share: 0.5\nwall: {material: felt}\n"),
        [
            "0:0 part.length: no `length` | a length such as `76 mm` | -",
            "2:1 part.wall.thickness: no `thickness` | a length such as `76 mm` | -"
        ]
    );
}

#[test]
fn all_mistakes_of_a_text_are_told_in_its_order() {
    let text = "length: -1 m\nshare: 1.5\ngap: 2 cm\nflow: [60 g/s, 7]\ncount: 1.5\nshape: flarde\nopen: maybe\n\
        wall: 3 mm\nlegs: {a/b: 1 deg}\nat: [20 degC]\nuntil: later\n";
    assert_eq!(
        mistakes(text),
        [
            "1:9 part.length: `-1 m` | more than 0 | -",
            "2:8 part.share: `1.5` | 0 to 1 | -",
            "3:6 part.gap: `2 cm` | 0 m to 0.01 m | -",
            "4:16 part.flow: `7` without a unit | a mass flow such as `215 g/s` | -",
            "5:8 part.count: `1.5` | a whole number such as `4` | -",
            "6:8 part.shape: `flarde` | one of: sharp, flared | flared",
            "7:7 part.open: `maybe` | `yes` or `no` | -",
            "8:7 part.wall: `3 mm` | a map with the keys thickness, material | -",
            "9:8 part.legs: the name `a/b` | letters, digits, `_` and `-`, at most 64 bytes, no `-` in front | -",
            "10:5 part.at: a list of 1 | a list such as `[24 degC, 99.6 kPa]` | -",
            "11:8 part.until: `later` | one of: settled | -",
        ]
    );
}

#[test]
fn what_is_not_a_number_is_no_quantity() {
    for value in [".nan", ".inf", "1e400 m", "nan m", "[1 m]", "{a: 1 m}", "null", "~", "''", "1,5 m", "0.4"] {
        let told = mistakes(&format!("length: {value}\n"));
        assert_eq!(told.len(), 1, "{value}: {told:?}");
        assert!(told[0].starts_with("1:"), "{value}: {told:?}");
    }
}

#[test]
fn a_mistake_noted_by_the_reader_stands_at_its_key() {
    let error = read_text("part", "length: 1 m\ngap: 1 mm\n", KEYS, |fields| {
        fields.problem("gap", "a gap", "none");
        fields.problem("share", "nothing", "a share");
        fields.problem("", "all of it", "less");
        Some(())
    })
    .expect_err("three mistakes");
    let places: Vec<_> = error.problems.iter().map(|p| (p.path.as_str(), p.location.line)).collect();
    assert_eq!(places, [("part.share", 0), ("part", 0), ("part.gap", 2)]);
}

#[test]
fn no_text_floods_the_log() {
    let text: String = (0..5_000).map(|index| format!("key_{index}: 1\n")).collect();
    assert!(mistakes(&text).len() <= 200);
}
