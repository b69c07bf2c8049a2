//! The real program, started as its users start it and away from what the account has of it.

#![allow(dead_code, reason = "each of the tests needs a part of this")]

use std::path::Path;
use std::process::{Command, Output};

/// Where no logbook can be: nothing of the account is read or written.
pub const NOWHERE: &str = "/dev/null/nowhere";

/// The program with this folder for its data, in the time zone of Greenwich.
pub fn program(data: impl AsRef<Path>) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_allroads"));
    command
        .env_remove("ALLROADS_DATA")
        .env_remove("NO_COLOR")
        .env("TZ", "UTC")
        .arg("--data")
        .arg(data.as_ref());
    command
}

/// The exit code, what was printed, and what went to the errors.
pub fn told(output: Output) -> (i32, String, String) {
    (
        output.status.code().unwrap(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

/// The names of the routines that come with the program, by its folder.
pub fn shipped() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("drills");
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| {
            let path = entry.unwrap().path();
            path.file_stem().unwrap().to_str().unwrap().to_owned()
        })
        .collect();
    names.sort();
    assert!(!names.is_empty());
    names
}
