//! `progress`: how the steps and the weeks of a routine stand, in the terminal, as a page, for programs and for spreadsheets.

mod csv;
mod json;

use super::coaching;
use super::failure::{Failure, Outcome};
use super::machine::Machine;
use super::shelf::sources;
use super::source::Source;
use super::written;
use crate::coach::Progress;
use crate::logbook::Logbook;
use crate::paper;
use crate::screen::progress::{lines, plain, print, words};
use clap::Args;
use std::io::Write;
use std::path::{Path, PathBuf};

/// What to look at, and how.
#[derive(Debug, Args)]
pub struct ProgressArgs {
    /// The routine: a name, or a path; without it, all that were practised
    pub routine: Option<String>,
    /// For programs: one object a line for each routine
    #[arg(long, group = "form")]
    pub json: bool,
    /// For spreadsheets: one row for each step and kind of question
    #[arg(long, group = "form")]
    pub csv: bool,
    /// A page to look at in a browser and to print; a page that is there is replaced
    #[arg(long, value_name = "FILE", group = "form")]
    pub html: Option<PathBuf>,
    /// Line by line, as in a pipe and for screen readers
    #[arg(long, group = "form")]
    pub plain: bool,
}

/// What was practised.
struct Practised {
    routines: Vec<Progress>,
    /// Routines of the logbook whose files are not here, and how many answers they have.
    elsewhere: Vec<(String, u64)>,
}

/// Columns of what is printed into a terminal, at least and at most.
const COLUMNS: (u16, u16) = (58, 98);

/// Shows it.
pub(super) fn run(
    args: &ProgressArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    // A path that can be no page is told before anything is worked out.
    if let Some(path) = &args.html {
        written::could_be(path)?;
    }
    let mut logbook = machine.logbook()?;
    let found = match &args.routine {
        Some(named) => one(&mut logbook, machine, named)?,
        None => all(&mut logbook, machine)?,
    };
    if let Some(path) = &args.html {
        let text = match (&args.routine, found.routines.as_slice()) {
            (Some(_), [one]) => paper::progress::routine(one),
            (_, all) => {
                let today = coaching::day_of(machine.now());
                paper::progress::all(all, &found.elsewhere, today)
            }
        };
        return written::page(path, &text, out);
    }
    if args.json {
        json::print(&found.routines, &found.elsewhere, out)?;
    } else if args.csv {
        csv::print(&found.routines, out)?;
    } else {
        tell(&found, args.plain, machine, out)?;
    }
    Ok(Outcome::Done)
}

fn one(logbook: &mut Logbook, machine: &Machine, named: &str) -> Result<Practised, Failure> {
    let source = Source::find(named)?;
    let routine = source.load(0)?;
    let progress = coaching::progress(logbook, &source.name, &routine, machine.now())?;
    Ok(Practised {
        routines: vec![progress],
        elsewhere: Vec::new(),
    })
}

fn all(logbook: &mut Logbook, machine: &Machine) -> Result<Practised, Failure> {
    let sources = sources(Path::new("."));
    let mut found = Practised {
        routines: Vec::new(),
        elsewhere: Vec::new(),
    };
    for standing in logbook.overview()? {
        let source = sources.iter().find(|one| one.name == standing.routine);
        // A file with faults cannot be shown either; `check` tells them.
        match source.and_then(|source| source.load(0).ok()) {
            Some(routine) => found.routines.push(coaching::progress(
                logbook,
                &standing.routine,
                &routine,
                machine.now(),
            )?),
            None => found
                .elsewhere
                .push((standing.routine, standing.right + standing.wrong)),
        }
    }
    Ok(found)
}

/// In the terminal drawn, elsewhere line by line.
fn tell(
    found: &Practised,
    plain: bool,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let theme = machine.theme();
    if found.routines.is_empty() && found.elsewhere.is_empty() {
        writeln!(
            out,
            "Nothing has been rehearsed yet: `allroads rehearse ROUTINE` begins."
        )?;
    }
    for (n, progress) in found.routines.iter().enumerate() {
        if n > 0 {
            writeln!(out)?;
        }
        if plain || !machine.terminal {
            for line in plain::told(progress) {
                writeln!(out, "{line}")?;
            }
        } else {
            let (least, most) = COLUMNS;
            let wide = machine.columns().saturating_sub(2).clamp(least, most);
            for row in lines::lines(progress, wide.into(), theme) {
                writeln!(out, "{}", print::line(&row, theme))?;
            }
        }
    }
    for (name, answers) in &found.elsewhere {
        writeln!(
            out,
            "\n{}: {}, but its file is not in this folder: `allroads progress PATH` shows it.",
            super::source::shown(name),
            words::counted(*answers, "answer")
        )?;
    }
    Ok(())
}
