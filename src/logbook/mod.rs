//! The logbook: every answer ever given, in one SQLite file.
//!
//! What lives here: sessions, answers, practices away from the screen, shows, a few remembered settings; how each step
//! stands; export, import, copies and the check of the file. It uses nothing else of the crate, and has no clock:
//! every time comes in as an argument.
//!
//! The file is `logbook.sqlite` in the data folder. It is kept in write-ahead mode with full synchronising, so that an
//! answer for which [`Logbook::record`] returned is on the disk, whatever happens next. How each step stands is kept in
//! two small tables that triggers bring up to date within the same transaction, and which are a function of the set of
//! rows alone, not of the order in which they came in: an imported logbook stands exactly as the one it came from.
//!
//! Times are kept as thousandths of a second in UTC with the offset of the performer's clock in minutes; what is finer
//! is cut off on the way in.
//!
//! ```
//! use allroads::logbook::{Answer, Logbook, Manner, SessionStart};
//! # let folder = std::env::temp_dir().join(format!("allroads-doc-{}", std::process::id()));
//! let at = chrono::DateTime::parse_from_rfc3339("2031-05-01T19:30:00+02:00")?;
//! let mut logbook = Logbook::open(&folder)?;
//! let session = logbook.begin(&SessionStart {
//!     routine: "pairs".into(), content_hash: "00ff".into(), seed: Some(7), setup: 0,
//!     drills: vec!["picture".into()], manner: Manner::Plain, started: at,
//! })?;
//! logbook.record(&session, &Answer {
//!     routine: "pairs".into(), content_hash: "00ff".into(), step: "deal".into(), drill: "picture".into(),
//!     kind: "card".into(), detail: "packet 1".into(), again: false, question: "What lies on top?".into(), seed: Some(7), choices: vec!["n=4".into()],
//!     given: "They named 4.".into(), expected: "7♥".into(), answer: "7h".into(), right: true,
//!     first_key_ms: Some(820), total_ms: 1900, at,
//! })?;
//! logbook.end(&session, at)?;
//! assert_eq!(logbook.standing("pairs")?[0].right, 1);
//! # drop(logbook);
//! # std::fs::remove_dir_all(&folder)?;
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod check;
mod coached;
mod entry;
mod error;
mod export;
mod import;
mod moment;
mod schema;
mod shows;
mod standing;
mod store;

pub use check::Finding;
pub use coached::Told;
pub use entry::{Answer, Manner, Practice, Session, SessionId, SessionStart};
pub use error::LogbookError;
pub use export::Exported;
pub use import::Imported;
pub use shows::{Happened, KeptShow, Night, Performance, Show};
pub use standing::{RoutineStanding, StepStanding};
pub use store::{DERIVED, FILE_NAME, Logbook};

#[cfg(test)]
mod show_tests;
#[cfg(test)]
mod tests;
