//! Every malformed file is refused, with the place, what is wrong, and what to do.

use allroads::routine::{Trouble, load};
use std::path::Path;

/// Lines longer than this are cut in what is kept, so that a bomb does not fill the snapshots.
const WIDEST: usize = 160;

fn told(troubles: &[Trouble]) -> String {
    let all: String = troubles.iter().map(Trouble::to_string).collect();
    let cut = |line: &str| line.chars().take(WIDEST).collect::<String>();
    all.lines().map(|line| cut(line) + "\n").collect()
}

#[test]
fn every_malformed_file_is_refused_with_its_place_and_advice() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/malformed");
    let mut names: Vec<String> = std::fs::read_dir(&folder)
        .expect("the folder is there")
        .map(|entry| {
            entry
                .expect("an entry")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .filter(|name| name.ends_with(".yaml"))
        .collect();
    names.sort();
    assert!(names.len() >= 40, "only {} files", names.len());
    insta::with_settings!({prepend_module_to_snapshot => false, snapshot_path => "malformed"}, {
        for name in names {
            let text = std::fs::read_to_string(folder.join(&name)).expect("the file can be read");
            let troubles = load(&text, &name, 0).expect_err(&name);
            assert!(!troubles.is_empty(), "{name}");
            for trouble in &troubles {
                assert!(trouble.spot.line >= 1 && trouble.spot.column >= 1, "{name}");
            }
            let told = told(&troubles);
            assert!(!told.chars().any(|c| c.is_control() && c != '\n'), "{name}");
            insta::assert_snapshot!(name.trim_end_matches(".yaml"), told);
        }
    });
}
