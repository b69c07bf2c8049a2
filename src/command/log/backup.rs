//! `log backup`.

use crate::command::failure::{Failure, Outcome};
use crate::command::machine::Machine;
use clap::Args;
use std::io::Write;
use std::path::PathBuf;

/// Where to.
#[derive(Debug, Args)]
pub struct BackupArgs {
    /// A new file
    pub file: PathBuf,
}

/// Copies.
pub(super) fn run(
    args: &BackupArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    machine.logbook()?.backup(&args.file)?;
    writeln!(out, "Copied the logbook to {}.", args.file.display())?;
    Ok(Outcome::Done)
}
