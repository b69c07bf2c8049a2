//! The commands: one file each; reads arguments, calls the rooms, prints.

use std::ffi::OsString;
use std::process::ExitCode;

/// Runs the program.
#[must_use]
pub fn run(_args: impl IntoIterator<Item = OsString>) -> ExitCode {
    ExitCode::SUCCESS
}
