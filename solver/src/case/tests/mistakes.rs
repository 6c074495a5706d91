//! Every kind of mistake, with its exact place.

use super::*;

/// Asserts that the case with `line` changed to `other` has the one mistake.
fn one(line: &str, other: &str, told: &str) {
    assert_eq!(mistakes(&with(line, other)), [told], "{other}");
}

#[test]
fn parts() {
    let line = "  box: {kind: plenum, volume: 11 L}";
    one(
        line,
        "  box: {kind: plenum, volme: 11 L, volume: 1 L}",
        "6:23 parts.box.volme: the unknown key `volme` | one of: volume | volume",
    );
    one(line, "  box: {kind: plenum}", "6:3 parts.box.volume: no `volume` | a volume such as `11 L` | -");
    one(
        line,
        "  box: {kind: plenum, volume: 11}",
        "6:31 parts.box.volume: `11` without a unit | a volume such as `11 L` | -",
    );
    one(line, "  box: {kind: plenum, volume: -11 L}", "6:31 parts.box.volume: `-11 L` | more than 0 | -");
    one(
        line,
        "  box: {kind: plenum, volume: 11 mm}",
        "6:31 parts.box.volume: `11 mm`, a length | a volume such as `11 L` | -",
    );
    one(
        line,
        "  box: {kind: plenum, volume: 1.5 l}",
        "6:31 parts.box.volume: the unit `l` in `1.5 l` | one of the units of a volume: mL, L, cm3, m3, in3 | L",
    );
    one(
        line,
        "  box: {kind: plenum, volume: \"1,5 L\"}",
        "6:31 parts.box.volume: a decimal comma in `1,5 L` | a decimal point: `1.5` | -",
    );
    one(
        line,
        "  box: {kind: plenun, volume: 11 L}",
        "6:15 parts.box.kind: `plenun` | one of: duct, plenum, inflow, mouth | plenum",
    );
    one(line, "  box: {volume: 11 L}", "6:3 parts.box.kind: no `kind` | one of: duct, plenum, inflow, mouth | -");
    one(line, "  box: 11 L", "6:8 parts.box: `11 L` | a map such as `{kind: plenum, volume: 11 L}` | -");
    one(
        line,
        "  box: {kind: plenum, volume: 11 L}\n  a.b: {kind: plenum, volume: 11 L}",
        "7:3 parts: the name `a.b` | letters, digits, `_` and `-`, at most 64 bytes, no `-` in front | -",
    );
    one(
        line,
        "  box: {kind: plenum, volume: 11 L}\n  outside: {kind: plenum, volume: 11 L}",
        "7:3 parts: the name `outside` | another name: this one is the undisturbed air's | -",
    );
    one(
        line,
        "  box: {kind: plenum, volume: 11 L}\n  box: {kind: plenum, volume: 12 L}",
        "7:3 parts.box: `box` a second time, after line 6 | each key once | -",
    );
}

#[test]
fn names_that_are_no_names() {
    for name in ["../x", "/etc/x", "-rf", ".hidden", "a b", "'a\"b'", "<b>", "x".repeat(65).as_str()] {
        let told = mistakes(&with("  box:", &format!("  {name}: {{kind: plenum, volume: 1 L}}\n  box:")));
        assert!(told.len() == 1 && told[0].starts_with("6:3 parts: the name "), "{told:?}");
    }
}

#[test]
fn like() {
    let line = "  box: {kind: plenum, volume: 11 L}";
    one(line, "  box: {like: nsoe}", "6:15 parts.box.like: `nsoe` | the name of another part of this case | nose");
    one(
        line,
        "  box: {like: nose, volume: 1 L, area: null, kind: plenum, colour: null}",
        "6:60 parts.box.colour: `null` | a key that stands below, to delete it | -",
    );
    one(
        line,
        "  box: {like: a, kind: plenum, volume: 1 L}\n  a: {like: b, kind: plenum, volume: 1 L}\n  b: {like: a, kind: plenum, volume: 1 L}",
        "7:3 parts.a.like: a loop of `like`: `a` like `b` like `a` | a part with keys of its own | -",
    );
    one(
        line,
        "  box: {like: box, kind: plenum, volume: 1 L}",
        "6:3 parts.box.like: a loop of `like`: `box` like `box` | a part with keys of its own | -",
    );
}

#[test]
fn flow() {
    let line = "  - [outside, nose, tube, box]";
    one(line, "  - [nose, tube, bxo]", "8:18 flow[0][2]: `bxo` | the name of a part | box");
    one(line, "  - [nose]", "8:5 flow[0]: a line of 1 | a list of two or more names such as `[nose, duct, box]` | -");
    one(line, "  - nose", "8:5 flow[0]: `nose` | a list of two or more names such as `[nose, duct, box]` | -");
    one(line, "  - [nose, {a: b}]", "8:12 flow[0][1]: a map | the name of a part | -");
    one(
        "flow:\n  - [outside, nose, tube, box]",
        "flow: nose",
        "7:7 flow: `nose` | a list of lines such as `- [nose, duct, box]` | -",
    );
}

#[test]
fn sections_of_the_file() {
    one(
        "title: Small",
        "titel: Small",
        "1:1 titel: the unknown key `titel` | one of: title, extends, outside, points, parts, flow, loss_factors, engine, vehicle, initial, measured, run | title",
    );
    one("title: Small", "title: [a]", "1:8 title: a list | a text | -");
    one("run: {until: 0.4 s}", "run: {until: later}", "9:14 run.until: `later` | one of: settled, steady | -");
    one(
        "{until: 0.4 s}",
        "{until: 0.4 s, at_most: 2 s}",
        "9:30 run.at_most: `at_most` of a run until 0.4 s | `until: settled` beside it | -",
    );
    one(
        "{until: 0.4 s}",
        "{until: 0.4 s, average_over: 1 s}",
        "9:35 run.average_over: 1 s of a run of 0.4 s | at most the whole run | -",
    );
    one("{until: 0.4 s}", "{courant: 1.5}", "9:16 run.courant: `1.5` | 0.01 to 1 | -");
    one(
        "run: {until: 0.4 s}",
        "initial: [{part: tub, pressure: 1 bar}]",
        "9:18 initial[0].part: `tub` | the name of a part | tube",
    );
    one(
        "run: {until: 0.4 s}",
        "initial: [{part: tube, from: 30 cm, to: 0.2 m}]",
        "9:41 initial[0].to: a stretch from 0.3 m to 0.2 m | an end behind the start | -",
    );
    assert_eq!(
        mistakes("title: Nothing\n"),
        [
            "1:1 parts: no `parts` | a map such as `box: {kind: plenum, volume: 11 L}` | -",
            "1:1 flow: no `flow` | a list of lines such as `- [nose, duct, box]` | -"
        ]
    );
}

#[test]
fn outside() {
    let line = "{pressure: 99.6 kPa, temperature: 24 degC}";
    one(line, "{altitude: 100 m}", "2:1 outside: one of `airport_pressure` and `altitude` | both, or `pressure` | -");
    one(
        line,
        "{pressure: 1 bar, altitude: 100 m}",
        "2:38 outside.altitude: the pressure in two ways | `pressure`, or `airport_pressure` and `altitude` | -",
    );
    one(
        line,
        "{relative_humidity: 10 %, gas: {gamma: 1.4, gas_constant: 287 J/(kg K)}}",
        "2:30 outside.relative_humidity: a humidity of a gas that is not air | either `gas` or humid air | -",
    );
    one(
        line,
        "{pressure: 28 inH2O}",
        "2:21 outside.pressure: `28 inH2O`, a pressure difference | an absolute pressure such as `99.6 kPa` | -",
    );
}

#[test]
fn all_mistakes_are_told_in_the_order_of_the_file() {
    let text = SMALL
        .replace("title: Small", "titel: Small")
        .replace("24 degC", "24 degrees")
        .replace("11 L", "11")
        .replace("tube, box]", "tube, bok]")
        .replace("0.4 s", "0,4 s");
    let places: Vec<String> =
        mistakes(&text).iter().map(|line| line.split_whitespace().next().unwrap_or("").to_owned()).collect();
    assert_eq!(places, ["1:1", "2:44", "6:31", "8:27", "9:14"]);
}

#[test]
fn a_message_reads_as_one_line() {
    let error = read(&with("volume: 11 L", "volme: 11 L")).expect_err("a slip");
    let text = error.to_string();
    assert!(text.contains("t.yaml:6:23: parts.box.volme: found the unknown key `volme`, expected one of: volume (did you mean `volume`?)"), "{text}");
}
