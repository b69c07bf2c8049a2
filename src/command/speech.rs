//! The speech process: how the program runs its speech engine. Nobody types this command.

use crate::voice::speech::{self, HIDDEN};
use std::ffi::OsString;
use std::path::PathBuf;
use std::process::ExitCode;

/// Serves, if this is what the program was started for: `allroads` with the hidden word and the folder for the voices.
pub(super) fn serve(args: &[OsString]) -> Option<ExitCode> {
    match args {
        [_, word, cache] if word == HIDDEN => Some(speech::serve(&PathBuf::from(cache))),
        _ => None,
    }
}
