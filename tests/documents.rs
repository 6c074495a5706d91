use crate::cases::blocks;
use crate::support::{call, code, said, start, workspace};
use tractwright::part::KINDS;
use tractwright_validation::check::{Row, run_all, select};

fn readme() -> String {
    std::fs::read_to_string(workspace().join("README.md")).expect("README.md")
}

#[test]
fn the_readme_names_every_kind_of_part() {
    let readme = readme();
    for kind in KINDS {
        assert!(readme.contains(&format!("| {} | {} |", kind.name, kind.about)), "{}", kind.name);
    }
}

/// Runs the demo at the point of the table and compares it with the table, line by line.
#[test]
fn the_readmes_table_is_what_the_program_prints() {
    let readme = readme();
    let table = blocks(&readme, "text").into_iter().find(|block| block.starts_with("road 162 km/h")).expect("a table");
    let folder = tempfile::tempdir().expect("a folder");
    let cases = ["divided_box", "open_filters", "shared_panel", "twin_sealed"]
        .map(|name| workspace().join("cases/coupe").join(format!("{name}.yaml")).display().to_string());
    let mut arguments = vec!["compare", "--point", "road", "-o", "."];
    arguments.extend(cases.iter().map(String::as_str));
    let output = call(folder.path(), &arguments);
    assert_eq!(code(&output), 0, "{}", said(&output));
    let printed = String::from_utf8_lossy(&output.stdout).into_owned();
    for line in table.lines().filter(|line| !line.is_empty()) {
        assert!(printed.contains(line), "README says\n{line}\nbut `compare` printed\n{printed}");
    }
}

/// Cells of the rows of the table that has this head.
fn table(document: &str, head: &str) -> Vec<Vec<String>> {
    let lines = document.lines().skip_while(|line| !line.starts_with(head)).skip(2);
    let cells = |line: &str| line.trim_matches('|').split('|').map(|cell| cell.trim().to_owned()).collect();
    lines.take_while(|line| line.starts_with('|')).map(cells).collect()
}

/// Whether a cell shows a value, rounded to `digits` figures.
fn shows(cell: &str, value: f64, digits: i32) -> bool {
    let shown: f64 = cell.parse().expect("a number");
    (shown - value).abs() <= 0.501 * value.abs() * 10_f64.powi(1 - digits)
}

/// Whether a row of the README is one of those that a check gave.
fn stands_in(cells: &[String], rows: &[Row], source: &str) -> bool {
    rows.iter().any(|row| {
        row.quantity == cells[1]
            && shows(&cells[2], row.computed, 6)
            && shows(&cells[3], row.reference, 6)
            && shows(&cells[4], row.error(), 2)
            && shows(&cells[5], row.limit.value, 2)
            && source.starts_with(&cells[6])
    })
}

#[test]
fn the_readmes_checks_give_what_it_says() {
    let readme = readme();
    let all = select(None).expect("every check").len();
    assert!(readme.contains(&format!("all {all} checks")), "found {all} checks");
    let rows = table(&readme, "| check | quantity |");
    assert!(rows.len() >= 10, "{rows:?}");
    let mut names: Vec<&str> = rows.iter().map(|cells| cells[0].as_str()).collect();
    names.dedup();
    for name in names {
        let outcomes = run_all(Some(name), |_| ()).expect("a known check");
        for cells in rows.iter().filter(|cells| cells[0] == name) {
            let given =
                |row: &Row| format!("{}: {} for {}, {}", row.quantity, row.computed, row.reference, row.error());
            let outcome = &outcomes[0];
            let computed = &outcome.findings.as_ref().unwrap_or_else(|failure| panic!("{name}: {failure}")).rows;
            let told: Vec<String> = computed.iter().map(given).collect();
            assert!(stands_in(cells, computed, outcome.check.source), "README says {cells:?}, found {told:#?}");
        }
    }
}

/// Halves the left draw of the layout whose turbos disturb each other most, and looks at the right one.
#[test]
fn the_readmes_crosstalk_is_what_the_program_prints() {
    let readme = readme();
    let row =
        table(&readme, "| static depression at the right turbo").into_iter().find(|cells| cells[0] == "shared_panel");
    let row = row.expect("a row of the shared panel filter");
    let (before, after) = row[1].split_once(" to ").expect("two values");
    let folder = tempfile::tempdir().expect("a folder");
    let case = workspace().join("cases/coupe/shared_panel.yaml").display().to_string();
    let run = |point| start(folder.path(), &["run", &case, "--point", point, "-o", "."]);
    for mut child in ["road", "road_step"].map(run) {
        assert!(child.wait().expect("a child").success());
    }
    for (point, value) in [("road", before), ("road_step", after)] {
        let summary = call(folder.path(), &["summary", &format!("shared_panel.{point}.h5")]);
        let text = String::from_utf8_lossy(&summary.stdout).into_owned();
        let line = text.lines().find(|line| line.starts_with("static depression, kPa")).expect("a line");
        assert_eq!(line.split_whitespace().nth(4), Some(value), "{line}");
    }
}
