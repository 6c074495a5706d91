//! The command as a user calls it, on the cases of the demo car.

use crate::{Streams, exit, run};
use std::path::Path;

fn call(case: &str, arguments: &[&str]) -> (u8, String, String) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cases/coupe").join(case).display().to_string();
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let words = ["tractwright", "flow_bench", &file].into_iter().chain(arguments.iter().copied());
    let code = run(words, Streams { out: &mut out, err: &mut err, bars: false });
    (code, String::from_utf8(out).expect("text"), String::from_utf8(err).expect("text"))
}

fn document(case: &str, arguments: &[&str]) -> serde_json::Value {
    let (code, out, err) = call(case, &[arguments, &["--format", "json"]].concat());
    assert_eq!(code, exit::DONE, "{err}");
    serde_json::from_str(&out).expect("JSON")
}

fn number(value: &serde_json::Value, path: &str) -> f64 {
    value.pointer(path).and_then(serde_json::Value::as_f64).unwrap_or_else(|| panic!("a number at {path} of {value}"))
}

#[test]
fn every_layout_goes_on_the_bench() {
    for case in ["twin_sealed.yaml", "divided_box.yaml", "open_filters.yaml", "shared_panel.yaml"] {
        let (code, text, err) = call(case, &["--each"]);
        assert_eq!(code, exit::DONE, "{case}: {err}");
        assert!(text.lines().all(|line| line.chars().count() <= crate::print::WIDTH), "{text}");
        for words in ["28 inH2O, as tested", "10 inH2O, solved", "standard air", "Settling chamber", "without"] {
            assert!(text.contains(words), "{case}, {words}: {text}");
        }
    }
}

#[test]
fn a_flow_and_a_depression_are_one_test() {
    let at = document("twin_sealed.yaml", &["--to", "left_turbo", "--depression", "10 inH2O"]);
    let flow = format!("{} kg/s", number(&at, "/reading/mass_flow"));
    let back = document("twin_sealed.yaml", &["--to", "left_turbo", "--flow", &flow]);
    assert!((number(&back, "/reading/depression") / 2490.8891 - 1.0).abs() < 1e-6);
    let feet = document("twin_sealed.yaml", &["--to", "left_turbo", "--flow", "340 cfm"]);
    assert!((number(&feet, "/reading/volume_flow") / (340.0 * 4.719_474_432e-4) - 1.0).abs() < 1e-8);
    // A filter and friction are off the rule by a little.
    let [converted, solved] = ["converted", "solved"].map(|key| number(&at, &format!("/at_other_depressions/0/{key}")));
    assert!(
        (converted / solved - 1.0).abs() < 0.02
            && (converted / number(&at, "/reading/mass_flow") - 2.8_f64.sqrt()).abs() < 1e-9
    );
}

#[test]
fn losses_in_series_add_up() {
    let found = document("shared_panel.yaml", &["--to", "trunk", "--from", "snorkel", "--remove", "panel"]);
    let square = |path: &str| 1.0 / (number(&found, path) * number(&found, path));
    let [with, without, own] =
        ["/reading/effective_area", "/without/0/reading/effective_area", "/without/0/effective_area"].map(square);
    assert!(((without + own) / with - 1.0).abs() < 1e-9);
    assert!((number(&found, "/without/0/share_of_loss") - own / with).abs() < 1e-9);
}

#[test]
fn a_box_ends_and_begins_what_is_tested() {
    let before = document("twin_sealed.yaml", &["--to", "box", "--remove", "rear", "--remove", "nose"]);
    assert!(before.pointer("/reading/loss_coefficient").is_some_and(serde_json::Value::is_null));
    assert!(before.pointer("/reading/exit_area").is_some_and(serde_json::Value::is_null));
    let (_, text, _) = call("twin_sealed.yaml", &["--to", "box"]);
    assert!(text.contains("From the mouths to box") && text.contains("no K"), "{text}");
    // The box is the room to what stands on it.
    let [box_first, filter_first] =
        ["box", "left_filter"].map(|from| document("twin_sealed.yaml", &["--from", from, "--to", "left_tube"]));
    let flow = |found: &serde_json::Value| number(found, "/reading/mass_flow");
    assert!((flow(&box_first) / flow(&filter_first) - 1.0).abs() < 1e-5);
}

#[test]
fn every_part_of_every_layout_can_be_taken_out() {
    for case in ["twin_sealed.yaml", "divided_box.yaml", "open_filters.yaml", "shared_panel.yaml"] {
        for ends in [&[][..], &["--to", "left_turbo"]] {
            let found = document(case, &[&["--each"], ends].concat());
            let rows = found.pointer("/without").and_then(serde_json::Value::as_array).expect("rows");
            assert!(rows.len() > 2 && rows.iter().all(|row| row.get("gain").is_some()), "{case} {ends:?}: {found}");
        }
    }
}

#[test]
fn what_is_out_stays_out() {
    let words = ["--to", "left_turbo", "--remove", "snorkel", "--remove", "panel", "--formula", "compressible"];
    let each = document("shared_panel.yaml", &words);
    let strip = document("shared_panel.yaml", &[&words[..], &["--stay-out"]].concat());
    let area =
        |found: &serde_json::Value, part: usize| number(found, &format!("/without/{part}/reading/effective_area"));
    assert!((area(&each, 0) / area(&strip, 0) - 1.0).abs() < 1e-9);
    assert!(area(&strip, 1) > area(&strip, 0).max(area(&each, 1)));
    let gain = number(&strip, "/without/1/gain");
    assert!((gain - (area(&strip, 1) / area(&strip, 0) - 1.0)).abs() < 1e-9, "beside the row above it");
}

#[test]
fn a_small_depression_keeps_its_digits() {
    let (code, text, err) = call("twin_sealed.yaml", &["--to", "left_turbo", "--depression", "0.0012 inH2O"]);
    assert!(code == exit::DONE && text.contains("at 0.0012 inH2O"), "{text} {err}");
}

#[test]
fn the_csv_has_a_row_a_part() {
    let (code, out, _) =
        call("twin_sealed.yaml", &["--to", "left_turbo", "--each", "--format", "csv", "--formula", "compressible"]);
    assert_eq!(code, exit::DONE);
    let rows: Vec<&str> = out.lines().collect();
    assert!(rows[0].starts_with("without,mass_flow") && rows.len() == 7, "{out}");
    assert!(
        ["", "nose", "snout", "rear", "left_filter", "left_tube"]
            .iter()
            .zip(&rows[1..])
            .all(|(part, row)| row.starts_with(&format!("{part},"))),
        "{out}"
    );
}

#[test]
fn wrong_use_is_told() {
    for (arguments, code, words) in [
        (&["--depression", "28"][..], exit::WRONG_USE, "without a unit"),
        (&["--depression", "0 Pa"], exit::WRONG_USE, "more than 0"),
        (&["--flow", "3 mm"], exit::WRONG_USE, "340 cfm"),
        (&["--flow", "340 cfm", "--depression", "10 inH2O"], exit::WRONG_USE, "cannot be used with"),
        (&["--point", "rode"], exit::INVALID_CASE, "did you mean `road`"),
        (&["--to", "left_tub"], exit::INVALID_CASE, "did you mean `left_tube`"),
        (&["--from", "left_turbo"], exit::INVALID_CASE, "parts.left_turbo: found a draw at the beginning"),
        (&["--from", "box", "--to", "box"], exit::INVALID_CASE, "one plenum at both ends"),
        (&["--from", "box", "--entry", "sharp"], exit::INVALID_CASE, "such as `left_tube`"),
        (&["--remove", "box"], exit::INVALID_CASE, "a plenum that is to be taken out"),
        (&["--remove", "right_tube", "--to", "left_tube"], exit::INVALID_CASE, "no tested air passes"),
        (&["--flow", "20 kg/s"], exit::INVALID_CASE, "at most"),
        (&["--depression", "95 kPa"], exit::INVALID_CASE, "89.64 kPa at most, at nine tenths of the room's pressure"),
        (&["--remove", "snout", "--remove", "rear", "--remove", "snout"], exit::WRONG_USE, "`snout` twice"),
    ] {
        let (found, _, err) = call("twin_sealed.yaml", arguments);
        assert!(found == code && err.contains(words), "{arguments:?}: {found} {err}");
    }
}
