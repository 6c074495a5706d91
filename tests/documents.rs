use crate::cases::blocks;
use crate::support::{call, code, said, start, workspace};
use tractwright::part::KINDS;
use tractwright_validation::check::select;
use tractwright_validation::page::read;

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

/// The rows of the README stand on the page of all checks, which the tests of the checks compare with what comes out.
#[test]
fn the_readmes_checks_stand_on_the_page() {
    let readme = readme();
    let page = std::fs::read_to_string(workspace().join("validation/CHECKS.md")).expect("validation/CHECKS.md");
    let headline = page.lines().find_map(|line| line.strip_prefix("Tractwright ")?.split_once(": "));
    let (_, counts) = headline.expect("a line with the counts");
    assert!(readme.contains(counts.trim_end_matches('.')), "README lacks `{counts}`");
    let sections = read(&page);
    let rows = table(&readme, "| check | quantity |");
    assert!(rows.len() >= 10, "{rows:?}");
    for cells in rows {
        let [check, quantity, numbers @ .., source] = &cells[..] else { panic!("{cells:?}") };
        let rows = sections.iter().filter(|(name, _)| name == check).flat_map(|(_, rows)| rows);
        let found: Vec<_> =
            rows.filter(|row| row[0] == *quantity).map(|row| [&row[1..4], &row[5..6]].concat()).collect();
        assert!(found.iter().any(|found| found == numbers), "README says {cells:?}, found {found:?}");
        let known = select(Some(check)).expect("a known check")[0].1;
        assert!(known.source.starts_with(source), "{check}: found `{source}`, expected `{}`", known.source);
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

/// Runs the demo of power at the points of the table and compares each cell with what `compare` prints for programs.
#[test]
fn the_readmes_power_is_what_the_program_prints() {
    let rows = table(&readme(), "| | divided_box");
    assert!(rows.len() >= 7, "{rows:?}");
    let folder = tempfile::tempdir().expect("a folder");
    let layouts = ["divided_box", "open_filters", "shared_panel", "twin_sealed"];
    let cases = layouts.map(|name| workspace().join("cases/power").join(format!("{name}.yaml")).display().to_string());
    let mut arguments = vec!["compare", "--format", "csv", "-o", "."];
    arguments.extend(cases.iter().map(String::as_str));
    let output = call(folder.path(), &arguments);
    assert_eq!(code(&output), 0, "{}", said(&output));
    let printed = String::from_utf8_lossy(&output.stdout).into_owned();
    for row in rows {
        let point = row[0].split(',').next().expect("a point");
        let quantity = match point.split('_').next() {
            Some("roll") => "roll_on_time",
            Some("response") => "response_time",
            _ => "power",
        };
        for (layout, cell) in layouts.iter().zip(&row[1..]) {
            let start = format!("{point},{layout},{quantity},");
            let line = printed.lines().find_map(|line| line.strip_prefix(&start)).expect(&start);
            let [what, value, _] = line.split(',').collect::<Vec<_>>()[..] else { panic!("{line}") };
            let value: f64 = value.parse().expect("a number");
            let said = if quantity == "power" { format!("{:.1} {what}", 1e-3 * value) } else { format!("{value:.2}") };
            assert_eq!(*cell, said, "{point}, {layout}");
        }
    }
}
