//! No command: the foyer; in a pipe, a few lines that say what to do next.

use super::failure::{Failure, Outcome};
use super::machine::Machine;
use super::shipped::SHIPPED;
use std::io::Write;

/// Opens the foyer, or says what to do next.
pub(super) fn run(_machine: &Machine, out: &mut dyn Write) -> Result<Outcome, Failure> {
    what_next(out)
}

/// What to do next, for pipes.
fn what_next(out: &mut dyn Write) -> Result<Outcome, Failure> {
    writeln!(
        out,
        "allroads: rehearse self-working card routines, every road the spectators can take.\n"
    )?;
    if !SHIPPED.is_empty() {
        writeln!(out, "Routines that come with it:")?;
        for routine in SHIPPED {
            writeln!(out, "  {}", routine.name)?;
        }
        writeln!(out)?;
    }
    writeln!(out, "What to do next:")?;
    writeln!(out, "  allroads            in a terminal: the foyer")?;
    writeln!(out, "  allroads --help     every command")?;
    Ok(Outcome::Done)
}
