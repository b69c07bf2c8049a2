//! `sheet`: a routine on one page, to carry. What to do when it goes wrong comes from the table of `rescue`, which is worked out where it is
//! not kept yet.

use super::failure::{Failure, Outcome};
use super::machine::Machine;
use super::pages::paragraph;
use super::rescue;
use super::source::Source;
use super::written;
use crate::paper::cue_sheet;
use clap::Args;
use std::io::Write;
use std::path::PathBuf;

/// Of what, and where to.
#[derive(Debug, Args)]
pub struct SheetArgs {
    /// The routine: a name, or a path
    pub routine: String,
    /// The page to write; one that is there is replaced
    #[arg(long, value_name = "FILE", required = true)]
    pub html: PathBuf,
    /// Which draw of the set-up, where cards are drawn to fit a pattern
    #[arg(long, default_value_t = 0)]
    pub setup: u64,
}

/// Writes it.
pub(super) fn run(
    args: &SheetArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    written::could_be(&args.html)?;
    let routine = Source::find(&args.routine)?.load(args.setup)?;
    let (astray, all) = rescue::for_a_sheet(&routine, machine)?;
    if !all {
        let missing = "Not every stray was decided in time; the sheet says nothing of the others. `allroads rescue` takes longer.";
        paragraph(out, "", missing)?;
    }
    written::page(&args.html, &cue_sheet(&routine, &astray), out)
}
