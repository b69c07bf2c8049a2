//! The routines of the foyer: the shipped ones, and the files of the folder we are in.

use super::shipped::{SHIPPED, find};
use super::source::Source;
use crate::screen::{Shelved, Standing};
use std::collections::HashMap;
use std::path::Path;
use std::sync::Arc;

/// At most so many files of the folder are shown.
const MOST_FILES: usize = 50;

/// All routines that can be rehearsed from here: your own first, by name, then the shipped ones.
pub(super) fn shelf(folder: &Path, stands: &HashMap<String, Standing>) -> Vec<Shelved> {
    let shipped = SHIPPED.iter().map(|routine| Source {
        name: routine.name.to_owned(),
        origin: routine.name.to_owned(),
        text: routine.text.to_owned(),
    });
    own(folder)
        .into_iter()
        .chain(shipped)
        .filter_map(|source| place(&source, 0, stands))
        .collect()
}

/// A routine with how it stands; a file with faults is left out, `check` tells them.
fn place(source: &Source, setup: u64, stands: &HashMap<String, Standing>) -> Option<Shelved> {
    Some(Shelved {
        routine: Arc::new(source.load(setup).ok()?),
        standing: stands.get(&source.name).cloned().unwrap_or_default(),
        name: source.name.clone(),
    })
}

/// The routine files of a folder. Other YAML files are told by their first words.
fn own(folder: &Path) -> Vec<Source> {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut paths: Vec<_> = entries
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| {
            path.extension().is_some_and(|e| e == "yaml" || e == "yml") && path.is_file()
        })
        .collect();
    paths.sort();
    paths
        .into_iter()
        .take(MOST_FILES)
        .filter_map(|path| Source::find(path.to_str()?).ok())
        .filter(|source| {
            let ours = |line: &str| line.starts_with("allroads:");
            source.text.lines().any(ours) && find(&source.name).is_none()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn own_routines_stand_before_the_shipped_ones_and_faulty_files_are_left_out() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(
            folder.path().join("mine.yaml"),
            include_str!("starter.yaml"),
        )
        .unwrap();
        std::fs::write(folder.path().join("wrong.yaml"), "allroads: 1\nloud: yes\n").unwrap();
        std::fs::write(folder.path().join("else.yaml"), "version: 3\n").unwrap();
        let all = shelf(folder.path(), &HashMap::new());
        let names: Vec<&str> = all.iter().map(|s| &*s.name).collect();
        let mut wanted = vec!["mine"];
        wanted.extend(SHIPPED.iter().map(|s| s.name));
        assert_eq!(names, wanted);
    }
}
