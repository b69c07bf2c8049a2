//! No command: the foyer; in a pipe, a few lines that say what to do next.

use super::failure::{Failure, Outcome};
use super::keeper::Diary;
use super::machine::Machine;
use super::shelf::shelf;
use super::shipped::SHIPPED;
use crate::screen::{Terms, run_foyer};
use std::io::Write;
use std::path::Path;

/// Opens the foyer, or says what to do next.
pub(super) fn run(machine: &Machine, out: &mut dyn Write) -> Result<Outcome, Failure> {
    if !machine.terminal {
        return what_next(out);
    }
    let mut diary = Diary::open(machine)?;
    let (mut shelf, notice) = shelf(Path::new("."), &diary.overview()?);
    diary.coach(&mut shelf);
    diary.prove_meanwhile(&mut shelf);
    let left = run_foyer(
        machine.theme(),
        shelf,
        Terms::usual(machine.seed()),
        notice,
        &mut diary,
        Some(machine.voice_settings()?),
    )?;
    diary.closed(left.into())
}

/// What to do next, for pipes.
fn what_next(out: &mut dyn Write) -> Result<Outcome, Failure> {
    writeln!(
        out,
        "allroads: rehearse self-working card routines, every road the spectators can take.\n"
    )?;
    writeln!(out, "Routines that come with it:")?;
    for routine in SHIPPED {
        writeln!(out, "  {}", routine.name)?;
    }
    let first = SHIPPED.first().map_or("ROUTINE", |routine| routine.name);
    writeln!(out, "\nWhat to do next:")?;
    for (command, what) in [
        ("allroads".to_owned(), "in a terminal: the foyer"),
        (format!("allroads setup {first}"), "how to lay the cards"),
        (format!("allroads walk {first}"), "one road, told"),
        (
            format!("allroads rehearse {first} --plain"),
            "a rehearsal line by line",
        ),
        ("allroads new mine".to_owned(), "a routine of your own"),
        ("allroads --help".to_owned(), "every command"),
    ] {
        writeln!(out, "  {command:<36} {what}")?;
    }
    Ok(Outcome::Done)
}
