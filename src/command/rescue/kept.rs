//! What was worked out, kept in the logbook by the routine's content, so that it is there at once the next time.

use crate::command::machine::Machine;
use crate::logbook::{DERIVED, FILE_NAME, Logbook};
use crate::routine::Routine;
use crate::{proof, rescue};
use serde::Serialize;
use serde::de::DeserializeOwned;

/// The logbook, where there is one already.
pub(super) fn logbook(machine: &Machine) -> Option<Logbook> {
    let there = machine.data_folder().ok()?.join(FILE_NAME).is_file();
    there.then(|| machine.logbook().ok())?
}

/// The name of something worked out about a routine.
pub(super) fn key(what: &str, routine: &Routine) -> String {
    format!(
        "{DERIVED}{what} of {} {}",
        routine.content_hash, routine.setup
    )
}

/// The program's version and the editions of its reasoning: another one works it out again.
fn edition() -> String {
    format!(
        "{}/{}/{}",
        env!("CARGO_PKG_VERSION"),
        proof::EDITION,
        rescue::EDITION
    )
}

/// What was kept under a name by this edition.
pub(super) fn recall<T: DeserializeOwned>(logbook: &Logbook, key: &str) -> Option<T> {
    let kept = logbook.remembered(key).ok()??;
    let (by, value) = kept.split_once('\n')?;
    (by == edition()).then(|| serde_json::from_str(value).ok())?
}

/// Keeps it. Nothing hangs on it, so nothing is said when it cannot be kept.
pub(super) fn keep<T: Serialize>(logbook: &mut Logbook, key: &str, value: &T) {
    if let Ok(text) = serde_json::to_string(value) {
        drop(logbook.remember(key, &format!("{}\n{text}", edition())));
    }
}
