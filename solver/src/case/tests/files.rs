//! Cases that name other files.

use std::fs;
use std::path::PathBuf;

use tempfile::TempDir;

use super::*;

struct Folder(TempDir);

impl Folder {
    fn new(files: &[(&str, &str)]) -> Self {
        let folder = tempfile::tempdir().expect("a temporary folder");
        for (name, text) in files {
            let path = folder.path().join(name);
            fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
            fs::write(path, text).expect("a file");
        }
        Self(folder)
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn read(&self, name: &str) -> Result<Case, Error> {
        Case::from_path_with(&self.path(name), KINDS)
    }

    fn case(&self, name: &str) -> Case {
        self.read(name).unwrap_or_else(|error| panic!("{error}"))
    }

    /// The mistakes as `file:line:column path: found | expected`, the files without the folder.
    fn mistakes(&self, name: &str) -> Vec<String> {
        let Err(Error::Case(error)) = self.read(name) else { panic!("a case with mistakes") };
        let prefix = format!("{}/", self.0.path().display());
        let line =
            |p: &Problem| format!("{} {}: {} | {}", p.location, p.path, p.found, p.expected).replace(&prefix, "");
        error.problems.iter().map(line).collect()
    }
}

#[test]
fn extends_merges_maps_replaces_lists_and_deletes_by_null() {
    let folder = Folder::new(&[
        ("base/small.yaml", SMALL),
        (
            "top.yaml",
            "extends: base/small.yaml\ntitle: Changed\nrun: null\nparts:\n  box: {volume: 12 L}\n  rear: {kind: mouth, area: 1 cm2}\n\
             flow: [[nose, tube, box], [rear, box]]\n",
        ),
    ]);
    let case = folder.case("top.yaml");
    assert_eq!((case.title.as_str(), case.flow.len(), case.run), ("Changed", 2, RunPlan::default()));
    assert_eq!(case.as_written("parts.box.volume"), Some("12 L"));
    assert_eq!(case.as_written("parts.box.kind"), Some("plenum"));
    assert!(case.location("parts.nose").file.ends_with("small.yaml"));
    assert_eq!(case.location("parts.box.volume").line, 5);
    let alone = Case::load("alone", &case.resolved_text(), &Files::Nowhere, KINDS).expect("a case that needs no file");
    assert_eq!(parts(&alone, REST), parts(&case, REST));
}

#[test]
fn mistakes_name_the_file_in_which_they_stand() {
    let folder = Folder::new(&[
        ("base.yaml", &SMALL.replace("11 L", "11")),
        ("top.yaml", "extends: base.yaml\nparts: {nose: {area: 1}}\n"),
    ]);
    assert_eq!(
        folder.mistakes("top.yaml"),
        [
            "base.yaml:6:31 parts.box.volume: `11` without a unit | a volume such as `11 L`",
            "top.yaml:2:22 parts.nose.area: `1` without a unit | an area such as `130 cm2`",
        ]
    );
}

#[test]
fn files_outside_the_folder_are_refused() {
    let folder = Folder::new(&[("secret.yaml", SMALL), ("in/case.yaml", ""), ("in/base.yaml", SMALL)]);
    for name in ["../secret.yaml", "/etc/hosts.yaml", "in/../../secret.yaml", "base.txt", "base", "''", "'..'"] {
        fs::write(folder.path("in/case.yaml"), format!("extends: {name}\n")).expect("a file");
        let told = folder.mistakes("in/case.yaml");
        assert!(told.len() == 1 && told[0].ends_with("file in the case's folder or below, without `..`"), "{told:?}");
    }
    fs::write(folder.path("in/case.yaml"), "extends: none.yaml\n").expect("a file");
    assert!(folder.mistakes("in/case.yaml")[0].ends_with("a file that can be read"));
    fs::write(folder.path("in/case.yaml"), "extends: ./base.yaml\n").expect("a file");
    assert_eq!(folder.case("in/case.yaml").title, "Small");
}

#[cfg(unix)]
#[test]
fn links_out_of_the_folder_and_files_that_are_none_are_refused() {
    let folder = Folder::new(&[("secret.yaml", SMALL), ("in/case.yaml", "extends: link.yaml\n")]);
    std::os::unix::fs::symlink(folder.path("secret.yaml"), folder.path("in/link.yaml")).expect("a link");
    assert!(folder.mistakes("in/case.yaml")[0].contains("a link out of the case's folder"));
    fs::remove_file(folder.path("in/link.yaml")).expect("the link");
    fs::create_dir(folder.path("in/link.yaml")).expect("a folder");
    assert!(folder.mistakes("in/case.yaml")[0].contains("not a file"));
    let Err(Error::Case(error)) = Case::from_path_with(std::path::Path::new("/dev/zero"), KINDS) else {
        panic!("a device")
    };
    assert!(error.problems[0].found.contains("not a file"));
}

#[test]
fn loops_and_long_chains_are_refused() {
    let folder = Folder::new(&[
        ("a.yaml", "extends: b.yaml\n"),
        ("b.yaml", "extends: ./a.yaml\n"),
        ("self.yaml", "extends: self.yaml\n"),
    ]);
    assert!(folder.mistakes("a.yaml")[0].starts_with("b.yaml:1:10 extends: a loop back to"));
    assert!(folder.mistakes("self.yaml")[0].contains("a loop back to"));
    let chain: Vec<(String, String)> =
        (0..9).map(|i| (format!("{i}.yaml"), format!("extends: {}.yaml\n", i + 1))).collect();
    let mut files: Vec<(&str, &str)> = chain.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    files.push(("9.yaml", SMALL));
    let folder = Folder::new(&files);
    assert!(folder.mistakes("0.yaml")[0].starts_with("7.yaml:1:10 extends: more than 8 files"));
    assert_eq!(folder.case("2.yaml").title, "Small");
}

#[test]
fn a_case_from_text_names_no_file() {
    assert_eq!(
        mistakes("extends: base.yaml\n"),
        ["1:10 extends: `base.yaml` | no other file: this case was read as text | -"]
    );
}

#[test]
fn a_missing_or_broken_file_is_told() {
    let folder = Folder::new(&[]);
    assert!(matches!(folder.read("none.yaml"), Err(Error::Output(OutputError::File { .. }))));
    fs::write(folder.path("bytes.yaml"), b"title: \xff\n").expect("a file");
    assert_eq!(folder.mistakes("bytes.yaml"), ["bytes.yaml case: no UTF-8 at byte 7 | a text in UTF-8"]);
    let file = fs::File::create(folder.path("long.yaml")).expect("a file");
    file.set_len(1 << 30).expect("a long file");
    assert_eq!(folder.mistakes("long.yaml"), ["long.yaml case: 1073741824 bytes | at most 4194304 bytes"]);
}

const TABLE: &str = "\u{feff}# measured\ncentre_line_length [mm], area [cm2], perimeter [mm], radius_of_curvature [mm]\r\n\
    0, 60, 290,\r\n100, 55, 280, 160\r\n200, 50, 270, 160\r\n300, 45, 255, 0\r\n";

fn with_table(table: &str) -> Folder {
    let tube = "  tube: {kind: duct, sections: tube.csv}";
    let line = "  tube: {kind: duct, length: 450 mm, sections: [{at: 0 mm, diameter: 70 mm}]}";
    Folder::new(&[("case.yaml", &with(line, tube)), ("tube.csv", table)])
}

#[test]
fn a_duct_takes_sections_bends_and_length_from_a_table() {
    let case = with_table(TABLE).case("case.yaml");
    let text = case.resolved_text();
    assert!(
        text.contains("area: 55 cm2") && text.contains("perimeter: 280 mm") && text.contains("length: 300 mm"),
        "{text}"
    );
    assert_eq!(case.location("parts.tube.sections[1].area").line, 4);
    // Each of the two turning stations stands for 100 mm: 0.2 m over 0.16 m.
    assert!(text.contains("at: 0.05 m") && text.contains("angle: 1.25 rad"), "{text}");
    let alone = Case::load("alone", &text, &Files::Nowhere, KINDS).expect("a case that needs no file");
    assert_eq!(alone.resolved_text(), text);
}

#[test]
fn mistakes_of_a_table_stand_at_its_lines() {
    for (from, to, told) in [
        (
            ", area [cm2]",
            ", area",
            "tube.csv:2:1 parts.tube.sections: the column `area` | a column such as `area [cm2]`",
        ),
        (
            "area [cm2]",
            "aera [cm2]",
            "tube.csv:2:1 parts.tube.sections: no column `area` | a header such as `centre_line_length [mm], area [cm2], perimeter [mm]`",
        ),
        (
            "perimeter [mm]",
            "area [cm2]",
            "tube.csv:2:1 parts.tube.sections: the column `area` twice | each column once",
        ),
        ("100, 55,", "100, x,", "tube.csv:4:1 parts.tube.sections[1].area: `x cm2` | an area such as `130 cm2`"),
        ("100, 55,", "100, -5,", "tube.csv:4:1 parts.tube.sections[1].area: `-5 cm2` | more than 0"),
        (
            "100, 55, 280, 160",
            "100, 55, 280, wide",
            "tube.csv:4:1 parts.tube.sections: `wide mm` in the column `radius_of_curvature` | a length such as `76 mm`",
        ),
    ] {
        let found = with_table(&TABLE.replace(from, to)).mistakes("case.yaml");
        assert!(found.contains(&told.to_owned()), "{found:?} without {told}");
    }
    let short = with_table(&TABLE.replace("100, 55, 280, 160", "100, 55")).mistakes("case.yaml");
    assert!(short == ["tube.csv:4:1 parts.tube.sections: 2 cells | 4, as in the header"], "{short:?}");
    let empty = with_table("centre_line_length [mm], area [cm2]\n").mistakes("case.yaml");
    assert!(empty[0].contains("no rows"), "{empty:?}");
}

/// A tract with a filter whose curve and loading stand in files.
const SHEETS: &str = "parts:
  f:
    kind: filter
    media_area: 0.2 m2
    curve: {file: curve.csv, at: [20 degC, 101.3 kPa]}
    dust: {mass: 50 g, loading: {file: loading.csv, flow: 180 g/s, at: [20 degC, 101.3 kPa]}}
  t: {kind: draw, flow: 100 g/s}
flow: [[outside, f, t]]
";

#[test]
fn a_filters_sheets_are_read_from_files() {
    let (curve, loading) =
        ("flow [kg/h],drop [mbar]\n216,0.9\n432,2.05\n648,3.45\n", "mass [g];drop [Pa]\n0;345\n100;700\n");
    let folder = Folder::new(&[("case.yaml", SHEETS), ("curve.csv", curve), ("loading.csv", loading)]);
    let read = |folder: &Folder| Case::from_path(&folder.path("case.yaml"));
    let case = read(&folder).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(case.as_written("parts.f.curve.flow"), Some("216 432 648 kg/h"));
    assert_eq!(case.as_written("parts.f.dust.loading.mass"), Some("0 100 g"));
    assert!(case.at_point(REST).is_ok());
    let alone = Case::from_text("alone", &case.resolved_text()).expect("a case that needs no file");
    assert!(alone.at_point(REST).is_ok());
    for (text, place, words) in [
        ("flow [kg/h],drop\n1,2\n", "curve.csv:1", "the column `drop`"),
        ("flow [kg/h],Drop [Pa]\n1,2\n", "curve.csv:1", "the column `Drop [Pa]`"),
        ("flow [kg/h],drop [Pa],drop [mbar]\n1,2,3\n", "curve.csv:1", "the column `drop` twice"),
        ("flow [kg/h],pressure [Pa]\n1,2\n", "curve.csv:1", "`flow [unit]` or `volume_flow [unit]`, `drop [unit]`"),
        ("flow [kg/h];drop [Pa]\n1,5;2,5\n2.5;3,5\n", "curve.csv:3", "expected a number with a decimal comma"),
        ("flow [kg/h],drop [Pa]\n1,2\n3\n", "curve.csv:3", "1 cells"),
        ("flow [kg/h],drop [Pa]\n1,2\nx,3\n", "curve.csv:3", "`x` in the column `flow`"),
        ("", "curve.csv", "no rows"),
        ("flow [kg/h],drop [Pa]\n216,90\n432,80\n648,70\n", "curve.csv", "drops that fall or repeat"),
    ] {
        let folder = Folder::new(&[("case.yaml", SHEETS), ("curve.csv", text), ("loading.csv", loading)]);
        let found = match read(&folder) {
            Err(error) => error.to_string(),
            Ok(case) => case.at_point(REST).expect_err("a mistake").to_string(),
        };
        assert!(found.contains(place) && found.contains(words), "{found}");
        // What the broken sheet leaves out is no second mistake.
        assert!(!found.contains("none of them"), "{found}");
    }
    let folder = Folder::new(&[("case.yaml", SHEETS), ("loading.csv", loading)]);
    let told = read(&folder).expect_err("no file").to_string();
    assert!(told.contains("parts.f.curve.file") && !told.contains("none of them"), "{told}");
    // As a bench with decimal commas writes it, with columns of its own and a trailing separator.
    let bench = "no;flow [kg/h];drop [mbar];remark\n1;216,5;0,9;1.2.\n2;432;2,05;;\n3;648;3,45;hot\n";
    let folder = Folder::new(&[("case.yaml", SHEETS), ("curve.csv", bench), ("loading.csv", loading)]);
    let case = read(&folder).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(case.as_written("parts.f.curve.flow"), Some("216.5 432 648 kg/h"));
    assert_eq!(case.as_written("parts.f.curve.drop"), Some("0.9 2.05 3.45 mbar"));
}
