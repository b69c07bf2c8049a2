//! The commands: one file each; reads arguments, calls the rooms, prints.
//!
//! This room may use all others. It alone asks the machine for the time, the data folder and the colours. Every command
//! writes into the writer it is given and hands back how it ended: an [`Outcome`], or a [`Failure`] with its words. A
//! reader that goes away (`allroads log export | head`) ends the command quietly.
//!
//! Exit codes: 0 done and true; 1 a claim fails or a check found something; 2 a wrong command line or file; 3 a budget
//! ran out; 4 the machine failed us.

mod arguments;
mod changed;
mod check;
mod coaching;
mod completions;
mod failure;
mod find;
mod foyer;
mod keeper;
mod lasting;
mod log;
mod machine;
mod man;
mod new;
mod pages;
mod plan;
mod progress;
mod prove;
mod rehearse;
mod rescue;
mod reset;
mod schema;
mod setup;
mod sheet;
mod shelf;
mod shipped;
mod shows;
mod slip;
mod sound_check;
mod source;
mod speech;
mod verdicts;
mod walk;
mod written;

pub use arguments::Arguments;
pub use failure::{Failure, Outcome};
pub use machine::Machine;
pub use shipped::{SHIPPED, Shipped};
pub use source::Source;

use arguments::Command;
use clap::{CommandFactory, FromArgMatches};
use std::ffi::OsString;
use std::io::Write;
use std::process::ExitCode;

/// Runs the program.
#[must_use]
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let args: Vec<OsString> = args.into_iter().collect();
    if let Some(ended) = speech::serve(&args) {
        return ended;
    }
    let mut command = Arguments::command();
    if args.iter().any(|a| a == "--no-color") {
        command = command.color(clap::ColorChoice::Never);
    }
    let arguments = match command
        .try_get_matches_from_mut(args)
        .and_then(|matches| Arguments::from_arg_matches(&matches))
    {
        Ok(arguments) => arguments,
        Err(told) => {
            // Help and version come this way too, with code 0. If they cannot be printed, nobody is reading.
            drop(told.print());
            return ExitCode::from(u8::try_from(told.exit_code()).unwrap_or(2));
        }
    };
    let machine = match Machine::of(&arguments) {
        Ok(machine) => machine,
        Err(failure) => {
            drop(writeln!(std::io::stderr(), "allroads: {failure}"));
            return failure.code();
        }
    };
    let mut out = std::io::BufWriter::new(std::io::stdout());
    let ended = dispatch(arguments.command, &machine, &mut out)
        .and_then(|outcome| out.flush().map(|()| outcome).map_err(Failure::from));
    // What was not flushed cannot be: dropping the writer must not try again and block.
    let (_stdout, _unwritten) = out.into_parts();
    match ended {
        Ok(outcome) => outcome.code(),
        Err(failure) => {
            if !failure.is_broken_pipe() {
                // With nowhere to say it, the exit code still tells.
                drop(writeln!(std::io::stderr(), "allroads: {failure}"));
            }
            failure.code()
        }
    }
}

fn dispatch(
    command: Option<Command>,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    match command {
        None => foyer::run(machine, out),
        Some(Command::Rehearse(args)) => rehearse::run(&args, machine, out),
        Some(Command::Prove(args)) => prove::run(&args, machine, out),
        Some(Command::Plan(args)) => plan::run(&args, machine, out),
        Some(Command::Shows(args)) => shows::run(&args, machine, out),
        Some(Command::Find(args)) => find::run(&args, machine, out),
        Some(Command::Walk(args)) => walk::run(&args, machine, out),
        Some(Command::Rescue(args)) => rescue::run(&args, machine, out),
        Some(Command::Slip(args)) => slip::run(&args, out),
        Some(Command::Setup(args)) => setup::run(&args, out),
        Some(Command::Reset(args)) => reset::run(&args, out),
        Some(Command::Progress(args)) => progress::run(&args, machine, out),
        Some(Command::Sheet(args)) => sheet::run(&args, machine, out),
        Some(Command::New(args)) => new::run(&args, out),
        Some(Command::Check(args)) => check::run(&args, out),
        Some(Command::Schema) => schema::run(out),
        Some(Command::SoundCheck(args)) => sound_check::run(&args, machine, out),
        Some(Command::Log(args)) => log::run(&args, machine, out),
        Some(Command::Completions(args)) => completions::run(&args, out),
        Some(Command::Man) => man::run(out),
    }
}
