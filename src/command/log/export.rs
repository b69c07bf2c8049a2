//! `log export`.

use super::rows;
use crate::command::failure::{Failure, Outcome};
use crate::command::machine::Machine;
use crate::logbook::LogbookError;
use clap::Args;
use std::fs::File;
use std::io::{BufWriter, ErrorKind, Write};
use std::path::PathBuf;

/// Where to.
#[derive(Debug, Args)]
pub struct ExportArgs {
    /// A new file; without it, or with `-`, the rows are printed
    pub file: Option<PathBuf>,
}

/// Exports.
pub(super) fn run(
    args: &ExportArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    let mut logbook = machine.logbook()?;
    let Some(path) = args.file.as_ref().filter(|p| p.as_os_str() != "-") else {
        logbook.export(out)?;
        return Ok(Outcome::Done);
    };
    let unwritable = |source| Failure::Unwritable {
        path: path.clone(),
        source,
    };
    let file = File::create_new(path).map_err(|e| match e.kind() {
        ErrorKind::AlreadyExists => Failure::Wrong(format!(
            "{} is there already\n  Choose another name for the export.",
            path.display()
        )),
        _ => unwritable(e),
    })?;
    let mut file = BufWriter::new(file);
    let done = logbook.export(&mut file).map_err(|fault| match fault {
        LogbookError::Writing(source) => unwritable(source),
        other => Failure::Logbook(other),
    })?;
    file.into_inner()
        .map_err(|e| unwritable(e.into_error()))?
        .sync_all()
        .map_err(unwritable)?;
    writeln!(
        out,
        "Exported {} to {}.",
        rows(done.sessions, done.answers, done.practices, done.shows),
        path.display()
    )?;
    Ok(Outcome::Done)
}
