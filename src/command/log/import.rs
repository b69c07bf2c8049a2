//! `log import`.

use super::{counted, rows};
use crate::command::failure::{Failure, Outcome};
use crate::command::machine::Machine;
use clap::Args;
use std::io::{Read, Write};
use std::path::PathBuf;

/// Where from.
#[derive(Debug, Args)]
pub struct ImportArgs {
    /// What `log export` wrote; `-` reads it from the input
    pub file: PathBuf,
}

/// Imports.
pub(super) fn run(
    args: &ImportArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    // Read whole before the logbook is held: a slow input must not keep other programs waiting.
    let mut text = Vec::new();
    let read = if args.file.as_os_str() == "-" {
        std::io::stdin().read_to_end(&mut text)
    } else {
        std::fs::File::open(&args.file).and_then(|mut f| f.read_to_end(&mut text))
    };
    read.map_err(|source| Failure::Unreadable {
        path: args.file.clone(),
        source,
    })?;
    let done = machine.logbook()?.import(&mut text.as_slice())?;
    writeln!(
        out,
        "Imported {}; {} already here.",
        rows(done.sessions, done.answers, done.practices, done.shows),
        match done.known {
            1 => "1 row was".to_owned(),
            n => format!("{n} rows were"),
        }
    )?;
    if done.differing.is_empty() {
        return Ok(Outcome::Done);
    }
    let lines: Vec<String> = done.differing.iter().map(u64::to_string).collect();
    writeln!(
        out,
        "{} here with other contents, and ours kept: line {}.",
        counted(done.differing.len() as u64, "row"),
        lines.join(", ")
    )?;
    Ok(Outcome::Found)
}
