//! The routines of the foyer: the shipped ones, and the files of the folder we are in.

use super::shipped::{SHIPPED, find};
use super::source::{Source, shown};
use super::walk::quoted;
use crate::screen::{Proven, Shelved, Standing};
use std::collections::HashMap;
use std::path::Path;
use std::sync::Arc;

/// At most so many files of the folder are shown.
const MOST_FILES: usize = 50;

/// All routines that can be rehearsed from here: your own first, by name, then the shipped ones. A file with faults is left
/// out; one line says so, and what tells them.
pub(super) fn shelf(
    folder: &Path,
    stands: &HashMap<String, Standing>,
) -> (Vec<Shelved>, Option<String>) {
    let mut faulty = Vec::new();
    let mut all = Vec::new();
    for source in sources(folder) {
        match place(&source, 0, stands) {
            Some(shelved) => all.push(shelved),
            None => faulty.push(source),
        }
    }
    (all, notice(&faulty))
}

/// The routine files of a folder, by name, then the shipped ones.
pub(super) fn sources(folder: &Path) -> Vec<Source> {
    let shipped = SHIPPED.iter().map(|routine| Source {
        name: routine.name.to_owned(),
        origin: routine.name.to_owned(),
        text: routine.text.to_owned(),
    });
    own(folder).into_iter().chain(shipped).collect()
}

/// That files have faults, and how to see them; short, as it stands in one line.
fn notice(faulty: &[Source]) -> Option<String> {
    let first = Path::new(&faulty.first()?.origin).file_name()?;
    let first = shown(&first.to_string_lossy());
    let has = match faulty.len() {
        1 => "has faults".to_owned(),
        n => format!("and {} more have faults", n - 1),
    };
    Some(format!("{first} {has}: allroads check {}", quoted(&first)))
}

/// A routine with how it stands; `None` for a file with faults.
fn place(source: &Source, setup: u64, stands: &HashMap<String, Standing>) -> Option<Shelved> {
    Some(Shelved {
        routine: Arc::new(source.load(setup).ok()?),
        proven: Proven::NotYet,
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
    fn own_routines_stand_before_the_shipped_ones_and_faulty_files_are_named() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(
            folder.path().join("mine.yaml"),
            include_str!("starter.yaml"),
        )
        .unwrap();
        std::fs::write(folder.path().join("wrong.yaml"), "allroads: 1\nloud: yes\n").unwrap();
        std::fs::write(folder.path().join("else.yaml"), "version: 3\n").unwrap();
        let (all, notice) = shelf(folder.path(), &HashMap::new());
        let names: Vec<&str> = all.iter().map(|s| &*s.name).collect();
        let mut wanted = vec!["mine"];
        wanted.extend(SHIPPED.iter().map(|s| s.name));
        assert_eq!(names, wanted);
        assert_eq!(
            notice.as_deref(),
            Some("wrong.yaml has faults: allroads check wrong.yaml")
        );

        std::fs::write(folder.path().join("a b.yaml"), "allroads: 1\n").unwrap();
        let (_, notice) = shelf(folder.path(), &HashMap::new());
        assert_eq!(
            notice.as_deref(),
            Some("a b.yaml and 1 more have faults: allroads check 'a b.yaml'")
        );
        std::fs::remove_file(folder.path().join("a b.yaml")).unwrap();
        std::fs::remove_file(folder.path().join("wrong.yaml")).unwrap();
        assert_eq!(shelf(folder.path(), &HashMap::new()).1, None);
    }
}
