//! How a command ends.

use crate::logbook::LogbookError;
use crate::routine::{Fault, Trouble};
use std::io;
use std::path::PathBuf;
use std::process::ExitCode;

/// How a command that ran to its end came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Done, and true.
    Done,
    /// A claim fails, or a check found something.
    Found,
    /// A budget ran out.
    Unfinished,
    /// A signal with this number ended it; everything acknowledged is kept.
    Stopped(u8),
}

impl Outcome {
    /// The exit code.
    #[must_use]
    pub fn code(self) -> ExitCode {
        ExitCode::from(match self {
            Self::Done => 0,
            Self::Found => 1,
            Self::Unfinished => 3,
            // As shells count it.
            Self::Stopped(number) => number.saturating_add(128),
        })
    }
}

/// Why a command did not run to its end. The words say what, where, and what to do.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// A wrong command line or file: what is wrong, and what to do.
    #[error("{0}")]
    Wrong(String),
    /// A routine's file with faults.
    #[error("{}", all_of(.0))]
    Routine(Vec<Trouble>),
    /// A road that could not be walked.
    #[error(
        "the road cannot be walked: {0}\n  Look at the choices given, and at the file with `allroads check`."
    )]
    Road(#[from] Fault),
    /// A file that could not be read.
    #[error("{} could not be read ({source})\n  Look at the name and the folder.", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// The cause.
        source: io::Error,
    },
    /// A file that could not be written.
    #[error("{} could not be written ({source})\n  Look at the folder, its rights and the room on the disk.", path.display())]
    Unwritable {
        /// The file.
        path: PathBuf,
        /// The cause.
        source: io::Error,
    },
    /// The output could not be written.
    #[error("the output could not be written ({0})")]
    Output(#[from] io::Error),
    /// The logbook.
    #[error(transparent)]
    Logbook(#[from] LogbookError),
    /// The machine lacks something: what, and what to do.
    #[error("{0}")]
    Machine(String),
}

impl Failure {
    /// Whether the reader of our output has gone away.
    #[must_use]
    pub fn is_broken_pipe(&self) -> bool {
        match self {
            Self::Output(cause) => cause.kind() == io::ErrorKind::BrokenPipe,
            Self::Logbook(cause) => cause.is_broken_pipe(),
            Self::Wrong(_)
            | Self::Routine(_)
            | Self::Road(_)
            | Self::Unreadable { .. }
            | Self::Unwritable { .. }
            | Self::Machine(_) => false,
        }
    }

    /// The exit code.
    #[must_use]
    pub fn code(&self) -> ExitCode {
        ExitCode::from(match self {
            _ if self.is_broken_pipe() => 0,
            Self::Wrong(_) | Self::Routine(_) | Self::Road(_) | Self::Unreadable { .. } => 2,
            // What the person named is not what it should be.
            Self::Logbook(
                LogbookError::Row { .. }
                | LogbookError::Reading(_)
                | LogbookError::CopyExists(_)
                | LogbookError::Time(_)
                | LogbookError::NoSession(_),
            ) => 2,
            Self::Unwritable { .. } | Self::Output(_) | Self::Logbook(_) | Self::Machine(_) => 4,
        })
    }
}

/// All faults of a file, and how many.
fn all_of(troubles: &[Trouble]) -> String {
    let mut text = match troubles.len() {
        1 => "there is a fault in the file".to_owned(),
        count => format!("there are {count} faults in the file"),
    };
    for trouble in troubles {
        text.push_str("\n\n");
        text.push_str(trouble.to_string().trim_end());
    }
    text
}
