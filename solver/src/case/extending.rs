//! A case that `extends` another one and differs from it in some numbers.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::files::Files;
use super::{Case, NewValue, Number};
use crate::error::{CaseError, Problem};
use crate::yaml::{self, Content, Entry, Node, Place};

impl Case {
    /// Text of a case for a file at `path` that extends the file of this one, and whose numbers are those of this one but for these texts, by path out of
    /// [`Case::numbers`] and [`Case::offsets`]. What was [inserted](Case::with_inserted) is not in that file and is written too. A list of which one number changes is written whole. What other parts have of a changed one by `like` is written as it
    /// was, so that they do not change with it.
    ///
    /// # Errors
    /// The file of this case does not lie in the folder of `path` or below, a path is no number of this case, or a text is none of its values.
    pub fn extending(&self, path: &Path, changes: &[(String, String)]) -> Result<String, CaseError> {
        let base = self.seen_from(path)?;
        let wanted: Vec<(&str, NewValue)> =
            changes.iter().map(|(path, text)| (path.as_str(), NewValue::from(text.as_str()))).collect();
        let wanted = self.with(&wanted)?;
        let mut paths: Vec<String> = changes.iter().map(|(path, _)| path.clone()).collect();
        // Each round finds what the last one changed elsewhere by `like`.
        loop {
            let text = wanted.over(&base, &paths);
            let read = Self::load(&path.to_string_lossy(), &text, &Files::beside(path), self.kinds)?;
            let (own, read) = (wanted.numbers(), read.numbers());
            let others = differences(&own, &read).into_iter().chain(differences(&read, &own));
            let others: BTreeSet<String> = others.filter(|path| !paths.contains(path)).collect();
            if others.is_empty() {
                return Ok(text);
            }
            paths.extend(others);
        }
    }

    /// The file of this case as a file at `path` would name it.
    fn seen_from(&self, path: &Path) -> Result<String, CaseError> {
        let folder = |file: &Path| {
            let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty());
            folder.unwrap_or(Path::new(".")).canonicalize()
        };
        let own = PathBuf::from(&self.file);
        let below = folder(&own)
            .ok()
            .zip(folder(path).ok())
            .and_then(|(own, new)| Some(own.strip_prefix(new).ok()?.to_owned()));
        let name = below.zip(own.file_name()).map(|(below, name)| below.join(name).to_string_lossy().into_owned());
        name.ok_or_else(|| {
            let found = format!("`{}`, which does not lie in the folder of `{}` or below", self.file, path.display());
            let (location, expected) =
                (self.location(""), "a new file in the folder of the case that it extends".to_owned());
            CaseError {
                problems: vec![Problem { location, path: "extends".to_owned(), found, expected, nearest: None }],
            }
        })
    }

    /// Text of what stands at `paths`, over the file `base`.
    fn over(&self, base: &str, paths: &[String]) -> String {
        let place = Place::whole(&Arc::from(self.file.as_str()));
        let mut tree = Node { place: place.clone(), content: Content::Map(Vec::new()) };
        for path in paths {
            put(&mut tree, &self.tree, path);
        }
        if let Content::Map(entries) = &mut tree.content {
            entries.insert(0, Entry { key: "extends".to_owned(), value: Node::plain(base, place.clone()), place });
        }
        yaml::write(&tree)
    }
}

/// Copies what stands at `path` from one tree of maps to another; all of it from the first list on.
fn put(to: &mut Node, from: &Node, path: &str) {
    let Content::Map(entries) = &mut to.content else { return };
    let (step, rest) = path.split_once('.').unwrap_or((path, ""));
    let key = step.split('[').next().unwrap_or(step);
    let Some(entry) = from.entry(key) else { return };
    if !matches!(entry.value.content, Content::Map(_)) {
        if !entries.iter().any(|known| known.key == key) {
            entries.push(entry.clone());
        }
        return;
    }
    let at = entries.iter().position(|known| known.key == key).unwrap_or_else(|| {
        let value = Node { place: entry.value.place.clone(), content: Content::Map(Vec::new()) };
        entries.push(Entry { key: key.to_owned(), place: entry.place.clone(), value });
        entries.len() - 1
    });
    put(&mut entries[at].value, &entry.value, rest);
}

/// Paths of the first numbers that the others have not, or with another text.
fn differences(numbers: &[Number], others: &[Number]) -> Vec<String> {
    let differs = |number: &&Number| !others.iter().any(|other| other.path == number.path && other.text == number.text);
    numbers.iter().filter(differs).map(|number| number.path.clone()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const BASE: &str = "parts:\n  nose: {kind: mouth, from: outside, area: 100 cm2}\n  left: {kind: duct, length: 300 mm, \
                        sections: [{at: 0 mm, diameter: 90 mm}, {at: 300 mm, diameter: 80 mm}]}\n  right: {like: left}\n  \
                        a: {kind: draw, flow: 100 g/s}\n  b: {kind: draw, flow: 100 g/s}\n  box: {kind: plenum, volume: 9 L}\n\
                        flow: [[nose, box], [box, left, a], [box, right, b]]\n";

    #[test]
    fn only_what_is_changed_changes_also_where_parts_are_alike() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::create_dir(folder.path().join("cars")).unwrap();
        let base = folder.path().join("cars/base.yaml");
        std::fs::write(&base, BASE).unwrap();
        let case = Case::from_path(&base).unwrap();
        let changes = [
            ("parts.left.sections[1].diameter".to_owned(), "82 +- 1 mm".to_owned()),
            ("parts.nose.area".to_owned(), "0.012 m2".to_owned()),
        ];
        for place in ["cars/fitted.yaml", "fitted.yaml"] {
            let path = folder.path().join(place);
            let text = case.extending(&path, &changes).unwrap();
            std::fs::write(&path, &text).unwrap();
            let read = Case::from_path(&path).unwrap();
            let texts =
                |case: &Case| case.numbers().into_iter().map(|number| (number.path, number.text)).collect::<Vec<_>>();
            let (before, after) = (texts(&case), texts(&read));
            assert_eq!(before.len(), after.len());
            for ((path, text), (old_path, old)) in after.iter().zip(&before) {
                let changed = changes.iter().find(|change| change.0 == *path);
                assert_eq!((path, text), (old_path, changed.map_or(old, |change| &change.1)), "{place}");
            }
        }
        std::fs::create_dir(folder.path().join("other")).unwrap();
        let told = case.extending(&folder.path().join("other/fitted.yaml"), &changes).unwrap_err().to_string();
        assert!(told.contains("does not lie in the folder of"), "{told}");
        let told = case.extending(&folder.path().join("fitted.yaml"), &[("parts.nose.aria".into(), "1 m2".into())]);
        assert!(told.unwrap_err().to_string().contains("`parts.nose.area`"));
    }
}
