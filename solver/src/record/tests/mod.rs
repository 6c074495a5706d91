//! A result is written, read, cut off and gone on with.

mod faults;

use super::*;
use crate::error::OutputError;
use std::path::PathBuf;
use tempfile::TempDir;

const CELLS: usize = 7;

fn layout() -> Layout {
    let x = (0..CELLS).map(|cell| (cell as f64 + 0.5) * 0.01);
    let series = |name: &str, units: &str, axis: Option<&str>, precision| Series {
        name: name.into(),
        units: units.into(),
        long_name: format!("{name} of the part"),
        axis: axis.map(str::to_owned),
        precision,
    };
    let axis = |name: &str, units: &str, coordinates| Axis {
        name: name.into(),
        units: units.into(),
        long_name: format!("{name} of the part"),
        coordinates,
    };
    let duct = Group {
        name: "Saugrohr links \u{5de6}".into(),
        kind: "duct".into(),
        attributes: vec![("length".into(), 0.07.into())],
        axes: vec![
            axis("x", "m", Coordinates::Numbers(x.collect())),
            axis("origin", "", Coordinates::Names(vec!["N\u{fc}ster".into(), "rear".into()])),
        ],
        constants: vec![Constant {
            name: "area".into(),
            units: "m2".into(),
            long_name: "cross-section".into(),
            axis: "x".into(),
            values: (0..CELLS).map(|cell| 0.004 - 1e-4 * cell as f64).collect(),
        }],
        series: vec![
            series("pressure", "Pa", Some("x"), Precision::F32),
            series("share", "1", Some("origin"), Precision::F64),
            series("mass_flow", "kg s-1", None, Precision::F64),
        ],
    };
    let plenum = Group {
        name: "box".into(),
        kind: "plenum".into(),
        series: vec![series("pressure", "Pa", None, Precision::F32)],
        ..Group::default()
    };
    Layout {
        attributes: vec![
            ("title".into(), "Sealed box".into()),
            ("source".into(), "tractwright test".into()),
            ("bounds".into(), vec![1.0, 2.5].into()),
            ("comment".into(), "".into()),
        ],
        case: "title: Sealed box \u{2713}\n".into(),
        groups: vec![duct, plenum],
    }
}

const DUCT: &str = "Saugrohr links \u{5de6}";

fn time(row: usize) -> f64 {
    row as f64 * 1e-3
}

fn values(row: usize) -> Vec<f64> {
    (0..CELLS + 4).map(|place| 1e5 + row as f64 * 0.125 + place as f64 / 1024.0).collect()
}

fn folder_and_path() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("run.h5");
    (folder, path)
}

/// Appends rows until there are `rows`.
fn append(writer: &mut Writer, rows: usize) {
    for row in writer.rows()..rows {
        writer.append(time(row), &values(row)).unwrap();
    }
}

fn check_rows(result: &ResultFile, rows: usize) {
    assert_eq!(result.rows(), rows);
    // Compared in one word: nobody reads thousands of numbers in a message.
    assert!(result.time().unwrap() == (0..rows).map(time).collect::<Vec<_>>(), "times differ");
    let column = |place: usize| (0..rows).map(|row| values(row)[place]).collect::<Vec<_>>();
    assert!(result.series(DUCT, "mass_flow").unwrap() == column(CELLS + 2), "mass flows differ");
    let share = result.field(DUCT, "share").unwrap();
    assert!(share.column(1).to_vec() == column(CELLS + 1), "shares differ");
    let pressure = result.field(DUCT, "pressure").unwrap();
    assert_eq!(pressure.dim(), (rows, CELLS));
    for cell in 0..CELLS {
        let kept: Vec<f64> = column(cell).iter().map(|&value| f64::from(value as f32)).collect();
        assert!(pressure.column(cell).to_vec() == kept, "pressures differ in cell {cell}");
    }
}

#[test]
fn what_was_written_is_read_back() {
    let (folder, path) = folder_and_path();
    let mut writer = Writer::create(&path, &layout()).unwrap();
    // More rows than the buffer and than a chunk hold.
    append(&mut writer, 3000);
    writer.finish(&[("end_time".into(), time(2999).into()), ("mass balance".into(), 1e-15.into())]).unwrap();
    let names: Vec<_> = std::fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(names, ["run.h5"]);

    let result = ResultFile::open(&path).unwrap();
    assert!(result.finished());
    check_rows(&result, 3000);
    assert_eq!(result.case(), layout().case);
    assert_eq!(result.attribute("title").unwrap(), Some("Sealed box".into()));
    assert_eq!(result.attribute("comment").unwrap(), Some("".into()));
    assert_eq!(result.attribute("bounds").unwrap(), Some(vec![1.0, 2.5].into()));
    assert_eq!(result.attribute("mass balance").unwrap(), Some(1e-15.into()));
    assert_eq!(result.attribute("absent").unwrap(), None);
    assert_eq!(result.groups().unwrap(), [DUCT, "box"]);
    assert_eq!(result.group_attribute("box", "kind").unwrap(), Some("plenum".into()));
    assert_eq!(result.names(DUCT, "origin").unwrap(), ["N\u{fc}ster", "rear"]);
    assert_eq!(result.constant(DUCT, "area").unwrap(), layout().groups[0].constants[0].values);
    assert_eq!(result.field_rows(DUCT, "share", 10..12).unwrap().dim(), (2, 2));
}

#[test]
fn variables_describe_themselves() {
    let (_folder, path) = folder_and_path();
    Writer::create(&path, &layout()).unwrap().finish(&[]).unwrap();
    let result = ResultFile::open(&path).unwrap();
    let described: Vec<_> =
        result.variables(DUCT).unwrap().into_iter().map(|v| (v.name, v.units, v.axes.join(" "))).collect();
    let expected = [
        ("area", "m2", "x"),
        ("mass_flow", "kg s-1", "time"),
        ("origin", "", "origin"),
        ("pressure", "Pa", "time x"),
        ("share", "1", "time origin"),
        ("x", "m", "x"),
    ];
    assert_eq!(described, expected.map(|(name, units, axes)| (name.into(), units.into(), axes.into())));
}

#[test]
fn a_file_of_no_row_is_whole() {
    let (_folder, path) = folder_and_path();
    Writer::create(&path, &layout()).unwrap().finish(&[]).unwrap();
    check_rows(&ResultFile::open(&path).unwrap(), 0);
}

#[test]
fn a_run_gone_on_with_from_any_mark_equals_the_undisturbed_one() {
    let (_folder, path) = folder_and_path();
    let mut writer = Writer::create(&path, &layout()).unwrap();
    let mut marks = Vec::new();
    for rows in [0, 100, 256, 300, 700, 1500] {
        append(&mut writer, rows);
        marks.push(writer.mark().unwrap());
    }
    writer.pause().unwrap();
    assert!(!path.exists());
    let part = ResultFile::open(&part_path(&path)).unwrap();
    assert!(!part.finished());
    check_rows(&part, 1500);
    drop(part);
    for mark in marks.iter().rev() {
        let mut writer = Writer::reopen(&path, &layout(), mark).unwrap();
        assert_eq!(writer.rows() as u64, mark.rows);
        assert_eq!(writer.mark().unwrap(), *mark);
        append(&mut writer, 1600);
        writer.pause().unwrap();
        check_rows(&ResultFile::open(&part_path(&path)).unwrap(), 1600);
    }
    let mut writer = Writer::reopen(&path, &layout(), &marks[1]).unwrap();
    append(&mut writer, 1000);
    writer.finish(&[]).unwrap();
    check_rows(&ResultFile::open(&path).unwrap(), 1000);
}

#[test]
fn blocks_survive_a_writer_that_never_closes() {
    let (_folder, path) = folder_and_path();
    let mut writer = Writer::create(&path, &layout()).unwrap();
    append(&mut writer, 600);
    // What the disk holds now is what a kill would leave.
    let copy = path.with_file_name("copy.h5");
    std::fs::copy(part_path(&path), &copy).unwrap();
    check_rows(&ResultFile::open(&copy).unwrap(), 512);
    writer.finish(&[]).unwrap();
    check_rows(&ResultFile::open(&path).unwrap(), 600);
}

#[test]
fn equal_runs_give_equal_bytes() {
    let bytes = || {
        let (_folder, path) = folder_and_path();
        let mut writer = Writer::create(&path, &layout()).unwrap();
        append(&mut writer, 200);
        writer.finish(&[("end_time".into(), 0.2.into())]).unwrap();
        std::fs::read(&path).unwrap()
    };
    assert_eq!(bytes(), bytes());
}

#[test]
fn a_result_is_written_by_one_at_a_time() {
    let (_folder, path) = folder_and_path();
    let writer = Writer::create(&path, &layout()).unwrap();
    let text = Writer::create(&path, &layout()).unwrap_err().to_string();
    assert!(text.contains(&std::process::id().to_string()), "{text}");
    drop(writer);
    assert!(Writer::reopen(&path, &layout(), &Mark::default()).is_ok());
}

fn refusal(spoil: impl FnOnce(&mut Layout)) -> String {
    let (folder, path) = folder_and_path();
    let mut spoilt = layout();
    spoil(&mut spoilt);
    let error = Writer::create(&path, &spoilt).unwrap_err();
    assert!(matches!(error, OutputError::Content { .. }), "{error}");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0, "something was written");
    error.to_string()
}

#[test]
fn a_layout_that_cannot_be_stored_is_refused() {
    for name in ["a/b", "", ".", "..", "time", "case", "box", "tab\t", " blank", "nul\0"] {
        let text = refusal(|layout| layout.groups[0].name = name.into());
        assert!(text.contains(&format!("{name:?}")) || text.contains(&format!("`{name}`")), "{text}");
    }
    assert!(refusal(|layout| layout.groups[0].series[0].axis = Some("y".into())).contains("x, origin"));
    assert!(refusal(|layout| layout.groups[0].series[2].name = "share".into()).contains("taken"));
    assert!(refusal(|layout| layout.groups[0].axes[0].name = "time".into()).contains("taken"));
    assert!(refusal(|layout| layout.groups[0].constants[0].values.truncate(2)).contains("2 values"));
    assert!(refusal(|layout| layout.groups[0].axes[1].coordinates = Coordinates::Names(vec![])).contains("point"));
    let many = |layout: &mut Layout| {
        let series = layout.groups[1].series[0].clone();
        layout.groups[1].series = (0..4001).map(|n| Series { name: format!("p{n}"), ..series.clone() }).collect();
    };
    assert!(refusal(many).contains("4000 at most"));
    assert!(refusal(|layout| layout.case = "a\0b".into()).contains("NUL"));
}

#[test]
fn a_row_of_the_wrong_length_is_refused() {
    let (_folder, path) = folder_and_path();
    let mut writer = Writer::create(&path, &layout()).unwrap();
    let text = writer.append(0.0, &[1.0]).unwrap_err().to_string();
    assert!(text.contains("1 values") && text.contains("11"), "{text}");
    append(&mut writer, 1);
    writer.finish(&[]).unwrap();
    check_rows(&ResultFile::open(&path).unwrap(), 1);
}

#[test]
fn places_follow_the_layout() {
    let layout = layout();
    assert_eq!(layout.row_length(), CELLS + 4);
    assert_eq!(layout.place(DUCT, "share"), Some(CELLS..CELLS + 2));
    assert_eq!(layout.place("box", "pressure"), Some(CELLS + 3..CELLS + 4));
    assert_eq!(layout.place("box", "share"), None);
}

#[test]
fn going_on_refuses_what_does_not_fit() {
    let (_folder, path) = folder_and_path();
    let mut writer = Writer::create(&path, &layout()).unwrap();
    append(&mut writer, 300);
    let mark = writer.mark().unwrap();
    writer.pause().unwrap();
    let refusal = |layout: &Layout, mark: &Mark| match Writer::reopen(&path, layout, mark).unwrap_err() {
        OutputError::Content { found, .. } => found,
        other => panic!("{other}"),
    };
    assert_eq!(refusal(&layout(), &Mark { rows: 512, waiting: vec![] }), "300 rows");
    assert!(refusal(&layout(), &Mark { rows: 300, waiting: vec![] }).contains("mark of 300 rows"));
    assert!(refusal(&layout(), &Mark { waiting: mark.waiting[1..].to_vec(), ..mark }).contains("mark of 300 rows"));
    let mut other = layout();
    other.case.push_str("# changed");
    assert!(refusal(&other, &mark).contains("another case"));
    let mut other = layout();
    other.groups[0].series[1].precision = Precision::F32;
    assert!(refusal(&other, &mark).contains("share"));
    let mut other = layout();
    other.groups[1].name = "plenum".into();
    assert!(refusal(&other, &mark).contains("plenum"));
    assert!(Writer::reopen(&path, &layout(), &mark).is_ok());
}

#[test]
fn foreign_files_are_refused() {
    let (folder, path) = folder_and_path();
    let refused = |path: &Path| ResultFile::open(path).unwrap_err();
    assert!(matches!(refused(&path), OutputError::File { .. }));
    std::fs::write(&path, "time,pressure\n0,1\n").unwrap();
    assert!(refused(&path).to_string().contains("not HDF5"));
    let other = folder.path().join("other.h5");
    hdf5::File::create(&other).unwrap().close().unwrap();
    assert!(refused(&other).to_string().contains("format_version"));
    assert!(matches!(refused(folder.path()), OutputError::File { .. } | OutputError::Content { .. }));
}
