//! `log check`.

use super::counted;
use crate::command::failure::{Failure, Outcome};
use crate::command::machine::Machine;
use std::io::Write;

/// Checks.
pub(super) fn run(machine: &Machine, out: &mut dyn Write) -> Result<Outcome, Failure> {
    let logbook = machine.logbook()?;
    let findings = logbook.check()?;
    if findings.is_empty() {
        writeln!(out, "The logbook is sound: {}.", logbook.path().display())?;
        return Ok(Outcome::Done);
    }
    for finding in &findings {
        writeln!(out, "It should be that {}: {}", finding.rule, finding.what)?;
    }
    writeln!(
        out,
        "{} in {}.\n  Make a copy with `allroads log backup` before anything else.",
        counted(findings.len() as u64, "finding"),
        logbook.path().display()
    )?;
    Ok(Outcome::Found)
}
