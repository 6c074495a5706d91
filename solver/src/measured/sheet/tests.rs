//! Logs as loggers write them.

use super::*;

fn read(text: &str, wanted: &[&str]) -> Sheet {
    Sheet::from_bytes("log.csv", text.as_bytes(), wanted)
        .unwrap_or_else(|(found, expected)| panic!("{found}, {expected}"))
}

fn units(sheet: &Sheet) -> Vec<Option<&str>> {
    sheet.columns.iter().map(|column| column.unit.as_deref()).collect()
}

#[test]
fn separator_header_and_units_are_found_behind_a_preface() {
    let text =
        "Car;coupe\nDate;28.11.2026\n\ntime [s];p_box (mbar);T / degC;n\n0,0;-3,5;24,1;3000\n0,1;-3,6;24,2;3010\n";
    let sheet = read(text, &["time", "p_box", "n"]);
    assert_eq!((sheet.separator, sheet.header_line, sheet.rows.len()), (';', 4, 2));
    assert_eq!(units(&sheet), [Some("s"), Some("mbar"), Some("degC"), None]);
    assert_eq!(sheet.column("T"), Some(2));
    assert_eq!(sheet.column("p_box (mbar)"), Some(1));
    assert!(sheet.has_decimal_comma());
    assert_eq!(sheet.rows[1].0, 6);
}

#[test]
fn a_row_of_units_below_the_header_is_no_row_of_values() {
    let sheet = read("time\tp\n[s]\tkPa\n0.5\t99.1\n", &["p"]);
    assert_eq!(units(&sheet), [Some("s"), Some("kPa")]);
    assert_eq!(sheet.rows, [(3, vec!["0.5".to_owned(), "99.1".to_owned()])]);
    assert!(!sheet.has_decimal_comma());
}

#[test]
fn a_comma_between_cells_is_no_decimal_sign() {
    let sheet = read("a [s],b [s]\n1,5\n2,6\n", &["a"]);
    assert!(!sheet.has_decimal_comma());
    assert_eq!(sheet.rows.len(), 2);
}

#[test]
fn other_rows_are_named_and_a_trailing_separator_is_none() {
    let sheet = read("a [s],b [s]\n1,2\n3\n4,5,\n6,7,8\n", &["a"]);
    assert_eq!(sheet.rows.iter().map(|row| row.0).collect::<Vec<_>>(), [2, 4]);
    assert_eq!(sheet.broken.iter().map(|broken| broken.0).collect::<Vec<_>>(), [3, 5]);
    assert!(sheet.broken[0].1.contains("1 cells, expected 2"), "{:?}", sheet.broken);
}

#[test]
fn the_degree_sign_of_an_old_logger_is_read() {
    let sheet = Sheet::from_bytes("log.csv", b"T [\xb0C]\n24\n", &["T"]).expect("Latin-1");
    assert!(sheet.latin);
    assert_eq!(units(&sheet), [Some("\u{b0}C")]);
}

#[test]
fn a_file_without_a_known_column_is_refused_with_what_it_begins_with() {
    let (found, expected) = Sheet::from_bytes("log.csv", b"x,y\n1,2\n", &["p_box"]).expect_err("no such column");
    assert!(found.contains("`x,y` in line 1") && expected.contains("p_box"), "{found}, {expected}");
    assert!(Sheet::from_bytes("log.csv", b"", &["p_box"]).is_err());
}

#[test]
fn a_unit_in_the_header_and_another_one_below_it_are_refused() {
    let (found, expected) =
        Sheet::from_bytes("log.csv", b"t [s],p [mbar]\ns,Pa\n0,1\n", &["p"]).expect_err("two units");
    assert!(found.contains("`mbar` in the header of `p` and `Pa` below it") && expected == "one unit", "{found}");
    assert!(Sheet::from_bytes("log.csv", b"t [s],p [mbar]\ns,mbar\n0,1\n", &["p"]).is_ok());
}
