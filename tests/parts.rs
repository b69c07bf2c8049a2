//! A routine for two through the real program, rehearsed in either part.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

/// A rehearsal line by line in a part, every answer given up; the exit code, what was printed, and the errors.
fn rehearse(data: &Path, routine: &str, part: &str) -> (i32, String, String) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_allroads"))
        .args([
            "rehearse",
            routine,
            "--as",
            part,
            "--plain",
            "--questions",
            "24",
            "--seed",
            "7",
        ])
        .env("ALLROADS_DATA", data)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut input = child.stdin.take().unwrap();
    // A session that ends before all is read closes the pipe.
    drop(input.write_all("-\n".repeat(40).as_bytes()));
    drop(input);
    let output = child.wait_with_output().unwrap();
    (
        output.status.code().unwrap(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

const FOR_TWO: &str = "tests/fixtures/for-two.yaml";

#[test]
fn each_part_is_told_the_other_s_steps_and_sees_only_its_own() {
    let data = tempfile::tempdir().unwrap();
    let (code, ann, errors) = rehearse(data.path(), FOR_TWO, "ann");
    assert_eq!((code, errors.as_str()), (0, ""));
    assert!(ann.contains("step: Bea looks at it (bea)"), "{ann}");
    assert!(ann.contains("step: Ann names its colour\n"), "{ann}");
    assert!(!ann.contains("seen: You saw"), "{ann}");
    let (code, bea, errors) = rehearse(data.path(), FOR_TWO, "bea");
    assert_eq!((code, errors.as_str()), (0, ""));
    assert!(bea.contains("step: Ann names its colour (ann)"), "{bea}");
    assert!(bea.contains("seen: You saw"), "{bea}");
}

#[test]
fn a_part_that_nobody_has_is_refused_with_those_there_are() {
    let data = tempfile::tempdir().unwrap();
    let (code, text, errors) = rehearse(data.path(), FOR_TWO, "cleo");
    assert_eq!((code, text.as_str()), (2, ""));
    assert!(
        errors.contains("nobody in this routine is called cleo"),
        "{errors}"
    );
    assert!(errors.contains("Its parts are bea, ann."), "{errors}");
    let (code, _, errors) = rehearse(data.path(), "tests/fixtures/ferry.yaml", "ann");
    assert_eq!(code, 2);
    assert!(
        errors.contains("this routine is for one performer"),
        "{errors}"
    );
}
