//! Every routine that ships, and one that uses every part of the language, loads without a fault.

#![expect(
    clippy::expect_used,
    reason = "a test that cannot read its files must stop"
)]

use allroads::routine::{Trouble, load};
use std::path::Path;

const STARTER: &str = include_str!("../src/command/starter.yaml");

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).expect("the file can be read")
}

fn told(troubles: &[Trouble]) -> String {
    troubles.iter().map(Trouble::to_string).collect()
}

#[test]
fn every_shipped_routine_loads() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("drills");
    let mut seen = 0;
    for entry in std::fs::read_dir(folder).expect("there are drills") {
        let path = entry.expect("an entry").path();
        if path.extension().is_some_and(|e| e == "yaml") {
            let name = path
                .file_name()
                .expect("a name")
                .to_string_lossy()
                .into_owned();
            for setup in [0, 1, 7] {
                if let Err(troubles) = load(&read(&path), &name, setup) {
                    panic!("{}", told(&troubles));
                }
            }
            seen += 1;
        }
    }
    assert!(seen >= 5, "only {seen} routines");
}

#[test]
fn every_part_of_the_language_loads() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/everything.yaml");
    match load(&read(&path), "everything.yaml", 1) {
        Ok(routine) => {
            assert_eq!(routine.endings.len(), 3);
            assert_eq!(routine.mends.len(), 2);
            assert_eq!(routine.pack.size(), 8 + 7 + 3 + 4);
        }
        Err(troubles) => panic!("{}", told(&troubles)),
    }
}

#[test]
fn the_starter_and_the_shipped_routines_run_on_every_road_surveyed() {
    let mut texts = vec![("starter".to_owned(), STARTER.to_owned())];
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("drills");
    for entry in std::fs::read_dir(folder).expect("there are drills") {
        let path = entry.expect("an entry").path();
        texts.push((path.display().to_string(), read(&path)));
    }
    for (name, text) in texts {
        for setup in 0..3 {
            let routine = load(&text, &name, setup).expect("it loads");
            let found = allroads::roads::survey(&routine, 20);
            assert!(found.is_empty(), "{name}: {found:?}");
        }
    }
}

#[test]
fn the_file_that_uses_everything_never_gets_stuck() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/everything.yaml");
    let routine = load(&read(&path), "everything.yaml", 1).expect("it loads");
    let stuck: Vec<_> = allroads::roads::survey(&routine, 200)
        .into_iter()
        .filter(|f| matches!(f.wrong, allroads::roads::Wrong::Stuck(_)))
        .map(|f| (routine.stops[f.stop.index()].id.clone(), f.wrong, f.choices))
        .collect();
    assert!(stuck.is_empty(), "{stuck:#?}");
}
