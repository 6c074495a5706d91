use crate::support::workspace;
use std::path::Path;

/// Modules of the library in the order of `lib.rs`.
fn order(root: &Path) -> Vec<String> {
    let text = std::fs::read_to_string(root.join("lib.rs")).expect("lib.rs");
    let name = |line: &str| line.trim().strip_prefix("pub mod ")?.strip_suffix(';').map(str::to_owned);
    text.lines().filter_map(name).collect()
}

fn rust_files(folder: &Path, found: &mut Vec<std::path::PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("a folder").flatten() {
        let path = entry.path();
        if path.is_dir() {
            rust_files(&path, found);
        } else if path.extension().is_some_and(|end| end == "rs") {
            found.push(path);
        }
    }
}

/// The modules right after a `crate::`: one, or those of a group in braces.
fn heads(rest: &str) -> Vec<String> {
    let word = |rest: &str| rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>();
    let Some(group) = rest.strip_prefix('{') else { return vec![word(rest)] };
    let mut depth = 0;
    let mut heads = vec![String::new()];
    for letter in group.chars() {
        match letter {
            '}' if depth == 0 => break,
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => heads.push(String::new()),
            _ if depth == 0 => heads.last_mut().expect("never empty").push(letter),
            _ => {}
        }
    }
    heads.iter().map(|head| word(head.trim_start())).collect()
}

/// Modules that a text names after `crate::`, tests left out: they may look at everything.
fn named(text: &str) -> Vec<String> {
    let code = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or(text);
    let code: String =
        code.lines().filter(|line| !line.trim_start().starts_with("//")).map(|line| format!("{line}\n")).collect();
    code.split("crate::").skip(1).flat_map(heads).collect()
}

#[test]
fn a_module_uses_only_those_above_it() {
    let root = workspace().join("solver/src");
    let order = order(&root);
    assert!(order.len() > 10, "{order:?}");
    let mut files = Vec::new();
    rust_files(&root, &mut files);
    let place = |name: &str| order.iter().position(|module| module == name);
    let mut wrong = Vec::new();
    for file in files {
        let inside = file.strip_prefix(&root).expect("inside");
        let own = inside.iter().next().and_then(|first| first.to_str()).expect("a name").trim_end_matches(".rs");
        let test = inside.iter().any(|part| matches!(part.to_str(), Some("tests" | "tests.rs" | "storm.rs")));
        let Some(own_place) = place(own).filter(|_| !test) else { continue };
        let text = std::fs::read_to_string(&file).expect("a text");
        for used in named(&text) {
            if place(&used).is_some_and(|place| place > own_place) {
                wrong.push(format!("{} uses {used}", inside.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_reader_of_uses_finds_them() {
    assert_eq!(named("use crate::gas::Gas;\n// crate::case\nlet x = crate::flow::End::First;"), ["gas", "flow"]);
    assert_eq!(named("use crate::{loss::{bend, cone}, march};"), ["loss", "march"]);
}
