//! `log`: the logbook from the outside.

mod add;
mod backup;
mod check;
mod export;
mod import;

use super::failure::{Failure, Outcome};
use super::machine::Machine;
use clap::{Args, Subcommand};
use std::io::Write;

/// What to do with the logbook.
#[derive(Debug, Args)]
pub struct LogArgs {
    /// What to do.
    #[command(subcommand)]
    pub command: LogCommand,
}

/// What to do with the logbook.
#[derive(Debug, Subcommand)]
pub enum LogCommand {
    /// Write everything as JSON lines
    Export(export::ExportArgs),
    /// Add what an export wrote; rows that are here already are left alone
    Import(import::ImportArgs),
    /// Copy the logbook into a new file
    Backup(backup::BackupArgs),
    /// Look whether the logbook is sound
    Check,
    /// Add a practice away from the screen
    Add(add::AddArgs),
}

/// Does it.
pub(super) fn run(
    args: &LogArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    match &args.command {
        LogCommand::Export(args) => export::run(args, machine, out),
        LogCommand::Import(args) => import::run(args, machine, out),
        LogCommand::Backup(args) => backup::run(args, machine, out),
        LogCommand::Check => check::run(machine, out),
        LogCommand::Add(args) => add::run(args, machine, out),
    }
}

/// "1 answer", "3 answers".
fn counted(n: u64, one: &str) -> String {
    if n == 1 {
        format!("1 {one}")
    } else {
        format!("{n} {one}s")
    }
}

/// "3 sessions, 15 answers and 1 practice", and shows where there are some.
fn rows(sessions: u64, answers: u64, practices: u64, shows: u64) -> String {
    let (sessions, answers) = (counted(sessions, "session"), counted(answers, "answer"));
    let practices = counted(practices, "practice");
    match shows {
        0 => format!("{sessions}, {answers} and {practices}"),
        shows => format!(
            "{sessions}, {answers}, {practices} and {}",
            counted(shows, "show")
        ),
    }
}
