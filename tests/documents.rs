use crate::cases::blocks;
use crate::support::{call, code, workspace};
use tractwright::part::KINDS;

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
    assert_eq!(code(&output), 0, "{}", crate::support::said(&output));
    let printed = String::from_utf8_lossy(&output.stdout).into_owned();
    for line in table.lines().filter(|line| !line.is_empty()) {
        assert!(printed.contains(line), "README says\n{line}\nbut `compare` printed\n{printed}");
    }
}
