//! What can go wrong with the logbook, in words that say what to do.

use rusqlite::ErrorCode;
use rusqlite::ffi;
use std::path::{Path, PathBuf};

/// Why the logbook could not do as asked. When a call that writes fails, nothing of it was kept.
#[derive(Debug, thiserror::Error)]
pub enum LogbookError {
    /// The disk is full.
    #[error(
        "the disk is full: {what}\n  in {}\n  Free some space and try again; everything kept before is safe.",
        path.display()
    )]
    DiskFull {
        /// The file.
        path: PathBuf,
        /// What could not be done, in words.
        what: &'static str,
        /// The cause.
        source: rusqlite::Error,
    },
    /// The disk refused to read or write.
    #[error(
        "the disk refused: {what} ({source})\n  in {}\n  The disk may be full, failing, or gone; everything kept before is safe as long as the disk is.",
        path.display()
    )]
    Disk {
        /// The file.
        path: PathBuf,
        /// What could not be done, in words.
        what: &'static str,
        /// The cause.
        source: rusqlite::Error,
    },
    /// The file or its folder may not be written.
    #[error(
        "the logbook may not be written: {what}\n  in {}\n  Give yourself the right to write there, or choose another folder with --data.",
        path.display()
    )]
    ReadOnly {
        /// The file.
        path: PathBuf,
        /// What could not be done, in words.
        what: &'static str,
        /// The cause.
        source: rusqlite::Error,
    },
    /// The data folder could not be made.
    #[error("the data folder {} could not be made ({source})\n  Choose another with --data.", path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
        /// The cause.
        source: std::io::Error,
    },
    /// The file was written by a later version of the program.
    #[error(
        "the logbook {} was written by a later version of this program (its form is {found}, this program knows up to {known})\n  Use the later program, or another folder with --data. Nothing was changed.",
        path.display()
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its version.
        found: i64,
        /// The latest version that this program knows.
        known: i64,
    },
    /// Another program held the file for too long.
    #[error(
        "another program is holding the logbook: {what}\n  in {}\n  Close it, or try again in a moment.",
        path.display()
    )]
    Locked {
        /// The file.
        path: PathBuf,
        /// What could not be done, in words.
        what: &'static str,
        /// The cause.
        source: rusqlite::Error,
    },
    /// The file is damaged, or is no logbook.
    #[error(
        "the logbook {} is damaged, or is no logbook ({source})\n  Put it aside and put a copy made by `allroads log backup` in its place.",
        path.display()
    )]
    Damaged {
        /// The file.
        path: PathBuf,
        /// The cause.
        source: rusqlite::Error,
    },
    /// The file's form could not be brought up to date.
    #[error("the logbook {} could not be brought up to date ({source})\n  Nothing was changed.", path.display())]
    Update {
        /// The file.
        path: PathBuf,
        /// The cause.
        source: rusqlite_migration::Error,
    },
    /// A session that the logbook does not hold.
    #[error("the logbook holds no session {0}")]
    NoSession(String),
    /// The copy would be written over a file that is there already.
    #[error("{} is there already\n  Choose another name for the copy.", .0.display())]
    CopyExists(PathBuf),
    /// The exported rows could not be written.
    #[error("the export could not be written ({0})")]
    Writing(#[source] std::io::Error),
    /// The rows to import could not be read.
    #[error("the rows to import could not be read ({0})\n  Nothing was imported.")]
    Reading(#[source] std::io::Error),
    /// A row to import is not what an export writes.
    #[error("line {line} of the import: {message}\n  Nothing was imported.")]
    Row {
        /// The line, from 1.
        line: u64,
        /// What is wrong, and what was expected.
        message: String,
    },
    /// A time far outside what a calendar holds.
    #[error("the time {0} cannot be kept: years run from 1 to 9999")]
    Time(String),
    /// Anything else the store says.
    #[error("the logbook {}: {what} ({source})", path.display())]
    Store {
        /// The file.
        path: PathBuf,
        /// What was being done.
        what: &'static str,
        /// The cause.
        source: rusqlite::Error,
    },
}

impl LogbookError {
    /// Whether the writer of an export has gone away, as when a pipe is closed early.
    #[must_use]
    pub fn is_broken_pipe(&self) -> bool {
        match self {
            Self::Writing(cause) => cause.kind() == std::io::ErrorKind::BrokenPipe,
            _ => false,
        }
    }
    /// Whether another program was in the way, so that trying again may help.
    pub(super) fn is_locked(&self) -> bool {
        match self {
            Self::Locked { .. } => true,
            Self::Update {
                source: rusqlite_migration::Error::RusqliteError { err, .. },
                ..
            } => matches!(
                err.sqlite_error_code(),
                Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked)
            ),
            _ => false,
        }
    }
}

/// Puts a store's error into our words. `what` says what could not be done.
pub(super) fn told(path: &Path, what: &'static str, source: rusqlite::Error) -> LogbookError {
    let path = path.to_path_buf();
    let extended = source.sqlite_error().map_or(0, |e| e.extended_code);
    match source.sqlite_error_code() {
        Some(ErrorCode::DiskFull) => LogbookError::DiskFull { path, what, source },
        // The shared-memory file is grown page by page, and a disk without room for it shows as this.
        Some(ErrorCode::SystemIoFailure) if extended == ffi::SQLITE_IOERR_SHMSIZE => {
            LogbookError::DiskFull { path, what, source }
        }
        Some(ErrorCode::SystemIoFailure) => LogbookError::Disk { path, what, source },
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
            LogbookError::Locked { path, what, source }
        }
        Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied | ErrorCode::CannotOpen) => {
            LogbookError::ReadOnly { path, what, source }
        }
        Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => {
            LogbookError::Damaged { path, source }
        }
        _ => LogbookError::Store { path, what, source },
    }
}
